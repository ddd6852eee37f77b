"""The pictures of a plan: slope, curvature, fit, uncut height, cusp left, pass lines, and minutes against cusp height."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..core.grid import FloatArray
from ..options.sanding import sanding_after
from ..options.trade_off import minutes_at
from .charts import ChartLine, ChartMark, chart
from .legend import Legend, curvature_legend, cusp_legend, rounded_up, slope_legend, uncut_legend
from .surface_pictures import MapContent, Sheet, lines_picture, picture

if TYPE_CHECKING:
    from ..options.fit_table import RackRow
    from ..planning.result import Plan

CHART_CUSPS = np.geomspace(0.01, 0.2, 60)
"""Cusp heights of the chart in mm."""


def plan_pictures(plan: Plan) -> Iterator[tuple[str, bytes]]:
    """Name (without ending) and PNG bytes of every picture of a plan, one after the other."""
    size = " x ".join(f"{v:.0f}" for v in plan.body.size)
    note = f"{plan.body.name}, {plan.request.side} side, {size} mm"
    footer = f"{plan.cutter.name}, cusp {plan.request.cusp:g} mm, cell {plan.grid.cell:g} mm"
    on_body = np.isfinite(plan.heights)
    planned = plan.ground.planned & on_body
    left_out = plan.ground.forbidden & on_body

    def map_picture(title: str, legend: Legend, values: FloatArray, hatched: bool = True, more: str = "") -> bytes:
        content = MapContent(plan.grid, plan.heights, legend, values, left_out if hatched else None)
        return picture(content, Sheet(title, note + more, footer))

    if plan.request.rest is None:  # a smaller cutter's plan shows only what is its own
        yield "slope_map", map_picture("Slope map", slope_legend(), plan.maps.slope_degrees, hatched=False)
        bends = plan.maps.strongest()
        yield "curvature_map", map_picture("Curvature map", curvature_legend(plan.cutter.radius), bends, hatched=False)
    uncut = np.where(planned, plan.uncut, np.nan)
    most = float(np.nanmax(uncut)) if planned.any() else 0.0
    yield "uncut_map", map_picture("Uncut height", uncut_legend(rounded_up(max(most, 0.1))), uncut)
    if plan.proof is not None:
        yield "cusp_map", map_picture("Cusp left, by a simulated cut", cusp_legend(plan.request.cusp), plan.proof.cusp)
    length, minutes = plan.path.lengths().sum() / 1000, plan.run_time.total_seconds / 60
    lines = f": {plan.path.line_count} pass lines, {length:.1f} m, {minutes:.1f} min"
    sheet = Sheet("Pass lines in running order", note + lines, footer)
    yield "pass_lines", lines_picture(plan.grid, plan.heights, plan.path, sheet, left_out)
    if plan.rack:
        sanding = sanding_after(plan.request.cusp, plan.ground.planned_area)
        sheet = Sheet("Minutes against cusp height", note, str(sanding.words))
        yield "minutes_chart", minutes_chart(plan.rack, plan.cutter.name, plan.request.cusp, sheet)


def minutes_chart(rack: tuple[RackRow, ...], chosen: str, cusp: float, sheet: Sheet) -> bytes:
    """The chart of minutes against cusp height with a line for each cutter on the rack, as PNG bytes."""
    lines = tuple(ChartLine(row.cutter.name, CHART_CUSPS, minutes_at(row, CHART_CUSPS), row.fits, row.cutter.name == chosen) for row in rack)
    mark = None
    for row in rack:
        if row.cutter.name == chosen:
            minutes = float(minutes_at(row, np.array([cusp]))[0])
            mark = ChartMark(cusp, minutes, f"{chosen} at {cusp:g} mm: {minutes:.1f} min")
    return chart(lines, sheet, mark=mark)
