"""From a plan's settings to a test coupon: its cutter, its cusp heights, and the narrowest hollow of its body."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from typing import Any

from ..core.result_store import ResultStore
from ..core.stage_runner import Progress, StageRunner
from ..job.cutter import Cutter
from ..job.request import Request
from ..options.coupon import LEAST_HOLLOW, Coupon, CouponSettings, make_coupon
from ..options.fit_table import RackRow
from .plan_graph import PLAN_GRAPH
from .questions import on_table

CUSPS_TRIED = (0.5, 1.0, 2.0)
"""Cusp heights of the three columns over that of the plan: a finer and a coarser one, far enough apart to be told by the thumb. No source."""

PLAIN_HOLLOW = 1.5
"""Radius of the hollow over the cutter's where no body is known: narrow enough to tell how the cutter runs in hollows. No source."""

GENTLE = 1e4
"""mm; a body without a hollow is tried on ground that is all but flat."""


def hollow_of(row: RackRow) -> float:
    """Radius in mm of the narrowest hollow that a row of the fit table has met, LEAST_HOLLOW at least; GENTLE where there is none."""
    return GENTLE if row.hollow_radius is None else min(max(row.hollow_radius, LEAST_HOLLOW), GENTLE)


def least_hollow_steps(request: Request, store: ResultStore) -> Generator[Progress, None, float]:
    """Radius in mm of the narrowest hollow on the planned ground of a request with a cutter."""
    answers: Any = yield from StageRunner(PLAN_GRAPH, store).ask(("fit_row",), on_table(request))
    return hollow_of(answers["fit_row"])


def cusps_to_try(cusp: float, cutter: Cutter) -> tuple[float, float, float]:
    """Three cusp heights in mm round that of a plan, none beyond a fifth of the cutter's radius."""
    fine, own, coarse = (min(share * cusp, 0.2 * cutter.radius) for share in CUSPS_TRIED)
    return fine, own, coarse


def coupon_of(request: Request, settings: CouponSettings) -> Coupon:
    """The coupon for a request's cutter on its machine. Raises BadRequest."""
    assert request.cutter is not None
    machine = request.machine
    cutter = request.cutter if request.feed is None else replace(request.cutter, feed=request.feed)
    return make_coupon(settings, cutter, machine.air_feed, machine.plunge_feed, machine.safe_height)
