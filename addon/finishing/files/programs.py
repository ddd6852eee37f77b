"""Part programs in plain ISO 6983 words: G0 G1 G17 G20 G21 G90 G94, M3 M5 M30, F and S; comments in brackets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.errors import BadFile
from ..core.fusing import FUSING_TOLERANCE, fused
from ..core.grid import FloatArray
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from ..job.cautions import CAUTIONS
from ..job.cutter import Cutter
from ..job.dowels import DowelSettings

MM_PER_INCH = 25.4

LONGEST_COMMENT = 70

ENDED = "\r\n"


def comment(text: str) -> list[str]:
    """A text as comment lines that no control can take for commands.

    Only plain letters, digits and harmless signs stay: brackets would end the comment, a line's end, % and ; mean something to
    some controls.
    """
    plain = "".join(c if c.isascii() and (c.isalnum() or c in " .,:+-/=_'") else " " for c in text)
    words, lines = plain.split(), [""]
    for word in words:
        word = word[:LONGEST_COMMENT]
        if len(lines[-1]) + len(word) + 1 > LONGEST_COMMENT:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return [f"({line})" for line in lines if line]


class _Writer:
    """Blocks of a program in one unit; a move names the axes that change."""

    def __init__(self, unit: str) -> None:
        if unit not in ("mm", "in"):
            raise BadFile("Programs are written in mm or in, not '{given}'.", given=unit)
        self._scale, self._decimals = (1.0, 4) if unit == "mm" else (1 / MM_PER_INCH, 5)
        self._feed_decimals = 1 if unit == "mm" else 3
        self._at: list[str | None] = [None, None, None]
        self._feed: str | None = None
        self.lines: list[str] = []

    def head(self, title: Sequence[str], unit: str) -> None:
        """Title and cautions as comments, then what all moves rely on."""
        for text in (*title, *CAUTIONS):
            self.lines += comment(text)
        self.lines.append(f"G17 {'G21' if unit == 'mm' else 'G20'} G90 G94")

    def move(self, word: str, place: Sequence[float | None], feed: float | None = None) -> None:
        """G0 or G1 to a place (x, y, z); None keeps an axis."""
        parts = [word]
        for axis, value in enumerate(place):
            if value is None:
                continue
            text = f"{round(value * self._scale, self._decimals) + 0.0:.{self._decimals}f}"
            if text != self._at[axis]:
                parts.append("XYZ"[axis] + text)
                self._at[axis] = text
        if feed is not None:
            text = f"{feed * self._scale:.{self._feed_decimals}f}"
            if text != self._feed:
                parts.append("F" + text)
                self._feed = text
        if len(parts) > 1:
            self.lines.append(" ".join(parts))

    def content(self) -> bytes:
        return (ENDED.join(self.lines) + ENDED).encode("ascii")


def path_program(
    path: Path, cutter: Cutter, title: Sequence[str], safe_z: float, spin_up_seconds: float, unit: str = "mm", tolerance: float = FUSING_TOLERANCE
) -> bytes:
    """The program of one path. title: comments at its head, such as body, side, zero. safe_z: job mm, above everything.

    Straight moves of one kind and feed are fused within the tolerance (mm). Raises BadFile for a path without moves.
    """
    if len(path) == 0:
        raise BadFile("There is no path to write a program for.")
    writer = _Writer(unit)
    writer.head([*title, f"Cutter: {cutter.name}, diameter {cutter.diameter:g} mm, stick-out {cutter.stick_out:g} mm"], unit)
    writer.move("G0", (None, None, safe_z))
    writer.lines.append(f"M3 S{cutter.spindle_speed:.0f}")
    writer.lines += comment(f"The spindle needs {spin_up_seconds:g} s to reach its speed")
    for first, last in _stretches(path):
        kind = int(path.kind[first])
        if kind in (LIFT, EXIT):
            for place in path.points[first:last]:
                writer.move("G0", place.tolist())
            continue
        points = path.points[first:last]
        if kind in (CUT, LINK) and first > 0:
            # The way to the first row belongs to the stretch: it is fused from where the cutter stands.
            points = np.concatenate([path.points[first - 1 : first], points])
            points = points[fused(points, tolerance)][1:]
        feeds = path.feed[first:last] if kind == ENTRY else np.full(len(points), path.feed[first])
        for place, feed in zip(points, feeds, strict=True):
            writer.move("G1", place.tolist(), float(feed))
    writer.move("G0", (None, None, safe_z))
    writer.lines += ["M5", "M30"]
    return writer.content()


def _stretches(path: Path) -> list[tuple[int, int]]:
    """Rows (first, one past the last) that follow one another with one kind, line and feed."""
    change = (np.diff(path.kind.astype(int)) != 0) | (np.diff(path.line) != 0)
    change |= (np.diff(path.feed) != 0) & (path.kind[1:] != ENTRY)
    bounds = np.concatenate([[0], np.flatnonzero(change) + 1, [len(path)]])
    return [(int(a), int(b)) for a, b in zip(bounds[:-1], bounds[1:], strict=True)]


def dry_run_program(path: Path, title: Sequence[str], safe_z: float, feed: float, unit: str = "mm") -> bytes:
    """A program that follows the outline of a path at safe height with the spindle off."""
    if len(path) == 0:
        raise BadFile("There is no path to write a program for.")
    writer = _Writer(unit)
    writer.head([*title, "Dry run: the outline of the work, above the stock, spindle off"], unit)
    writer.lines.append("M5")
    writer.move("G0", (None, None, safe_z))
    corners = outline(path.points[:, :2])
    writer.move("G0", (*corners[0].tolist(), None))
    for corner in [*corners[1:], corners[0]]:
        writer.move("G1", (*corner.tolist(), None), feed)
    writer.lines += ["M5", "M30"]
    return writer.content()


def outline(points: FloatArray) -> FloatArray:
    """Convex outline (m, 2) of points (n, 2), anticlockwise (Andrew 1979, Inf. Process. Lett. 9:216)."""
    ordered = np.unique(np.round(points, 3), axis=0)
    if len(ordered) < 3:
        return ordered

    def half(sequence: FloatArray) -> list[FloatArray]:
        chain: list[FloatArray] = []
        for point in sequence:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return np.array(half(ordered) + half(ordered[::-1]))


def _turn(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def dowel_program(
    places: FloatArray, settings: DowelSettings, title: Sequence[str], stock_top: float, spoilboard: float, safe_z: float, unit: str = "mm"
) -> bytes:
    """A program that pecks the dowel holes through the stock into the spoilboard with plain G1 moves.

    places: (n, 2) job mm. stock_top, spoilboard, safe_z: heights in job mm.
    """
    if len(places) == 0:
        raise BadFile("There are no dowel holes to write a program for.")
    writer = _Writer(unit)
    depth = spoilboard - settings.depth
    writer.head([*title, f"Dowel holes: drill of {settings.diameter:g} mm, {settings.depth:g} mm into the spoilboard"], unit)
    writer.move("G0", (None, None, safe_z))
    writer.lines.append(f"M3 S{settings.spindle_speed:.0f}")
    count = int(np.ceil((stock_top - depth) / settings.peck - 1e-9))
    for place in places:
        writer.move("G0", (float(place[0]), float(place[1]), None))
        writer.move("G0", (None, None, min(safe_z, stock_top + 1.0)))
        for peck in range(1, count + 1):
            writer.move("G1", (None, None, max(depth, stock_top - peck * settings.peck)), settings.feed)
            writer.move("G1", (None, None, min(safe_z, stock_top + 1.0)), settings.feed)
        writer.move("G0", (None, None, safe_z))
    writer.lines += ["M5", "M30"]
    return writer.content()
