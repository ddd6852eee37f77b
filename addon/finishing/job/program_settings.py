"""What programs say to a control besides moves: words that it needs or does not know, and what its user does by hand."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.fusing import FUSING_TOLERANCE
from .setting_kinds import Choice, Number, Record, Setting, YesNo, require

WAIT_IN_SECONDS, WAIT_IN_MILLISECONDS, SWITCHED_BY_HAND = SPINDLE_STARTS = ("wait in seconds", "wait in milliseconds", "by hand")
"""How the spindle starts: the program switches it and waits, as the control counts; or a person does both while the program waits."""

RAISED_BY_HAND, RAISED_TO_TOP = FIRST_RISES = ("by hand", "machine top")
"""How the cutter comes up before the first move sideways: a person raises it before the start, and the program waits once for a look; or the
program sends it to machine zero of Z, which is the top of its travel on machines that find their zeros by switches, and anywhere on others."""

LEAST_FUSING, GREATEST_FUSING = 0.00005, 0.01
"""mm; less is below what is written of coordinates, more would leave marks that the cusp height does not tell of."""

PROGRAM = Record(
    "Programs",
    (
        Setting("fusing_tolerance", Number(LEAST_FUSING, GREATEST_FUSING, "mm"), "How far fused moves of a program may leave the planned route"),
        Setting("spindle_start", Choice(SPINDLE_STARTS), "How the spindle is switched on, and how the control counts the wait for it"),
        Setting("first_rise", Choice(FIRST_RISES), "How the cutter comes up before the first move sideways"),
        Setting(
            "cancel_words", YesNo(), "Whether the head cancels what an earlier program may have left on (G40 G49 G80) and takes the work offset G54"
        ),
        Setting("path_mode", YesNo(), "Whether the head says how exactly the path is to be followed (G64 or G61)"),
    ),
)
"""What programs say to a control."""


@dataclass(frozen=True)
class ProgramSettings:
    """What a control is told: see PROGRAM."""

    fusing_tolerance: float = FUSING_TOLERANCE
    spindle_start: str = WAIT_IN_SECONDS
    first_rise: str = RAISED_BY_HAND
    cancel_words: bool = True
    path_mode: bool = True

    def __post_init__(self) -> None:
        require(PROGRAM, self)
