"""Pockets, holes and slots of one side: how wide they are, which floors they have, and how each of them is treated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ..core.array_types import FloatArray, Labels
from ..core.grid import Grid
from ..core.place import Place
from .lid import Lid


@dataclass(frozen=True)
class OpeningFloor:
    """One floor of an opening.

    number: counts from 1 within the opening; inside: the floor that it lies in, 0 for the opening itself. beside: the number of the first of the
    floors that lie side by side with it at one level, which are treated alike. kind: "floor"; "recess" where
    it lies round a deeper one; "island" where it stands up from it; "hole" where no body is under it. area in mm2 (plan). width:
    diameter of the largest circle on it, of a recess the usual width of its strip; mouth: of the largest circle with all that lies
    in the same floor; mm. depth: mm below the ground round the opening, in
    the middle, and shallowest and deepest: between which nine tenths of it lie; None for a hole. treatment: as the opening's, or its own.
    """

    number: int
    inside: int
    beside: int
    kind: str
    area: float
    width: float
    mouth: float
    depth: float | None
    shallowest: float | None
    deepest: float | None
    treatment: str


@dataclass(frozen=True)
class Opening:
    """A pocket, hole or slot in the planned side.

    number: counts from 1, as in the label map. kind: "hole" goes through, "pocket" has a floor, "slot" is open to the
    outline. area in mm2 (plan), width: diameter of the largest circle inside, mm. depth: mm below the ground round it on most of its
    floor, or None for a hole. place: x, y, z of its middle at the level of the ground round it. treatment: "skip", "bridge" or
    "follow"; "auto" until it is settled for a cutter. floors: what lies in it.
    """

    number: int
    kind: str
    area: float
    width: float
    depth: float | None
    place: Place
    treatment: str
    floors: tuple[OpeningFloor, ...]


@dataclass(frozen=True)
class OpeningSet:
    """Cells that are treated as one. last: number of the last set that lies in it. parent: number of the set that it lies in, 0 for the
    ground. opening: its number; floor: the number of the set's first floor in that. lid: the ground round it, continued over it.
    """

    last: int
    parent: int
    opening: int
    floor: int
    lid: Lid


@dataclass(frozen=True)
class FoundOpenings:
    """The openings of one side, largest first, their treatment still "auto".

    grid: that they were looked for on, which may be finer than the plan's; heights: (rows, columns) on it. within: number of the
    innermost set of every cell of it, 0 for none; sets: by their numbers from 1. every: cells of this grid for one of the plan's across
    and along, an odd number; the middle one shares its centre.
    """

    grid: Grid
    heights: FloatArray
    within: Labels
    sets: tuple[OpeningSet, ...]
    openings: tuple[Opening, ...]
    every: int

    @cached_property
    def labels(self) -> Labels:
        """Number of the opening of every cell of the plan, 0 elsewhere, (rows, columns)."""
        return self.of_sets([each.opening for each in self.sets])

    def treatments(self, settled: tuple[Opening, ...]) -> tuple[str, ...]:
        """How every set is treated, by the openings with their treatment settled."""
        return tuple(settled[each.opening - 1].floors[each.floor - 1].treatment for each in self.sets)

    def of_sets(self, values: list[int]) -> Labels:
        """A value for every set, on the cells of the plan; 0 elsewhere."""
        middle = self.every // 2
        return np.array([0, *values], np.int32).take(self.within[middle :: self.every, middle :: self.every])


@dataclass(frozen=True)
class TreatmentChoices:
    """What is to be done with openings: in general, with single ones by their numbers, and with single floors by those of opening and floor."""

    general: str = "auto"
    openings: Mapping[int, str] = field(default_factory=dict)
    floors: Mapping[tuple[int, int], str] = field(default_factory=dict)


def treated(openings: tuple[Opening, ...], cutter_diameter: float, choices: TreatmentChoices) -> tuple[Opening, ...]:
    """Settle how every opening is treated: as chosen for it by number, else by the general rule.

    "auto" bridges openings narrower than the cutter and skips the others. Floors go with their opening unless chosen for themselves; in one
    that is followed, what lies within a floor is bridged at that floor's level where it is narrower than the cutter, and wider holes are left
    out. What lies in a floor that is bridged is bridged with it, whatever is chosen.
    """
    settled = []
    for opening in openings:
        treatment = choices.openings.get(opening.number, choices.general)
        if treatment == "auto":
            treatment = "bridge" if opening.width < cutter_diameter else "skip"
        own = {floor.beside: choice for floor in opening.floors if (choice := choices.floors.get((opening.number, floor.number), "auto")) != "auto"}
        settled.append(replace(opening, treatment=treatment, floors=_treated_floors(opening.floors, treatment, cutter_diameter, own)))
    return tuple(settled)


def _treated_floors(floors: tuple[OpeningFloor, ...], treatment: str, cutter_diameter: float, own: dict[int, str]) -> tuple[OpeningFloor, ...]:
    """own: what is chosen for floors, by the number of the first of those beside them."""
    of_floor = {0: treatment}
    for floor in floors:
        settled = of_floor[floor.inside]
        if floor.inside == 0 or settled != "bridge":
            narrow = settled == "follow" and floor.inside and floor.mouth < cutter_diameter
            settled = own.get(floor.beside, "bridge" if narrow else settled)
        of_floor[floor.number] = "skip" if settled == "follow" and floor.kind == "hole" else settled
    return tuple(replace(floor, treatment=of_floor[floor.number]) for floor in floors)
