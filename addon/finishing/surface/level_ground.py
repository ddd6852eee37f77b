"""Level ground: flats in the stock's own face, which need no cut, and others, which a flat cutter finishes better.

A flat that is left out keeps a strip along the ground beside it that the passes cross, the blend: they run on at the height of the flat and
leave no step at their end, since there the tip lies in the flat itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts, grown, shrunk
from ..core.place import Place, place_of

LEVEL_DEGREES = 0.3
"""Ground less steep than this is level: half a millimetre in a hundred."""

LEAST_AREA = 400.0
"""mm2 of one flat from which it is worth a tool change: common practice, no source."""

RIM = 2.0
"""mm; a level strip must be wider than twice this, so that it is more than the line along a crown."""

IN_FACE = 0.005
"""mm; ground no farther from the stock's face lies in it: a tenth of the usual cusp height, and what single precision shows of a height
of some metres."""

BRIDGE_IN_FACE = 0.03
"""mm; the same for bridges over openings, which are laid a hundredth below the ground round them and follow its bends."""

STOP_CELLS = 3.0
"""Cells before ground that contacts must not touch at which lines end at the latest: one beside such contacts, one and a half for turns
between lines (axis_region.py), and half of one for rounding."""


@dataclass(frozen=True)
class Leaving:
    """How flats are left out. flats: "auto", those in the stock's face; "skip", all; "follow", none. face: z of the stock's face in job mm,
    None where it is not known to be even. margin: mm that passes run on over a flat.
    """

    flats: str
    face: float | None
    margin: float


@dataclass(frozen=True)
class LeftFlat:
    """A flat that is left out. area: mm2. place: on it, job mm. in_face: whether it lies in the stock's face and needs no cut at all."""

    area: float
    place: Place
    in_face: bool


@dataclass(frozen=True)
class FlatGround:
    """Flats that are left out, (rows, columns). kept_off: where no contact may lie; all: with the strip that passes run on over."""

    kept_off: Mask
    all: Mask
    flats: tuple[LeftFlat, ...]


def place_on(cells: Mask, heights: FloatArray, grid: Grid) -> Place:
    """A place in job mm on some cells (rows, columns) that stands for them: the middle one of their list, row after row."""
    row, column = np.argwhere(cells)[int(cells.sum()) // 2]
    return grid.left + grid.cell * float(column), grid.front + grid.cell * float(row), float(heights[row, column])


def level_parts(ground: Mask, slope_degrees: FloatArray, heights: FloatArray, grid: Grid) -> Iterator[tuple[Mask, float, Place]]:
    """The flats within some ground, the largest first: cells, area in mm2, and a place on each in job mm."""
    level = ground & _is_level(slope_degrees)
    if not shrunk(level, grid.cell, RIM).any():
        return
    labels = connected_parts(level)
    areas = np.bincount(labels.ravel())[1:] * grid.cell_area
    for k in np.argsort(-areas, kind="stable"):
        if areas[k] < LEAST_AREA:
            return
        part = labels == k + 1
        wide = shrunk(part, grid.cell, RIM)
        if wide.any():
            yield part, float(areas[k]), place_on(wide, heights, grid)


def flats_left_out(heights: FloatArray, slope_degrees: FloatArray, planned: Mask, bridge: Mask, grid: Grid, leaving: Leaving) -> FlatGround:
    """The flats that are left out of planned ground. Maps are (rows, columns).

    heights: -inf outside the body. planned: ground that would be planned without flats. bridge: bridges over openings, which belong to the
    flat they lie in. By itself ("auto") nothing is left out where nothing else would remain to be planned.
    """
    none = np.zeros(heights.shape, bool)
    if leaving.flats == "follow" or (leaving.flats == "auto" and leaving.face is None):
        return FlatGround(none, none, ())
    standing = heights > -np.inf
    in_face = none
    if leaving.face is not None:
        below = np.abs(np.where(standing, heights, -np.inf) - np.float64(leaving.face))
        in_face = standing & (below <= np.where(bridge, BRIDGE_IN_FACE, IN_FACE))
    level = in_face if leaving.flats == "auto" else in_face | (standing & (_is_level(slope_degrees) | bridge))
    if not level.any():
        return FlatGround(none, none, ())
    # Wide enough beside ground that must be finished; an outline or a drop takes nothing away.
    wide = level & grown(level & ~grown(planned & ~level, grid.cell, RIM), grid.cell, RIM)
    others = planned & ~wide
    if leaving.flats == "auto" and not others.any():
        return FlatGround(none, none, ())
    core = wide & ~grown(others, grid.cell, leaving.margin + STOP_CELLS * grid.cell)
    return _those_worth_it(core, wide, in_face, heights, grid)


def _those_worth_it(core: Mask, wide: Mask, in_face: Mask, heights: FloatArray, grid: Grid) -> FlatGround:
    """Of flats with their cores, those of which enough lies beyond the strip that passes run on over."""
    labels = connected_parts(core)
    areas = np.bincount(labels.ravel(), minlength=1) * grid.cell_area
    areas[0] = 0
    kept = (areas >= LEAST_AREA)[labels]
    parts = connected_parts(wide)
    with_core = np.unique(parts[kept])
    flats = []
    for number in with_core.tolist():
        part = parts == number
        flats.append(
            LeftFlat(float(part.sum() * grid.cell_area), place_of(np.array(place_on(part & kept, heights, grid))), bool(in_face[part].mean() > 0.5))
        )
    flats.sort(key=lambda flat: -flat.area)
    return FlatGround(kept, np.isin(parts, with_core) & (parts > 0), tuple(flats))


def _is_level(slope_degrees: FloatArray) -> Mask:
    return np.asarray(np.where(np.isfinite(slope_degrees), slope_degrees, 90.0) < LEVEL_DEGREES)
