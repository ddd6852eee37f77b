"""The legend in a corner of the 3D view: colour bars with numbers and units, and what the kinds of line mean."""

from __future__ import annotations

import bpy
import gpu
import numpy as np
from gpu_extras.batch import batch_for_shader

from ..finishing.core.message import Message
from ..finishing.pictures.legend import Legend
from ..finishing.pictures.ramps import SKIP_HATCH
from ..scene.results import BodyResults
from ..screen.language import in_users_language
from .free_space import free_bottom, free_left
from .layers import CUT_COLOUR, FINDING_COLOUR, LIFT_COLOUR, LINK_COLOUR, STANDING_COLOUR, BodyLayers
from .lettering_on_screen import FAINT, INK, fill_box, width_of, write
from .marks_data import legend_bar

BAR_WIDTH, BAR_HEIGHT = 16.0, 150.0
SIZE, SMALL = 12.0, 11.0
EDGE, GAP = 12.0, 22.0
LINK_WORDS, LIFT_WORDS = Message("Link on the surface"), Message("Entry, exit, lift")
LEFT_OUT_WORDS, FINDING_WORDS = Message("Left out"), Message("Finding")
CUT_WORDS, STANDING_WORDS = Message("Cut by now"), Message("Still to cut")
"""What the patterns of line mean."""

NOTES = {
    "shape": Message("Out of date: the body has changed"),
    "settings": Message("Out of date: a setting has changed"),
}


def draw_legends(context: bpy.types.Context, results: BodyResults, layers: BodyLayers, state: str) -> None:
    """Draw the legends of the chosen map and of the pass lines, side by side."""
    view = context.window_manager.finishing_view
    scale = context.preferences.system.ui_scale
    left, bottom = free_left(context) + 14 * scale, free_bottom(context) + 14 * scale
    shown = layers.shown_map(results, view) if view.surface_map != "none" else None
    legends = [] if shown is None else [shown.legend]
    lines = layers.lines_legend(results, view) if view.show_lines else None
    if lines is not None:
        legends.append(lines)
    keys = _line_keys(results, view)
    if not legends and not keys:
        return
    note = in_users_language(NOTES[state]) if state in NOTES else ""
    widths = [_width(legend, scale) for legend in legends]
    key_width = max((width_of(in_users_language(words), SMALL * scale) for words, *_ in keys), default=0.0) + 40 * scale
    total = sum(widths) + GAP * scale * max(len(legends) - 1, 0) + (key_width + GAP * scale * bool(legends) if keys else 0)
    total = max(total, width_of(note, SMALL * scale))
    height = (BAR_HEIGHT + 46) * scale if legends else (len(keys) * 18 + 4) * scale
    height += 20 * scale if note else 0
    # In a small view, such as a quarter of a quad view, the legend would hide the body that it explains.
    if context.region.height < SMALL_VIEW * height:
        return
    edge = EDGE * scale
    fill_box(left, bottom, left + total + 2 * edge, bottom + height + 2 * edge)
    x, y = left + edge, bottom + edge
    if note:
        write(note, x, y + 2 * scale, SMALL * scale, FAINT)
        y += 20 * scale
    for legend, width in zip(legends, widths, strict=True):
        _draw_legend(legend, layers, x, y, scale)
        x += width + GAP * scale
    for number, (words, colour, pattern) in enumerate(keys):
        level = y + (len(keys) - 1 - number) * 18 * scale + 6 * scale
        _draw_key(x, level + 4 * scale, colour, pattern, scale)
        write(in_users_language(words), x + 38 * scale, level, SMALL * scale)


SMALL_VIEW = 2.2
"""Views lower than this many times the legend show none."""


def _title(legend: Legend) -> tuple[str, str]:
    return in_users_language(legend.title), in_users_language(legend.unit) if legend.unit is not None else ""


def _width(legend: Legend, scale: float) -> float:
    title, unit = _title(legend)
    ticks = max((width_of(in_users_language(tick.label), SMALL * scale) for tick in legend.ticks), default=0.0)
    return max(BAR_WIDTH * scale * 1.6 + ticks, width_of(title, SIZE * scale), width_of(unit, SMALL * scale))


def _draw_legend(legend: Legend, layers: BodyLayers, x: float, y: float, scale: float) -> None:
    """One colour bar with title and ticks; x, y: its lower left corner."""
    title, unit = _title(legend)
    bar = legend_bar(legend, 0.0, 0.0, BAR_WIDTH * scale, BAR_HEIGHT * scale)

    def make() -> tuple[gpu.types.GPUBatch, gpu.types.GPUBatch | None]:
        smooth, plain = gpu.shader.from_builtin("SMOOTH_COLOR"), gpu.shader.from_builtin("UNIFORM_COLOR")
        flat = np.column_stack([bar.positions, np.zeros(len(bar.positions), np.float32)])
        ticks = np.column_stack([bar.tick_lines, np.zeros(len(bar.tick_lines), np.float32)])
        return (
            batch_for_shader(smooth, "TRIS", {"pos": flat, "color": bar.colours}, indices=bar.triangles),
            batch_for_shader(plain, "LINES", {"pos": ticks}) if len(ticks) else None,
        )

    body, ticks = layers.get(f"legend {legend.title}", (legend, scale), make)
    y += 6 * scale
    with gpu.matrix.push_pop():
        gpu.matrix.translate((x, y))
        body.draw(gpu.shader.from_builtin("SMOOTH_COLOR"))
        if ticks is not None:
            shader = gpu.shader.from_builtin("UNIFORM_COLOR")
            shader.bind()
            shader.uniform_float("color", FAINT)
            ticks.draw(shader)
    for words, tick_x, tick_y in bar.labels:
        write(in_users_language(words), x + tick_x, y + tick_y - 4 * scale, SMALL * scale)
    top = y + BAR_HEIGHT * scale
    if unit:
        write(unit, x, top + 9 * scale, SMALL * scale, FAINT)
    write(title, x, top + 25 * scale, SIZE * scale, INK)


def _line_keys(results: BodyResults, view: bpy.types.PropertyGroup) -> list[tuple[Message, tuple[float, float, float], str]]:
    """Words, colours and patterns of the lines that need explaining."""
    keys = []
    played = view.show_cutter and results.plan is not None
    if played:
        keys += [(CUT_WORDS, CUT_COLOUR, "patch"), (STANDING_WORDS, STANDING_COLOUR, "patch")]
    if results.plan is not None and view.show_lines and not played:
        if view.show_links:
            keys.append((LINK_WORDS, LINK_COLOUR, "dashes"))
        if view.show_lifts:
            keys.append((LIFT_WORDS, LIFT_COLOUR, "dots"))
    if view.show_skip and (results.plan is not None or (results.survey is not None and results.survey.side.skipped.any())):
        keys.append((LEFT_OUT_WORDS, SKIP_HATCH, "hatch"))
    if results.plan is not None and view.show_findings and any(f.place is not None for f in results.plan.findings if f.key != "opening"):
        keys.append((FINDING_WORDS, FINDING_COLOUR, "pin"))
    return keys


def _draw_key(x: float, y: float, colour: tuple[float, float, float], pattern: str, scale: float) -> None:
    """A sample of a kind of line, 30 pixels wide."""
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    if pattern == "patch":
        fill_box(x, y - 5 * scale, x + 30 * scale, y + 5 * scale, (*colour, 1.0))
        return
    if pattern == "pin":
        pieces = [((10, -5), (15, 0)), ((15, 0), (20, -5)), ((20, -5), (15, -8)), ((15, -8), (10, -5)), ((15, 0), (15, 7))]
    elif pattern == "hatch":
        pieces = [((k, -5), (k + 9, 5)) for k in range(0, 26, 5)]
    else:
        dash, gap = (8, 4) if pattern == "dashes" else (3, 5)
        pieces = [((k, 0), (min(k + dash, 31), 0)) for k in range(0, 30, dash + gap)]
    points = [(x + px * scale, y + py * scale, 0.0) for piece in pieces for px, py in piece]
    shader.bind()
    shader.uniform_float("color", (*colour, 1.0))
    gpu.state.line_width_set(2.0 if pattern != "hatch" else 1.0)
    batch_for_shader(shader, "LINES", {"pos": points}).draw(shader)
    gpu.state.line_width_set(1.0)
