"""One advice for sanding a side after the last of its cutters: volume and grit between the passes and along the rims, and what is hand work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..ball.rest_ground import LEAST_PART
from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.message import Message
from ..core.place import Place
from ..options.hand_work import HandWork
from ..options.sanding import PRACTICE_GRIT, start_grit
from ..simulation.proof import Proof

MOST_NAMED = 4
"""Pieces of hand work that are named one by one; smaller ones are summed up."""

TOLD = 99.9
"""Percent of the ground whose height decides the grit: what is higher still is a spot or two."""


@dataclass(frozen=True)
class Left:
    """What one cutter of a side leaves: by the simulated cut, and standing higher than tolerated. planned: its ground, (rows, columns) on grid."""

    proof: Proof
    hand_work: HandWork
    planned: Mask
    grid: Grid

    def plans(self, place: Place) -> bool:
        """Whether a place in job mm lies on its ground."""
        row, column = self.grid.nearest(np.array([place[:2]]))
        return bool(self.planned[row[0], column[0]])

    def cuts(self, places: FloatArray) -> Mask:
        """Whether the cutter rests on the ground at places (n, 2) in job mm, (n,)."""
        row, column = self.grid.nearest(places)
        return np.asarray(self.planned[row, column] & ~self.hand_work.strip.missed[row, column])

    def measures(self, places: FloatArray) -> Mask:
        """Whether ridges are measured there, (n,)."""
        row, column = self.grid.nearest(places)
        return np.isfinite(self.proof.cusp[row, column])


@dataclass(frozen=True)
class SandedArea:
    """One kind of ground. kind: "passes" (between them), "rims" (along borders), "strips" (beside hollows and edges in which the
    ball cannot rest), "hand" (one piece of hand work) or "more" (all smaller ones).

    area: mm2 of plan. height: mm, of ridges along the normal that 99.9 % of it stay below, or the most of hand work. volume: mm3.
    grit: to start with, by the removal table; None where a scraper comes first. place: of hand work, job mm. count: of pieces. is_logged: whether
    the grit is what logged runs began with.
    """

    kind: str
    area: float
    height: float
    volume: float
    grit: int | None
    place: Place | None = None
    count: int = 1
    is_logged: bool = False

    @property
    def words(self) -> Message:
        """What to do there."""
        values = {"area": self.area / 100, "height": self.height, "volume": self.volume / 1000, "cubic": self.volume, "practice": PRACTICE_GRIT}
        if self.kind == "hand" and self.place is not None:
            return Message(
                "By hand: {small:.0f} mm² at X {x:.0f}, Y {y:.0f}, up to {height:.2f} mm high, {cubic:.1f} mm³: scrape or carve it down first.",
                small=self.area,
                x=self.place[0],
                y=self.place[1],
                **values,
            )
        if self.kind in ("hand", "more"):
            return Message(
                "By hand: {count} smaller pieces, {small:.0f} mm² in all, up to {height:.2f} mm high, {cubic:.1f} mm³.",
                count=self.count,
                small=self.area,
                **values,
            )
        if self.kind == "passes":
            return _between_passes(self.grit, self.is_logged, values)
        return _in_strips(self.grit, values) if self.kind == "strips" else _along_rims(self.grit, values)


def _between_passes(grit: int | None, is_logged: bool, values: dict[str, Any]) -> Message:
    if is_logged:
        return Message(
            "Between the pass lines: {area:.1f} cm², ridges up to {height:.3f} mm, {volume:.2f} cm³: start with grit {grit}, the median of your "
            "logged runs.",
            grit=grit,
            **values,
        )
    if grit is None:
        return Message(
            "Between the pass lines: {area:.1f} cm², ridges up to {height:.3f} mm, {volume:.2f} cm³: a scraper first, then grit {practice}.", **values
        )
    return Message(
        "Between the pass lines: {area:.1f} cm², ridges up to {height:.3f} mm, {volume:.2f} cm³: from grit {grit} on (practice starts with "
        "{practice}).",
        grit=grit,
        **values,
    )


def _along_rims(grit: int | None, values: dict[str, Any]) -> Message:
    if grit is None:
        return Message(
            "Along the rims: {area:.1f} cm², ridges up to {height:.2f} mm, {volume:.2f} cm³: a scraper first, then grit {practice}.", **values
        )
    return Message("Along the rims: {area:.1f} cm², ridges up to {height:.2f} mm, {volume:.2f} cm³: from grit {grit} on.", grit=grit, **values)


def _in_strips(grit: int | None, values: dict[str, Any]) -> Message:
    if grit is None:
        return Message(
            "Strips beside hollows and edges, where the ball cannot rest: {area:.1f} cm², up to {height:.2f} mm high, {volume:.2f} cm³: a narrow "
            "scraper first, then grit {practice} by hand.",
            **values,
        )
    return Message(
        "Strips beside hollows and edges, where the ball cannot rest: {area:.1f} cm², up to {height:.2f} mm high, {volume:.2f} cm³: from grit {grit} "
        "on by hand.",
        grit=grit,
        **values,
    )


@dataclass(frozen=True)
class SandingAdvice:
    """The one advice for a side. areas: between the passes, along the rims, in strips (where there are such), then hand work, the largest piece
    first. Together they are the planned ground."""

    areas: tuple[SandedArea, ...]

    @property
    def volume(self) -> float:
        """All that is sanded, scraped or carved away, mm3."""
        return sum(area.volume for area in self.areas)

    @property
    def first_grit(self) -> int | None:
        """The grit that sanding starts with between the passes; None where a scraper comes first."""
        return self.areas[0].grit

    @property
    def hand_area(self) -> float:
        """Ground that is hand work, mm2 of plan."""
        return sum(area.area for area in self.areas if area.kind in ("hand", "more"))

    @property
    def words(self) -> Message:
        """The whole in a sentence."""
        if not self.hand_area:
            return Message("Sanding: {volume:.1f} cm³ in all, no hand work.", volume=self.volume / 1000)
        return Message("Sanding: {volume:.1f} cm³ in all, {area:.0f} mm² of it by hand.", volume=self.volume / 1000, area=self.hand_area)

    @property
    def area_words(self) -> tuple[Message, ...]:
        """What to do where, a sentence each."""
        return tuple(area.words for area in self.areas)


def sanding_advice(after: Sequence[Left], logged_grit: int | None = None) -> SandingAdvice:
    """The advice for a side. after: what each of its cutters leaves, in running order. logged_grit: what logged runs of the first one began with.

    What a cutter leaves on the ground of a later one is no hand work; the borders of the ground of smaller cutters were cut by the larger ones, so
    the rims are those of the first.
    """
    first = after[0].proof
    heights = [dict(left.proof.cusp_percentiles)[TOLD] for left in after]
    strips, cut_later = _strips(after)
    area = sum(left.proof.cusp_area for left in after) + cut_later.area
    volume = sum(left.proof.cusp_volume for left in after) + cut_later.volume
    rim = dict(first.border_percentiles)[TOLD]
    found = [
        SandedArea(
            "passes",
            area=area,
            height=max(heights),
            volume=volume,
            grit=start_grit(max(heights)) if logged_grit is None else logged_grit,
            is_logged=logged_grit is not None,
        ),
        SandedArea("rims", area=first.border_area, height=rim, volume=first.border_volume, grit=start_grit(rim)),
    ]
    if strips.area >= LEAST_PART:
        found.append(strips)
    parts = sorted(
        (part for k, left in enumerate(after) for part in left.hand_work.parts if not any(later.plans(part.place) for later in after[k + 1 :])),
        key=lambda part: -part.area,
    )
    found += [SandedArea("hand", area=part.area, height=part.height, volume=part.volume, grit=None, place=part.place) for part in parts[:MOST_NAMED]]
    others = parts[MOST_NAMED:]
    if others:
        heights = [part.height for part in others]
        area, volume = sum(part.area for part in others), sum(part.volume for part in others)
        found.append(SandedArea("more", area=area, height=max(heights), volume=volume, grit=None, count=len(others)))
    return SandingAdvice(tuple(found))


def _strips(after: Sequence[Left]) -> tuple[SandedArea, SandedArea]:
    """The strips that are left after all cutters, and those of earlier ones that a later one cuts, as ground between its passes.

    The border of a smaller cutter's own ground lies beside such a hollow too.
    """
    area, volume, later_area, later_volume = 0.0, 0.0, 0.0, 0.0
    heights: list[FloatArray] = [np.zeros(0)]
    for number, left in enumerate(after):
        strip, later = left.hand_work.strip, after[number + 1 :]
        places = left.grid.middles(strip.rows, strip.columns)
        kept = np.ones(len(places), bool)
        for other in later:
            cut = kept & other.cuts(places)
            kept &= ~cut
            again = float((cut & ~other.measures(places)).sum()) * left.grid.cell_area
            later_area += again
            later_volume += again * other.proof.cusp_volume / max(other.proof.cusp_area, left.grid.cell_area)
        area += float(kept.sum()) * left.grid.cell_area
        volume += float(strip.volumes[kept].sum())
        heights.append(strip.heights[kept])
        if number:
            area, volume = area + left.proof.border_area, volume + left.proof.border_volume
    every = np.concatenate(heights)
    most = float(np.percentile(every, TOLD)) if len(every) else 0.0
    return (
        SandedArea("strips", area=area, height=most, volume=volume, grit=start_grit(most)),
        SandedArea("passes", area=later_area, height=0.0, volume=later_volume, grit=None),
    )


def sanding_record(advice: SandingAdvice) -> dict[str, Any]:
    """The advice as plain values for plan.json: areas in mm2, heights in mm, volumes in mm3."""
    areas = [
        {
            "kind": area.kind,
            "area": area.area,
            "height": area.height,
            "volume": area.volume,
            "start_grit": area.grit,
            "place": area.place,
            "count": area.count,
            "words": str(area.words),
        }
        for area in advice.areas
    ]
    return {"volume": advice.volume, "start_grit": advice.first_grit, "hand_area": advice.hand_area, "words": str(advice.words), "areas": areas}
