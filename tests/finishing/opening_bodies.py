"""Bodies with openings whose floors are known from how they are built, and bodies that have none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from addon.finishing.core.grid import Grid
from addon.finishing.surface.opening_search import detail_grid, find_openings
from addon.finishing.surface.openings import FoundOpenings

LENGTH, WIDTH, TOP = 120.0, 100.0, 30.0
Heights = Callable[[np.ndarray, np.ndarray], np.ndarray]
Region = Callable[[np.ndarray, np.ndarray], np.ndarray]

TOPS: dict[str, Heights] = {
    "flat": lambda x, y: np.full(x.shape, TOP),
    "arched": lambda x, y: TOP - ((x - 55) ** 2 / 900 + (y - 45) ** 2 / 700) / 2,
    "tilted": lambda x, y: TOP - 0.06 * x + 0.03 * y,
}
"""Grounds that openings lie in: level, an arched plate (radii of 900 and 700 mm), a tilted one."""


@dataclass(frozen=True)
class TrueFloor:
    """One floor as it is built. kind, inside: as an opening's floor. width: None where no closed form is at hand."""

    kind: str
    inside: int
    region: Region
    depth: float | Heights
    width: float | None = None


@dataclass(frozen=True)
class TrueOpening:
    """An opening as it is built: its floors in order, from the outermost, later ones cut into earlier ones."""

    kind: str
    width: float | None
    floors: tuple[TrueFloor, ...]


def no_openings(heights: np.ndarray, grid: Grid) -> FoundOpenings:
    """Nothing found on a grid."""
    return FoundOpenings(grid, heights, within=np.zeros(grid.shape, np.int32), sets=(), openings=(), every=1)


def box(x0: float, x1: float, y0: float, y1: float) -> Region:
    return lambda x, y: (x > x0) & (x < x1) & (y > y0) & (y < y1)


def disc(cx: float, cy: float, radius: float) -> Region:
    return lambda x, y: np.hypot(x - cx, y - cy) < radius


def f_hole(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Two eyes joined by a curved strip 5 mm wide, 60 mm long."""
    strip = (np.abs(y - 50 - 8 * np.sin((x - 60) / 20)) < 2.5) & (np.abs(x - 60) < 28)
    return strip | disc(32, 43, 5)(x, y) | disc(88, 57, 5)(x, y)


def _sloped(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 4 + 0.12 * (x - 30)


def _arched_floor(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 16 - ((x - 60) ** 2 + (y - 50) ** 2) / 400


CAVITY, RECESS = box(40.3, 80.3, 20.2, 80.2), box(32.3, 88.3, 12.2, 88.2)

OPENINGS: dict[str, TrueOpening] = {
    "pocket": TrueOpening("pocket", 30, (TrueFloor("floor", 0, box(30.2, 80.2, 30.4, 60.4), 12, 30),)),
    "shallow recess": TrueOpening("pocket", 40, (TrueFloor("floor", 0, box(30.2, 80.2, 30.4, 70.4), 0.8, 40),)),
    "cavity with a cover": TrueOpening("pocket", 56, (TrueFloor("recess", 0, RECESS, 3, 8), TrueFloor("floor", 1, CAVITY, 20, 40))),
    "cavity with a thin cover": TrueOpening("pocket", 56, (TrueFloor("recess", 0, RECESS, 1, 8), TrueFloor("floor", 1, CAVITY, 20, 40))),
    "ledge along one side": TrueOpening(
        "pocket", 48, (TrueFloor("floor", 0, box(40.3, 88.3, 20.2, 80.2), 20), TrueFloor("recess", 0, box(80.3, 88.3, 20.2, 80.2), 4, 8))
    ),
    "three levels": TrueOpening(
        "pocket", 60,
        (
            TrueFloor("recess", 0, box(20.3, 95.3, 20.2, 80.2), 3), TrueFloor("recess", 1, box(30.3, 85.3, 30.2, 70.2), 8),
            TrueFloor("floor", 2, box(40.3, 75.3, 40.2, 60.2), 15, 20),
        ),
    ),
    "counterbore": TrueOpening(
        "pocket", 20, (TrueFloor("recess", 0, disc(60.3, 50.2, 10), 6, 5), TrueFloor("hole", 1, disc(60.3, 50.2, 5), np.inf, 10))
    ),
    "cavity with a cover and a wire hole": TrueOpening(
        "pocket", 56,
        (TrueFloor("recess", 0, RECESS, 3, 8), TrueFloor("floor", 1, CAVITY, 20), TrueFloor("hole", 2, disc(55.3, 30.1, 4), np.inf, 8)),
    ),
    "low island": TrueOpening(
        "pocket", 50, (TrueFloor("floor", 0, box(20.3, 90.3, 25.2, 75.2), 14), TrueFloor("island", 0, box(50.3, 62.3, 44.2, 56.2), 5, 12))
    ),
    "sloped floor": TrueOpening("pocket", 30, (TrueFloor("floor", 0, box(30.2, 80.2, 30.4, 60.4), _sloped, 30),)),
    "arched floor": TrueOpening("pocket", 40, (TrueFloor("floor", 0, box(30.2, 90.2, 30.4, 70.4), _arched_floor, 40),)),
    "open to the outline": TrueOpening("slot", 34, (TrueFloor("floor", 0, box(70.2, 121, 33.3, 67.3), 16, 34),)),
    "open to the outline, with a ledge": TrueOpening(
        "slot", 44, (TrueFloor("recess", 0, box(60.2, 121, 28.3, 72.3), 4), TrueFloor("floor", 1, box(68.2, 121, 36.3, 64.3), 16, 28))
    ),
    "channel from end to end": TrueOpening("slot", 6, (TrueFloor("floor", 0, box(-1, 121, 47.2, 53.2), 9, 6),)),
    "f-hole": TrueOpening("hole", None, (TrueFloor("hole", 0, f_hole, np.inf, None),)),
    "through hole": TrueOpening("hole", 14, (TrueFloor("hole", 0, disc(60.3, 50.2, 7), np.inf, 14),)),
    "small through hole": TrueOpening("hole", 3, (TrueFloor("hole", 0, disc(60.3, 50.2, 1.5), np.inf, 3),)),
}  # fmt: skip
"""By name. Walls stand upright and lie on no centre of a cell."""


@dataclass(frozen=True)
class Built:
    """A body on the grid that its openings are looked for on.

    regions: number of the floor of every cell, 0 for the ground. depths: below the ground, mm.
    """

    grid: Grid
    heights: np.ndarray
    regions: np.ndarray
    depths: np.ndarray
    found: FoundOpenings


def plan_grid(cell: float, scale: float = 1.0) -> Grid:
    """The plan's grid over a body, its centres off the walls."""
    return Grid.over(np.array([0.031, 0.017]), np.array([LENGTH * scale, WIDTH * scale]), cell, margin=2 * cell)


def built(opening: TrueOpening, top: Heights, cell: float, scale: float = 1.0) -> Built:
    """The body with one opening, all plan lengths of it scaled, looked at with a plan's cell."""
    grid, every = detail_grid(plan_grid(cell, scale))
    x, y = np.meshgrid(grid.x() / scale, grid.y() / scale)
    body = (x > 0) & (x < LENGTH) & (y > 0) & (y < WIDTH)
    regions, depths = np.zeros(grid.shape, int), np.zeros(grid.shape)
    for number, floor in enumerate(opening.floors, 1):
        inside = body & floor.region(x, y)
        regions[inside] = number
        depths[inside] = floor.depth(x, y)[inside] if callable(floor.depth) else floor.depth
    heights = np.where(body, top(x, y) - depths, -np.inf).astype(np.float32)
    return Built(grid, heights, regions, depths, find_openings(heights, grid, every))


def body_of(heights: Heights, cell: float) -> tuple[np.ndarray, Grid, FoundOpenings]:
    """A body without a truth of its own: heights, the grid that they are looked at on, what is found."""
    grid, every = detail_grid(plan_grid(cell))
    x, y = np.meshgrid(grid.x(), grid.y())
    body = (x > 0) & (x < LENGTH) & (y > 0) & (y < WIDTH)
    z = np.where(body, heights(x, y), -np.inf).astype(np.float32)
    return z, grid, find_openings(z, grid, every)


def _plate(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Distance from the middle of an oval plate that fills the body, 1 at its outline."""
    return np.hypot((x - 60) / 60, (y - 50) / 50)


def archtop(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """An arched middle, a valley (recurve) round it and a level edge; outside the oval nothing."""
    r = _plate(x, y)
    z = (
        22
        - 10 * np.cos(np.pi * np.clip(r / 0.85, 0, 1)) * -1
        + 2.5 * np.clip((r - 0.85) / 0.15, 0, 1) ** 2 * (3 - 2 * np.clip((r - 0.85) / 0.15, 0, 1))
    )
    return np.where(r < 1, z, -np.inf)


def archtop_from_inside(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A dished inside that meets a level gluing rim at 40 degrees."""
    r = np.hypot(x - 60, y - 50)
    return np.where(r < 48, np.minimum(TOP, TOP + np.sqrt(60.0**2 - 38.6**2) - np.sqrt(np.maximum(60.0**2 - r**2, 1))), -np.inf)


def dished_seat(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A round dish 80 mm wide and 12 mm deep with a crisp edge of 33 degrees in a flat."""
    radius = (40.0**2 + 12.0**2) / 24
    r2 = (x - 60) ** 2 + (y - 50) ** 2
    return TOP - np.maximum(np.sqrt(np.maximum(radius**2 - r2, 1)) - (radius - 12), 0)


def groove(depth: float) -> Heights:
    """A carved top, round it a groove with a round bottom of radius 3, then a bevelled ledge that drops outwards by 20 degrees."""

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        r = np.hypot(x - 60, y - 50)
        top = np.where(r < 38, TOP - r * r / 300, TOP - 38 * 38 / 300 - np.maximum(r - 38, 0) * np.tan(np.radians(20)))
        across = np.sqrt(np.maximum(9 - (r - 38) ** 2, 0)) - (3 - depth)
        return np.where(r < 49, top - np.maximum(across, 0), -np.inf)

    return heights


def upright_ring_groove(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The same with upright walls: a channel for a binding, 3 mm wide and 2 mm deep."""
    r = np.hypot(x - 60, y - 50)
    return np.where(r < 49, groove(0.0)(x, y) - 2.0 * (np.abs(r - 41.03) < 1.51), -np.inf)


def noisy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """An arched top with the noise of a scan, 0.05 mm."""
    return TOPS["arched"](x, y) + np.random.default_rng(7).normal(0, 0.05, x.shape)


NO_OPENINGS: dict[str, Heights] = {
    "archtop plate with a recurve": archtop,
    "archtop plate from inside": archtop_from_inside,
    "dished seat": dished_seat,
    "ledge with a round groove": groove(1.5),
    "ledge with a half-round groove": groove(3.0),
    "ledge with an upright groove": upright_ring_groove,
    "boss": lambda x, y: TOP + 5.0 * disc(60.3, 50.2, 15)(x, y),
    "boss with slanted sides": lambda x, y: TOP + np.clip((20 - np.hypot(x - 60, y - 50)) * 8, 0, 6),
    "rebate at a corner": lambda x, y: TOP - 8.0 * box(70.2, 121, 60.3, 101)(x, y),
    "rebate all round": lambda x, y: TOP - 8.0 * ~box(10.3, 109.7, 10.2, 89.8)(x, y),
    "stairs": lambda x, y: TOP - 4.0 * np.floor((x + 7.3) / 30),
    "steep waves": lambda x, y: TOP - 3 + 3 * np.sin(x / 2.2) * np.sin(y / 2.9),
    "vee carved at 60 degrees": lambda x, y: TOP - np.maximum(8 - np.abs(y - 50 + 0.2 * x), 0) * np.sqrt(3),
    "scan": noisy,
}  # fmt: skip
"""Bodies by name in which nothing is an opening."""


def columns(x: tuple[float, ...], y: tuple[float, ...], heights: list[list[float]]) -> np.ndarray:
    """Triangles (n, 3, 3) of upright columns side by side, between lines in x and y, of the heights of [row in y][column in x]."""
    boxes = [
        (x[i], x[i + 1], y[j], y[j + 1], 0.0, z) for j, row in enumerate(heights) for i, z in enumerate(row) if z > 0
    ]  # fmt: skip
    return overlapping_boxes(boxes)


def overlapping_boxes(boxes: list[tuple[float, ...]]) -> np.ndarray:
    """Triangles (n, 3, 3) of closed boxes (x0, x1, y0, y1, z0, z1) that touch: seen from above or below they are one body."""
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)])
    quads = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))
    faces = np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))])
    out = []
    for x0, x1, y0, y1, z0, z1 in boxes:
        out.append((np.array([x0, y0, z0]) + corners * np.array([x1 - x0, y1 - y0, z1 - z0]))[faces])
    return np.concatenate(out)
