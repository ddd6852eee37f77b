"""What stands round the tool on its way: the stock before finishing, on the plan's cells and as obstacles for shank and nut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..ball.axis_region import AxisRegion
from ..core.array_types import FloatArray, Mask
from ..core.filters import strips
from ..core.grid import Grid
from ..core.masks import distance_to, shrunk
from ..core.place import Place, place_of
from ..job.machine import Machine
from ..job.roughing import RoughingSettings
from ..job.stock import Stock, corners_in_job
from ..surface.height_map import height_map
from .clearance import CELL, FARTHEST, Obstacles
from .standing_stock import StockBox, out_of_flat_reach, stock_after_roughing


@dataclass(frozen=True)
class StockBefore:
    """Heights before the cutter comes, on a grid that holds the whole stock, (rows, columns), -inf where nothing stands.

    depth: (rows, columns) on the plan's own grid, thickness along the normal that the cutter meets with its axis there, mm.
    """

    grid: Grid
    body: FloatArray
    rough: FloatArray
    standing: FloatArray
    depth: FloatArray


NARROWEST = 2.0
"""mm; strips of wood narrower than this are what cells make of a wall beside the ground."""


@dataclass(frozen=True)
class Unroughed:
    """Wood in hollows that the flat cutter of roughing does not come into. area: mm2. height: of the wood above the body, mm. place: job mm, where."""

    area: float
    height: float
    place: Place


@dataclass(frozen=True)
class StockGiven:
    """What is known of the stock before the cutter comes.

    box: the whole stock, job mm. roughing: what it has left. triangles: (n, 3, 3) of the stock as it really is, job mm, None for what
    roughing leaves. left_by_larger: surface on the side's own cells that a larger cutter has left on the body, None for the first cutter.
    """

    box: StockBox
    roughing: RoughingSettings
    triangles: FloatArray | None
    left_by_larger: FloatArray | None

    @property
    def is_an_even_layer(self) -> bool:
        """Whether the same thickness stands everywhere on the body."""
        return self.triangles is None and self.roughing.terrace_height is None and self.left_by_larger is None


def stock_box(stock: Stock, side: str) -> StockBox:
    """The stock in job mm of a side."""
    low, high = (corner.tolist() for corner in corners_in_job(stock, side))
    return StockBox((low[0], low[1]), (high[0], high[1]), high[2], low[2])


def stock_before(given: StockGiven, surface: FloatArray, region: AxisRegion) -> StockBefore:
    """The stock that was given, or what roughing leaves; for a smaller cutter what the larger one has left on the body.

    surface: planned surface (rows, columns) on the region's grid.
    """
    own = region.grid
    low = np.minimum(np.array(given.box.low), (own.left, own.front))
    high = np.maximum(np.array(given.box.high), (own.x()[-1], own.y()[-1]))
    grid = Grid.over(low, high, CELL)
    body = _resampled(surface, own, grid)
    wide_left = None if given.left_by_larger is None else _padded(given.left_by_larger, surface)
    rough = _rough(given, body, grid, None if wide_left is None else _resampled(wide_left, own, grid))
    standing = np.where((body > -np.inf) | (rough <= given.box.bottom), -np.inf, rough).astype(np.float32)
    if given.is_an_even_layer:
        depth = np.full(own.shape, given.roughing.allowance, np.float32)
    else:
        depth = _depth_at_contact(surface, region, _rough(given, surface, own, wide_left))
    return StockBefore(grid=grid, body=body, rough=rough, standing=standing, depth=depth)


def may_still_stand(given: StockGiven, before: StockBefore) -> FloatArray:
    """Heights (rows, columns) on the stock's own grid of all that may stand when the cutter comes, -inf where nothing does.

    A larger cutter may have left out ground that was skipped, too steep or kept clear: there stands what roughing has left. Roughing itself leaves
    its allowance only where its flat cutter comes down: hollows narrower than that may be full of wood.
    """
    rough = before.rough
    if given.left_by_larger is not None:
        rough = np.maximum(rough, _rough(given, before.body, before.grid, None))
    if given.triangles is not None:
        return rough
    on_body = np.where(before.body > -np.inf, rough, -np.inf)
    return np.maximum(rough, out_of_flat_reach(on_body, before.grid.cell, given.roughing, given.box.top))


def unroughed(given: StockGiven, before: StockBefore, standing: FloatArray, planned: Mask, grid: Grid, most: float) -> Unroughed | None:
    """Where more wood than `most` mm may stand on planned ground (rows, columns on `grid`), since the flat cutter of roughing is wider than the
    hollow; None where it nowhere does, and where the stock itself is known. standing: as from `may_still_stand`.
    """
    if given.triangles is not None or given.left_by_larger is not None:
        return None
    wood = np.where(before.body > -np.inf, standing - np.where(before.body > -np.inf, before.body, 0.0), 0.0)
    on_ground = np.zeros(before.grid.shape, bool)
    for _wide, _own, strip in strips(len(planned)):
        row, column = np.nonzero(planned[strip])
        on_ground[before.grid.nearest(grid.middles(row + strip.start, column))] = True
    deep = on_ground & (wood > most)
    wide = shrunk(deep, before.grid.cell, NARROWEST / 2)
    if not wide.any():
        return None
    worst = np.unravel_index(np.where(wide, wood, 0.0).argmax(), wood.shape)
    x, y = before.grid.x()[worst[1]], before.grid.y()[worst[0]]
    place = place_of(np.array([x, y, before.body[worst]], float))
    return Unroughed(float(deep.sum()) * before.grid.cell_area, float(wood[worst]), place)


def standing_before(given: StockGiven, surface: FloatArray, own: Grid, reach: float) -> Obstacles:
    """What stands round any cutter of a side as obstacles, with room of `reach` mm round it, before ground and region of one are known.

    surface: the body's top (rows, columns) on the grid `own`, -inf outside.
    """
    low = np.minimum(np.array(given.box.low), (own.left, own.front))
    high = np.maximum(np.array(given.box.high), (own.x()[-1], own.y()[-1]))
    grid = Grid.over(low, high, CELL, margin=reach)
    body = _resampled(surface, own, grid)
    rough = _rough(given, body, grid, None)
    standing = np.where((body > -np.inf) | (rough <= given.box.bottom), -np.inf, rough).astype(np.float32)
    return Obstacles(grid, body, rough, standing, away=distance_to(standing > -np.inf, grid.cell, FARTHEST))


def _rough(given: StockGiven, surface: FloatArray, grid: Grid, left: FloatArray | None) -> FloatArray:
    """Heights before finishing on some grid."""
    if given.triangles is None:
        rough = stock_after_roughing(surface, grid, given.roughing, given.box)
    else:
        rough = height_map(given.triangles, grid, upward_only=False).astype(np.float32)
    if left is None:
        return rough
    # The larger cutter has been wherever it reaches: on the body stands what it left there.
    return np.where(surface > -np.inf, np.maximum(left, surface), rough).astype(np.float32)


def _depth_at_contact(surface: FloatArray, region: AxisRegion, rough: FloatArray) -> FloatArray:
    """Thickness of the stock along the normal, for every position of the axis at its contact."""
    both = (surface > -np.inf) & (rough > -np.inf)
    over = np.where(both, np.where(both, rough, 0) - np.where(both, surface, 0), 0.0)[region.contact_row, region.contact_column]
    slope = np.where(np.isfinite(region.slope_degrees), region.slope_degrees, 0.0)
    return (np.maximum(over, 0) * np.cos(np.radians(slope))).astype(np.float32)


def _resampled(values: FloatArray, grid: Grid, onto: Grid) -> FloatArray:
    """Values at the cells of another grid, by the nearest cell, -inf off the first one."""
    out = np.empty(onto.shape, np.float32)
    x, y = onto.x(), onto.y()
    for _wide, _own, strip in strips(onto.rows):
        places = np.stack(np.meshgrid(x, y[strip]), axis=-1).reshape(-1, 2)
        row, column = grid.position(places)
        inside = (row > -0.5) & (row < grid.rows - 0.5) & (column > -0.5) & (column < grid.columns - 0.5)
        out[strip] = np.where(inside, values[grid.nearest(places)], -np.inf).reshape(-1, onto.columns)
    return out


def _padded(values: FloatArray, like: FloatArray) -> FloatArray:
    """Values on the side's grid with the rim of the plan's grid round them."""
    rim = (like.shape[0] - values.shape[0]) // 2
    return np.pad(values, rim, constant_values=-np.inf)


def obstacles_of(before: StockBefore, machine: Machine) -> Obstacles:
    """The stock as obstacles, with room round it for the nut."""
    rim = int(np.ceil(machine.nut_diameter / 2 / before.grid.cell)) + 1
    body, rough, standing = (np.pad(values, rim, constant_values=-np.inf) for values in (before.body, before.rough, before.standing))
    return Obstacles(before.grid.padded(rim), body, rough, standing)
