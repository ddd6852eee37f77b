"""What a plan's programs would run into, and whether they are written all the same."""

from __future__ import annotations

from ..core.finding import Finding
from ..core.message import Message, word
from ..job.cutter import cutter_words
from .result import Plan


def known_hits(plan: Plan, despite: tuple[str, ...] = ()) -> tuple[Finding, ...]:
    """The findings that say that the plan's programs would hit something known, without those that are named in `despite`."""
    return tuple(finding for finding in plan.findings if finding.hits and finding.key not in despite)


def refusal(plan: Plan, despite: tuple[str, ...] = ()) -> Message | None:
    """Why no programs are written for a plan, None where they are."""
    hits = known_hits(plan, despite)
    if not hits:
        return None
    return Message(
        "No program was written for the {cutter} on the {side} side, since it would hit something that is known: {names}. Do as the "
        "findings say and plan again; the lines are in the CSV.",
        cutter=cutter_words(plan.cutter),
        side=word(plan.request.side),
        names=tuple(dict.fromkeys(finding.key for finding in hits)),
    )


def read_first(plan: Plan) -> tuple[Finding, ...]:
    """The findings that whoever runs the plan's programs must have seen."""
    return tuple(finding for finding in plan.findings if finding.must_see)
