"""The pictures of a plan: its maps, the pass lines, and minutes against cusp height."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..options.fit_table import RackRow
from ..options.trade_off import minutes_at
from ..planning.result import Plan
from .charts import ChartLine, ChartMark, chart
from .plan_maps import PLAN_MAPS, PlanMap
from .sheet import Words
from .surface_pictures import MapContent, lines_picture, picture

CHART_CUSPS = np.geomspace(0.01, 0.2, 60)
"""Cusp heights of the chart in mm: from what sanding hardly notices to what no one would sand away; closest where the lines are steepest."""


def plan_pictures(plan: Plan, maps: tuple[PlanMap, ...] = PLAN_MAPS) -> Iterator[tuple[str, bytes]]:
    """Name (without ending) and PNG bytes of every picture of a plan, one after the other."""
    for item in maps:
        if plan.request.remaining is None or not item.of_body:
            yield item.name, map_picture(plan, item)
    yield "pass_lines", pass_lines_picture(plan)
    if plan.rack:
        yield "minutes_chart", minutes_chart(plan.rack, plan.cutter.name, plan.request.cusp, _chart_words(plan))


def map_picture(plan: Plan, item: PlanMap) -> bytes:
    """The picture of one map of a plan, as PNG bytes; ground that is left out is hatched where the map is not of the body itself."""
    left_out = None if item.of_body else plan.ground.forbidden & np.isfinite(plan.heights)
    content = MapContent(plan.grid, plan.heights, item.legend(plan), values=item.values(plan), hatched=left_out, also_hatched=item.hatched(plan))
    return picture(content, Words(item.title, _note(plan), _footer(plan)))


def pass_lines_picture(plan: Plan) -> bytes:
    """The picture of a plan's pass lines in running order, as PNG bytes."""
    length, minutes = plan.path.lengths().sum() / 1000, plan.run_time.total_seconds / 60
    lines = f": {plan.path.line_count} pass lines, {length:.1f} m, {minutes:.1f} min"
    words = Words("Pass lines in running order", _note(plan) + lines, _footer(plan))
    return lines_picture(plan.grid, plan.heights, plan.path, words, plan.ground.forbidden & np.isfinite(plan.heights))


def minutes_chart(rack: tuple[RackRow, ...], chosen: str, cusp: float, words: Words) -> bytes:
    """The chart of minutes against cusp height with a line for each cutter on the rack, as PNG bytes."""
    lines = tuple(
        ChartLine(row.cutter.name, CHART_CUSPS, minutes_at(row, CHART_CUSPS), fits=row.fits, chosen=row.cutter.name == chosen) for row in rack
    )
    mark = None
    for row in rack:
        if row.cutter.name == chosen:
            minutes = float(minutes_at(row, np.array([cusp]))[0])
            mark = ChartMark(cusp, minutes, f"{chosen} at {cusp:g} mm: {minutes:.1f} min")
    return chart(lines, words, mark)


def _chart_words(plan: Plan) -> Words:
    return Words("Minutes against cusp height", _note(plan), str(plan.sanding.words))


def _note(plan: Plan) -> str:
    size = " x ".join(f"{value:.0f}" for value in plan.body.size)
    return f"{plan.body.name}, {plan.request.side} side, {size} mm"


def _footer(plan: Plan) -> str:
    return f"{plan.cutter.name}, cusp {plan.request.cusp:g} mm, cell {plan.grid.cell:g} mm"
