"""Pockets, holes and slots: where they are, how wide, and the ground that bridges them.

The cells of the body are joined into floors wherever the drop between neighbours is no wall; the largest floor is the ground that
the openings lie in. What most of its border sees higher ground round it is sunk, holes to the outside of the body are sunk too,
and sunk floors that touch make one opening, whatever steps it has inside. Slanted walls break into thin floors of their own,
which belong to the opening that they lead down to.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Indices, Labels, Mask
from ..core.grid import Grid
from ..core.masks import connected_parts, distance_to, grown
from ..core.place import Place

STEEPEST_CONNECTED = 75.0
"""Degrees: neighbouring cells joined by a steeper drop belong to different floors."""

SHALLOWEST = 0.5
"""mm; least depth that makes an opening: less is relief of the ground."""

FEWEST_CELLS = 4
"""Openings of fewer cells are scraps of the mesh."""

ENCLOSED_SHARE = 0.6
"""Ground that has at least this share of its border against higher ground is an opening; a ledge has about half."""

THROUGH_SHARE = 0.5
"""An opening that shows no body under more than this share of its cells is a hole."""

SLOT_SHARE = 0.25
"""An opening that is open to the outline over more than this share of its width is a slot."""

WIDEST = 200.0
"""mm; inscribed circles are measured up to this radius: no round-nose cutter comes near it."""

RING_CELLS = 2.0
"""Width in cells of the ring round an opening whose median height is the level of the ground there."""

WALL_CELLS = 1.5
"""Cells beside an opening that its wall may cover where it does not fall straight down: no ground to be measured."""

BRIDGE_RING = 2.5
"""mm; width of the ring round an opening, wall included, through which its bridge is laid."""

BRIDGE_RIM = 3.0
"""mm; width of the window round a bridged opening: the ring and half a millimetre."""

BRIDGE_TERMS = 6
"""Terms of a bridge's quadratic: as many cells of the ring are needed at least."""

BRIDGE_DROP = 0.01
"""mm by which a bridge lies below the surface it continues, so that it never lifts the cutter off the ground beside it."""


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
    place: Place
    treatment: str


def find_openings(heights: FloatArray, grid: Grid) -> tuple[Labels, tuple[Opening, ...]]:
    """Label the openings of a height grid (-inf outside the body).

    Returns labels (rows, columns) int32, 0 elsewhere, and the openings from the largest to the smallest, their treatment
    still "auto".
    """
    body = heights > -np.inf
    step = max(SHALLOWEST, grid.cell * np.tan(np.radians(STEEPEST_CONNECTED)))
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
        opening = _measured(number, labels, heights, grid, floors == main)
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


def _lower_floors(heights: FloatArray, floors: Labels, main: int, count: int) -> Mask:
    """For every floor number: whether most of its border lies against higher ground, (count,) bool."""
    higher = np.zeros(count)
    border = np.zeros(count)
    for axis in (0, 1):
        number_along, z_along = np.moveaxis(floors, axis, 0), np.moveaxis(heights, axis, 0)
        for here, there in ((np.s_[:-1], np.s_[1:]), (np.s_[1:], np.s_[:-1])):
            edge = (number_along[here] != number_along[there]) & (number_along[here] > 0)
            number = number_along[here][edge]
            border += np.bincount(number, minlength=count)
            higher += np.bincount(number[z_along[there][edge] > z_along[here][edge]], minlength=count)
    is_lower = higher >= ENCLOSED_SHARE * np.maximum(border, 1)
    is_lower[0] = False
    is_lower[main] = False
    return is_lower


def _thin_floors(floors: Labels, main: int, count: int) -> Mask:
    """For every floor number: whether no square of 3 x 3 cells fits into it, (count,) bool."""
    same = np.ones((floors.shape[0] - 2, floors.shape[1] - 2), bool)
    middle = floors[1:-1, 1:-1]
    for dr in (0, 1, 2):
        for dc in (0, 1, 2):
            same &= floors[dr : dr + same.shape[0], dc : dc + same.shape[1]] == middle
    thin = np.bincount(middle[same], minlength=count) == 0
    thin[0] = thin[main] = False
    return thin


def _measured(number: int, labels: Labels, heights: FloatArray, grid: Grid, main: Mask) -> Opening | None:
    """Measure one labelled opening; None when it is a scrap of a few cells, too shallow, or not in the main floor.

    main: (rows, columns), the ground that openings lie in.
    """
    rows, columns = np.nonzero(labels == number)
    if len(rows) < FEWEST_CELLS:
        return None
    window = _window(rows, columns, rim=int(RING_CELLS))
    inside, body = labels[window] == number, heights[window] > -np.inf
    to_wall = distance_to(~inside, grid.cell, WIDEST)
    width = 2 * float(to_wall.max())
    ring = grown(inside, grid.cell, RING_CELLS * grid.cell) & main[window]
    if not ring.any():
        return None
    level = float(np.median(heights[window][ring]))
    floor = heights[window][inside & body]
    depth = None if 1 - len(floor) / len(rows) > THROUGH_SHARE else level - float(np.median(floor))
    if depth is not None and depth < SHALLOWEST:
        return None
    outline = grown(inside, grid.cell, WALL_CELLS * grid.cell) & ~inside & ~body
    row, column = np.unravel_index(int(to_wall.argmax()), inside.shape)
    return Opening(
        number=number,
        kind="hole" if depth is None else "slot" if outline.sum() * grid.cell > SLOT_SHARE * width else "pocket",
        area=len(rows) * grid.cell_area,
        width=width,
        depth=depth,
        place=(
            float(grid.left + grid.cell * (window[1].start + column)),
            float(grid.front + grid.cell * (window[0].start + row)),
            level,
        ),
        treatment="auto",
    )


def _window(rows: Indices, columns: Indices, rim: int) -> tuple[slice, slice]:
    """The part of the grid that holds some cells and a rim round them."""
    return (
        slice(max(int(rows.min()) - rim, 0), int(rows.max()) + rim + 1),
        slice(max(int(columns.min()) - rim, 0), int(columns.max()) + rim + 1),
    )


def bridged(heights: FloatArray, labels: Labels, openings: tuple[Opening, ...], grid: Grid) -> tuple[FloatArray, FloatArray]:
    """Heights with every opening that is to be bridged filled at the surrounding surface, and triangles of the bridges.

    Returns (rows, columns) heights and (n, 3, 3) triangles, a hair (BRIDGE_DROP) below the surface they continue.
    """
    filled = heights.copy()
    patches = []
    for opening in openings:
        if opening.treatment != "bridge":
            continue
        rows, columns = np.nonzero(labels == opening.number)
        window = _window(rows, columns, rim=int(np.ceil(BRIDGE_RIM / grid.cell)))
        part = labels[window]
        # The wall round the opening may be a cell or two wide; what lies clearly below the level belongs to it.
        inside = part == opening.number
        local = filled[window]
        walled = grown(inside, grid.cell, WALL_CELLS * grid.cell)
        ring = grown(inside, grid.cell, BRIDGE_RING) & ~walled & (part == 0) & (local > -np.inf)
        hole = walled & ((part == 0) | inside)
        if ring.sum() < BRIDGE_TERMS:
            continue
        surface = _quadratic_through(local, ring) - BRIDGE_DROP
        hole &= ~(local > surface)
        local[hole] = surface[hole]
        patches.append(_patch(local, hole, grid, window))
    return filled, np.concatenate(patches) if patches else np.zeros((0, 3, 3))


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
