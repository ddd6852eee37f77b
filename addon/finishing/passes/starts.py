"""Where the passes start: from an edge, from a line through the middle, or from the border inward."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.cusp_formulas import spacing_on_flat
from ..core.errors import BadRequest
from ..core.filters import blur, gradient, strips
from ..core.grid import Grid
from ..core.masks import grown
from ..core.message import Message
from ..core.stepping import within
from .cusp_metric import CuspMetric
from .distance_field import FAR, distance_field_steps
from .narrow_parts import narrow_parts

ANGLES_TRIED = (0.0, 90.0)
"""Directions of passes in degrees from x that "best" tries when the user names none."""

BORDER_BLUR = 1.0
"""Standard deviation in mm of the blur that smooths the border before lines follow it."""

SEED_CELLS = 1.5
"""Cells on both sides of a start whose distance is known: every cell that touches one the start passes through, diagonal ones too, so
that no sweep has to guess how the front leaves the start."""

SEAM_CELLS = 2.0
"""Cells beside narrow parts in which no field is known, so that no level line runs from the one field into the other."""

ROUNDING = 1e-6
"""Cells by which places beside a start's line that differ lie apart by rounding."""

EVENLY_FULL = 1e-6
"""Share of the width by which the mean of planned cells must lie beyond its middle to say which half is the fuller: less is rounding."""

LEAST_SLOPE = 1e-9
"""Slope of the blurred border, 1/mm, below which it has no direction."""


@dataclass(frozen=True)
class Start:
    """A start of the distance field. kind: "edge", "middle" or "border". angle: direction of the passes, degrees from x."""

    kind: str
    angle: float = 0.0

    @property
    def name(self) -> Message:
        """The start in words."""
        if self.kind == "border":
            return Message("from the border inward")
        if self.kind == "edge":
            return Message("from the edge, at {angle:g} degrees", angle=self.angle)
        return Message("from the middle, at {angle:g} degrees", angle=self.angle)


@dataclass(frozen=True)
class PassField:
    """A distance field and what it promises. distance: (rows, columns), signed for straight starts, FAR where unknown.

    first: value of one level line; the others lie whole units from it. expected_length: length of all level lines over the
    planned ground in mm, by the coarea formula, before a line is laid.
    """

    start: Start
    distance: FloatArray
    first: float
    expected_length: float

    @property
    def solved(self) -> Mask:
        """Cells that a front has reached, (rows, columns)."""
        return np.abs(self.distance) < FAR / 2


def starts_to_try(kind: str, angle: float | None, grain_angle: float | None = None) -> tuple[Start, ...]:
    """The starts that a user's choice stands for; "best" stands for several. Raises BadRequest for a kind that does not exist."""
    angles = ANGLES_TRIED if angle is None else (angle,)
    if angle is None and grain_angle is not None and grain_angle not in angles:
        angles = (*angles, grain_angle)
    if kind == "border":
        return (Start("border"),)
    if kind in ("edge", "middle"):
        return tuple(Start(kind, a) for a in angles)
    if kind == "best":
        return (*(Start(k, a) for k in ("edge", "middle") for a in angles), Start("border"))
    raise BadRequest("Lines are laid from best, edge, middle or border, not from '{given}': choose one of these.", given=kind)


def from_fuller_side(start: Start, planned: FloatArray, grid: Grid) -> Start:
    """A start from an edge at an angle that the plan has chosen, turned half round where that has it begin on the fuller half of the planned ground.

    planned: (rows, columns) on the grid, how much of each cell is planned. An angle of 0 or 90 degrees says nothing of which of two edges lines
    begin at, and the front one is another when the body lies turned on the table.
    """
    inside = planned >= 0.5
    if start.kind != "edge" or not inside.any() or not _fuller_beyond(_offset(grid, start.angle)[inside]):
        return start
    return replace(start, angle=start.angle + (180.0 if start.angle < 180.0 else -180.0))


def _offset(grid: Grid, angle: float) -> FloatArray:
    """How far cells, (rows, columns), lie to the left of a line through the origin at an angle in degrees from x, mm."""
    return np.asarray(grid.x()[None, :] * -np.sin(np.radians(angle)) + grid.y()[:, None] * np.cos(np.radians(angle)))


def _fuller_beyond(offset: FloatArray) -> bool:
    """Whether more of some cells (n,) lies beyond their middle than before it."""
    low, high = float(offset.min()), float(offset.max())
    return float(offset.mean()) - (low + high) / 2 > EVENLY_FULL * (high - low)


def pass_field_steps(metric: CuspMetric, planned: FloatArray, start: Start) -> Generator[float, None, PassField]:
    """Solve the distance field of one start; yields shares done. On parts that are long and narrow straight starts give way to the border's.

    metric: known everywhere (extended outside the planned axis region). planned: (rows, columns), how much of each cell is
    planned, 0 to 1.
    """
    inside = planned >= 0.5
    if start.kind == "border":
        return (yield from _border_field_steps(metric, planned, start))
    narrow = narrow_parts(inside, metric.grid.cell, float(spacing_on_flat(metric.radius, metric.cusp)))
    if not narrow.any():
        return (yield from _straight_field_steps(metric, planned, start))
    along = yield from within(_border_field_steps(metric, np.where(narrow, planned, 0.0), start), 0.0, 0.3)
    if not (inside & ~narrow).any():
        return along
    across = yield from within(_straight_field_steps(metric, np.where(narrow, 0.0, planned), start), 0.3, 1.0)
    return _joined(across, along, narrow, inside)


def _border_field_steps(metric: CuspMetric, planned: FloatArray, start: Start) -> Generator[float, None, PassField]:
    """The field from the border of planned cells inward."""
    distance = yield from distance_field_steps(metric, _border_start(metric, planned), planned >= 0.5)
    return PassField(start, distance, 0.5, _expected_length(metric, distance, planned))


def _straight_field_steps(metric: CuspMetric, planned: FloatArray, start: Start) -> Generator[float, None, PassField]:
    """The field from a straight line along an edge of planned cells or through their middle."""
    inside = planned >= 0.5
    side, seeds = _straight_start(metric, inside, start)
    distance = yield from distance_field_steps(metric, seeds)
    distance = np.where(side < 0, -distance, distance)
    first = 0.0 if start.kind == "middle" else float(distance[inside].min()) + 0.5
    return PassField(start, distance, first, _expected_length(metric, distance, planned))


def _expected_length(metric: CuspMetric, distance: FloatArray, planned: FloatArray) -> float:
    """Length of all level lines of a field over planned cells, mm."""
    density = metric.length_density(np.where(np.abs(distance) < FAR, distance, 0.0))
    density *= planned
    return float(density.sum() * metric.grid.cell_area)


def _joined(across: PassField, along: PassField, narrow: Mask, inside: Mask) -> PassField:
    """One field that runs along the narrow parts and straight over all others. Between them lies ground that is not planned."""
    shifted = along.distance - along.first + across.first
    between = grown(narrow, 1.0, SEAM_CELLS) & ~inside
    distance = np.where(narrow, shifted, np.where(between, FAR, across.distance))
    return PassField(across.start, distance, across.first, across.expected_length + along.expected_length)


def _straight_start(metric: CuspMetric, inside: Mask, start: Start) -> tuple[FloatArray, FloatArray]:
    """Signed distance in mm from the start's line, and the known g-distances of the cells along it."""
    grid = metric.grid
    across_x, across_y = -np.sin(np.radians(start.angle)), np.cos(np.radians(start.angle))
    offset = _offset(grid, start.angle)
    if start.kind == "middle" and _fuller_beyond(offset[inside]):
        offset = -offset  # the same lines, counted from the fuller half on whichever way round the angle was given
    low, high = float(offset[inside].min()), float(offset[inside].max())
    side = offset - (low if start.kind == "edge" else (low + high) / 2)
    # The middle between cells lies on cells or half-way between them: rounding must decide neither on which side of it they are nor how near.
    side[np.abs(side) <= ROUNDING * grid.cell] = 0.0
    near = np.abs(side) <= (SEED_CELLS + ROUNDING) * grid.cell
    seeds = np.where(near, np.abs(side) / np.sqrt(metric.inverse_squared(across_x, across_y)), FAR)
    return side, seeds


def _border_start(metric: CuspMetric, planned: FloatArray) -> FloatArray:
    """Known g-distances of the cells along the border of the planned axis region.

    The border is where the blurred map of planned ground passes one half: so it runs smoothly between cells instead of
    along their edges, and the lines that follow it do not wiggle.
    """
    soft, cell = blur(planned, BORDER_BLUR / metric.grid.cell), metric.grid.cell
    out = np.empty(planned.shape)
    for wide, own, strip in strips(len(planned), 1):
        slope_x, slope_y = gradient(soft[wide], cell)
        steep = np.maximum(np.hypot(slope_x, slope_y), LEAST_SLOPE)
        inward = np.maximum((soft[wide] - 0.5) / steep, 0.0)
        across_x, across_y = np.where(steep > LEAST_SLOPE, slope_x / steep, 1.0), slope_y / steep
        along_border = (planned[wide] >= 0.5) & ((inward <= SEED_CELLS * cell) | (soft[wide] < 0.5))
        room = np.sqrt(metric.rows(wide).inverse_squared(across_x, across_y))
        out[strip] = np.where(along_border, inward / room, FAR)[own]
    return out
