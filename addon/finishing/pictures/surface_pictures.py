"""Pictures of maps and pass lines as PNG, with title, numeric legend, scale bar and shading; numpy only, no GPU."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask, Single
from ..core.errors import BadRequest
from ..core.grid import Grid
from ..core.message import Message
from ..core.path import CUT, LIFT, LINK, Path
from .canvas import Canvas, TextStyle, dashed_moves
from .legend import Legend, order_legend
from .legend_panel import HATCH_OPACITY, LEFT_OUT, LIFT_DASH, LINK_DASH, Hatch, LegendPanel, draw_dot, hatching
from .lettering import width_of
from .map_view import MapView, body_extent, shading
from .palette import BODY, INK, PAPER, QUIET
from .sheet import LABEL_SIZE, MARGIN, Sheet, Words, map_sheet

# All lengths in pixels, chosen by eye, where nothing else is said.

MAP_SHADING, PLAIN_SHADING = 0.42, 0.6
"""Strength of the shading under the colours of a map, which it must leave true, and under pass lines alone."""

OUTLINE_OPACITY, SHADOW_OPACITY = 0.75, 0.20
SHADOW_BLUR, SHADOW_DROP, SHADOW_ASIDE = 14, 4, 3
"""Width of the blur of the body's shadow on the paper, and how far it falls down and to the right."""

PASS_PEN_MM, PASS_PENS = 0.55, (1.1, 2.2)
"""Width of a pass line in mm of the job, and the least and greatest one in pixels: neighbours stay apart, and a line stays a line."""

LINK_PEN, LINK_OPACITY = 1.2, 0.9
LIFT_PEN, LIFT_OPACITY = 1.0, 0.6
DOT_RIM, DOT_RIM_OPACITY = 12.0, 0.9
"""Paper round the dots of start and end, so that they stand off from the lines."""

LEFT_OVERHANG, TOP_OVERHANG, RIGHT_OVERHANG, BOTTOM_OVERHANG = 26.0, 12.0, 24.0, 24.0
"""How far moves in the air may be drawn beyond the room of the map."""

EMPTY_SIZE, EMPTY_BOX = 17.0, (24.0, 33.0, 21.0)
"""Height of the words where there is nothing to show, and the paper beside, above and below them."""

BAR_LONGEST, BAR_DROP, BAR_PEN, BAR_ENDS, BAR_MIDDLE = 220.0, 10, 1.6, 7, 4
"""Of the scale bar: greatest length, how far below the margin's edge it lies, pen, and heights of its ticks."""

BAR_LABEL_GAP, BAR_LABEL_DROP = 12, 2
"""Where its length is written."""

BAR_LENGTHS = tuple(factor * 10.0**power for power in range(-2, 4) for factor in (1, 2, 5))
"""mm that a scale bar may stand for."""


@dataclass(frozen=True)
class MapContent:
    """What a map shows. All arrays (rows, columns) on `grid`.

    heights: mm, -inf outside, for the shading and the outline. values: nan where there is nothing to show; None for a plain body (under
    pass lines). hatched: ground that is left out, or None. also_hatched: other ground, with its kind. path: motion to draw over the map, its
    lines coloured in running order by the legend, or None.
    """

    grid: Grid
    heights: FloatArray
    legend: Legend
    values: FloatArray | None = None
    hatched: Mask | None = None
    path: Path | None = None
    also_hatched: tuple[tuple[Hatch, Mask], ...] = ()

    def hatchings(self) -> list[tuple[Hatch, Mask]]:
        """The kinds of hatching that the map has, with their cells."""
        every = [] if self.hatched is None else [(LEFT_OUT, self.hatched)]
        return [(hatch, cells) for hatch, cells in (*every, *self.also_hatched) if cells.any()]


def picture(content: MapContent, words: Words) -> bytes:
    """The picture of a map, as the bytes of a PNG file.

    Raises BadRequest when an array does not match the grid.
    """
    for name in ("heights", "values", "hatched"):
        array = getattr(content, name)
        if array is not None and array.shape != content.grid.shape:
            raise BadRequest(
                "The {array} of the picture have the shape {shape}, the grid {grid}.", array=name, shape=array.shape, grid=content.grid.shape
            )
    path = content.path
    also = path.points[(path.kind == CUT) | (path.kind == LINK)] if path is not None else None
    extent = body_extent(content.grid, content.heights, also)
    sheet = map_sheet(words, extent[2] - extent[0], extent[3] - extent[1]) if extent else map_sheet(words, 0, 0)
    canvas = Canvas(sheet.width, sheet.height, PAPER)
    sheet.draw_words(canvas)
    view = MapView.fitted(content.grid, content.heights, (MARGIN, sheet.map_top, sheet.map_right, sheet.map_bottom), also)
    if view is None:
        _nothing_to_show(canvas, sheet, Message("No body above this grid"))
    else:
        _draw_map(canvas, content, view)
        if path is not None:
            _draw_path(canvas, content.legend, path, view, sheet)
        draw_scale_bar(canvas, view, sheet)
        if content.values is not None and not np.isfinite(content.values).any():
            _nothing_to_show(canvas, sheet, Message("Nothing to show here"))
    kinds = frozenset(np.unique(path.kind[1:]).tolist()) if path is not None else frozenset()
    LegendPanel(content.legend, kinds, tuple(hatch for hatch, _ in content.hatchings())).draw(canvas, sheet)
    return canvas.png()


def lines_picture(grid: Grid, heights: FloatArray, path: Path, words: Words, hatched: Mask | None = None) -> bytes:
    """The picture of the pass lines in running order over the shaded body, with links and lifts, as PNG bytes."""
    return picture(MapContent(grid, heights, order_legend(path.line_count), hatched=hatched, path=path), words)


def _nothing_to_show(canvas: Canvas, sheet: Sheet, message: Message) -> None:
    """The empty state: calm words where the map would be."""
    words = sheet.words.said(message)
    x = (MARGIN + sheet.map_right) / 2
    y = (sheet.map_top + sheet.map_bottom) / 2
    beside, above, below = EMPTY_BOX
    half = width_of(words, EMPTY_SIZE) / 2 + beside
    canvas.box(x - half, y - above, x + half, y + below, PAPER, 0.9)
    canvas.text(words, x, y, TextStyle(EMPTY_SIZE, QUIET), anchor=0.5)


def _draw_map(canvas: Canvas, content: MapContent, view: MapView) -> None:
    """Shadow, colours with shading, hatching and outline of the body."""
    body = view.cover(np.isfinite(content.heights))
    _draw_shadow(canvas, view, body)
    colours = np.empty((*body.shape, 3), np.float32)
    colours[:] = BODY
    if content.values is not None:
        shown, known = view.resampled(content.values)
        rgb = content.legend.colours(np.where(known > 0, shown, np.nan))[..., :3]
        colours += (rgb - colours) * view.crisp(known)[..., None]
    for hatch, cells in content.hatchings():
        marked = view.cover(cells)
        below, line = np.array(hatch.ground, np.float32), np.array(hatch.line, np.float32)
        ground = below + (line - below) * hatching(body.shape, hatch)[..., None] * HATCH_OPACITY
        colours += (ground - colours) * marked[..., None]
    shade = shading(view, content.heights, MAP_SHADING if content.values is not None else PLAIN_SHADING)
    colours *= np.minimum(shade, 1)[..., None]
    colours += (1 - colours) * np.maximum(shade - 1, 0)[..., None]
    canvas.blend(view.rows, view.columns, colours, body)
    canvas.blend(view.rows, view.columns, np.array(INK, np.float32), view.edge(body) * np.float32(OUTLINE_OPACITY))


def _draw_shadow(canvas: Canvas, view: MapView, body: Single) -> None:
    """A soft shadow of the body on the paper: its cover, averaged twice along each axis."""
    wide = np.pad(body, 2 * SHADOW_BLUR)
    for axis in (0, 1):
        for _ in range(2):
            total = np.cumsum(wide, axis=axis, dtype=np.float32)
            moved = np.roll(total, SHADOW_BLUR, axis=axis)
            edge = [slice(None), slice(None)]
            edge[axis] = slice(0, SHADOW_BLUR)
            moved[tuple(edge)] = 0
            wide = np.roll((total - moved) / np.float32(SHADOW_BLUR), -SHADOW_BLUR // 2, axis=axis)
    row, column = view.rows.start - 2 * SHADOW_BLUR + SHADOW_DROP, view.columns.start - 2 * SHADOW_BLUR + SHADOW_ASIDE
    high, low = max(row, 0), max(column, 0)
    part = wide[high - row : canvas.height - row, low - column : canvas.width - column]
    rows, columns = slice(high, high + part.shape[0]), slice(low, low + part.shape[1])
    canvas.blend(rows, columns, np.array(INK, np.float32), part * np.float32(SHADOW_OPACITY))


def _draw_path(canvas: Canvas, legend: Legend, path: Path, view: MapView, sheet: Sheet) -> None:
    """Pass lines in the colours of the legend, links dashed, lifts dotted; moves in the air only where there is room for them."""
    room = (
        MARGIN - LEFT_OVERHANG,
        sheet.map_top - TOP_OVERHANG,
        sheet.map_right + RIGHT_OVERHANG,
        sheet.map_bottom + BOTTOM_OVERHANG,
    )
    x, y = view.pixels(path.points)
    segments = np.stack([x[:-1], y[:-1], x[1:], y[1:]], axis=1)
    cut = (path.kind[1:] == CUT) & (path.kind[:-1] == CUT) & (path.line[1:] == path.line[:-1])
    colours = legend.colours(path.line.astype(np.float64))[1:, :3]
    tips = np.stack([x, y], axis=1)
    for kind, pattern, pen, opacity in ((LIFT, LIFT_DASH, LIFT_PEN, LIFT_OPACITY), (LINK, LINK_DASH, LINK_PEN, LINK_OPACITY)):
        canvas.lines(_inside(_dashes(tips, path.kind == kind, pattern), room), pen, INK, opacity)
    canvas.lines(segments[cut], float(np.clip(PASS_PEN_MM * view.scale, *PASS_PENS)), colours[cut])
    if cut.any():
        _draw_ends(canvas, segments[cut])


def _dashes(tips: FloatArray, chosen: Mask, pattern: tuple[float, float]) -> FloatArray:
    """Dashes (n, 4) along the moves that end at the chosen rows, each run of them without a break."""
    rows = np.flatnonzero(chosen[1:]) + 1
    new_run = np.diff(rows, prepend=-1) != 1
    return dashed_moves(tips[rows - 1], tips[rows], new_run, *pattern)


def _inside(segments: FloatArray, box: tuple[float, float, float, float]) -> FloatArray:
    """The segments that lie wholly inside left, top, right, bottom."""
    x, y = segments[:, 0::2], segments[:, 1::2]
    inside = (x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3])
    return segments[inside.all(axis=1)]


def _draw_ends(canvas: Canvas, segments: FloatArray) -> None:
    """A ring where the cutting starts and a filled dot where it ends."""
    start, stop = segments[0, :2], segments[-1, 2:]
    for (x, y), inside in ((start, PAPER), (stop, INK)):
        canvas.lines(np.array([[x, y, x, y]], np.float32), DOT_RIM, PAPER, DOT_RIM_OPACITY)
        draw_dot(canvas, x, y, inside)


def draw_scale_bar(canvas: Canvas, view: MapView, sheet: Sheet) -> None:
    """A bar of a round length in mm at the lower left."""
    room = min(BAR_LONGEST, view.columns.stop - view.columns.start)
    length = max([mm for mm in BAR_LENGTHS if mm * view.scale <= room], default=BAR_LENGTHS[0])
    x, y = float(MARGIN), float(sheet.height - MARGIN + BAR_DROP)
    width = length * view.scale
    canvas.box(x, y, x + width, y + BAR_PEN, INK)
    for at, height in ((x, BAR_ENDS), (x + width / 2, BAR_MIDDLE), (x + width - BAR_PEN, BAR_ENDS)):
        canvas.box(at, y - height, at + BAR_PEN, y, INK)
    canvas.text(f"{length:g} mm", x + width + BAR_LABEL_GAP, y + BAR_LABEL_DROP, TextStyle(LABEL_SIZE, INK))
