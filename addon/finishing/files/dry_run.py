"""Dry runs: the outline of the work with the spindle off, above everything, and once more low above the work."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadFile
from ..core.fusing import fused
from ..core.grid import Grid
from ..core.level_lines import level_lines
from ..core.masks import distance_to, grown, shrunk
from ..core.path import CUT, LINK, Path, places_along
from .program_frame import ProgramFrame, approach, begun, end
from .program_writer import ProgramWriter

CELL = 1.0
"""mm; cells that the outline is found on: where clamps stand is not known more finely."""

STEP = 0.5
"""mm between the places of the path that mark cells."""

OUTLINE_TOLERANCE = 0.2
"""mm that the written outline may leave the one on cells."""

LOW_STEP = 2.0
"""mm between the places of the low outline whose heights are looked up."""


def outline(path: Path, gap: float) -> list[FloatArray]:
    """The outlines of the ground that a path's lines and links run over, (m, 2) each, anticlockwise, the first point again at the end.

    gap: mm between neighbouring lines that still counts as covered. Holes in the ground have none. Raises BadFile for a path without lines.
    """
    places = np.concatenate([places_along(path, (CUT, LINK), STEP).points, path.points[path.kind == CUT]])[:, :2]
    if len(places) == 0:
        raise BadFile("There are no pass lines to write a program for: plan a side first.")
    grid = Grid.over(places.min(axis=0), places.max(axis=0), CELL, gap + 3 * CELL)
    covered = np.zeros(grid.shape, bool)
    covered[grid.nearest(places)] = True
    covered = shrunk(grown(covered, CELL, gap), CELL, gap)
    most = 3 * CELL
    inside = distance_to(~covered, CELL, most) - distance_to(covered, CELL, most)
    rings = [line.whole for line in level_lines(inside, grid, 0.0) if line.level == 0 and line.closed]
    return [ring[fused(ring, OUTLINE_TOLERANCE)] for ring in rings if _area(ring) > 0]


def _area(ring: FloatArray) -> float:
    """Area within a closed outline, above 0 where it runs anticlockwise (shoelace formula)."""
    x, y = ring[:, 0], ring[:, 1]
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) / 2


def dry_run_program(rings: list[FloatArray], frame: ProgramFrame, feed: float) -> bytes:
    """A program that follows outlines (m, 2) above the stock and every box, with the spindle off. feed: mm/min."""
    writer = begun(frame, "Dry run: the outline of the work, above everything that is known, spindle off")
    writer.words("M5")
    approach(writer, frame, (*rings[0][0].tolist(), frame.clear_z))
    for ring in rings:
        writer.move("G0", (*ring[0].tolist(), None))
        for x, y in ring[1:].tolist():
            writer.move("G1", (x, y, None), feed)
    return end(writer, frame)


def low_dry_run_program(rings: list[FloatArray], frame: ProgramFrame, feed: float) -> bytes:
    """A program that follows outlines (m, 3) low above the work, with the spindle off. feed: mm/min, downwards too."""
    writer = begun(frame, "Low dry run: the outline of the work just above it and above standing stock, spindle off")
    writer.words("M5")
    approach(writer, frame, (*rings[0][0, :2].tolist(), frame.clear_z))
    for ring in rings:
        _low_ring(writer, frame, ring, feed)
    return end(writer, frame)


def _low_ring(writer: ProgramWriter, frame: ProgramFrame, ring: FloatArray, feed: float) -> None:
    x, y, _ = ring[0].tolist()
    writer.move("G0", (x, y, frame.clear_z))
    for point in ring.tolist():
        writer.move("G1", point, feed)
    writer.move("G0", (None, None, frame.clear_z))


def with_steps(ring: FloatArray) -> FloatArray:
    """A closed outline (m, 2) with more points, none farther than LOW_STEP from the next."""
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    at = np.unique(np.concatenate([length, np.arange(0.0, length[-1], LOW_STEP)]))
    return np.column_stack([np.interp(at, length, ring[:, axis]) for axis in (0, 1)])


def heights_near(path: Path, places: FloatArray) -> FloatArray:
    """Greatest height of a path's lines and links within about LOW_STEP of places (m, 2), (m,); inf where it does not come near."""
    points = path.points[(path.kind == CUT) | (path.kind == LINK)]
    grid = Grid.over(np.minimum(points[:, :2].min(axis=0), places.min(axis=0)), np.maximum(points[:, :2].max(axis=0), places.max(axis=0)), LOW_STEP)
    highest = np.full(grid.padded(1).shape, -np.inf)
    np.maximum.at(highest, tuple(index + 1 for index in grid.nearest(points)), points[:, 2])
    rows, columns = grid.shape
    near = np.max([highest[i : i + rows, j : j + columns] for i in range(3) for j in range(3)], axis=0)[grid.nearest(places)]
    return np.where(np.isfinite(near), near, np.inf)
