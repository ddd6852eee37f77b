"""Flat ground, which a flat cutter finishes better than a round-nose one: what is planned of it, and the minutes that leaving it out saves."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.cusp_formulas import spacing_on_flat
from ..core.finding import Change, Finding
from ..core.grid import Grid
from ..core.message import Message
from ..surface.ground import Ground
from ..surface.level_ground import LeftFlat, level_parts


@dataclass(frozen=True)
class Flat:
    """A flat on the planned ground. area: mm2. place: on it, job mm."""

    area: float
    place: tuple[float, float, float]


@dataclass(frozen=True)
class MinutesOnFlats:
    """Minutes of passes over each mm2 of flat ground."""

    per_area: float

    def over(self, area: float) -> float:
        """Minutes of passes over an area in mm2."""
        return self.per_area * area


def minutes_on_flats(radius: float, cusp: float, feed: float) -> MinutesOnFlats:
    """Passes on flat ground lie one spacing apart: so long per area, at the feed in mm/min. Turns do not count: lines that end at a flat
    turn there, as they would have turned beyond it.
    """
    return MinutesOnFlats(1 / (float(spacing_on_flat(radius, cusp)) * feed))


def flats_of(ground: Ground, grid: Grid) -> tuple[Flat, ...]:
    """The flats of the planned ground, the largest first."""
    return tuple(Flat(area, place) for _, area, place in level_parts(ground.planned, ground.slope_degrees, ground.heights, grid))


def flat_findings(flats: tuple[Flat, ...], minutes: MinutesOnFlats) -> list[Finding]:
    """Name the flats that are planned, with their area and minutes."""
    return [
        Finding(
            "flat",
            Message(
                "A flat of {area:.1f} cm² is planned with the round-nose cutter, which takes about {minutes:.1f} minutes.",
                area=flat.area / 100,
                minutes=minutes.over(flat.area),
            ),
            Message("It is work for a flat cutter: leave flats out, and finish it in the same run as the other flat work."),
            flat.place,
            changes=(Change("region.flats", "skip"),),
        )
        for flat in flats
    ]


def left_flat_findings(flats: tuple[LeftFlat, ...], minutes: MinutesOnFlats, margin: float) -> list[Finding]:
    """Name the flats that are left out, with what that saves."""
    found = []
    for flat in flats:
        changes: tuple[Change, ...] = ()
        values = {"area": flat.area / 100, "minutes": minutes.over(flat.area)}
        sentence = Message("A flat of {area:.1f} cm² is left out, which saves about {minutes:.1f} minutes.", **values)
        remedy = Message("It is work for a flat cutter; the pass lines run on over it for {margin:g} mm.", margin=margin)
        if flat.in_face:
            sentence = Message(
                "A flat of {area:.1f} cm² lies in the stock's own face and needs no cut: leaving it out saves about {minutes:.1f} minutes.", **values
            )
            remedy = Message(
                "The pass lines run on over it for {margin:g} mm. If roughing has cut into it, plan it: set Flats to Follow.", margin=margin
            )
            changes = (Change("region.flats", "follow"),)
        found.append(Finding("flat-left", sentence, remedy, flat.place, changes=changes))
    return found
