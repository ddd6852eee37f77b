"""The trade-off in a corner of the 3D view: minutes against cusp height for every cutter, moving with the dials."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import bpy
import numpy as np

from ..finishing.core.array_types import FloatArray
from ..finishing.core.message import Message
from ..finishing.job.cutter import Cutter
from ..finishing.job.cutter_names import size_words
from ..finishing.job.other_operations import minutes_of_others
from ..finishing.options.fit_table import RackRow
from ..finishing.options.trade_off import OVERHEAD, TradeOffRow, minutes_at, slower_at, trade_off
from ..finishing.pictures.legend import nice_ticks, tick_labels
from ..finishing.pictures.ramps import colour
from ..finishing.planning.dowel_time import dowel_minutes, minutes_of_drilling
from ..scene.blender_data import present
from ..scene.body_settings import FinishingBody, settings_of
from ..scene.job_settings import other_operation_of
from ..scene.rack_settings import shop_of
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from ..screen.language import in_users_language
from .batches import Ink, draw_plain
from .free_space import FreeSpace, free_space
from .layers import BodyLayers
from .lettering_on_screen import faint, fill_box, ink, width_of, write
from .view_boxes import BOXES, LONGEST_TITLE

WIDTH, HEIGHT = 300.0, 180.0
NAMES = 136.0
"""Pixels beside the chart for the cutters' names."""

TITLE, SIZE, EDGE = 12.0, 11.0, 12.0
"""Pixels: letters of the title and of the rest, margin of the box."""

TITLE_ROW = 28.0
"""Pixels at the top of the chart in which a click folds it."""

FOLDED = 2.6
"""Height of the folded chart, in letters of its title."""

CHART = "chart"
"""Name of the chart's box."""

CUSPS = np.geomspace(0.01, 0.2, 40)
"""Cusp heights of the chart in mm."""

MOST_SHARE = 0.45
"""Share of the view's width that the chart may take."""

SMALLEST = 0.7
"""The chart shrinks to this in a narrow view, and no further: its letters must stay readable."""

MOST_MINUTES = 3.0
"""The chart goes up to this many times the minutes of the middle cutter at the middle cusp height."""

ABOVE_BUDGET = 1.15
"""The chart goes up to this many times what the time budget leaves, so that its line lies inside."""

GRID_INK: Ink = (0.45, 0.45, 0.45, 1.0)


@dataclass(frozen=True)
class Curve:
    """One cutter of the chart. minutes: (n,) at CUSPS, run time to expect."""

    row: RackRow
    minutes: FloatArray
    ink: Ink


@dataclass(frozen=True)
class Frame:
    """The axes in pixels: lower left corner and size; high: minutes at the upper edge; scale: of the user's interface, shrunk where it must."""

    left: float
    bottom: float
    width: float
    height: float
    high: float
    scale: float

    def x(self, cusp: float) -> float:
        """Where a cusp height in mm lies."""
        return self.left + cusp / float(CUSPS[-1]) * self.width

    def y(self, minutes: float) -> float:
        """Where minutes lie."""
        return self.bottom + minutes / self.high * self.height


class PressedChart:
    """The chart as it was drawn last in each region, so that a press on it can choose a cutter and a cusp height."""

    def __init__(self) -> None:
        self._by_region: dict[int, tuple[Frame, list[Curve]]] = {}

    def shown(self, region: int, frame: Frame, curves: list[Curve]) -> None:
        """Note what was drawn in a region."""
        self._by_region[region] = (frame, curves)

    def forget(self, region: int | None = None) -> None:
        """No chart is drawn in a region; without one, in none."""
        for drawn in [drawn for drawn in self._by_region if region in (None, drawn)]:
            del self._by_region[drawn]

    def at(self, region: int, x: float, y: float) -> tuple[str, float] | None:
        """Cutter and cusp height in mm under a place: the cutter whose curve runs nearest, and the cusp height below; None outside the axes."""
        frame, curves = self._by_region.get(region, (None, []))
        if frame is None or not curves or not (frame.left <= x <= frame.left + frame.width and frame.bottom <= y <= frame.bottom + frame.height):
            return None
        cusp = float(np.clip((x - frame.left) / frame.width * CUSPS[-1], CUSPS[0], CUSPS[-1]))
        minutes = (y - frame.bottom) / frame.height * frame.high
        nearest = min(curves, key=lambda curve: abs(float(np.interp(cusp, CUSPS, curve.minutes)) - minutes))
        return nearest.row.cutter.name, round(cusp, 3)


PRESSED = PressedChart()
"""The charts of the session: drawing notes them, the gizmo reads them."""


def draw_trade_off(
    context: bpy.types.Context, results: BodyResults, layers: BodyLayers, body_object: bpy.types.Object, points: FloatArray, below: float = 0.0
) -> None:
    """Draw the chart into a corner of the region. points: (n, 2) pixels that it should not cover. below: pixels at the top that are taken."""
    rack = results.rack
    if not rack:
        return
    free, settings = free_space(context, below), settings_of(body_object)
    region = present(context.region).as_pointer()
    title = in_users_language(Message("Minutes against cusp height"))
    scales = _chart_scales(free)
    sizes = [((WIDTH + NAMES) * scale, (HEIGHT + 76) * scale) for scale in scales]
    folded_title = (
        title if width_of(title, TITLE * free.scale) < LONGEST_TITLE * (free.right - free.left) else in_users_language(Message("Minutes Chart"))
    )
    sizes.append((width_of(folded_title, TITLE * free.scale) + 2 * EDGE * free.scale, FOLDED * TITLE * free.scale))
    placed = BOXES.place(region, CHART, free, sizes, points, folded=view_of(context).chart_folded)
    if placed is None:
        return
    box, number = placed
    if number == len(scales):
        fill_box(box.left, box.bottom, box.right, box.top)
        write(folded_title, box.left + EDGE * free.scale, box.bottom + 0.9 * TITLE * free.scale, TITLE * free.scale)
        return
    left, top, scale = box.left, box.top, scales[number]
    edge = EDGE * scale
    feed = round(settings.feed, 3) if settings.use_feed else None
    overhead = results.plans[0].overhead if results.plans else OVERHEAD
    curves = layers.get("trade-off curves", (results.revision, feed), lambda: _curves(rack, feed, overhead))
    dowels = layers.get("minutes of dowel holes", results.revision, lambda: _dowel_minutes(results))
    minutes_left = _minutes_left(present(context.scene), settings, dowels)
    frame = Frame(
        left=left + 46 * scale,
        bottom=top - (HEIGHT + 14) * scale,
        width=(WIDTH - 46) * scale,
        height=(HEIGHT - 44) * scale,
        high=max(_usual_minutes(curves), ABOVE_BUDGET * minutes_left),
        scale=scale,
    )
    fill_box(box.left, box.bottom, box.right, box.top)
    if body_object == context.object:  # what is chosen is set on the active object
        PRESSED.shown(region, frame, curves)
    write(title, left + edge, top - 20 * scale, TITLE * scale)
    _draw_axes(frame)
    _draw_curves(frame, curves)
    if minutes_left > 0:
        level = frame.y(minutes_left)
        draw_plain("LINE_STRIP", np.array([[frame.left, level], [frame.left + frame.width, level]]), ink())
    rows = [replace(row, minutes=row.minutes * slower_at(row.row, feed)) for row in trade_off(rack, settings.cusp_mm, _planned_area(results), overhead)]
    chosen = _chosen(rows, results, settings.cutter_name)
    _draw_dial(frame, settings.cusp_mm, chosen, [row.cutter for row in rack])
    sanding = rows[0].sanding if chosen is None else chosen.sanding
    words = Message(
        "To sand: {volume:.1f} cm³, start grit {grit}, Rz {roughness:.0f} µm",
        volume=sanding.volume / 1000,
        grit="–" if sanding.start_grit is None else sanding.start_grit,
        roughness=1000 * sanding.roughness_rz,
    )
    write(in_users_language(words), left + edge, top - (HEIGHT + 66) * scale, SIZE * scale, faint())


def _chart_scales(free: FreeSpace) -> tuple[float, ...]:
    """Scales that the chart may have, the greatest first: in a narrow view it must not hide the body that it is about."""
    room = MOST_SHARE * (free.right - free.left) / ((WIDTH + NAMES) * free.scale)
    return free.scale * float(np.clip(room, SMALLEST, 1.0)), free.scale * SMALLEST


def _curves(rack: Sequence[RackRow], feed: float | None, overhead: float) -> list[Curve]:
    """Minutes of every cutter over all cusp heights of the chart. feed: in mm/min where the user has one of his own."""
    curves = []
    for number, row in enumerate(rack):
        share = number / max(len(rack) - 1, 1)
        minutes = overhead * slower_at(row, feed) * minutes_at(row, CUSPS)
        curves.append(Curve(row, minutes, (*colour(0.62 + 0.32 * share, 0.11, 300 - 210 * share), 1.0)))
    return curves


def _usual_minutes(curves: Sequence[Curve]) -> float:
    """The chart's height in minutes as the rack alone would have it."""
    return float(max(MOST_MINUTES * np.median([curve.minutes[len(CUSPS) // 2] for curve in curves]), 1e-3))


def _dowel_minutes(results: BodyResults) -> float:
    """Minutes that the dowel holes take from the budget, by the newest result."""
    newest = results.newest
    if newest is None:
        return 0.0
    request = newest.request
    minutes = dowel_minutes(request.side, request.dowels, newest.stock, request.machine, request.keep_out)
    return minutes_of_drilling(minutes, request.machine.tool_change_minutes)


def _minutes_left(scene: bpy.types.Scene, settings: FinishingBody, dowels: float) -> float:
    """What the time budget leaves for finishing; 0 without one. dowels: minutes of the dowel holes."""
    if not settings.use_budget:
        return 0.0
    work = tuple(other_operation_of(item) for item in settings.elsewhere)
    change = shop_of(scene).machine.tool_change_minutes
    return max(settings.budget_minutes - minutes_of_others(work, settings.side, change) - dowels, 0.0)


def _planned_area(results: BodyResults) -> float:
    """Planned ground in mm2 of the newest result."""
    if results.plans:
        return results.plans[0].ground.planned_area
    return results.survey.planned_area if results.survey is not None else 0.0


def _chosen(rows: Sequence[TradeOffRow], results: BodyResults, name: str) -> TradeOffRow | None:
    """The row that the dial stands on: the cutter that is named, else the one that was planned with."""
    name = name or (results.plans[0].cutter.name if results.plans else "")
    return next((row for row in rows if row.row.cutter.name == name), None)


def _draw_axes(frame: Frame) -> None:
    """Lines at round minutes, and the numbers along both axes."""
    size, scale = SIZE * frame.scale, frame.scale
    right, top = frame.left + frame.width, frame.bottom + frame.height
    for value in nice_ticks(0, frame.high, 5):
        if value > frame.high:
            break
        level = frame.y(value)
        draw_plain("LINE_STRIP", np.array([[frame.left, level], [right, level]]), GRID_INK)
        label = in_users_language(Message("{value:g}", value=value))
        write(label, frame.left - width_of(label, size) - 6 * scale, level - 4 * scale, size, faint())
    cusps = nice_ticks(0, float(CUSPS[-1]), 4)
    for value, number in zip(cusps, tick_labels(cusps), strict=True):
        label = in_users_language(number)
        write(label, frame.x(value) - width_of(label, size) / 2, frame.bottom - 16 * scale, size, faint())
    write(in_users_language(Message("minutes")), frame.left - 40 * scale, top + 8 * scale, size, faint())
    words = in_users_language(Message("cusp height in mm"))
    write(words, right - width_of(words, size), frame.bottom - 32 * scale, size, faint())


def _draw_curves(frame: Frame, curves: Sequence[Curve]) -> None:
    """The curves as far as they lie in the chart, with the diameters beside their ends; those of cutters that do not fit are thin and faint."""
    for curve in curves:
        inside = curve.minutes <= frame.high
        places = np.column_stack([frame.left + CUSPS / CUSPS[-1] * frame.width, frame.bottom + curve.minutes / frame.high * frame.height])
        draw_plain("LINE_STRIP", places[inside], curve.ink, 2.4 if curve.row.fits else 1.0)
    size, scale = SIZE * frame.scale, frame.scale
    right = frame.left + frame.width
    low = frame.bottom - 4 * scale
    rack = [curve.row.cutter for curve in curves]
    for curve in sorted(curves, key=lambda each: min(float(each.minutes[-1]), frame.high)):
        level = frame.y(min(float(curve.minutes[-1]), frame.high))
        low = max(level - 4 * scale, low)
        draw_plain("LINE_STRIP", np.array([[right + 2 * scale, level], [right + 16 * scale, low + 4 * scale]]), curve.ink)
        name = size_words(curve.row.cutter, rack)
        if not curve.row.fits:
            name = Message("{size} (does not fit)", size=name)
        write(in_users_language(name), right + 20 * scale, low, size, ink() if curve.row.fits else faint())
        low += 14 * scale


def _draw_dial(frame: Frame, cusp: float, chosen: TradeOffRow | None, rack: Sequence[Cutter]) -> None:
    """Where the dials stand now. rack: the cutters of the chart."""
    size, scale = SIZE * frame.scale, frame.scale
    x = frame.x(min(cusp, float(CUSPS[-1])))
    draw_plain("LINE_STRIP", np.array([[x, frame.bottom], [x, frame.bottom + frame.height]]), ink())
    if chosen is None or chosen.cusp < cusp:
        return
    level = frame.y(min(chosen.minutes, frame.high))
    fill_box(x - 3 * scale, level - 3 * scale, x + 3 * scale, level + 3 * scale, ink())
    figures = Message("{size}, {cusp:.3g} mm: {minutes:.1f} min", size=size_words(chosen.row.cutter, rack), cusp=cusp, minutes=chosen.minutes)
    words = in_users_language(figures)
    width = width_of(words, size)
    room = x + 8 * scale + width < frame.left + frame.width
    left = x + 8 * scale if room else x - 8 * scale - width
    fill_box(left - 3 * scale, level + 3 * scale, left + width + 3 * scale, level + 9 * scale + size)
    write(words, left, level + 6 * scale, size)
