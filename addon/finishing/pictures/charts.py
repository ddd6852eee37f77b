"""Line charts as PNG: minutes against cusp height for every cutter on the rack."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..core.errors import BadRequest
from ..core.grid import FloatArray
from .canvas import BOLD_PEN, PEN, Canvas, dashed, fitted_lines
from .legend import nice_ticks, rounded_up, tick_labels
from .lettering import width_of
from .ramps import LINES, monotone_cubic
from .surface_pictures import HAIR, INK, LABEL_SIZE, MARGIN, NOTE_SIZE, PAPER, QUIET, Sheet

LABEL_ROOM = 230


@dataclass(frozen=True)
class ChartLine:
    """One line of a chart: a label, x and y (n,) each, dashed and quieter where the cutter does not fit; chosen is drawn bolder."""

    label: str
    x: FloatArray
    y: FloatArray
    fits: bool = True
    chosen: bool = False


@dataclass(frozen=True)
class ChartMark:
    """A point to point out, with its words."""

    x: float
    y: float
    label: str


def chart(
    lines: tuple[ChartLine, ...],
    sheet: Sheet,
    x_label: str = "cusp height in mm",
    y_label: str = "minutes",
    mark: ChartMark | None = None,
    limit: float | None = None,
    limit_label: str = "",
) -> bytes:
    """A chart of lines with round axis values and every line named at its end, as the bytes of a PNG file.

    mark: a point with a dot and words. limit: a level line, such as the minutes that are left, with words.
    Raises BadRequest when a line's x and y differ in length.
    """
    for line in lines:
        if np.shape(line.x) != np.shape(line.y):
            sizes = {"x": np.size(line.x), "y": np.size(line.y)}
            raise BadRequest("The chart line '{line}' has {x} x values and {y} y values.", line=line.label, **sizes)
    sheet = replace(sheet, width=sheet.width or 1400, height=sheet.height or 860).sized(0, 0)
    canvas = Canvas(sheet.width, sheet.height, PAPER)
    sheet.draw_words(canvas)
    top = sheet.map_top + 26
    shown = [line for line in lines if np.isfinite(np.asarray(line.x) + np.asarray(line.y)).any()]
    if not shown:
        middle = (top + sheet.height - MARGIN) / 2
        canvas.text("Nothing to show here", sheet.width / 2, middle, 17, QUIET, anchor=0.5)
        return canvas.png()
    axes = _axes(shown, mark, limit, top, sheet)
    _draw_axes(canvas, axes, x_label, y_label)
    if limit is not None:
        y = axes.y(limit)
        canvas.lines(dashed(np.array([[axes.left, y], [axes.right, y]]), 9.0, 5.0), 1.4, INK, 0.8)
        canvas.text(limit_label, axes.right - 6, y - 8, LABEL_SIZE, INK, anchor=1)
    colours = LINES.colours(np.arange(float(len(shown))), 0, max(len(shown) - 1, 1))[:, :3]
    ends = []
    for line, rgb in zip(shown, colours, strict=True):
        ends.append(_draw_line(canvas, axes, line, (float(rgb[0]), float(rgb[1]), float(rgb[2]))))
    _draw_names(canvas, axes, shown, ends, colours, sheet.width - MARGIN)
    if mark is not None:
        _draw_mark(canvas, axes, mark)
    return canvas.png()


@dataclass(frozen=True)
class _Axes:
    """Frame of the plot in pixels and its range in values."""

    left: float
    right: float
    top: float
    bottom: float
    x_ticks: tuple[float, ...]
    y_ticks: tuple[float, ...]
    low_x: float
    high_x: float
    high_y: float

    def x(self, value: float | FloatArray):  # type: ignore[no-untyped-def]
        return self.left + (value - self.low_x) / (self.high_x - self.low_x) * (self.right - self.left)

    def y(self, value: float | FloatArray):  # type: ignore[no-untyped-def]
        return self.bottom - value / self.high_y * (self.bottom - self.top)


def _axes(lines: list[ChartLine], mark: ChartMark | None, limit: float | None, top: float, sheet: Sheet) -> _Axes:
    """Ranges from 0 that hold all lines; a few very long times may run out at the top rather than press the others down."""
    x = np.concatenate([np.asarray(line.x, float) for line in lines])
    high_x, low_x = float(np.nanmax(x)), 0.0
    if high_x <= low_x:
        high_x = low_x + 1.0
    peaks = [float(np.nanmax(line.y)) for line in lines]
    lows = [float(np.nanmin(line.y)) for line in lines]
    high_y = min(max(peaks), 6 * float(np.median(lows)))
    if mark is not None:
        high_y = max(high_y, 1.15 * mark.y)
    if limit is not None:
        high_y = max(high_y, 1.1 * limit)
    y_ticks = nice_ticks(0, high_y if high_y > 0 else 1.0, 7)
    step = y_ticks[1] - y_ticks[0]
    if y_ticks[-1] < high_y * (1 - 1e-9):
        y_ticks = (*y_ticks, y_ticks[-1] + step)
    labels = max(width_of(str(label), LABEL_SIZE) for label in tick_labels(y_ticks))
    return _Axes(
        MARGIN + labels + 44,
        sheet.width - MARGIN - LABEL_ROOM,
        top,
        sheet.height - MARGIN - sheet.footer_room,
        nice_ticks(low_x, high_x, 6),
        y_ticks,
        low_x,
        high_x,
        y_ticks[-1] if y_ticks[-1] > 0 else rounded_up(high_y),
    )


def _draw_axes(canvas: Canvas, axes: _Axes, x_label: str, y_label: str) -> None:
    """Hair lines at the round values, numbers, and the words of both axes."""
    for value, label in zip(axes.y_ticks, tick_labels(axes.y_ticks), strict=True):
        y = float(axes.y(value))
        strong = value == 0
        canvas.box(axes.left, y - 0.6, axes.right, y + 0.6, INK if strong else HAIR, 1.0 if strong else 0.75)
        canvas.text(str(label), axes.left - 12, y + LABEL_SIZE / 2, LABEL_SIZE, INK, anchor=1)
    for value, label in zip(axes.x_ticks, tick_labels(axes.x_ticks), strict=True):
        x = float(axes.x(value))
        canvas.box(x - 0.6, axes.bottom, x + 0.6, axes.bottom + 7, INK)
        canvas.text(str(label), x, axes.bottom + 14 + LABEL_SIZE, LABEL_SIZE, INK, anchor=0.5)
    canvas.text(x_label, (axes.left + axes.right) / 2, axes.bottom + 44 + NOTE_SIZE, NOTE_SIZE, QUIET, anchor=0.5)
    canvas.text(y_label, MARGIN + NOTE_SIZE, (axes.top + axes.bottom) / 2, NOTE_SIZE, QUIET, anchor=0.5, upright=True)


def _draw_line(canvas: Canvas, axes: _Axes, line: ChartLine, colour: tuple[float, float, float]) -> float:
    """Draw one line inside the frame and give the y of its right end."""
    x, order = np.unique(np.asarray(line.x, float), return_index=True)
    y = np.asarray(line.y, float)[order]
    known = np.isfinite(x + y)
    x, y = x[known], y[known]
    # Where the line leaves the frame at the top it is cut there, not squeezed along the border.
    fine = np.linspace(x[0], x[-1], 400)
    level = monotone_cubic(x, y, fine) if len(x) > 1 else np.full(400, y[0])
    inside = level <= axes.high_y
    points = np.stack([axes.x(fine[inside]), axes.y(level[inside])], axis=1)
    if len(points) > 1:
        segments = np.concatenate([points[:-1], points[1:]], axis=1) if line.fits else dashed(points, 7.0, 5.0)
        canvas.lines(segments, 3.2 if line.chosen else 2.0, colour)
    return float(axes.y(min(level[-1], axes.high_y)))


def _draw_names(canvas: Canvas, axes: _Axes, lines: list[ChartLine], ends: list[float], colours: FloatArray, right: float) -> None:
    """The name of every line beside its end, moved apart where they would touch, each with a thin leader."""
    least = LABEL_SIZE * 1.75
    order = np.argsort(ends)
    places = np.array(ends)[order]
    places = _apart(places, least, axes.top, axes.bottom)
    room = right - axes.right - 40
    for k, place in zip(order, places, strict=True):
        line = lines[k]
        ink = (float(colours[k, 0]), float(colours[k, 1]), float(colours[k, 2]))
        start, stop = np.array([axes.right + 3, ends[k]]), np.array([axes.right + 30, place])
        canvas.lines(np.concatenate([start, stop])[None], 1.2, ink)
        words = line.label if line.fits else f"{line.label}, does not fit"
        text, size = fitted_lines(words, LABEL_SIZE, room, 10.0, most_lines=1)
        pen = BOLD_PEN * 0.9 if line.chosen else PEN
        canvas.text(" ".join(text), axes.right + 38, place + size / 2, size, INK if line.fits else QUIET, pen=pen)


def _apart(places: FloatArray, least: float, low: float, high: float) -> FloatArray:
    """Sorted places moved as little as possible so that neighbours keep the least distance, within low..high where it fits.

    Least squares under order constraints: pool neighbours that touch (the pool-adjacent-violators method).
    """
    shift = least * np.arange(len(places))
    blocks: list[list[float]] = []
    for value in places - shift:
        blocks.append([float(value), 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, n), (b, m) = blocks[-2], blocks[-1]
            blocks[-2:] = [[(a * n + b * m) / (n + m), n + m]]
    pooled = np.repeat([b[0] for b in blocks], [int(b[1]) for b in blocks])
    return np.clip(pooled, low, max(high - shift[-1], low)) + shift


def _draw_mark(canvas: Canvas, axes: _Axes, mark: ChartMark) -> None:
    """A dot, a hair line down to the axis, and the words beside its foot, where no line runs."""
    x, y = float(axes.x(mark.x)), float(axes.y(mark.y))
    if not (math.isfinite(x) and math.isfinite(y)):
        return
    canvas.lines(dashed(np.array([[x, y], [x, axes.bottom]]), 3.0, 4.0), 1.2, INK)
    dot = np.array([[x, y, x, y]])
    canvas.lines(dot, 14, PAPER)
    canvas.lines(dot, 10, INK)
    width = width_of(mark.label, NOTE_SIZE)
    left = x + 12 if x + width + 22 < axes.right else x - 12 - width
    foot = axes.bottom - 16
    canvas.box(left - 5, foot - NOTE_SIZE - 7, left + width + 5, foot + 8, PAPER, 0.9)
    canvas.text(mark.label, left, foot, NOTE_SIZE, INK, pen=BOLD_PEN * 0.85)
