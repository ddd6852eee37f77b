"""Which map and which values of the pass lines are shown, found among the results of a body. No gpu and no bpy in here."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..finishing.core.array_types import FloatArray, Mask, Single
from ..finishing.core.grid import Grid
from ..finishing.core.message import Message
from ..finishing.core.path import CUT
from ..finishing.job.cutter import cutter_words
from ..finishing.pictures.legend import (
    Legend,
    bite_legend,
    curvature_legend,
    cusp_legend,
    feed_legend,
    fit_legend,
    height_legend,
    order_legend,
    rounded_up,
    shade_legend,
    slope_legend,
)
from ..finishing.pictures.legend_panel import Hatch
from ..finishing.pictures.plan_maps import greatest_standing, ground_without_cusps
from ..finishing.planning.finished_ground import SideBySide
from ..finishing.planning.result import Plan
from ..scene.results import BodyResults

USUAL_RADIUS = 8.0
"""mm; the colours of the curvature change at the cutter's radius, and at this one while no cutter is chosen."""

LEAST_RANGE = 0.1
"""mm that a scale of heights spans at least."""

TOLERANCES_SHOWN = 4
"""The scale of a fit map reaches at least this many times the tolerated height."""


@dataclass(frozen=True)
class ShownMap:
    """A map as it is shown. values: (rows, columns) on `grid`, nan where clear; heights: the surface it lies on. is_lit: whether the values
    are themselves light and shade, so that none is added. hatched: ground without values that has a hatching of its own, with its kind, where there
    is any.
    """

    grid: Grid
    heights: FloatArray
    values: FloatArray
    legend: Legend
    is_lit: bool = False
    hatched: tuple[tuple[Hatch, Mask], ...] = ()


def shown_map(results: BodyResults, name: str, fit_cutter: str) -> ShownMap | None:
    """The values of a map by its name, None when there are none yet. fit_cutter: name of the cutter whose fit is shown."""
    plan, newest = results.plan, results.newest
    if newest is not None and name == "slope":
        return ShownMap(newest.grid, newest.heights, newest.maps.slope_degrees, slope_legend())
    if newest is not None and name == "curvature":
        radius = plan.cutter.radius if plan is not None else USUAL_RADIUS
        return ShownMap(newest.grid, newest.heights, newest.maps.strongest(), curvature_legend(radius))
    if name == "fit":
        return _fit_map(results, fit_cutter)
    if plan is not None and name == "uncut":
        planned = np.where(plan.ground.planned, plan.uncut, np.nan)
        return ShownMap(plan.grid, plan.heights, planned, _fit_scale(plan.request.fit.uncut_height, planned, Message("Uncut height")))
    if plan is not None and name == "cusp":
        hatched = tuple((hatch, mask) for hatch, mask in ground_without_cusps(plan) if mask.any())
        return ShownMap(plan.grid, plan.heights, plan.proof.cusp, cusp_legend(plan.request.cusp, greatest_standing(plan)), hatched=hatched)
    return None


def finished_map(finish: SideBySide, heights: FloatArray, lights: tuple[Single, Single | None], divider: float, times: float) -> ShownMap:
    """The finished surface as a lamp lights it, with that of another plan to the left of the divider, a share of the body's length.

    heights: the surface that it lies on, the same wherever the divider stands. lights: brightness of the own and of the other surface. times: by what
    heights were enlarged before they were lit.
    """
    own, other = lights
    bright = own if other is None else np.where(finish.left_of(divider), other, own)
    shade = np.where(np.isfinite(heights), 1 - bright, np.nan).astype(np.float32)
    return ShownMap(finish.own.grid, heights, shade, shade_legend(round(times, 3)), is_lit=True)


def _fit_map(results: BodyResults, cutter_name: str) -> ShownMap | None:
    """The fit map of a cutter by name."""
    plan = results.plan
    if plan is not None and cutter_name in ("", plan.cutter.name):
        planned = np.where(plan.ground.planned, plan.uncut, np.nan)
        title = Message("Fit of {cutter}", cutter=cutter_words(plan.cutter))
        return ShownMap(plan.grid, plan.heights, planned, _fit_scale(plan.request.fit.uncut_height, planned, title))
    for cutter, fit_map in results.fit_maps.items():
        if cutter.name == cutter_name:
            legend = _fit_scale(fit_map.fit_tolerance, fit_map.uncut, Message("Fit of {cutter}", cutter=cutter_words(cutter)))
            return ShownMap(fit_map.grid, fit_map.heights, fit_map.uncut, legend)
    return None


def _fit_scale(tolerance: float, uncut: FloatArray, title: Message) -> Legend:
    """A fit legend that reaches as high as the map does, with a title of its own."""
    return replace(fit_legend(tolerance, max(rounded_up(_greatest(uncut)), TOLERANCES_SHOWN * tolerance)), title=title)


def _greatest(values: FloatArray) -> float:
    """The greatest number of a map, 0 when it has none."""
    known = values[np.isfinite(values)]
    return float(known.max()) if len(known) else 0.0


def lines_legend(plan: Plan, by: str) -> Legend:
    """What the colours of the pass lines mean. by: "order", "height", "feed" or "bite"."""
    cut = plan.path.kind == CUT
    if by == "height":
        z = plan.path.points[cut, 2]
        return height_legend(float(z.min()), float(max(z.max(), z.min() + LEAST_RANGE)))
    if by == "feed":
        feed = plan.path.feed[cut]
        return feed_legend(float(feed.min()), float(feed.max()))
    if by == "bite":
        section = plan.bite.engagement.section
        return bite_legend(float(section.max()) if len(section) else 1.0)
    return order_legend(plan.path.line_count)


def line_values(plan: Plan, by: str) -> FloatArray | None:
    """The value that colours every row of the path, (n,); None for the running order, which the path itself holds."""
    if by == "bite":
        section = np.zeros(len(plan.path))
        np.maximum.at(section, plan.bite.engagement.row, plan.bite.engagement.section)
        return section
    return {"height": plan.path.points[:, 2], "feed": plan.path.feed}.get(by)
