"""Pictures of maps and pass lines as PNG, with title, numeric legend, scale bar and shading; numpy only, no GPU."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadRequest
from ..core.grid import FloatArray, Grid, Single
from ..core.path import CUT, LIFT, LINK, Path
from .canvas import BOLD_PEN, Canvas, dashed, dashed_moves, fitted_lines
from .legend import Legend, order_legend
from .lettering import width_of
from .map_view import MapView, body_extent, shading
from .ramps import SKIP_COLOUR, SKIP_HATCH, colour

MaskArray = NDArray[np.bool_]

Sample = Callable[[Canvas, float, float], None]
"""Draws the sample of a legend key at x and the y of its middle."""

PAPER = colour(0.985, 0.006, 90)
INK = colour(0.27, 0.012, 270)
QUIET = colour(0.52, 0.012, 270)
HAIR = colour(0.80, 0.008, 270)
BODY = colour(0.90, 0.016, 85)

MARGIN = 52
LEGEND_ROOM = 206
FOOTER = 64
HEADING_ROOM = 142
"""Pixels that one line of title and one of note take."""
TITLE_LINE, NOTE_LINE, FOOTER_LINE = 1.75, 1.7, 1.75
"""Line feeds, in heights of capitals."""
TITLE_SIZE, NOTE_SIZE, LABEL_SIZE, SMALL_SIZE = 25.0, 13.5, 13.0, 11.5


@dataclass(frozen=True)
class Sheet:
    """Size and words of a picture: title top left, note under it in a quieter hand, footer at the bottom right.

    width, height: pixels; 0 for a size that suits the body's shape, about 1400 x 1000.
    """

    title: str
    note: str = ""
    footer: str = ""
    width: int = 0
    height: int = 0

    def sized(self, length_x: float, length_y: float) -> Sheet:
        """The sheet with its size in pixels settled for a map of this shape.

        Raises BadRequest when the size asked for is too small to hold legend and words.
        """
        tall = length_y / length_x if length_x > 0 and length_y > 0 else 0.7
        wanted = 1400 if tall < 1.15 else 1020 / tall + 2 * MARGIN + LEGEND_ROOM + 20
        width = self.width or round(min(max(wanted, 760), 1400))
        height = self.height or round(min(max(tall * (width - 2 * MARGIN - LEGEND_ROOM) + 280, 640), 1300))
        if width < 640 or height < 480:
            raise BadRequest("A picture needs at least 640 x 480 pixels, not {width} x {height}.", width=width, height=height)
        # Words are never cut off: many of them make the sheet higher.
        sheet = replace(self, width=width, height=height)
        words = sheet.map_top - HEADING_ROOM + sheet.footer_room - FOOTER
        return replace(sheet, height=height + round(max(words, 0.0)))

    @property
    def map_top(self) -> float:
        """y in pixels where the map may begin, below the title and the note."""
        y = float(MARGIN)
        lines, size = self._title_lines()
        y += len(lines) * size * TITLE_LINE
        lines, size = self._note_lines()
        return y + (2 + len(lines) * size * NOTE_LINE if self.note else 0.0) + 20

    @property
    def footer_room(self) -> float:
        """Pixels at the bottom, above the margin, that scale bar and footer take."""
        lines, size = self._footer_lines()
        return FOOTER + max(len(lines) - 2, 0) * size * FOOTER_LINE

    def _title_lines(self) -> tuple[tuple[str, ...], float]:
        return fitted_lines(self.title, TITLE_SIZE, self.width - 2 * MARGIN, 17.0)

    def _note_lines(self) -> tuple[tuple[str, ...], float]:
        return fitted_lines(self.note, NOTE_SIZE, self.width - 2 * MARGIN, 11.5)

    def _footer_lines(self) -> tuple[tuple[str, ...], float]:
        return fitted_lines(self.footer, SMALL_SIZE, (self.width - 2 * MARGIN) * 0.62, 10.0)

    def draw_words(self, canvas: Canvas) -> None:
        """Write title, note and footer."""
        y = float(MARGIN)
        lines, size = self._title_lines()
        for line in lines:
            canvas.text(line, MARGIN, y + size, size, INK, pen=BOLD_PEN * 0.86)
            y += size * TITLE_LINE
        lines, size = self._note_lines()
        for line in lines:
            canvas.text(line, MARGIN, y + 2 + size, size, QUIET)
            y += size * NOTE_LINE
        lines, size = self._footer_lines()
        for k, line in enumerate(reversed(lines)):
            y = self.height - MARGIN + 16 - k * size * FOOTER_LINE
            canvas.text(line, self.width - MARGIN, y, size, QUIET, anchor=1)


@dataclass(frozen=True)
class MapContent:
    """What a map shows. All arrays (rows, columns) on `grid`.

    values: nan where there is nothing to show; None for a plain body (under pass lines). heights: mm, -inf outside, for the
    shading and the outline. hatched: ground that is left out, or None. hatched_label: its words in the legend. path: motion
    to draw over the map, or None.
    """

    grid: Grid
    heights: FloatArray
    legend: Legend
    values: FloatArray | None = None
    hatched: MaskArray | None = None
    hatched_label: str = "left out"
    path: Path | None = None
    path_values: FloatArray | None = None


def picture(content: MapContent, sheet: Sheet) -> bytes:
    """The picture of a map, as the bytes of a PNG file.

    Raises BadRequest when an array does not match the grid.
    """
    for name in ("heights", "values", "hatched"):
        array = getattr(content, name)
        if array is not None and array.shape != content.grid.shape:
            raise BadRequest(
                "The {array} of the picture have the shape {shape}, the grid {grid}.", array=name, shape=array.shape, grid=content.grid.shape
            )
    also = content.path.points[(content.path.kind == CUT) | (content.path.kind == LINK)] if content.path else None
    extent = body_extent(content.grid, content.heights, also)
    sheet = sheet.sized(extent[2] - extent[0], extent[3] - extent[1]) if extent else sheet.sized(0, 0)
    canvas = Canvas(sheet.width, sheet.height, PAPER)
    sheet.draw_words(canvas)
    top = sheet.map_top
    box = (MARGIN, top, sheet.width - MARGIN - LEGEND_ROOM, sheet.height - MARGIN - sheet.footer_room)
    view = MapView.fitted(content.grid, content.heights, box, also)
    if view is None:
        _nothing_to_show(canvas, sheet, top, "No body above this grid")
    else:
        _map(canvas, content, view)
        if content.path is not None:
            _path(canvas, content, content.path, view, (MARGIN / 2, top - 12, sheet.width - MARGIN - LEGEND_ROOM + 24, box[3] + 24))
        _scale_bar(canvas, view, sheet)
        if content.values is not None and not np.isfinite(content.values).any():
            _nothing_to_show(canvas, sheet, top, "Nothing to show here")
    _legend(canvas, content, sheet, top)
    return canvas.png()


def lines_picture(
    grid: Grid, heights: FloatArray, path: Path, sheet: Sheet, hatched: MaskArray | None = None, hatched_label: str = "left out"
) -> bytes:
    """The picture of the pass lines in running order over the shaded body, with links and lifts, as PNG bytes."""
    legend = order_legend(path.line_count)
    return picture(MapContent(grid, heights, legend, None, hatched, hatched_label, path, path.line.astype(np.float64)), sheet)


def _nothing_to_show(canvas: Canvas, sheet: Sheet, top: float, words: str) -> None:
    """The empty state: calm words where the map would be."""
    x = (MARGIN + sheet.width - MARGIN - LEGEND_ROOM) / 2
    y = (top + sheet.height - MARGIN - sheet.footer_room) / 2
    width = width_of(words, 17) + 48
    canvas.box(x - width / 2, y - 33, x + width / 2, y + 21, PAPER, 0.9)
    canvas.text(words, x, y, 17, QUIET, anchor=0.5)


def _map(canvas: Canvas, content: MapContent, view: MapView) -> None:
    """Shadow, colours with shading, hatching and outline of the body."""
    body = view.cover(np.isfinite(content.heights))
    _shadow(canvas, view, body)
    colours = np.empty((*body.shape, 3), np.float32)
    colours[:] = BODY
    if content.values is not None:
        shown, known = view.resampled(content.values)
        rgb = content.legend.colours(np.where(known > 0, shown, np.nan))[..., :3]
        colours += (rgb - colours) * view.crisp(known)[..., None]
    if content.hatched is not None and content.hatched.any():
        marked = view.cover(content.hatched)
        pattern = hatching(body.shape)
        ground = np.array(SKIP_COLOUR, np.float32) + (np.array(SKIP_HATCH, np.float32) - np.array(SKIP_COLOUR, np.float32)) * pattern[..., None] * 0.55
        colours += (ground - colours) * marked[..., None]
    shade = shading(view, content.heights, 0.6 if content.values is None else 0.42)
    colours *= np.minimum(shade, 1)[..., None]
    colours += (1 - colours) * np.maximum(shade - 1, 0)[..., None]
    canvas.blend(view.rows, view.columns, colours, body)
    edge = view.edge(body)
    canvas.blend(view.rows, view.columns, np.array(INK, np.float32), edge * np.float32(0.75))


def hatching(shape: tuple[int, ...], spacing: float = 9.0, pen: float = 1.5) -> Single:
    """Slanting lines over an area of pixels (rows, columns), how much each pixel is covered."""
    row, column = np.arange(shape[0], dtype=np.float32)[:, None], np.arange(shape[1], dtype=np.float32)
    across = np.mod((row + column) * np.float32(np.sqrt(0.5)), np.float32(spacing))
    distance = np.abs(across - np.float32(spacing / 2))
    return np.clip(np.float32(pen / 2 + 0.5) - distance, 0, 1)


def _shadow(canvas: Canvas, view: MapView, body: Single) -> None:
    """A soft shadow of the body on the paper."""
    reach = 14
    wide = np.pad(body, 2 * reach)
    for axis in (0, 1):
        for _ in range(2):
            total = np.cumsum(wide, axis=axis, dtype=np.float32)
            moved = np.roll(total, reach, axis=axis)
            edge = [slice(None), slice(None)]
            edge[axis] = slice(0, reach)
            moved[tuple(edge)] = 0
            wide = np.roll((total - moved) / np.float32(reach), -reach // 2, axis=axis)
    row, column = view.rows.start - 2 * reach + 4, view.columns.start - 2 * reach + 3
    high, low = max(row, 0), max(column, 0)
    part = wide[high - row : canvas.height - row, low - column : canvas.width - column]
    canvas.blend(slice(high, high + part.shape[0]), slice(low, low + part.shape[1]), np.array(INK, np.float32), part * np.float32(0.20))


def _path(canvas: Canvas, content: MapContent, path: Path, view: MapView, box: tuple[float, float, float, float]) -> None:
    """Pass lines in the colours of the legend, links dashed, lifts dotted; nothing outside the box."""
    values = path.line if content.path_values is None else content.path_values
    x, y = view.places(path.points)
    segments = np.stack([x[:-1], y[:-1], x[1:], y[1:]], axis=1)
    kind, line = path.kind[1:], path.line[1:]
    cut = (kind == CUT) & (path.kind[:-1] == CUT) & (line == path.line[:-1])
    rgb = content.legend.colours(np.asarray(values, np.float64))[1:, :3]
    pen = float(np.clip(0.55 * view.scale, 1.1, 2.2))
    for number, pattern, width, strength in ((LIFT, (2.0, 5.0), 1.0, 0.6), (LINK, (5.0, 3.0), 1.2, 0.9)):
        dashes = _inside(_dashes(np.stack([x, y], axis=1), path.kind == number, pattern), box)
        canvas.lines(dashes, width, INK, strength)
    canvas.lines(segments[cut], pen, rgb[cut])
    if cut.any():
        _ends(canvas, segments[cut])


def _dashes(places: FloatArray, chosen: MaskArray, pattern: tuple[float, float]) -> FloatArray:
    """Dashes (n, 4) along the moves that end at the chosen rows, each run of them without a break."""
    rows = np.flatnonzero(chosen[1:]) + 1
    new_run = np.diff(rows, prepend=-1) != 1
    return dashed_moves(places[rows - 1], places[rows], new_run, *pattern)


def _inside(segments: FloatArray, box: tuple[float, float, float, float]) -> FloatArray:
    """The segments that lie wholly inside left, top, right, bottom."""
    x, y = segments[:, 0::2], segments[:, 1::2]
    inside = (x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3])
    return segments[inside.all(axis=1)]


def _ends(canvas: Canvas, segments: FloatArray) -> None:
    """A ring where the cutting starts and a filled dot where it ends."""
    start, stop = segments[0, :2], segments[-1, 2:]
    for (x, y), inside in ((start, PAPER), (stop, INK)):
        dot = np.array([[x, y, x, y]], np.float32)
        canvas.lines(dot, 12, PAPER, 0.9)
        canvas.lines(dot, 9, INK)
        canvas.lines(dot, 5.5, inside)


def _scale_bar(canvas: Canvas, view: MapView, sheet: Sheet) -> None:
    """A bar of a round length in mm at the lower left."""
    room = min(220.0, view.columns.stop - view.columns.start)
    lengths = [f * 10.0**p for p in range(-2, 4) for f in (1, 2, 5)]
    length = max([n for n in lengths if n * view.scale <= room], default=lengths[0])
    y, x = float(sheet.height - MARGIN + 10), float(MARGIN)
    width = length * view.scale
    canvas.box(x, y, x + width, y + 1.6, INK)
    for end in (x, x + width / 2, x + width - 1.6):
        canvas.box(end, y - (4 if end == x + width / 2 else 7), end + 1.6, y, INK)
    canvas.text(f"{length:g} mm", x + width + 12, y + 2, LABEL_SIZE, INK)


def _legend(canvas: Canvas, content: MapContent, sheet: Sheet, top: float) -> None:
    """The ramp with its ticks, the hatch, and the kinds of motion, at the right."""
    legend = content.legend
    left = float(sheet.width - MARGIN - LEGEND_ROOM + 44)
    room = sheet.width - MARGIN - left
    y = top + 4
    lines, size = fitted_lines(str(legend.title), NOTE_SIZE + 0.5, room, 11.0)
    for line in lines:
        y += size
        canvas.text(line, left, y, size, INK, pen=BOLD_PEN * 0.85)
        y += size * 0.7
    if legend.unit is not None:
        lines, size = fitted_lines(str(legend.unit), LABEL_SIZE, room, 11.5)
        for line in lines:
            y += size
            canvas.text(line, left, y, size, QUIET)
            y += size * 0.6
    y += 14
    bottom_keys = _keys(content)
    height = float(np.clip(sheet.height - MARGIN - sheet.footer_room - y - 34 * len(bottom_keys) - 30, 120, 460))
    y = _bar(canvas, legend, left, y, height)
    y += 40
    for label, draw in bottom_keys:
        draw(canvas, left, y)
        canvas.text(label, left + 44, y + 5, LABEL_SIZE, INK)
        y += 32


def _bar(canvas: Canvas, legend: Legend, left: float, top: float, height: float) -> float:
    """The colour bar with ticks, high values at the top; gives the y of its lower end."""
    count = int(height)
    places = (np.arange(count)[::-1] + 0.5) / count
    column = legend.ramp.colours(places, 0, 1)[:, None, :3]
    rows, columns = slice(int(top), int(top) + count), slice(int(left), int(left) + 24)
    canvas.blend(rows, columns, np.broadcast_to(column, (count, 24, 3)), np.ones((count, 24), np.float32))
    frame = np.array([[0, 0, 24, 0], [24, 0, 24, count], [24, count, 0, count], [0, count, 0, 0]], np.float32) + np.array(
        [int(left), int(top)] * 2, np.float32
    )
    canvas.lines(frame, 1.0, INK, 0.55)
    for tick in legend.ticks:
        place = float(legend.place(np.array([tick.value]))[0])
        y = rows.stop - place * count
        canvas.box(columns.stop, y - 0.6, columns.stop + 7, y + 0.6, INK, 0.8)
        canvas.text(str(tick.label), columns.stop + 14, y + LABEL_SIZE / 2, LABEL_SIZE, INK)
    return float(rows.stop)


def _keys(content: MapContent) -> list[tuple[str, Sample]]:
    """What the legend explains below the bar: words and a function that draws the sample at (x, y of its middle)."""
    keys: list[tuple[str, Sample]] = []
    if content.hatched is not None and content.hatched.any():
        keys.append((content.hatched_label, _hatch_sample))
    if content.path is not None:
        kinds = set(np.unique(content.path.kind[1:]).tolist())
        if LINK in kinds:
            keys.append(("link", _dash_sample((5.0, 3.0), 1.2)))
        if LIFT in kinds:
            keys.append(("lift", _dash_sample((2.0, 5.0), 1.2)))
        if CUT in kinds:
            keys.append(("start", _dot_sample(PAPER)))
            keys.append(("end", _dot_sample(INK)))
    return keys


def _hatch_sample(canvas: Canvas, x: float, y: float) -> None:
    rows, columns = slice(int(y) - 10, int(y) + 10), slice(int(x), int(x) + 32)
    canvas.box(x, rows.start, int(x) + 32, rows.stop, SKIP_COLOUR)
    canvas.blend(rows, columns, np.array(SKIP_HATCH, np.float32), hatching((20, 32)) * np.float32(0.55))


def _dash_sample(pattern: tuple[float, float], pen: float) -> Sample:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.lines(dashed(np.array([[x, y], [x + 32, y]]), *pattern), pen + 0.2, INK)

    return draw


def _dot_sample(inside: tuple[float, float, float]) -> Sample:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        dot = np.array([[x + 16, y, x + 16, y]], np.float32)
        canvas.lines(dot, 9, INK)
        canvas.lines(dot, 5.5, inside)

    return draw
