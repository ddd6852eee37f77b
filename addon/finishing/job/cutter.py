"""The round-nose cutter and the rack of cutters that are at hand."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadRequest
from ..core.message import Message
from .flank import Flank
from .setting_kinds import Number, Record, Setting, Text, require

GREATEST_WEAR = 0.2
"""Share by which a measured diameter may differ from the one on the box: more is another cutter, or a slip of the pen. No source."""

LEAST_HALF_ANGLE = 0.1
"""Degrees; a taper of less widens the cutter by less than 0.2 mm over 50 mm, and is a straight cutter. No source."""

ROUNDING = 0.01
"""mm by which a taper may end above the usable length: lengths are read off a box or a rule."""

CUTTER = Record(
    "Cutter",
    (
        Setting("name", Text(), "Name of the cutter, as on its box or drawer"),
        Setting("diameter", Number(0.2, 200.0, "mm"), "Diameter (DC in ISO 13399); the radius of the ball (RE) is half of it"),
        Setting("flutes", Number(1, 12, whole=True), "Number of cutting edges (NOF)"),
        Setting("usable_length", Number(0.5, 400.0, "mm"), "From the tip to where the shank or a collar would rub (LU)"),
        Setting("shank_diameter", Number(0.5, 60.0, "mm"), "Diameter of the shank that the collet holds (DCON)"),
        Setting("stick_out", Number(1.0, 500.0, "mm"), "From the tip to the collet nut, as the cutter is clamped (LPR)"),
        Setting("feed", Number(1.0, 60000.0, "mm/min"), "Feed along pass lines"),
        Setting("spindle_speed", Number(100.0, 100000.0, "1/min"), "Turns of the spindle"),
        Setting("measured_diameter", Number(0.0, 200.0, "mm"), "Diameter over the edges as measured at rest; 0 where it was not measured"),
        Setting("runout", Number(0.0, 0.5, "mm"), "Total reading of an indicator on the ball while the spindle is turned by hand"),
        Setting("half_angle", Number(0.0, 45.0, "degrees"), "Angle between the flank of a tapered cutter and its axis; 0 for a straight one"),
        Setting("top_diameter", Number(0.0, 200.0, "mm"), "Diameter at which the taper ends; 0 where it ends at the shank's"),
    ),
    needed=("name", "diameter"),
    partial=False,
)
"""A round-nose cutter, straight or tapered."""


@dataclass(frozen=True)
class Cutter:
    """A round-nose (ball) cutter: see CUTTER."""

    name: str
    diameter: float
    flutes: int = 2
    usable_length: float = 50.0
    shank_diameter: float = 12.0
    stick_out: float = 60.0
    feed: float = 3500.0
    spindle_speed: float = 18000.0
    measured_diameter: float = 0.0
    runout: float = 0.0
    half_angle: float = 0.0
    top_diameter: float = 0.0

    def __post_init__(self) -> None:
        require(CUTTER, self)
        self._check_taper()
        if self.measured_diameter and abs(self.measured_diameter / self.diameter - 1) > GREATEST_WEAR:
            raise BadRequest(
                "A cutter that measures {measured:g} mm is not the {diameter:g} mm cutter: enter it as one of its own.",
                measured=self.measured_diameter,
                diameter=self.diameter,
            )

    def _check_taper(self) -> None:
        """Refuse a taper that no cutter can have."""
        if not self.half_angle:
            if self.top_diameter:
                raise BadRequest(
                    "The {diameter:g} mm cutter has a top diameter but no half angle: enter the half angle of its taper, or 0 for the top diameter.",
                    diameter=self.diameter,
                )
            return
        if self.half_angle < LEAST_HALF_ANGLE:
            raise BadRequest("A half angle below {least:g} degrees is no taper: enter 0 for a straight cutter.", least=LEAST_HALF_ANGLE)
        top = self.top_diameter or self.shank_diameter
        if top < self.diameter:
            raise BadRequest(
                "The taper of the {diameter:g} mm cutter would end at {top:g} mm, thinner than its ball: enter the diameter at which it ends.",
                diameter=self.diameter,
                top=top,
            )
        height = Flank(self.diameter / 2, self.half_angle, top / 2).top_height
        if height > self.usable_length + ROUNDING:
            raise BadRequest(
                "The taper of the {diameter:g} mm cutter would reach {top:g} mm only {height:.1f} mm above the tip, beyond the usable length of "
                "{length:g} mm: check half angle, top diameter and usable length.",
                diameter=self.diameter,
                top=top,
                height=height,
                length=self.usable_length,
            )

    @property
    def flank(self) -> Flank | None:
        """The flank as it cuts, half the runout wider all the way up; None for a straight cutter."""
        if not self.half_angle:
            return None
        top = (self.top_diameter or self.shank_diameter) + self.runout
        return Flank(self.radius, self.half_angle, max(top, self.cutting_diameter) / 2)

    @property
    def widest_radius(self) -> float:
        """Greatest radius of ball and flank, mm."""
        return self.radius if self.flank is None else self.flank.top_radius

    @property
    def radius(self) -> float:
        """Radius of the ball as it cuts, in mm: as measured where it was, and half the runout more."""
        return self.cutting_diameter / 2

    @property
    def cutting_diameter(self) -> float:
        """Diameter that the cutter cuts, in mm; `diameter` is what it is called by."""
        return (self.measured_diameter or self.diameter) + self.runout


DEFAULT_RACK: tuple[Cutter, ...] = (
    Cutter("Round-nose 6", 6.0, shank_diameter=6.0, usable_length=25.0, stick_out=35.0, feed=2500.0),
    Cutter("Round-nose 8", 8.0, shank_diameter=8.0, usable_length=30.0, stick_out=40.0, feed=3000.0),
    Cutter("Round-nose 10", 10.0, shank_diameter=8.0, usable_length=35.0, stick_out=45.0, feed=3000.0),
    Cutter("Round-nose 12", 12.0, usable_length=40.0, stick_out=55.0),
    Cutter("Round-nose 16", 16.0),
    Cutter("Round-nose 22", 22.0),
    Cutter("Round-nose 25", 25.0, spindle_speed=16000.0),
    Cutter("Round-nose 32", 32.0, spindle_speed=14000.0),
)
"""A rack of our own for a small shop; sizes from 16 to 32 mm for body work are common practice, no source."""


def cutter_words(cutter: Cutter) -> Message:
    """What a cutter is called: its name; where that is the one that comes along, in the user's language."""
    if cutter.name == f"Round-nose {cutter.diameter:g}":
        return Message("Round-nose {diameter:g}", diameter=cutter.diameter)
    return Message("{name}", name=cutter.name)


def taper_words(cutter: Cutter) -> Message | None:
    """Half angle and top diameter of a tapered cutter; None for a straight one."""
    if cutter.flank is None:
        return None
    return Message("{angle:g}° to {top:g} mm", angle=cutter.half_angle, top=cutter.top_diameter or cutter.shank_diameter)
