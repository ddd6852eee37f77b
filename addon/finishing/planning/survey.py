"""What can be said of a side before any line is laid: maps, openings, and how the cutters of the rack fit.

It asks the plan's own graph, so that a plan that follows finds all of it done.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..ball.fit import Fit, LargestRadius
from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.result_store import ResultStore
from ..core.stage_runner import Progress, StageRunner
from ..core.stepping import between
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.stock import Stock
from ..options.cutter_sets import SetTable
from ..options.fit_table import RackRow
from ..options.suggestions import Suggestion
from ..options.tab_layout import TabLayout
from ..surface.curvature_maps import SurfaceMaps
from ..surface.side import Side
from .checking import check_request
from .plan_graph import PLAN_GRAPH
from .tried_sets import likely_cutter

LONE_CUTTER = Cutter("any", 16.0)
"""Stands for the largest cutter where the rack is empty: pockets narrower than it are ground."""

MAPS = ("turned", "job_body", "placed_stock", "heights", "skipped_cells", "maps", "tab_layout")
"""The stages of slope and curvature, and of the tabs; a survey asks for more."""

CHOSEN_SHARE = 0.6
"""Share of the progress of the first fit by the time that its cutter is chosen; it only weighs what is shown."""


@dataclass(frozen=True)
class Survey:
    """One side without a path. body: in job axes. side: heights and openings. skipped: cells of it that are marked. maps: slope and curvature.

    rack, sets: what every cutter of the rack would do, and which of them together finish soonest. planned_area: mm2 of planned ground, for the
    largest cutter of the rack. suggestions: ground that may better be skipped. tab_layout: None where there are to be no tabs.
    """

    request: Request
    job_from_body: FloatArray
    body: Body
    stock: Stock
    side: Side
    skipped: Mask
    maps: SurfaceMaps
    rack: tuple[RackRow, ...]
    largest: LargestRadius | None
    sets: SetTable | None
    planned_area: float
    suggestions: tuple[Suggestion, ...]
    tab_layout: TabLayout | None

    @property
    def grid(self) -> Grid:
        """The grid that just holds the body."""
        return self.side.grid

    @property
    def heights(self) -> FloatArray:
        """Top surface, (rows, columns), -inf outside."""
        return self.side.heights


@dataclass(frozen=True)
class FitMap:
    """What one cutter leaves. uncut: (rows, columns) on `grid`, nan off the planned ground; heights: the body there.

    planned: ground that was judged. fit_tolerance: uncut height in mm that does not count.
    """

    cutter: Cutter
    grid: Grid
    heights: FloatArray
    uncut: FloatArray
    fit: Fit
    planned: Mask
    fit_tolerance: float


def survey_steps(request: Request, store: ResultStore) -> Generator[Progress, None, Survey]:
    """Survey a side; yields (share done, stage). Raises the errors of finishing.core.errors."""
    check_request(request)
    runner = StageRunner(PLAN_GRAPH, store)
    largest_cutter = max(request.rack, key=lambda cutter: cutter.diameter, default=LONE_CUTTER)
    own = replace(_with_cutter(request, largest_cutter), rack_table=bool(request.rack) and request.rack_table)
    names = (*MAPS, "ground", "suggestions", "fit_table", "largest_radius", "cutter_sets")
    found: Any = yield from runner.ask(names, own)
    return _survey(request, found)


def first_maps_steps(request: Request, store: ResultStore) -> Generator[Progress, None, Survey]:
    """Slope and curvature of a side before anything else is worked out, as a survey without cutters; yields (share done, stage).

    A plan that follows finds them done. Raises the errors of finishing.core.errors.
    """
    check_request(request)
    runner = StageRunner(PLAN_GRAPH, store)
    cutter = request.cutter or max(request.rack, key=lambda each: each.diameter, default=LONE_CUTTER)
    found: Any = yield from runner.ask(MAPS, _with_cutter(request, cutter))
    return _survey(request, found)


def first_fit_steps(request: Request, store: ResultStore) -> Generator[Progress, None, FitMap]:
    """What the cutter leaves that a plan would most likely begin with, before any line is laid; yields (share done, stage).

    A plan that follows finds it done. Raises the errors of finishing.core.errors.
    """
    check_request(request)
    cutter = request.cutter
    if cutter is None:
        cutter = yield from between(likely_cutter(request, StageRunner(PLAN_GRAPH, store)), 0.0, CHOSEN_SHARE)
    return (yield from between(fit_map_steps(request, cutter, store), 0.0 if request.cutter else CHOSEN_SHARE, 1.0))


def _survey(request: Request, found: dict[str, Any]) -> Survey:
    """The survey of what was found; without cutters where only the maps were."""
    return Survey(
        request=request,
        job_from_body=found["turned"],
        body=found["job_body"],
        stock=found["placed_stock"],
        side=found["heights"],
        skipped=found["skipped_cells"],
        maps=found["maps"],
        rack=found.get("fit_table", ()),
        largest=found.get("largest_radius"),
        sets=found.get("cutter_sets"),
        planned_area=found["ground"].planned_area if "ground" in found else 0.0,
        suggestions=found.get("suggestions", ()),
        tab_layout=found["tab_layout"],
    )


def _with_cutter(request: Request, cutter: Cutter) -> Request:
    """The request with another cutter, which may be too small for its cusp height: no line is laid."""
    return replace(request, cutter=cutter, cusp=min(request.cusp, cutter.radius / 2))


def fit_map_steps(request: Request, cutter: Cutter, store: ResultStore) -> Generator[Progress, None, FitMap]:
    """Roll one cutter over a side and say what it leaves; yields (share done, stage). Raises the errors of finishing.core.errors."""
    check_request(_with_cutter(request, cutter))
    runner = StageRunner(PLAN_GRAPH, store)
    found: Any = yield from runner.ask(("ground", "tip_surface", "judged_fit"), _with_cutter(request, cutter))
    ground, view = found["ground"], found["tip_surface"]
    uncut = np.where(ground.planned, view.uncut, np.nan).astype(np.float32)
    return FitMap(
        cutter=cutter,
        grid=view.grid,
        heights=ground.heights,
        uncut=uncut,
        fit=found["judged_fit"],
        planned=ground.planned,
        fit_tolerance=request.fit.uncut_height,
    )
