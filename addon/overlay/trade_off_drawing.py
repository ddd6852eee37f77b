"""The trade-off in a corner of the 3D view: minutes against cusp height for every cutter, moving with the dials."""

from __future__ import annotations

import bpy
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader

from ..finishing.core.message import Message
from ..finishing.job.other_operations import minutes_of_others
from ..finishing.options.fit_table import RackRow
from ..finishing.options.trade_off import OVERHEAD, TradeOffRow, minutes_at, trade_off
from ..finishing.pictures.legend import nice_ticks, tick_labels
from ..finishing.pictures.ramps import colour
from ..scene.job_settings import elsewhere_of
from ..scene.results import BodyResults
from ..screen.language import in_users_language
from .free_space import free_left, free_right, free_top
from .lettering_on_screen import FAINT, INK, fill_box, width_of, write

WIDTH, HEIGHT = 300.0, 180.0
SIZE, EDGE = 11.0, 12.0
CUSPS = np.geomspace(0.01, 0.2, 40)
"""Cusp heights of the chart in mm."""

MOST_SHARE = 0.45
"""Share of the view's width that the chart may take."""

MOST_MINUTES = 3.0
"""The chart goes up to this many times the minutes of the middle cutter at the middle cusp height."""


def draw_trade_off(context: bpy.types.Context, results: BodyResults, body_object: bpy.types.Object) -> None:
    """Draw the chart into the upper left of the region."""
    rack = results.rack
    if not rack or context.region.height < 2.2 * HEIGHT:
        return
    scale = context.preferences.system.ui_scale
    settings = body_object.finishing
    left, top = free_left(context) + 14 * scale, free_top(context) - 64 * scale  # Blender writes the names of view and object there
    # In a narrow view it must not hide the body that it is about.
    scale *= float(np.clip(MOST_SHARE * (free_right(context) - left) / ((WIDTH + 136) * scale), 0.7, 1.0))
    edge = EDGE * scale
    fill_box(left, top - (HEIGHT + 76) * scale, left + (WIDTH + 136) * scale, top)
    write(in_users_language(Message("Minutes against cusp height")), left + edge, top - 20 * scale, 12 * scale)
    frame = (left + 46 * scale, top - (HEIGHT + 14) * scale, (WIDTH - 46) * scale, (HEIGHT - 44) * scale)
    curves = [OVERHEAD * minutes_at(row, CUSPS) for row in rack]
    high = float(max(MOST_MINUTES * np.median([curve[len(CUSPS) // 2] for curve in curves]), 1e-3))
    left_minutes = _minutes_left(context.scene, settings)
    high = max(high, 1.15 * left_minutes)
    _draw_frame(frame, high, scale)
    colours = [colour(0.62 + 0.32 * k / max(len(rack) - 1, 1), 0.11, 300 - 210 * k / max(len(rack) - 1, 1)) for k in range(len(rack))]
    names = []
    for row, curve, ink in zip(rack, curves, colours, strict=True):
        points = _placed(frame, high, CUSPS, np.minimum(curve, high))
        _draw_chain(points[curve <= high], ink, 2.4 if row.fits else 1.0)
        names.append((points[-1, 1], row, ink))
    _draw_names(names, frame, scale)
    if left_minutes > 0:
        level = frame[1] + left_minutes / high * frame[3]
        _draw_chain(np.array([[frame[0], level], [frame[0] + frame[2], level]]), (0.95, 0.95, 0.95), 1.0)
    rows = trade_off(rack, settings.cusp_mm, _planned_area(results))
    chosen = _chosen(rows, results, settings.cutter_name)
    _draw_dial(frame, high, settings.cusp_mm, chosen, scale)
    sanding = rows[0].sanding if chosen is None else chosen.sanding
    words = Message(
        "To sand: {volume:.1f} cm³, start grit {grit}, Rz {roughness:.3f} mm",
        volume=sanding.volume / 1000,
        grit="–" if sanding.start_grit is None else sanding.start_grit,
        roughness=sanding.roughness_rz,
    )
    write(in_users_language(words), left + edge, top - (HEIGHT + 66) * scale, SIZE * scale, FAINT)


def _minutes_left(scene: bpy.types.Scene, settings: bpy.types.PropertyGroup) -> float:
    """What the time budget leaves for finishing; 0 without one."""
    if not settings.use_budget:
        return 0.0
    work = tuple(elsewhere_of(item) for item in settings.elsewhere)
    change = scene.finishing.machine.tool_change_minutes
    return max(settings.budget_minutes - minutes_of_others(work, settings.side, change), 0.0)


def _planned_area(results: BodyResults) -> float:
    """Planned ground in mm2 of the newest result."""
    if results.plans:
        return results.plans[0].ground.planned_area
    return results.survey.planned_area if results.survey is not None else 0.0


def _chosen(rows: tuple[TradeOffRow, ...], results: BodyResults, name: str) -> TradeOffRow | None:
    """The row that the dial stands on: the cutter that is named, else the one that was planned with."""
    name = name or (results.plans[0].cutter.name if results.plans else "")
    return next((row for row in rows if row.row.cutter.name == name), None)


def _placed(frame: tuple[float, float, float, float], high: float, cusps: np.ndarray, minutes: np.ndarray) -> np.ndarray:
    """Places (n, 2) in pixels."""
    left, bottom, width, height = frame
    return np.column_stack([left + cusps / CUSPS[-1] * width, bottom + minutes / high * height])


def _draw_frame(frame: tuple[float, float, float, float], high: float, scale: float) -> None:
    left, bottom, width, height = frame
    size = SIZE * scale
    for value in nice_ticks(0, high, 5):
        if value > high:
            break
        level = bottom + value / high * height
        _draw_chain(np.array([[left, level], [left + width, level]]), (0.45, 0.45, 0.45), 1.0)
        label = in_users_language(Message("{value:g}", value=value))
        write(label, left - width_of(label, size) - 6 * scale, level - 4 * scale, size, FAINT)
    cusps = nice_ticks(0, float(CUSPS[-1]), 4)
    for value, number in zip(cusps, tick_labels(cusps), strict=True):
        label = in_users_language(number)
        x = left + value / float(CUSPS[-1]) * width
        write(label, x - width_of(label, size) / 2, bottom - 16 * scale, size, FAINT)
    write(in_users_language(Message("minutes")), left - 40 * scale, bottom + height + 8 * scale, size, FAINT)
    words = in_users_language(Message("cusp height in mm"))
    write(words, left + width - width_of(words, size), bottom - 32 * scale, size, FAINT)


def _draw_names(names: list[tuple[float, RackRow, tuple[float, float, float]]], frame: tuple[float, float, float, float], scale: float) -> None:
    """The diameters beside the lines' ends, moved apart; those of cutters that do not fit are faint."""
    size, step = SIZE * scale, 14 * scale
    names = sorted(names, key=lambda entry: entry[0])
    low = frame[1] - 4 * scale
    for level, row, ink in names:
        low = max(level - 4 * scale, low)
        _draw_chain(np.array([[frame[0] + frame[2] + 2 * scale, level], [frame[0] + frame[2] + 16 * scale, low + 4 * scale]]), ink, 1.0)
        name = Message("{diameter:g} mm", diameter=row.cutter.diameter)
        if not row.fits:
            name = Message("{diameter:g} mm (does not fit)", diameter=row.cutter.diameter)
        write(in_users_language(name), frame[0] + frame[2] + 20 * scale, low, size, INK if row.fits else FAINT)
        low += step


def _draw_dial(frame: tuple[float, float, float, float], high: float, cusp: float, chosen: TradeOffRow | None, scale: float) -> None:
    """Where the dials stand now."""
    left, bottom, width, height = frame
    x = left + min(cusp / float(CUSPS[-1]), 1.0) * width
    _draw_chain(np.array([[x, bottom], [x, bottom + height]]), (0.95, 0.95, 0.95), 1.0)
    if chosen is None or chosen.cusp < cusp:
        return
    level = bottom + min(chosen.minutes / high, 1.0) * height
    fill_box(x - 3 * scale, level - 3 * scale, x + 3 * scale, level + 3 * scale, INK)
    figures = Message("{diameter:g} mm, {cusp:.3g} mm: {minutes:.1f} min", diameter=chosen.row.cutter.diameter, cusp=cusp, minutes=chosen.minutes)
    words = in_users_language(figures)
    room = x + 8 * scale + width_of(words, SIZE * scale) < left + width
    write(words, x + 8 * scale if room else x - 8 * scale - width_of(words, SIZE * scale), level + 6 * scale, SIZE * scale)


def _draw_chain(points: np.ndarray, ink: tuple[float, ...], width: float) -> None:
    """A polyline in pixels."""
    if len(points) < 2:
        return
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    shader.bind()
    shader.uniform_float("color", (*ink[:3], 1.0))
    gpu.state.blend_set("ALPHA")
    gpu.state.line_width_set(width)
    places = [(float(x), float(y), 0.0) for x, y in points]
    batch_for_shader(shader, "LINE_STRIP", {"pos": places}).draw(shader)
    gpu.state.line_width_set(1.0)
