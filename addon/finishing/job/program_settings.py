"""What programs say to a control besides moves: words that it needs or does not know, and what its user does by hand."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadRequest
from ..core.fusing import FUSING_TOLERANCE

WAIT_IN_SECONDS, WAIT_IN_MILLISECONDS, SWITCHED_BY_HAND = SPINDLE_STARTS = ("wait in seconds", "wait in milliseconds", "by hand")
"""How the spindle starts: the program switches it and waits, as the control counts; or a person does both while the program waits."""

RAISED_BY_HAND, RAISED_TO_TOP = FIRST_RISES = ("by hand", "machine top")
"""How the cutter comes up before the first move sideways: a person raises it before the start, and the program waits
once for a look; or the program sends it to machine zero
of Z, which is the top of its travel on machines that find their zeros by switches, and anywhere on others."""

GREATEST_FUSING = 0.01
"""mm; more would leave marks that the cusp height does not tell of."""


@dataclass(frozen=True)
class ProgramSettings:
    """What a control is told.

    fusing_tolerance: mm that fused moves may leave the planned route. spindle_start: one of SPINDLE_STARTS. first_rise: one of FIRST_RISES.
    cancel_words: whether the head cancels what an earlier program may have left on (G40 G49 G80) and takes the work offset G54.
    path_mode: whether the head says how exactly the path is to be followed.
    """

    fusing_tolerance: float = FUSING_TOLERANCE
    spindle_start: str = WAIT_IN_SECONDS
    first_rise: str = RAISED_BY_HAND
    cancel_words: bool = True
    path_mode: bool = True

    def __post_init__(self) -> None:
        if not 0 < self.fusing_tolerance <= GREATEST_FUSING:
            raise BadRequest(
                "The fusing tolerance of programs must be above 0 and at most {most:g} mm, not {value:g}.",
                most=GREATEST_FUSING,
                value=self.fusing_tolerance,
            )
        if self.spindle_start not in SPINDLE_STARTS:
            raise BadRequest("The spindle start must be one of {choices}, not '{given}'.", choices=SPINDLE_STARTS, given=self.spindle_start)
        if self.first_rise not in FIRST_RISES:
            raise BadRequest("The first rise must be one of {choices}, not '{given}'.", choices=FIRST_RISES, given=self.first_rise)
