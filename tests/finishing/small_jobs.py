"""Small jobs that the tests of files and pictures share: planned once in a run, on first use."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from shapes import block

from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.ground_settings import FitSettings
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.planning.smaller_cutters import side_plans

HOSTILE = '=cmd|"/C calc"!A0<script>alert(1)</script> & "Body"'
"""A name that would be a formula in a table, a command in a program and a script in a page."""

SIX, TWELVE = Cutter("Round-nose 6", 6.0), Cutter("Round-nose 12", 12.0)


def arched(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 12 + 3 * np.sin(np.pi * x / 60) * np.sin(np.pi * y / 40)


def dented(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The arch with a dent of about 3 mm radius, too tight for a ball of 6 mm, and a pocket."""
    pocket = (np.abs(x - 40) < 6) & (np.abs(y - 20) < 5)
    return np.where(pocket, 6.0, arched(x, y) - 2.5 * np.exp(-((x - 15) ** 2 + (y - 20) ** 2) / 8))


@cache
def arched_body() -> Body:
    """A block of 60 x 40 mm with an arched top, under a hostile name."""
    return make_body(HOSTILE, block(arched, 60, 40, 1.0))


@cache
def two_sides() -> tuple[Plan, Plan]:
    """Top and back of the arched body with one cutter, two dowels and a clamp."""
    request = Request(
        arched_body(),
        cutter=TWELVE,
        lines_from="edge",
        line_angle=0.0,
        rack_table=False,
        cell=0.5,
        cusp=0.1,
        dowels=DowelSettings(count=2),
        keep_out=(KeepOut("<clamp>", (-8.0, 30.0, 0.0), (2.0, 50.0, 40.0)),),
    )
    store = ResultStore()
    return make_plan(request, store), make_plan(replace(request, side="back"), store)


@cache
def with_smaller_cutter() -> tuple[Plan, Plan]:
    """The top of a dented body with a rack, a budget and a smaller cutter for the dent."""
    request = Request(
        make_body("Dented", block(dented, 60, 40, 1.0)),
        cutter=TWELVE,
        rack=(SIX, TWELVE),
        lines_from="edge",
        line_angle=0.0,
        cell=0.5,
        cusp=0.1,
        fit=FitSettings(uncut_area=5.0),
        budget_minutes=0.1,
        smaller_cutters=True,
    )
    first, second = finished(side_plans(request, ResultStore()))
    return first, second
