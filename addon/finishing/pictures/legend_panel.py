"""The legend beside a map: the ramp with its ticks, and below it the samples of hatching and of the kinds of motion."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.array_types import Single
from ..core.message import Message
from ..core.path import CUT, LIFT, LINK
from .canvas import BOLD_PEN, Canvas, Colour, TextStyle, dashed, fitted_lines
from .legend import Legend
from .palette import INK, PAPER, QUIET
from .ramps import RIM_COLOUR, RIM_HATCH, SKIP_COLOUR, SKIP_HATCH, UNREACHED_COLOUR, UNREACHED_HATCH
from .sheet import LABEL_SIZE, LEGEND_ROOM, MARGIN, NOTE_SIZE, Sheet

# All lengths in pixels, chosen by eye.

LINK_DASH, LIFT_DASH = (5.0, 3.0), (2.0, 5.0)
"""Dash and gap of moves on the surface and in the air: they differ in grey too."""

HATCH_OPACITY = 0.55
"""Strength of the slanting lines on hatched ground."""


@dataclass(frozen=True)
class Hatch:
    """A kind of hatching. label: what it means. ground, line: colours below and of the lines. spacing, pen: distance and width of the lines in
    pixels. rising: whether they rise to the right.
    """

    label: Message
    ground: Colour
    line: Colour
    spacing: float = 9.0
    pen: float = 1.5
    rising: bool = True


LEFT_OUT = Hatch(Message("left out"), SKIP_COLOUR, SKIP_HATCH)
NOT_REACHED = Hatch(Message("not reached"), UNREACHED_COLOUR, UNREACHED_HATCH, spacing=5.0, rising=False)
RIM = Hatch(Message("rim"), RIM_COLOUR, RIM_HATCH, spacing=4.0, pen=1.2)
"""Kinds of ground that no map has values for. What is narrow has its lines close together, so that some lie on it."""

DOT, DOT_INSIDE = 9.0, 5.5
"""Diameters of the start's ring and the end's dot."""

TITLE_SIZE, TITLE_LEAST, TITLE_LINE, TITLE_PEN = NOTE_SIZE + 0.5, 11.0, 0.7, BOLD_PEN * 0.85
UNIT_LEAST, UNIT_LINE = 11.5, 0.6
"""Heights of capitals, the least they may become, and the gap below a line in heights of capitals."""

INDENT = 44
"""From the map's edge to the bar."""
TOP_GAP, BAR_GAP, KEYS_GAP = 4, 14, 40
"""Above the title, above the bar, and between bar and keys."""
BAR_WIDTH, BAR_LEAST, BAR_MOST = 24, 120, 460
TICK_LENGTH, TICK_PEN, LABEL_GAP = 7, 1.2, 14
FRAME_OPACITY, TICK_OPACITY = 0.55, 0.8
KEY_ROOM, KEY_BOTTOM_ROOM, KEY_LINE = 34, 30, 32
"""Height that a key takes from the bar's greatest height, what all keep below them, and the distance of two."""
SAMPLE_WIDTH, SAMPLE_HEIGHT, SAMPLE_PEN = 32, 20, 1.4
KEY_WORDS_INDENT, KEY_WORDS_DROP = 44, 5

Said = Callable[[Message], str]
"""Gives words in the language of the picture."""

Sample = Callable[[Canvas, float, float], None]
"""Draws the sample of a key at x and the y of its middle."""


@dataclass(frozen=True)
class LegendPanel:
    """What the panel explains. kinds: of motion on the map, as in core.path. hatches: that the map has."""

    legend: Legend
    kinds: frozenset[int] = frozenset()
    hatches: tuple[Hatch, ...] = ()

    def draw(self, canvas: Canvas, sheet: Sheet) -> None:
        """Draw title, unit, bar and keys at the right of a sheet."""
        left = float(sheet.width - MARGIN - LEGEND_ROOM + INDENT)
        said = sheet.words.said
        y = self._draw_title(canvas, left, sheet.map_top + TOP_GAP, sheet.width - MARGIN - left, said) + BAR_GAP
        keys = self._keys()
        height = float(np.clip(sheet.map_bottom - y - KEY_ROOM * len(keys) - KEY_BOTTOM_ROOM, BAR_LEAST, BAR_MOST))
        y = _draw_bar(canvas, self.legend, left, y, height, said) + KEYS_GAP
        for label, draw in keys:
            draw(canvas, left, y)
            canvas.text(said(label), left + KEY_WORDS_INDENT, y + KEY_WORDS_DROP, TextStyle(LABEL_SIZE, INK))
            y += KEY_LINE

    def _draw_title(self, canvas: Canvas, left: float, y: float, room: float, said: Said) -> float:
        """Title and unit; gives the y below them."""
        lines, size = fitted_lines(said(self.legend.title), TITLE_SIZE, room, TITLE_LEAST)
        for line in lines:
            y += size
            canvas.text(line, left, y, TextStyle(size, INK, TITLE_PEN))
            y += size * TITLE_LINE
        if self.legend.unit is not None:
            lines, size = fitted_lines(said(self.legend.unit), LABEL_SIZE, room, UNIT_LEAST)
            for line in lines:
                y += size
                canvas.text(line, left, y, TextStyle(size, QUIET))
                y += size * UNIT_LINE
        return y

    def _keys(self) -> list[tuple[Message, Sample]]:
        """What is explained below the bar: words, and what draws the sample."""
        keys: list[tuple[Message, Sample]] = []
        keys += [(hatch.label, _hatch_sample(hatch)) for hatch in self.hatches]
        if LINK in self.kinds:
            keys.append((Message("link"), _dash_sample(LINK_DASH)))
        if LIFT in self.kinds:
            keys.append((Message("lift"), _dash_sample(LIFT_DASH)))
        if CUT in self.kinds:
            keys.append((Message("start"), _dot_sample(PAPER)))
            keys.append((Message("end"), _dot_sample(INK)))
        return keys


def hatching(shape: tuple[int, ...], hatch: Hatch) -> Single:
    """Slanting lines over an area of pixels (rows, columns), how much each pixel is covered."""
    row, column = np.arange(shape[0], dtype=np.float32)[:, None], np.arange(shape[1], dtype=np.float32)
    along = row + column if hatch.rising else row - column
    across = np.mod(along * np.float32(np.sqrt(0.5)), np.float32(hatch.spacing))
    distance = np.abs(across - np.float32(hatch.spacing / 2))
    return np.clip(np.float32(hatch.pen / 2 + 0.5) - distance, 0, 1)


def draw_dot(canvas: Canvas, x: float, y: float, inside: Colour) -> None:
    """A ring, or a full dot where it is filled with ink."""
    dot = np.array([[x, y, x, y]], np.float32)
    canvas.lines(dot, DOT, INK)
    canvas.lines(dot, DOT_INSIDE, inside)


def _draw_bar(canvas: Canvas, legend: Legend, left: float, top: float, height: float, said: Said) -> float:
    """The colour bar with ticks, high values at the top; gives the y of its lower end."""
    count = int(height)
    positions = (np.arange(count)[::-1] + 0.5) / count
    column = legend.ramp.colours(positions, 0, 1)[:, None, :3]
    rows, columns = slice(int(top), int(top) + count), slice(int(left), int(left) + BAR_WIDTH)
    canvas.blend(rows, columns, np.broadcast_to(column, (count, BAR_WIDTH, 3)), np.ones((count, BAR_WIDTH), np.float32))
    corners = np.array([[0, 0], [BAR_WIDTH, 0], [BAR_WIDTH, count], [0, count]], np.float32) + np.array([int(left), int(top)], np.float32)
    canvas.lines(np.concatenate([corners, np.roll(corners, -1, axis=0)], axis=1), 1.0, INK, FRAME_OPACITY)
    for tick in legend.ticks:
        y = rows.stop - float(legend.position(np.array([tick.value]))[0]) * count
        canvas.box(columns.stop, y - TICK_PEN / 2, columns.stop + TICK_LENGTH, y + TICK_PEN / 2, INK, TICK_OPACITY)
        canvas.text(said(tick.label), columns.stop + LABEL_GAP, y + LABEL_SIZE / 2, TextStyle(LABEL_SIZE, INK))
    return float(rows.stop)


def _hatch_sample(hatch: Hatch) -> Sample:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        rows, columns = slice(int(y) - SAMPLE_HEIGHT // 2, int(y) + SAMPLE_HEIGHT // 2), slice(int(x), int(x) + SAMPLE_WIDTH)
        canvas.box(x, rows.start, columns.stop, rows.stop, hatch.ground)
        cover = hatching((SAMPLE_HEIGHT, SAMPLE_WIDTH), hatch) * np.float32(HATCH_OPACITY)
        canvas.blend(rows, columns, np.array(hatch.line, np.float32), cover)

    return draw


def _dash_sample(pattern: tuple[float, float]) -> Sample:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.lines(dashed(np.array([[x, y], [x + SAMPLE_WIDTH, y]]), *pattern), SAMPLE_PEN, INK)

    return draw


def _dot_sample(inside: Colour) -> Sample:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        draw_dot(canvas, x + SAMPLE_WIDTH / 2, y, inside)

    return draw
