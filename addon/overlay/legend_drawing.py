"""The legend in a corner of the 3D view: colour bars with numbers and units, and what the kinds of line mean."""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import gpu
import numpy as np

from ..finishing.core.array_types import FloatArray
from ..finishing.core.message import Message
from ..finishing.pictures.legend import Legend
from ..finishing.pictures.legend_panel import NOT_REACHED, RIM
from ..finishing.pictures.ramps import SKIP_HATCH
from ..scene.blender_data import present
from ..scene.results import BodyResults
from ..scene.view_settings import FinishingView, view_of
from ..screen.language import in_users_language
from .batches import Batch, coloured_triangles, draw_plain, draw_triangles, own_matrix
from .free_space import free_space
from .layers import CUT_COLOUR, FINDING_COLOUR, LIFT_COLOUR, LINK_COLOUR, STANDING_COLOUR, BodyLayers
from .lettering_on_screen import faint, fill_box, ink, width_of, write
from .mark_drawing import is_marked
from .marks_data import LegendBar, legend_bar
from .render_data import Rgb
from .view_boxes import BOXES, LONGEST_TITLE

LEGEND = "legend"
"""Name of the legend's box."""

BAR_WIDTH, BAR_HEIGHT = 16.0, 150.0
SIZE, SMALL = 12.0, 11.0
EDGE, GAP = 12.0, 22.0
"""Pixels: margin of the box, distance between legends."""

ABOVE_BAR = 46.0
"""Pixels for title, unit and the lowest tick."""

KEY_LINE, KEY_SAMPLE, KEY_WORD = 18.0, 30.0, 38.0
"""Pixels: height of a line of the key, length of its sample, where its word begins."""

SMALL_VIEW = 2.2
"""The bars of a legend are so low that it is no higher than the view over this, or as low as they can be."""

LEAST_BAR = 70.0
"""Pixels of the lowest bar whose numbers still stand apart."""

FOLDED = 2.6
"""Height of a folded legend, in letters."""

LINK_WORDS, LIFT_WORDS = Message("Link on the surface"), Message("Entry, exit, lift")
LEFT_OUT_WORDS, FINDING_WORDS = Message("Left out"), Message("Finding")
HATCH_WORDS = {NOT_REACHED.label: Message("Not reached"), RIM.label: Message("Rim")}
"""What hatching on ground without values means, by its label in pictures."""
CUT_WORDS, STANDING_WORDS = Message("Cut by now"), Message("Still to cut")
"""What the patterns of line mean."""


@dataclass(frozen=True)
class Key:
    """What one kind of line means. pattern: "dashes", "dots", "hatch", "falling hatch", "patch" or "pin". ground: colour below it, where it has one."""

    words: Message
    colour: Rgb
    pattern: str
    ground: Rgb | None = None


def draw_legends(context: bpy.types.Context, results: BodyResults, layers: BodyLayers, points: FloatArray, below: float = 0.0) -> None:
    """Draw the legends of the chosen map and of the pass lines, side by side; their titles alone where they are folded, or would cover what matters.

    points: (n, 2) pixels that they should not cover. below: pixels at the top of the view that are taken.
    """
    view = view_of(context)
    legends = _legends(results, layers, view)
    keys = _line_keys(results, layers, view)
    if not legends and not keys:
        return
    free = free_space(context, below)
    scale, edge = free.scale, EDGE * free.scale
    widths = [_width(legend, scale) for legend in legends]
    # In a small view, such as a quarter of a quad view, a high legend would hide the body that it explains.
    bars = (bar_height(free.height / SMALL_VIEW / scale - 2 * EDGE), LEAST_BAR) if legends else (0.0,)
    width = _whole_width(widths, keys, scale) + 2 * edge
    sizes = [(width, scale * max(bar + ABOVE_BAR if legends else 0.0, len(keys) * KEY_LINE + 4) + 2 * edge) for bar in bars]
    title = "  ".join(_title(legend)[0] for legend in legends)
    if not legends or width_of(title, SIZE * scale) > LONGEST_TITLE * (free.right - free.left):
        title = in_users_language(Message("Legend"))
    sizes.append((width_of(title, SIZE * scale) + 2 * edge, FOLDED * SIZE * scale))
    placed = BOXES.place(present(context.region).as_pointer(), LEGEND, free, sizes, points, folded=view.legend_folded)
    if placed is None:
        return
    box, number = placed
    if number == len(bars):
        fill_box(box.left, box.bottom, box.right, box.top)
        write(title, box.left + edge, box.bottom + 0.9 * SIZE * scale, SIZE * scale)
        return
    bar = bars[number]
    fill_box(box.left, box.bottom, box.right, box.top)
    x, y = box.left + edge, box.bottom + edge
    for legend, own in zip(legends, widths, strict=True):
        _draw_legend(legend, layers, (x, y), scale, bar)
        x += own + GAP * scale
    for number, key in enumerate(reversed(keys)):
        _draw_key(key, x, y + (number * KEY_LINE + 6) * scale, scale)


def bar_height(most: float) -> float:
    """Height of a colour bar in a legend that may be so high, in pixels at a scale of 1: its usual one, or a lower one whose numbers stand apart."""
    return float(np.clip(most - ABOVE_BAR, LEAST_BAR, BAR_HEIGHT))


def _legends(results: BodyResults, layers: BodyLayers, view: FinishingView) -> list[Legend]:
    """Legends of the map and of the pass lines, where they are shown."""
    shown = layers.shown_map(results, view) if view.surface_map != "none" else None
    lines = layers.lines_legend(results, view) if view.show_lines else None
    return [legend for legend in (None if shown is None else shown.legend, lines) if legend is not None]


def _whole_width(widths: list[float], keys: list[Key], scale: float) -> float:
    """Width of all legends and the key, side by side."""
    width = sum(widths) + GAP * scale * max(len(widths) - 1, 0)
    if keys:
        words = max(width_of(in_users_language(key.words), SMALL * scale) for key in keys)
        width += words + (KEY_WORD + 2) * scale + (GAP * scale if widths else 0.0)
    return width


def _title(legend: Legend) -> tuple[str, str]:
    """Title and unit in the user's language."""
    return in_users_language(legend.title), in_users_language(legend.unit) if legend.unit is not None else ""


def _width(legend: Legend, scale: float) -> float:
    """Width of one legend in pixels."""
    title, unit = _title(legend)
    ticks = max((width_of(in_users_language(tick.label), SMALL * scale) for tick in legend.ticks), default=0.0)
    return max(BAR_WIDTH * scale * 1.6 + ticks, width_of(title, SIZE * scale), width_of(unit, SMALL * scale))


def _draw_legend(legend: Legend, layers: BodyLayers, corner: tuple[float, float], scale: float, bar_height: float) -> None:
    """One colour bar with title and ticks; corner: its lower left one."""
    x, y = corner

    def make() -> tuple[LegendBar, Batch]:
        bar = legend_bar(legend, 0.0, 0.0, BAR_WIDTH * scale, bar_height * scale)
        flat = np.column_stack([bar.positions, np.zeros(len(bar.positions), np.float32)])
        return bar, coloured_triangles(flat, bar.colours, bar.triangles)

    bar, body = layers.get(f"legend {legend.title}", (legend, scale, bar_height), make)
    title, unit = _title(legend)
    y += 6 * scale
    with own_matrix():
        gpu.matrix.translate((x, y))
        draw_triangles(body)
        draw_plain("LINES", bar.tick_lines, faint())
    for words, tick_x, tick_y in bar.labels:
        write(in_users_language(words), x + tick_x, y + tick_y - 4 * scale, SMALL * scale)
    top = y + bar_height * scale
    if unit:
        write(unit, x, top + 9 * scale, SMALL * scale, faint())
    write(title, x, top + 25 * scale, SIZE * scale, ink())


def _line_keys(results: BodyResults, layers: BodyLayers, view: FinishingView) -> list[Key]:
    """The kinds of line that need explaining."""
    keys: list[Key] = []
    plan = results.plan
    if plan is not None and view.show_cutter:
        keys += [Key(CUT_WORDS, CUT_COLOUR, "patch"), Key(STANDING_WORDS, STANDING_COLOUR, "patch")]
    elif plan is not None and view.show_lines:
        keys += [Key(LINK_WORDS, LINK_COLOUR, "dashes")] if view.show_links else []
        keys += [Key(LIFT_WORDS, LIFT_COLOUR, "dots")] if view.show_lifts else []
    if view.show_skip and (plan is not None or is_marked(results.uid)):
        keys.append(Key(LEFT_OUT_WORDS, SKIP_HATCH, "hatch"))
    shown = layers.shown_map(results, view) if view.surface_map != "none" and not view.show_cutter else None
    for hatch, _ in shown.hatched if shown is not None else ():
        keys.append(Key(HATCH_WORDS[hatch.label], hatch.line, "hatch" if hatch.rising else "falling hatch", hatch.ground))
    if plan is not None and view.show_findings and any(f.place is not None for f in plan.findings if f.key != "opening"):
        keys.append(Key(FINDING_WORDS, FINDING_COLOUR, "pin"))
    return keys


def _draw_key(key: Key, x: float, y: float, scale: float) -> None:
    """A sample of a kind of line with its word; x, y: left end of the word's base line without the sample."""
    write(in_users_language(key.words), x + KEY_WORD * scale, y, SMALL * scale)
    ink = (*key.colour, 1.0)
    middle = y + 4 * scale
    if key.pattern == "patch":
        fill_box(x, middle - 5 * scale, x + KEY_SAMPLE * scale, middle + 5 * scale, ink)
        return
    if key.ground is not None:
        fill_box(x, middle - 5 * scale, x + (KEY_SAMPLE + 4) * scale, middle + 5 * scale, (*key.ground, 1.0))
    draw_plain("LINES", np.array(_sample(key.pattern)) * scale + (x, middle), ink, 1.0 if "hatch" in key.pattern else 2.0)


def _sample(pattern: str) -> list[tuple[float, float]]:
    """Ends of pieces of line, in pairs, that show a pattern over KEY_SAMPLE pixels."""
    if pattern == "pin":
        return [(10, -5), (15, 0), (15, 0), (20, -5), (20, -5), (15, -8), (15, -8), (10, -5), (15, 0), (15, 7)]
    if pattern == "falling hatch":
        return [end for k in range(0, 26, 4) for end in ((k, 5), (k + 9, -5))]
    if pattern == "hatch":
        return [end for k in range(0, 26, 5) for end in ((k, -5), (k + 9, 5))]
    dash, gap = (8, 4) if pattern == "dashes" else (3, 5)
    return [end for k in range(0, int(KEY_SAMPLE), dash + gap) for end in ((k, 0), (min(k + dash, KEY_SAMPLE + 1), 0))]
