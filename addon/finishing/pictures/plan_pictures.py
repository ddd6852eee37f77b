"""The pictures of a plan: its maps, the pass lines, and minutes against cusp height."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..core.message import ENGLISH, Language, Message, word
from ..job.cutter import Cutter, cutter_words
from ..options.fit_table import RackRow
from ..options.trade_off import minutes_at
from ..planning.result import Plan
from .charts import ChartLine, ChartMark, chart
from .plan_maps import PLAN_MAPS, PlanMap
from .sheet import Words
from .surface_pictures import MapContent, lines_picture, picture

CHART_CUSPS = np.geomspace(0.01, 0.2, 60)
"""Cusp heights of the chart in mm: from what sanding hardly notices to what no one would sand away; closest where the lines are steepest."""


def plan_pictures(plan: Plan, maps: tuple[PlanMap, ...] = PLAN_MAPS, language: Language = ENGLISH) -> Iterator[tuple[str, bytes]]:
    """Name (without ending) and PNG bytes of every picture of a plan, one after the other."""
    for item in maps:
        if plan.request.remaining is None or not item.of_body:
            yield item.name, map_picture(plan, item, language)
    yield "pass_lines", pass_lines_picture(plan, language)
    if plan.rack:
        yield "minutes_chart", minutes_chart(plan.rack, plan.cutter, plan.request.cusp, _chart_words(plan, language))


def map_picture(plan: Plan, item: PlanMap, language: Language = ENGLISH) -> bytes:
    """The picture of one map of a plan, as PNG bytes; ground that is left out is hatched where the map is not of the body itself."""
    left_out = None if item.of_body else plan.ground.forbidden & np.isfinite(plan.heights)
    content = MapContent(plan.grid, plan.heights, item.legend(plan), values=item.values(plan), hatched=left_out, also_hatched=item.hatched(plan))
    return picture(content, Words(item.title, body_words(plan), _footer(plan), language))


def pass_lines_picture(plan: Plan, language: Language = ENGLISH) -> bytes:
    """The picture of a plan's pass lines in running order, as PNG bytes."""
    note = Message(
        "{note}: {lines} pass lines, {length:.1f} m, {minutes:.1f} min",
        note=body_words(plan),
        lines=plan.path.line_count,
        length=plan.path.lengths().sum() / 1000,
        minutes=plan.run_time.total_seconds / 60,
    )
    words = Words(Message("Pass lines in running order"), note, _footer(plan), language)
    return lines_picture(plan.grid, plan.heights, plan.path, words, plan.ground.forbidden & np.isfinite(plan.heights))


def minutes_chart(rack: tuple[RackRow, ...], chosen: Cutter, cusp: float, words: Words) -> bytes:
    """The chart of minutes against cusp height with a line for each cutter on the rack, as PNG bytes."""
    lines = tuple(
        ChartLine(cutter_words(row.cutter), CHART_CUSPS, minutes_at(row, CHART_CUSPS), fits=row.fits, chosen=row.cutter.name == chosen.name)
        for row in rack
    )
    mark = None
    for row in rack:
        if row.cutter.name == chosen.name:
            minutes = float(minutes_at(row, np.array([cusp]))[0])
            mark = ChartMark(
                cusp, minutes, Message("{cutter} at {cusp:g} mm: {minutes:.1f} min", cutter=cutter_words(chosen), cusp=cusp, minutes=minutes)
            )
    return chart(lines, words, mark)


def _chart_words(plan: Plan, language: Language) -> Words:
    return Words(Message("Minutes against cusp height"), body_words(plan), plan.sanding.words, language)


def body_words(plan: Plan) -> Message:
    """Name, side and size of a plan's body."""
    length, width, height = plan.body.size
    side = word(plan.request.side)
    return Message(
        "{body}, {side} side, {length:.0f} x {width:.0f} x {height:.0f} mm", body=plan.body.name, side=side, length=length, width=width, height=height
    )


def _footer(plan: Plan) -> Message:
    return Message("{cutter}, cusp {cusp:g} mm, cell {cell:g} mm", cutter=cutter_words(plan.cutter), cusp=plan.request.cusp, cell=plan.grid.cell)
