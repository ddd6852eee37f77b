"""The whole plan: from a request to pass lines, run time and proof, stage after stage.

Each stage is a function of the ones before; its result is kept under a digest of what it was made from, so that a new
plan redoes only what a change has touched. Painting skip clips the lines that are there; a new feed only times them anew.
"""

from __future__ import annotations

from collections.abc import Callable, Generator

from ..core.stages import Progress, StageCache
from ..core.stepping import told
from ..job.request import Request
from .planner import plan_stages
from .result import Plan

__all__ = ["Plan", "make_plan", "plan_steps"]


def make_plan(request: Request, cache: StageCache | None = None, progress: Callable[[float, str], None] | None = None) -> Plan:
    """Make the whole plan at once; `progress` is told the share done and the stage. Raises the errors of finishing.errors."""
    return told(plan_steps(request, cache), progress)


def plan_steps(request: Request, cache: StageCache | None = None) -> Generator[Progress, None, Plan]:
    """Make the whole plan in short steps; yields (share done, stage). Raises the errors of finishing.errors."""
    plan = yield from plan_stages(request, cache if cache is not None else StageCache())
    return plan
