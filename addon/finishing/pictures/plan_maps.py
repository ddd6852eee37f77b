"""The maps of a plan: what each shows, under which legend, and on which plans."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.message import Message
from ..planning.result import Plan
from .legend import Legend, curvature_legend, cusp_legend, rounded_up, slope_legend, uncut_legend
from .legend_panel import NOT_REACHED, RIM, Hatch

LEAST_UNCUT_RANGE = 0.1
"""mm; an uncut map's legend goes at least this far, or rounding would be drawn as a hollow that does not fit."""


@dataclass(frozen=True)
class PlanMap:
    """A map of a plan.

    name: of its file, in lower case with underscores. title: its words on the picture. values: (rows, columns) on the plan's grid, nan where
    there is nothing to show. legend: its colours, range and unit. of_body: whether it shows the body itself, so that nothing is hatched on it
    and the plan of a smaller cutter on the same side does not repeat it. hatched: ground without values that has a hatching of its own,
    besides what is left out.
    """

    name: str
    title: Message
    values: Callable[[Plan], FloatArray]
    legend: Callable[[Plan], Legend]
    of_body: bool = False
    hatched: Callable[[Plan], tuple[tuple[Hatch, Mask], ...]] = lambda plan: ()


def planned_uncut(plan: Plan) -> FloatArray:
    """Uncut height on the planned ground, nan elsewhere."""
    return np.where(plan.ground.planned & np.isfinite(plan.heights), plan.uncut, np.nan)


def _uncut_legend(plan: Plan) -> Legend:
    values = planned_uncut(plan)
    most = float(np.nanmax(values)) if np.isfinite(values).any() else 0.0
    return uncut_legend(rounded_up(max(most, LEAST_UNCUT_RANGE)))


def greatest_standing(plan: Plan) -> float:
    """The most that the simulated cut leaves on reached ground, borders too, mm."""
    return max(plan.proof.worst_cusp, dict(plan.proof.border_percentiles)[100.0])


def ground_without_cusps(plan: Plan) -> tuple[tuple[Hatch, Mask], ...]:
    """Planned ground without a measured cusp, since the cutter cannot come to rest there, and rims, which it rolls over."""
    ground = plan.ground
    unreached = ground.planned & ~np.isfinite(plan.proof.cusp)
    return (NOT_REACHED, unreached), (RIM, ground.rims & ground.passable & np.isfinite(plan.heights))


PLAN_MAPS: tuple[PlanMap, ...] = (
    PlanMap("slope_map", Message("Slope map"), lambda plan: plan.maps.slope_degrees, lambda plan: slope_legend(), of_body=True),
    PlanMap(
        "curvature_map", Message("Curvature map"), lambda plan: plan.maps.strongest(), lambda plan: curvature_legend(plan.cutter.radius), of_body=True
    ),
    PlanMap("uncut_map", Message("Uncut height"), planned_uncut, _uncut_legend),
    PlanMap(
        "cusp_map",
        Message("Cusp height, by a simulated cut"),
        lambda plan: plan.proof.cusp,
        lambda plan: cusp_legend(plan.request.cusp, greatest_standing(plan)),
        hatched=ground_without_cusps,
    ),
)
"""Every map that a plan is pictured with: a new one is a row here."""
