"""A canvas for pictures: filled boxes, blended maps, anti-aliased lines and lettering, written as PNG with numpy and zlib only."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Indices, Mask, Single
from ..core.ragged import run_owners, run_places
from .dashes import dashes, travelled
from .lettering import lettering, width_of

Colour = tuple[float, float, float]

PEN = 0.118
"""Width of the pen of ordinary lettering, as a share of the height of capitals."""
BOLD_PEN = 0.165
"""The same of bold lettering, as heavy as it can be before the eyes of e and a close at the heights in use."""

THINNEST_LETTERS = 1.15
"""Pixels; no lettering is drawn with a thinner pen, or small notes would turn grey."""

SIZES_TRIED = 7
"""Heights between the wanted and the least one that a text is fitted with."""

PIECE = 1.5
"""Pixels; a segment is walked in pieces of at most this length. Longer ones look at more pixels each, shorter ones at more of them twice."""

PIECES_AT_ONCE = 1 << 14
"""Pieces whose pixels are looked at in one go: a path has hundreds of thousands, and each looks at some dozens."""

HALF_PIXEL = 0.5
"""Pixels; the border of a pen fades out over one pixel, half of it on each side."""

LEAST_COVER = 0.003
"""A pixel that is covered less than this changes by less than one of 256 steps."""

NO_LENGTH_SQUARED = 1e-12
"""Pixels squared; below this a segment is a dot."""

COMPRESSION = 4
"""Of zlib, 1 to 9: higher levels take twice the time for a few per cent of these pictures."""

FILTER_UP = 2
"""PNG's filter by the row above (ISO/IEC 15948, 9.2): maps change little from row to row."""


@dataclass(frozen=True)
class TextStyle:
    """How a text is written. height: of capitals in pixels. pen: width of the strokes over that height."""

    height: float
    colour: Colour
    pen: float = PEN


class Canvas:
    """A picture in the making; x runs to the right and y downwards, in pixels, whole numbers are pixel corners."""

    def __init__(self, width: int, height: int, background: Colour) -> None:
        self.width, self.height = width, height
        self.pixels: Single = np.empty((height, width, 3), np.float32)
        self.pixels[:] = background

    def box(self, left: float, top: float, right: float, bottom: float, colour: Colour, opacity: float = 1.0) -> None:
        """Fill a box whose sides may lie anywhere between pixel corners."""
        across = _cover(left, right, self.width)
        down = _cover(top, bottom, self.height)
        columns, rows = _span(across), _span(down)
        cover = np.outer(down[rows], across[columns]) * np.float32(opacity)
        self.blend(rows, columns, np.array(colour, np.float32), cover)

    def blend(self, rows: slice, columns: slice, colours: Single, cover: Single) -> None:
        """Lay colours, (3,) or (rows, columns, 3), over a part of the picture with this cover (rows, columns) from 0 to 1."""
        part = self.pixels[rows, columns]
        part += (colours - part) * cover[..., None]

    def lines(self, segments: FloatArray, pen: float, colour: Colour | Single, opacity: float = 1.0) -> None:
        """Draw straight segments (n, 4: x0 y0 x1 y1) with round ends and smooth borders.

        pen: width in pixels. colour: one colour, or (n, 3), one a segment. Where segments of one call overlap, the one that covers a pixel
        most is seen: a crossing is not drawn twice.
        """
        if len(segments) == 0:
            return
        whole = np.zeros(self.width * self.height, np.float32)
        seen = np.zeros(len(whole) if isinstance(colour, np.ndarray) else 0, np.int32)
        single = np.asarray(segments, np.float32)
        for first, last in _some_at_a_time(single):
            pixel, cover, owner = _pen_cover(single[first:last], pen, self.width, self.height)
            before = whole[pixel]
            np.maximum.at(whole, pixel, cover)
            if len(seen):
                # Of those that cover a pixel alike the first is seen, also where it was drawn some segments ago.
                wins = (cover >= whole[pixel]) & (cover > before)
                touched, own = np.unique(pixel[wins], return_index=True)
                seen[touched] = first + owner[wins][own]
        touched = np.flatnonzero(whole)
        colours = colour[seen[touched]] if isinstance(colour, np.ndarray) else np.array(colour, np.float32)
        flat = self.pixels.reshape(-1, 3)
        flat[touched] += (colours - flat[touched]) * (whole[touched] * np.float32(opacity))[:, None]

    def text(self, text: str, x: float, y: float, style: TextStyle, anchor: float = 0.0, upright: bool = False) -> float:
        """Write a line of text with its foot at y and give its width.

        anchor: 0 when x is the left end, 0.5 the middle, 1 the right end. upright: turned to run from below upwards.
        """
        strokes, width = lettering(text, style.height)
        if not strokes:
            return width
        segments = np.concatenate([np.concatenate([stroke[:-1], stroke[1:]], axis=1) for stroke in strokes])
        along, up = segments[:, 0::2] - anchor * width, segments[:, 1::2]
        placed = np.empty_like(segments)
        placed[:, 0::2] = x - up if upright else x + along
        placed[:, 1::2] = y - along if upright else y - up
        self.lines(placed, max(style.height * style.pen, THINNEST_LETTERS), style.colour)
        return width

    def png(self) -> bytes:
        """The picture as a PNG file (8 bits, sRGB)."""
        return png_bytes(np.clip(self.pixels * 255 + 0.5, 0, 255).astype(np.uint8))


@lru_cache(maxsize=64)
def fitted_lines(text: str, height: float, room: float, least: float, most_lines: int = 2) -> tuple[tuple[str, ...], float]:
    """Break a text so that nothing is cut off: the lines and the height of capitals that fit into the room.

    The text is first made smaller, down to the least height, then broken between words (inside one where it must be); at the
    least height it may take more lines than wanted.
    """
    sizes = [height + (least - height) * k / (SIZES_TRIED - 1) for k in range(SIZES_TRIED)]
    for size in sizes:
        if width_of(text, size) <= room:
            return (text,), size
    for size in sizes:
        lines = _broken(text, size, room)
        if len(lines) <= most_lines:
            return tuple(lines), size
    return tuple(_broken(text, least, room)), least


def _broken(text: str, height: float, room: float) -> list[str]:
    """Greedy line breaks; a word longer than the room is broken too."""
    lines, line = [], ""
    for word in text.split():
        while width_of(word, height) > room and len(word) > 1:
            cut = next(k for k in range(len(word) - 1, 0, -1) if k == 1 or width_of(word[:k], height) <= room)
            if line:
                lines.append(line)
                line = ""
            lines.append(word[:cut])
            word = word[cut:]
        longer = f"{line} {word}" if line else word
        if line and width_of(longer, height) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


def dashed(polyline: FloatArray, dash: float, gap: float) -> FloatArray:
    """Dashes (n, 4) of these lengths along a polyline (m, 2)."""
    return dashed_moves(polyline[:-1], polyline[1:], np.arange(len(polyline) - 1) == 0, dash, gap)


def dashed_moves(starts: FloatArray, ends: FloatArray, new_run: Mask, dash: float, gap: float) -> FloatArray:
    """Dashes (n, 4) along moves (m, 2) each; the pattern begins anew at the marked moves."""
    pieces, _ = dashes(starts, ends, travelled(starts, ends, new_run), dash, gap)
    return pieces.reshape(-1, 4)


def png_bytes(pixels: NDArray[np.uint8]) -> bytes:
    """A PNG file of pixels (rows, columns, 3), ISO/IEC 15948, each row stored as its difference to the row above."""
    rows, columns = pixels.shape[:2]
    flat = np.ascontiguousarray(pixels).reshape(rows, columns * 3)
    filtered = np.empty((rows, columns * 3 + 1), np.uint8)
    filtered[:, 0] = FILTER_UP
    filtered[0, 1:] = flat[0]
    np.subtract(flat[1:], flat[:-1], out=filtered[1:, 1:])
    header = struct.pack(">IIBBBBB", columns, rows, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"sRGB", b"\0"), (b"IDAT", zlib.compress(filtered.tobytes(), COMPRESSION)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in chunks
    )


def _cover(low: float, high: float, size: int) -> Single:
    """How much of each pixel of a row lies between two places."""
    edges = np.arange(size, dtype=np.float32)
    return np.clip(np.minimum(edges + 1, high) - np.maximum(edges, low), 0, 1).astype(np.float32)


def _span(cover: Single) -> slice:
    """The range of pixels that are covered at all."""
    touched = np.flatnonzero(cover)
    return slice(int(touched[0]), int(touched[-1]) + 1) if len(touched) else slice(0, 0)


def _pieces(length: Single) -> Indices:
    """In how many pieces segments of some lengths (n,) are walked."""
    return np.maximum(np.ceil(length / PIECE), 1).astype(np.intp)


def _some_at_a_time(segments: Single) -> Iterator[tuple[int, int]]:
    """Ranges of segments (n, 4), the last of each excluded, that are walked in about PIECES_AT_ONCE pieces each."""
    pieces = np.cumsum(_pieces(np.hypot(segments[:, 2] - segments[:, 0], segments[:, 3] - segments[:, 1])))
    ends = np.unique(np.searchsorted(pieces, np.arange(PIECES_AT_ONCE, pieces[-1], PIECES_AT_ONCE)) + 1)
    bounds = [0, *(end for end in ends.tolist() if end < len(segments)), len(segments)]
    return pairwise(bounds)


def _pen_cover(segments: Single, pen: float, width: int, height: int) -> tuple[Indices, Single, Indices]:
    """Pixels touched by each segment with its pen, how much they are covered, and which segment covers them.

    A pixel whose middle is d away from a segment is covered by pen / 2 + 1/2 - d, clipped to 0..1: the pen's border, one pixel wide,
    falls off linearly (a pen thinner than a pixel covers less, not narrower). Only pixels with d < pen / 2 + 1/2 are covered at all. To find
    them without looking at the whole picture, every segment is walked in equal pieces of at most PIECE: no point of a segment is farther
    than PIECE / 2 from the middle of its piece, so a square of pixels that far, and pen / 2 + 1/2 more, round each middle holds them all. Each
    of these pixels is measured against the whole segment, so that a pixel which lies in the squares of two pieces gets the same cover twice.
    """
    start, run = segments[:, :2], segments[:, 2:] - segments[:, :2]
    length = np.hypot(run[:, 0], run[:, 1])
    pieces = _pieces(length)
    owner = run_owners(pieces)
    share = ((run_places(pieces) + 0.5) / pieces[owner]).astype(np.float32)
    middle = start[owner] + run[owner] * share[:, None]
    half_width = int(np.ceil(pen / 2 + HALF_PIXEL + PIECE / 2))
    offsets = np.arange(-half_width, half_width + 1)
    v, u = (a.ravel() for a in np.meshgrid(offsets, offsets, indexing="ij"))
    column = np.floor(middle[:, 0]).astype(np.intp)[:, None] + u
    row = np.floor(middle[:, 1]).astype(np.intp)[:, None] + v
    x = column.astype(np.float32) + np.float32(HALF_PIXEL) - start[owner, 0][:, None]
    y = row.astype(np.float32) + np.float32(HALF_PIXEL) - start[owner, 1][:, None]
    run_x, run_y = run[owner, 0][:, None], run[owner, 1][:, None]
    squared = np.maximum(length[owner] ** 2, NO_LENGTH_SQUARED)[:, None]
    nearest = np.clip((x * run_x + y * run_y) / squared, 0, 1)
    distance = np.hypot(x - nearest * run_x, y - nearest * run_y)
    cover = np.clip(np.float32(pen / 2 + HALF_PIXEL) - distance, 0, min(pen, 1.0))
    seen = (cover > LEAST_COVER) & (column >= 0) & (column < width) & (row >= 0) & (row < height)
    pixel = (row * width + column)[seen]
    return pixel, cover[seen].astype(np.float32), np.broadcast_to(owner[:, None], seen.shape)[seen]
