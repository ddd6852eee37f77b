"""Pockets, holes and slots: where they are, how wide, and the ground that bridges them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Labels, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts, distance_to, grown

STEEPEST_CONNECTED = 75.0
"""Degrees: neighbouring cells joined by a steeper drop belong to different floors."""

ENCLOSED_SHARE = 0.6
"""Ground that has at least this share of its border against higher ground is an opening; a ledge has about half."""


@dataclass(frozen=True)
class Opening:
    """A pocket, hole or slot in the planned side.

    number: counts from 1, as in the label map. kind: "hole" goes through, "pocket" has a floor, "slot" is open to the
    outline. area in mm2 (plan), width: diameter of the largest circle inside, mm. depth: mm below the ground round it, or
    None for a hole. place: x, y, z of its middle at the level of the ground round it. treatment: "skip", "bridge" or "follow";
    "auto" until it is settled for a cutter.
    """

    number: int
    kind: str
    area: float
    width: float
    depth: float | None
    place: tuple[float, float, float]
    treatment: str


def find_openings(heights: FloatArray, grid: Grid, smallest: float = 0.5) -> tuple[Labels, tuple[Opening, ...]]:
    """Label the openings of a height grid (-inf outside the body).

    smallest: least depth in mm that makes an opening. Returns labels (rows, columns) int32, 0 elsewhere, and the
    openings from the largest to the smallest, their treatment still "auto".
    """
    body = heights > -np.inf
    step = max(smallest, grid.cell * np.tan(np.radians(STEEPEST_CONNECTED)))
    floors = connected_parts(body, heights, step)
    sizes = np.bincount(floors.ravel(), minlength=int(floors.max()) + 1)
    sizes[0] = 0
    main = int(sizes.argmax())
    gaps = connected_parts(~body)
    outside = np.unique(np.concatenate([gaps[0], gaps[-1], gaps[:, 0], gaps[:, -1]]))
    through = (gaps > 0) & ~np.isin(gaps, outside)
    sunk = through | _lower_floors(heights, floors, main, len(sizes))[floors]
    # Slanted walls break into floors a cell or two wide: they belong to the opening they lead down to.
    labels = connected_parts(sunk | _thin_floors(floors, main, len(sizes))[floors])
    found = []
    for number in np.unique(labels[sunk]).tolist():
        opening = _describe(number, labels, heights, body, grid, floors == main, smallest)
        if opening is not None:
            found.append(opening)
    found.sort(key=lambda o: -o.area)
    lookup = np.zeros(int(labels.max()) + 1, np.int32)
    for rank, opening in enumerate(found, 1):
        lookup[opening.number] = rank
    return lookup[labels], tuple(replace(opening, number=rank) for rank, opening in enumerate(found, 1))


def treated(openings: tuple[Opening, ...], cutter_diameter: float, general: str, choices: dict[int, str]) -> tuple[Opening, ...]:
    """Settle how every opening is treated: as chosen for it by number, else by the general rule.

    "auto" bridges openings narrower than the cutter and skips the others.
    """
    settled = []
    for opening in openings:
        treatment = choices.get(opening.number, general)
        if treatment == "auto":
            treatment = "bridge" if opening.width < cutter_diameter else "skip"
        settled.append(replace(opening, treatment=treatment))
    return tuple(settled)


def _lower_floors(heights: FloatArray, floors: Labels, main: int, count: int) -> NDArray[np.bool_]:
    """For every floor number: whether most of its border lies against higher ground, (count,) bool."""
    higher = np.zeros(count)
    border = np.zeros(count)
    for axis in (0, 1):
        one = np.moveaxis(floors, axis, 0)
        high = np.moveaxis(heights, axis, 0)
        for here, there, z_here, z_there in (
            (one[:-1], one[1:], high[:-1], high[1:]),
            (one[1:], one[:-1], high[1:], high[:-1]),
        ):
            edge = (here != there) & (here > 0)
            number = here[edge]
            border += np.bincount(number, minlength=count)
            higher += np.bincount(number[z_there[edge] > z_here[edge]], minlength=count)
    is_lower = higher >= ENCLOSED_SHARE * np.maximum(border, 1)
    is_lower[0] = False
    is_lower[main] = False
    return is_lower


def _thin_floors(floors: Labels, main: int, count: int) -> NDArray[np.bool_]:
    """For every floor number: whether no square of 3 x 3 cells fits into it, (count,) bool."""
    same = np.ones((floors.shape[0] - 2, floors.shape[1] - 2), bool)
    middle = floors[1:-1, 1:-1]
    for dr in (0, 1, 2):
        for dc in (0, 1, 2):
            same &= floors[dr : dr + same.shape[0], dc : dc + same.shape[1]] == middle
    thin = np.bincount(middle[same], minlength=count) == 0
    thin[0] = thin[main] = False
    return thin


def _describe(number: int, labels: Labels, heights: FloatArray, body: Mask, grid: Grid, main: Mask, smallest: float) -> Opening | None:
    """Measure one labelled opening; None when it is a scrap of a few cells or too shallow."""
    rows, columns = np.nonzero(labels == number)
    area = len(rows) * grid.cell_area
    if len(rows) < 4:
        return None
    window = _window(rows, columns, 2)
    inside = labels[window] == number
    deepest = distance_to(~inside, grid.cell, 200.0)
    width = 2 * float(deepest.max())
    ring = grown(inside, grid.cell, 2 * grid.cell) & main[window]
    if not ring.any():
        return None
    level = float(np.median(heights[window][ring]))
    floor = heights[window][inside & body[window]]
    through_share = 1 - len(floor) / len(rows)
    depth = None if through_share > 0.5 else level - float(np.median(floor))
    if depth is not None and depth < smallest:
        return None
    middle = np.unravel_index(int(deepest.argmax()), inside.shape)
    place = (
        float(grid.left + grid.cell * (window[1].start + middle[1])),
        float(grid.front + grid.cell * (window[0].start + middle[0])),
        level,
    )
    outline = grown(inside, grid.cell, 1.5 * grid.cell) & ~inside & ~body[window]
    kind = "hole" if depth is None else "slot" if outline.sum() * grid.cell > 0.25 * width else "pocket"
    return Opening(number, kind, area, width, depth, place, "auto")


def _window(rows: NDArray[np.intp], columns: NDArray[np.intp], rim: int) -> tuple[slice, slice]:
    """The part of the grid that holds some cells and a rim round them."""
    return (
        slice(max(int(rows.min()) - rim, 0), int(rows.max()) + rim + 1),
        slice(max(int(columns.min()) - rim, 0), int(columns.max()) + rim + 1),
    )


def bridged(heights: FloatArray, labels: Labels, openings: tuple[Opening, ...], grid: Grid) -> tuple[FloatArray, FloatArray]:
    """Heights with every opening that is to be bridged filled at the surrounding surface, and triangles of the bridges.

    Returns (rows, columns) heights and (n, 3, 3) triangles, a hair (0.01 mm) below the surface they continue.
    """
    filled = heights.copy()
    patches = []
    for opening in openings:
        if opening.treatment != "bridge":
            continue
        window = _window(*np.nonzero(labels == opening.number), int(np.ceil(3.0 / grid.cell)))  # type: ignore[arg-type, call-arg]
        part = labels[window]
        # The wall round the opening may be a cell or two wide; what lies clearly below the level belongs to it.
        inside = part == opening.number
        local = filled[window]
        ring = grown(inside, grid.cell, 2.5) & ~grown(inside, grid.cell, 1.5 * grid.cell) & (part == 0) & (local > -np.inf)
        hole = grown(inside, grid.cell, 1.5 * grid.cell) & ((part == 0) | inside)
        if ring.sum() < 6:
            continue
        surface = _quadratic_through(local, ring) - BRIDGE_DROP
        hole &= ~(local > surface)
        local[hole] = surface[hole]
        patches.append(_patch(local, hole, grid, window))
    return filled, np.concatenate(patches) if patches else np.zeros((0, 3, 3))


BRIDGE_DROP = 0.01
"""mm by which a bridge lies below the surface it continues, so that it never lifts the cutter off the ground beside it."""


def _quadratic_through(values: FloatArray, ring: Mask) -> FloatArray:
    """Least-squares quadratic surface through the ring's values, over the whole window."""
    rows, columns = np.mgrid[-1 : 1 : values.shape[0] * 1j, -1 : 1 : values.shape[1] * 1j]
    terms = np.stack([np.ones_like(rows), rows, columns, rows * rows, rows * columns, columns * columns], axis=-1)
    weights = np.linalg.lstsq(terms[ring], values[ring].astype(float), rcond=None)[0]
    return terms @ weights


def _patch(local: FloatArray, hole: Mask, grid: Grid, window: tuple[slice, slice]) -> FloatArray:
    """Two triangles for every square of four cells that touches the hole and has a height everywhere."""
    near = hole[:-1, :-1] | hole[1:, :-1] | hole[:-1, 1:] | hole[1:, 1:]
    near &= (local[:-1, :-1] > -np.inf) & (local[1:, :-1] > -np.inf) & (local[:-1, 1:] > -np.inf) & (local[1:, 1:] > -np.inf)
    r, c = np.nonzero(near)

    def corner(dr: int, dc: int) -> FloatArray:
        x = grid.left + grid.cell * (window[1].start + c + dc)
        y = grid.front + grid.cell * (window[0].start + r + dr)
        drop = np.where(hole[r + dr, c + dc], 0.0, BRIDGE_DROP)
        return np.stack([x, y, local[r + dr, c + dc] - drop], axis=1)

    a, b, d, e = corner(0, 0), corner(0, 1), corner(1, 1), corner(1, 0)
    return np.concatenate([np.stack([a, b, d], axis=1), np.stack([a, d, e], axis=1)])
