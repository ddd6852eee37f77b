"""Findings: what a plan has to tell its user, in sentences, with the place and the remedy."""

from __future__ import annotations

from dataclasses import dataclass

from .message import Message, in_a_row, message_record


@dataclass(frozen=True)
class Change:
    """A setting as a suggestion would have it. setting: its key in a settings file with dots between records, such as "region.wall_limit";
    "cutters" for a set as `--cutters` takes it, "rack" for the diameter of a cutter to be put on the rack.
    """

    setting: str
    value: float | str | bool | None


@dataclass(frozen=True)
class Finding:
    """One thing the user should know.

    key: a short name for programs, such as "no-cutter-fits". sentence: what is so, with numbers and units.
    remedy: what would help, or None. place: x, y, z in job mm, or None. must_see: True for what makes the command exit with 3.
    hits: whether a program made from the plan would run into something that is known. changes: of settings that do what the remedy says; none
    where it takes more than settings.
    """

    key: str
    sentence: Message
    remedy: Message | None = None
    place: tuple[float, float, float] | None = None
    must_see: bool = False
    hits: bool = False
    changes: tuple[Change, ...] = ()

    @property
    def words(self) -> Message:
        """The sentence, and the remedy where there is one."""
        return in_a_row(self.sentence, self.remedy)


def finding_record(finding: Finding) -> dict[str, object]:
    """A finding as plain values for JSON: in English words, and as templates with their values for readers in other languages."""
    return {
        "key": finding.key,
        "sentence": str(finding.sentence),
        "remedy": "" if finding.remedy is None else str(finding.remedy),
        "place": finding.place,
        "must_see": finding.must_see,
        "hits": finding.hits,
        "changes": {change.setting: change.value for change in finding.changes},
        "message": {
            "sentence": message_record(finding.sentence),
            "remedy": None if finding.remedy is None else message_record(finding.remedy),
        },
    }
