"""What programs say to the control of a scene's machine, and the frozen record made from it."""

from __future__ import annotations

import bpy

from ..finishing.job.program_settings import (
    PROGRAM,
    RAISED_BY_HAND,
    RAISED_TO_TOP,
    SWITCHED_BY_HAND,
    WAIT_IN_MILLISECONDS,
    WAIT_IN_SECONDS,
    ProgramSettings,
)
from .properties import choice, length, switch, with_properties

_DEFAULTS = ProgramSettings()

DECIMALS_KEPT = 5
"""Single precision must not put 0.00030000001 into the records and their digests."""


@with_properties
class FinishingProgram(bpy.types.PropertyGroup):
    """What programs say to the control besides moves."""

    fusing_tolerance_mm: float = length(
        "Fusing Tolerance",
        "How far the straight moves of a program may leave the planned route; more means fewer and longer moves",
        _DEFAULTS.fusing_tolerance,
        within=PROGRAM.limits("fusing_tolerance"),
        decimals=4,
    )
    spindle_start: str = choice(
        name="Spindle Start",
        description="How the spindle starts and is waited for",
        default=_DEFAULTS.spindle_start,
        items=(
            (WAIT_IN_SECONDS, "Wait in Seconds", "The program switches the spindle on and waits; the control counts waits in seconds"),
            (WAIT_IN_MILLISECONDS, "Wait in Milliseconds", "The program switches the spindle on and waits; the control counts waits in milliseconds"),
            (SWITCHED_BY_HAND, "By Hand", "The program stops until the router has been switched on by hand"),
        ),
    )
    first_rise: str = choice(
        name="First Rise",
        description="How the cutter comes up before the first move sideways",
        default=_DEFAULTS.first_rise,
        items=(
            (RAISED_BY_HAND, "Raised by Hand", "The cutter is raised by hand before the start; the program waits once for a look"),
            (RAISED_TO_TOP, "Machine Top", "The program sends Z to machine zero: only for machines that find their zeros by switches at the top"),
        ),
    )
    cancel_words: bool = switch(
        name="Cancel Words",
        description="Begin by cancelling what an earlier program may have left on (G40 G49 G80), and take the work offset G54",
        default=_DEFAULTS.cancel_words,
    )
    path_mode: bool = switch(
        name="Path Mode",
        description="Begin by saying how exactly the path is followed (G64 with the corner tolerance and no merging, or G61)",
        default=_DEFAULTS.path_mode,
    )


def program_of(item: FinishingProgram) -> ProgramSettings:
    """The record that the properties describe."""
    return ProgramSettings(
        fusing_tolerance=round(item.fusing_tolerance_mm, DECIMALS_KEPT),
        spindle_start=item.spindle_start,
        first_rise=item.first_rise,
        cancel_words=item.cancel_words,
        path_mode=item.path_mode,
    )


CLASSES = (FinishingProgram,)
