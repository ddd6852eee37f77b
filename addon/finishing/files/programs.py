"""Part programs in plain ISO 6983 words: G0 G1 G17 G20 G21 G90 G94, M3 M5 M30, F and S; comments in brackets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadFile
from ..core.fusing import FUSING_TOLERANCE, fused
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from ..job.cautions import CAUTIONS
from ..job.cutter import Cutter
from ..job.dowels import DowelSettings
from .written_unit import WrittenUnit, written_unit

LONGEST_COMMENT = 70
"""Characters in one comment line: with its brackets it stays below the 80 columns that small displays show. Common practice, no source."""

HARMLESS_SIGNS = " .,:+-/=_'"
"""Signs that stay in comments. A bracket would end the comment, a line's end the block; % and ; mean something to some controls."""

PECK_CLEARANCE = 1.0
"""mm above the stock where the drill's rapid move ends and to which it lifts after every peck: common practice, no source."""

PECK_ROUNDING = 1e-9
"""Share of a peck by which a depth may exceed a whole number of pecks through rounding without another one."""

OUTLINE_DECIMALS = 3
"""Decimals in mm to which points are rounded before their outline is taken: the dry run needs no more, and equal points drop out."""

END_OF_BLOCK = "\r\n"


def comment(text: str) -> list[str]:
    """A text as comment lines that no control can take for commands: plain letters, digits and `HARMLESS_SIGNS` only."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in HARMLESS_SIGNS) else " " for c in text)
    words, lines = plain.split(), [""]
    for word in words:
        word = word[:LONGEST_COMMENT]
        if len(lines[-1]) + len(word) + 1 > LONGEST_COMMENT:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return [f"({line})" for line in lines if line]


class _Writer:
    """Blocks of a program in one unit; a move names only the axes that change."""

    def __init__(self, unit: WrittenUnit) -> None:
        self._unit = unit
        self._at: list[str | None] = [None, None, None]
        self._feed: str | None = None
        self.lines: list[str] = []

    def head(self, title: Sequence[str]) -> None:
        """Title and cautions as comments, then what all moves rely on."""
        for text in (*title, *CAUTIONS):
            self.lines += comment(text)
        self.lines.append(f"G17 {self._unit.word} G90 G94")

    def move(self, word: str, position: Sequence[float | None], feed: float | None = None) -> None:
        """G0 or G1 to a position (x, y, z) in mm; None keeps an axis. feed: mm/min."""
        decimals = self._unit.decimals
        parts = [word]
        for axis, value in enumerate(position):
            if value is None:
                continue
            text = f"{round(value * self._unit.per_mm, decimals) + 0.0:.{decimals}f}"  # no minus zero
            if text != self._at[axis]:
                parts.append("XYZ"[axis] + text)
                self._at[axis] = text
        if feed is not None:
            text = f"{feed * self._unit.per_mm:.{self._unit.feed_decimals}f}"
            if text != self._feed:
                parts.append("F" + text)
                self._feed = text
        if len(parts) > 1:
            self.lines.append(" ".join(parts))

    def rise(self, safe_z: float) -> None:
        """Straight up to the safe height."""
        self.move("G0", (None, None, safe_z))

    def end(self) -> None:
        """Spindle off, end of program."""
        self.lines += ["M5", "M30"]

    def content(self) -> bytes:
        """The program as ASCII bytes."""
        return (END_OF_BLOCK.join(self.lines) + END_OF_BLOCK).encode("ascii")


def path_program(
    path: Path, cutter: Cutter, title: Sequence[str], safe_z: float, spin_up_seconds: float, unit: str = "mm", tolerance: float = FUSING_TOLERANCE
) -> bytes:
    """The program of one path. title: comments at its head, such as body, side, zero. safe_z: job mm, above everything.

    Straight moves of one kind and feed are fused within the tolerance (mm). Raises BadFile for a path without moves.
    """
    if len(path) == 0:
        raise BadFile("There is no path to write a program for.")
    writer = _Writer(written_unit(unit))
    writer.head([*title, f"Cutter: {cutter.name}, diameter {cutter.diameter:g} mm, stick-out {cutter.stick_out:g} mm"])
    writer.rise(safe_z)
    writer.lines.append(f"M3 S{cutter.spindle_speed:.0f}")
    writer.lines += comment(f"The spindle needs {spin_up_seconds:g} s to reach its speed")
    for first, last in _sections(path):
        _write_section(writer, path, first, last, tolerance)
    writer.rise(safe_z)
    writer.end()
    return writer.content()


def _write_section(writer: _Writer, path: Path, first: int, last: int, tolerance: float) -> None:
    """The moves that end at the rows first to last - 1, which are of one kind, line and feed."""
    kind, points = int(path.kind[first]), path.points[first:last]
    if kind in (LIFT, EXIT):
        before = path.points[first - 1] if first else points[0]
        for point in points:
            # A lead out runs up a ramp through wood: of the ways up only the one straight up is rapid.
            rapid = kind == LIFT or bool((point[:2] == before[:2]).all())
            writer.move("G0" if rapid else "G1", point.tolist(), None if rapid else float(path.feed[first]))
            before = point
        return
    if kind in (CUT, LINK) and first > 0:
        # The move to the first row belongs to the section: it is fused from where the cutter stands.
        points = np.concatenate([path.points[first - 1 : first], points])
        points = points[fused(points, tolerance)][1:]
    feeds = path.feed[first:last] if kind == ENTRY else np.full(len(points), path.feed[first])
    for point, feed in zip(points, feeds, strict=True):
        writer.move("G1", point.tolist(), float(feed))


def _sections(path: Path) -> list[tuple[int, int]]:
    """Rows (first, one past the last) that follow one another with one kind, line and feed."""
    change = (np.diff(path.kind.astype(int)) != 0) | (np.diff(path.line) != 0)
    change |= (np.diff(path.feed) != 0) & (path.kind[1:] != ENTRY)
    bounds = np.concatenate([[0], np.flatnonzero(change) + 1, [len(path)]])
    return [(int(a), int(b)) for a, b in zip(bounds[:-1], bounds[1:], strict=True)]


def dry_run_program(path: Path, title: Sequence[str], safe_z: float, feed: float, unit: str = "mm") -> bytes:
    """A program that follows the outline of a path at safe height with the spindle off. Raises BadFile for a path without moves."""
    if len(path) == 0:
        raise BadFile("There is no path to write a program for.")
    writer = _Writer(written_unit(unit))
    writer.head([*title, "Dry run: the outline of the work, above the stock, spindle off"])
    writer.lines.append("M5")
    writer.rise(safe_z)
    corners = outline(path.points[:, :2])
    writer.move("G0", (*corners[0].tolist(), None))
    for corner in [*corners[1:], corners[0]]:
        writer.move("G1", (*corner.tolist(), None), feed)
    writer.end()
    return writer.content()


def outline(points: FloatArray) -> FloatArray:
    """Convex outline (m, 2) of points (n, 2), anticlockwise (Andrew 1979, Inf. Process. Lett. 9:216)."""
    ordered = np.unique(np.round(points, OUTLINE_DECIMALS), axis=0)
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
    """Twice the area of the triangle a b c, above 0 where it runs anticlockwise."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def dowel_program(
    holes: FloatArray, settings: DowelSettings, title: Sequence[str], stock_top: float, spoilboard: float, safe_z: float, unit: str = "mm"
) -> bytes:
    """A program that pecks the dowel holes through the stock into the spoilboard with plain G1 moves.

    holes: centres (n, 2) in job mm. stock_top, spoilboard, safe_z: heights in job mm. Raises BadFile when there are no holes.
    """
    if len(holes) == 0:
        raise BadFile("There are no dowel holes to write a program for.")
    writer = _Writer(written_unit(unit))
    bottom = spoilboard - settings.depth
    above = min(safe_z, stock_top + PECK_CLEARANCE)
    writer.head([*title, f"Dowel holes: drill of {settings.diameter:g} mm, {settings.depth:g} mm into the spoilboard"])
    writer.rise(safe_z)
    writer.lines.append(f"M3 S{settings.spindle_speed:.0f}")
    pecks = int(np.ceil((stock_top - bottom) / settings.peck - PECK_ROUNDING))
    for x, y in holes.tolist():
        writer.move("G0", (x, y, None))
        writer.move("G0", (None, None, above))
        for number in range(1, pecks + 1):
            writer.move("G1", (None, None, max(bottom, stock_top - number * settings.peck)), settings.feed)
            writer.move("G1", (None, None, above), settings.feed)
        writer.rise(safe_z)
    writer.end()
    return writer.content()
