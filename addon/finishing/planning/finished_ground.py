"""The finished surface of a side: what its plans leave of the stock, on cells as fine as are wanted."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, FloatArray, Mask
from ..core.grid import Grid
from ..core.path import CUT
from ..core.stepping import within
from ..simulation.finished_surface import Run, finished_heights_steps
from ..surface.height_map import height_map
from ..tooling.surroundings import StockBefore, StockGiven, stock_before, stock_box
from .result import Plan

FINE_CELL = 0.1
"""mm; cells on which cusps that matter show: the narrowest are some ten cells wide."""


@dataclass(frozen=True)
class FinishedGround:
    """A side as it will be. grid: its cells. heights: (rows, columns) mm, -inf outside the body. body: the modelled body there."""

    grid: Grid
    heights: Double
    body: Double


def stock_before_plan(plan: Plan) -> StockBefore:
    """The stock before the plan's side is finished."""
    request = plan.request
    triangles = None if request.stock_body is None else request.stock_body.moved(plan.job_from_body).triangles
    given = StockGiven(stock_box(plan.stock, request.side), request.roughing, triangles, None)
    return stock_before(given, plan.ground.heights, plan.region)


def finished_ground_steps(plans: Sequence[Plan], grid: Grid) -> Generator[float, None, FinishedGround]:
    """The surface that the plans of one side leave, in their order, on a grid in job mm; yields shares done.

    Ground that no cutter comes to stands as roughing leaves it, which is known on cells of half a millimetre.
    """
    body = height_map(plans[0].body.triangles, grid)
    before = stock_before_plan(plans[0])
    rough = _sampled(before.rough, before.grid, grid)
    standing = np.where(body > -np.inf, np.maximum(rough, body), -np.inf)
    runs = [Run(plan.path.points, plan.tip_surface.radius, plan.tip_surface.flank) for plan in plans]
    heights = yield from finished_heights_steps(standing, grid, runs)
    return FinishedGround(grid, heights, body)


def _sampled(values: FloatArray, own: Grid, grid: Grid) -> Double:
    """Heights on another grid: between cells that are known, else those of the nearest cell."""
    x, y = np.meshgrid(grid.x(), grid.y())
    points = np.column_stack([x.ravel(), y.ravel()])
    known = np.isfinite(values)
    share = own.sample(known.astype(np.float64), points)
    between = own.sample(np.where(known, values, 0.0), points)
    nearest = values[own.nearest(points)]
    return np.asarray(np.where(share > 1 - 1e-9, between, nearest), np.float64).reshape(grid.shape)


@dataclass(frozen=True)
class SideBySide:
    """A finished side, and the same ground as other plans would leave it, on the same cells; None where there are no others."""

    own: FinishedGround
    other: FinishedGround | None

    def reach(self) -> tuple[float, float]:
        """The least and the greatest X of the body in job mm, which the divider goes between; the grid's where there is no body on it."""
        grid, columns = self.own.grid, np.flatnonzero(np.isfinite(self.own.body).any(axis=0))
        first, last = (columns[0], columns[-1]) if len(columns) else (0, grid.columns - 1)
        return grid.left + (first - 0.5) * grid.cell, grid.left + (last + 0.5) * grid.cell

    def left_of(self, share: float) -> Mask:
        """The columns of the grid that show the other plans when the divider stands at a share of the body's length along X; none without others."""
        low, high = self.reach()
        if self.other is None or share <= 0:
            return np.zeros(self.own.grid.columns, bool)
        return self.own.grid.x() < low + share * (high - low)

    def highest(self) -> FloatArray:
        """What stands highest after either of the plans, (rows, columns)."""
        return self.own.heights if self.other is None else np.maximum(self.own.heights, self.other.heights)


def side_by_side_steps(plans: Sequence[Plan], others: Sequence[Plan], grid: Grid) -> Generator[float, None, SideBySide]:
    """The finished surface of two plans of one side on a grid in job mm; others: () for none. Yields shares done."""
    if not others:
        return SideBySide((yield from finished_ground_steps(plans, grid)), None)
    own = yield from within(finished_ground_steps(plans, grid), 0.0, 0.5)
    return SideBySide(own, (yield from within(finished_ground_steps(others, grid), 0.5, 1.0)))


def grid_round(place: FloatArray, reach: float) -> Grid:
    """Fine cells over a square of 2 `reach` mm round a place (x, y first) in job mm."""
    return Grid.over(np.asarray(place[:2]) - reach, np.asarray(place[:2]) + reach, FINE_CELL)


def across_the_lines(plans: Sequence[Plan]) -> float:
    """Direction in degrees from X, 0 to 180, square to that in which most of the cutting runs: light from there shows the cusps best."""
    turned = np.zeros(2)
    for plan in plans:
        move = np.diff(plan.path.points[:, :2], axis=0)[plan.path.kind[1:] == CUT]
        length = np.hypot(move[:, 0], move[:, 1])
        angle = 2 * np.arctan2(move[:, 1], move[:, 0])  # both ways along a line are one direction
        turned += np.array([(length * np.cos(angle)).sum(), (length * np.sin(angle)).sum()])
    return float(np.degrees(np.arctan2(turned[1], turned[0]) / 2 + np.pi / 2) % 180)
