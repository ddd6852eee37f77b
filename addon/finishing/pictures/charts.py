"""Line charts as PNG: minutes against cusp height for every cutter on the rack."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadRequest
from ..core.message import Message
from .canvas import BOLD_PEN, PEN, Canvas, Colour, TextStyle, dashed, fitted_lines
from .legend import nice_ticks, rounded_up, tick_labels
from .lettering import width_of
from .palette import HAIR, INK, PAPER, QUIET
from .ramps import LINES, monotone_cubic
from .sheet import LABEL_SIZE, MARGIN, NOTE_SIZE, Sheet, Words, chart_sheet

# All lengths in pixels, chosen by eye, where nothing else is said.

X_LABEL, Y_LABEL = Message("cusp height in mm"), Message("minutes")

LABEL_ROOM = 230
"""Right of the plot, for the names of the lines."""
TOP_GAP = 26
"""Between the words of the sheet and the plot."""
AXIS_ROOM = 44
"""Left of the tick labels, for the words of the y axis; as far below the plot those of the x axis stand."""

X_TICKS, Y_TICKS = 6, 7
"""About how many round values each axis has."""

TALLEST = 6.0
"""Times the median of the lines' least values: what is higher runs out at the top rather than pressing the other lines down."""
MARK_ROOM = 1.15
"""The y axis goes up to at least this many times the marked value."""

HAIR_HALF, HAIR_OPACITY = 0.6, 0.75
TICK_LENGTH, X_LABEL_GAP, Y_LABEL_GAP = 7, 14, 12

CURVE_POINTS = 400
"""Points that a line is drawn with: about three pixels apart."""
LINE_PEN, CHOSEN_PEN = 2.0, 3.2
DASH = 7.0, 5.0
"""Dash and gap of the lines of cutters that do not fit."""

NAME_DISTANCE = 1.75
"""Least distance of neighbouring names, in heights of capitals."""
NAME_LEAST = 10.0
LEADER_START, LEADER_END, NAME_INDENT, NAME_ROOM = 3, 30, 38, 40
"""Right of the plot: where the leader of a name begins and ends, where the name begins, and what its room loses by that."""
LEADER_PEN = 1.2

MARK_DASH, MARK_PEN = (3.0, 4.0), 1.2
MARK_RIM, MARK_DOT = 14.0, 10.0
MARK_ASIDE, MARK_FOOT, MARK_PADDING = 12, 16, (5, 7, 8)
"""The words of a mark: how far from its hair line and from the axis, and the paper beside, above and below them."""
BOLD_LABEL = BOLD_PEN * 0.9
MARK_LABEL = BOLD_PEN * 0.85


@dataclass(frozen=True)
class ChartLine:
    """One line of a chart: a label, x and y (n,) each, dashed and quieter where the cutter does not fit; chosen is drawn bolder."""

    label: Message | str
    x: FloatArray
    y: FloatArray
    fits: bool = True
    chosen: bool = False


@dataclass(frozen=True)
class ChartMark:
    """A point to point out, with its words."""

    x: float
    y: float
    label: Message | str


def chart(lines: tuple[ChartLine, ...], words: Words, mark: ChartMark | None = None) -> bytes:
    """A chart of lines with round axis values and every line named at its end, as the bytes of a PNG file.

    mark: a point with a dot and words. Raises BadRequest when a line's x and y differ in length.
    """
    for line in lines:
        if np.shape(line.x) != np.shape(line.y):
            sizes = {"x": np.size(line.x), "y": np.size(line.y)}
            raise BadRequest("The chart line '{line}' has {x} x values and {y} y values.", line=str(line.label), **sizes)
    sheet = chart_sheet(words)
    canvas = Canvas(sheet.width, sheet.height, PAPER)
    sheet.draw_words(canvas)
    top = sheet.map_top + TOP_GAP
    shown = [line for line in lines if np.isfinite(np.asarray(line.x) + np.asarray(line.y)).any()]
    if not shown:
        middle = (top + sheet.height - MARGIN) / 2
        canvas.text(words.said(Message("Nothing to show here")), sheet.width / 2, middle, TextStyle(17, QUIET), anchor=0.5)
        return canvas.png()
    axes = _axes(shown, mark, top, sheet)
    _draw_axes(canvas, axes, words)
    colours = LINES.colours(np.arange(float(len(shown))), 0, max(len(shown) - 1, 1))[:, :3]
    inks = [(float(red), float(green), float(blue)) for red, green, blue in colours]
    ends = [_draw_line(canvas, axes, line, ink) for line, ink in zip(shown, inks, strict=True)]
    _draw_names(canvas, axes, shown, ends, inks, sheet.width - MARGIN, words)
    if mark is not None:
        _draw_mark(canvas, axes, mark, words.said(mark.label))
    return canvas.png()


@dataclass(frozen=True)
class _Axes:
    """Frame of the plot in pixels and its range in values; y begins at 0."""

    left: float
    right: float
    top: float
    bottom: float
    x_ticks: tuple[float, ...]
    y_ticks: tuple[float, ...]
    low_x: float
    high_x: float
    high_y: float

    def across(self, x: FloatArray) -> FloatArray:
        """Pixels of x values."""
        return self.left + (x - self.low_x) / (self.high_x - self.low_x) * (self.right - self.left)

    def down(self, y: FloatArray) -> FloatArray:
        """Pixels of y values."""
        return self.bottom - y / self.high_y * (self.bottom - self.top)

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        """One point in pixels."""
        return float(self.across(np.array(x))), float(self.down(np.array(y)))


def _axes(lines: list[ChartLine], mark: ChartMark | None, top: float, sheet: Sheet) -> _Axes:
    """Ranges from 0 that hold all lines; a few very long times may run out at the top rather than press the others down."""
    x = np.concatenate([np.asarray(line.x, float) for line in lines])
    high_x, low_x = float(np.nanmax(x)), 0.0
    if high_x <= low_x:
        high_x = low_x + 1.0
    peaks = [float(np.nanmax(line.y)) for line in lines]
    lows = [float(np.nanmin(line.y)) for line in lines]
    high_y = min(max(peaks), TALLEST * float(np.median(lows)))
    if mark is not None:
        high_y = max(high_y, MARK_ROOM * mark.y)
    y_ticks = nice_ticks(0, high_y if high_y > 0 else 1.0, Y_TICKS)
    if y_ticks[-1] < high_y * (1 - 1e-9):  # but for rounding
        y_ticks = (*y_ticks, y_ticks[-1] + (y_ticks[1] - y_ticks[0]))
    labels = max(width_of(sheet.words.said(text), LABEL_SIZE) for text in tick_labels(y_ticks))
    return _Axes(
        left=MARGIN + labels + AXIS_ROOM,
        right=sheet.width - MARGIN - LABEL_ROOM,
        top=top,
        bottom=sheet.map_bottom,
        x_ticks=nice_ticks(low_x, high_x, X_TICKS),
        y_ticks=y_ticks,
        low_x=low_x,
        high_x=high_x,
        high_y=y_ticks[-1] if y_ticks[-1] > 0 else rounded_up(high_y),
    )


def _draw_axes(canvas: Canvas, axes: _Axes, words: Words) -> None:
    """Hair lines at the round values, numbers, and the words of both axes."""
    label, quiet = TextStyle(LABEL_SIZE, INK), TextStyle(NOTE_SIZE, QUIET)
    for value, text in zip(axes.y_ticks, tick_labels(axes.y_ticks), strict=True):
        _, y = axes.pixel(0.0, value)
        strong = value == 0
        canvas.box(axes.left, y - HAIR_HALF, axes.right, y + HAIR_HALF, INK if strong else HAIR, 1.0 if strong else HAIR_OPACITY)
        canvas.text(words.said(text), axes.left - Y_LABEL_GAP, y + LABEL_SIZE / 2, label, anchor=1)
    for value, text in zip(axes.x_ticks, tick_labels(axes.x_ticks), strict=True):
        x, _ = axes.pixel(value, 0.0)
        canvas.box(x - HAIR_HALF, axes.bottom, x + HAIR_HALF, axes.bottom + TICK_LENGTH, INK)
        canvas.text(words.said(text), x, axes.bottom + X_LABEL_GAP + LABEL_SIZE, label, anchor=0.5)
    canvas.text(words.said(X_LABEL), (axes.left + axes.right) / 2, axes.bottom + AXIS_ROOM + NOTE_SIZE, quiet, anchor=0.5)
    canvas.text(words.said(Y_LABEL), MARGIN + NOTE_SIZE, (axes.top + axes.bottom) / 2, quiet, anchor=0.5, upright=True)


def _draw_line(canvas: Canvas, axes: _Axes, line: ChartLine, ink: Colour) -> float:
    """Draw one line inside the frame and give the y of its right end."""
    x, order = np.unique(np.asarray(line.x, float), return_index=True)
    y = np.asarray(line.y, float)[order]
    known = np.isfinite(x + y)
    x, y = x[known], y[known]
    # Where the line leaves the frame at the top it is cut there, not squeezed along the border.
    fine = np.linspace(x[0], x[-1], CURVE_POINTS)
    level = monotone_cubic(x, y, fine) if len(x) > 1 else np.full(CURVE_POINTS, y[0])
    inside = level <= axes.high_y
    points = np.stack([axes.across(fine[inside]), axes.down(level[inside])], axis=1)
    if len(points) > 1:
        segments = np.concatenate([points[:-1], points[1:]], axis=1) if line.fits else dashed(points, *DASH)
        canvas.lines(segments, CHOSEN_PEN if line.chosen else LINE_PEN, ink)
    return axes.pixel(0.0, min(level[-1], axes.high_y))[1]


def _draw_names(canvas: Canvas, axes: _Axes, lines: list[ChartLine], ends: list[float], inks: list[Colour], right: float, words: Words) -> None:
    """The name of every line beside its end, moved apart where they would touch, each with a thin leader."""
    order = np.argsort(ends, kind="stable")
    levels = _moved_apart(np.array(ends)[order], LABEL_SIZE * NAME_DISTANCE, axes.top, axes.bottom)
    room = right - axes.right - NAME_ROOM
    for k, level in zip(order, levels, strict=True):
        line = lines[k]
        canvas.lines(np.array([[axes.right + LEADER_START, ends[k], axes.right + LEADER_END, level]]), LEADER_PEN, inks[k])
        name = line.label if line.fits else Message("{cutter}, does not fit", cutter=line.label)
        text, size = fitted_lines(words.said(name), LABEL_SIZE, room, NAME_LEAST, most_lines=1)
        style = TextStyle(size, INK if line.fits else QUIET, BOLD_LABEL if line.chosen else PEN)
        canvas.text(" ".join(text), axes.right + NAME_INDENT, level + size / 2, style)


def _moved_apart(levels: FloatArray, least: float, low: float, high: float) -> FloatArray:
    """Sorted levels moved as little as possible so that neighbours keep the least distance, within low..high where they fit.

    Least squares under order constraints: pool neighbours that touch (the pool-adjacent-violators method).
    """
    shift = least * np.arange(len(levels))
    blocks: list[list[float]] = []
    for value in levels - shift:
        blocks.append([float(value), 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, n), (b, m) = blocks[-2], blocks[-1]
            blocks[-2:] = [[(a * n + b * m) / (n + m), n + m]]
    pooled = np.repeat([b[0] for b in blocks], [int(b[1]) for b in blocks])
    return np.clip(pooled, low, max(high - shift[-1], low)) + shift


def _draw_mark(canvas: Canvas, axes: _Axes, mark: ChartMark, label: str) -> None:
    """A dot, a hair line down to the axis, and the words beside its foot, where no line runs."""
    x, y = axes.pixel(mark.x, mark.y)
    if not (math.isfinite(x) and math.isfinite(y)):
        return
    canvas.lines(dashed(np.array([[x, y], [x, axes.bottom]]), *MARK_DASH), MARK_PEN, INK)
    dot = np.array([[x, y, x, y]])
    canvas.lines(dot, MARK_RIM, PAPER)
    canvas.lines(dot, MARK_DOT, INK)
    width = width_of(label, NOTE_SIZE)
    beside, above, below = MARK_PADDING
    fits_right = x + width + MARK_ASIDE + 2 * beside < axes.right
    left = x + MARK_ASIDE if fits_right else x - MARK_ASIDE - width
    foot = axes.bottom - MARK_FOOT
    canvas.box(left - beside, foot - NOTE_SIZE - above, left + width + beside, foot + below, PAPER, 0.9)
    canvas.text(label, left, foot, TextStyle(NOTE_SIZE, INK, MARK_LABEL))
