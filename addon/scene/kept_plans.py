"""Plans kept with a body for comparing: their figures, and the settings that make them again."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import numpy as np

from ..finishing.core.errors import BadFile, FinishingError
from ..finishing.files.plan_record import read_record, settings_record, with_settings
from ..finishing.job.request import Request
from ..finishing.planning.comparison import PlanFigures, figures_from, figures_of, figures_record
from ..finishing.planning.result import Plan
from .body_settings import FinishingBody
from .job_settings import FinishingFigures
from .rack_settings import free_name

READ_AT_ONCE = 16
"""Kept plans whose figures stay read: a panel shows three, and its neighbours are a click away."""


def keep_plan(body: FinishingBody, plan: Plan) -> None:
    """Append a plan to those kept with a body, and make it the active one."""
    name = free_name(f"{plan.cutter.diameter:g} mm, cusp {plan.request.cusp:g}", {item.name for item in body.kept_plans})
    kept = {"figures": figures_record(figures_of(plan, name)), "settings": settings_record(plan.request)}
    item = body.kept_plans.add()
    item.name, item.text = name, json.dumps(kept, default=_plain)
    body.active_kept = len(body.kept_plans) - 1


def kept_settings(item: FinishingFigures, current: Request) -> dict[str, Any]:
    """The settings of a kept plan, every one of them, looked at as those of a settings file are: a .blend may come from anywhere.

    current: the settings as they are, for what a plan that was kept by an older version lacks. Raises BadFile, so that none is taken or all.
    """
    try:
        return settings_record(with_settings(current, {"settings": read_record(item.text.encode()).get("settings")}))
    except FinishingError as error:
        raise BadFile("The kept plan '{plan}' cannot be used: {reason} Remove it, and keep a plan anew.", plan=item.name, reason=error) from error


@lru_cache(maxsize=READ_AT_ONCE)
def kept_figures(text: str) -> PlanFigures | None:
    """The figures of a kept plan, read once, so that a panel can show them at every redraw; None where they are not what is kept."""
    try:
        return figures_from(read_record(text.encode()))
    except FinishingError:
        return None


def _plain(value: object) -> object:
    """What JSON can hold in place of a number of numpy's, or of anything else."""
    return value.item() if isinstance(value, np.generic) else str(value)
