"""Where the passes start: from an edge, from a line through the middle, or from the border inward."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..core.errors import BadRequest
from ..core.filters import blur, gradient
from ..core.grid import FloatArray
from ..core.masks import Mask
from .cusp_metric import CuspMetric
from .distance_field import FAR, distance_field_steps

ANGLES_TRIED = (0.0, 90.0)
"""Directions of passes in degrees from x that "best" tries when the user names none."""


@dataclass(frozen=True)
class Start:
    """A start of the distance field. kind: "edge", "middle" or "border". angle: direction of the passes, degrees from x."""

    kind: str
    angle: float = 0.0

    @property
    def name(self) -> str:
        """The start in words."""
        if self.kind == "border":
            return "from the border inward"
        place = "from the edge" if self.kind == "edge" else "from the middle"
        return f"{place}, passes at {self.angle:g} degrees"


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


def starts_to_try(kind: str, angle: float | None, grain_angle: float | None = None) -> tuple[Start, ...]:
    """The starts that a user's choice stands for; "best" stands for several."""
    angles = ANGLES_TRIED if angle is None else (angle,)
    if angle is None and grain_angle is not None and grain_angle not in angles:
        angles = (*angles, grain_angle)
    if kind == "border":
        return (Start("border"),)
    if kind in ("edge", "middle"):
        return tuple(Start(kind, a) for a in angles)
    if kind == "best":
        return (*(Start(k, a) for k in ("edge", "middle") for a in angles), Start("border"))
    raise BadRequest("The start must be best, edge, middle or border, not '{given}'.", given=kind)


def pass_field_steps(metric: CuspMetric, share: FloatArray, start: Start) -> Generator[float, None, PassField]:
    """Solve the distance field of one start.

    metric: known everywhere (extended outside the planned axis region). share: (rows, columns), how much of each cell is
    planned, 0 to 1.
    """
    inside = share >= 0.5
    if start.kind == "border":
        distance = yield from distance_field_steps(metric, _border_start(metric, share), inside)
        first = 0.5
    else:
        side, seeds = _straight_start(metric, inside, start)
        distance = yield from distance_field_steps(metric, seeds)
        distance = np.where(side < 0, -distance, distance)
        first = 0.0 if start.kind == "middle" else float(distance[inside].min()) + 0.5
    density = metric.length_density(np.where(np.abs(distance) < FAR, distance, 0.0))
    # A gradient cannot pass 1 unit by much; beside ridges and FAR cells differences tell nothing.
    steepest = np.sqrt(_largest_ratio(metric))
    length = float((np.minimum(density, steepest) * share).sum() * metric.grid.cell_area)
    return PassField(start, distance, first, length)


def _largest_ratio(metric: CuspMetric) -> FloatArray:
    """Square of the greatest line density any direction of passes can have."""
    p, q = metric.slope_x, metric.slope_y
    area_squared = 1 + p * p + q * q
    trace = metric.xx * (1 + q * q) - 2 * metric.xy * p * q + metric.yy * (1 + p * p)
    determinant = (metric.xx * metric.yy - metric.xy**2) * area_squared
    return trace / 2 + np.sqrt(np.maximum(trace * trace / 4 - determinant, 0))


def _straight_start(metric: CuspMetric, inside: Mask, start: Start) -> tuple[FloatArray, FloatArray]:
    """Signed distance in mm from the start's line, and the known g-distances of the cells beside it."""
    grid = metric.grid
    across = np.array([-np.sin(np.radians(start.angle)), np.cos(np.radians(start.angle))])
    offset = grid.x()[None, :] * across[0] + grid.y()[:, None] * across[1]
    low, high = float(offset[inside].min()), float(offset[inside].max())
    side = offset - (low if start.kind == "edge" else (low + high) / 2)
    determinant = metric.xx * metric.yy - metric.xy**2
    inverse = (metric.yy * across[0] ** 2 - 2 * metric.xy * across[0] * across[1] + metric.xx * across[1] ** 2) / determinant
    near = np.abs(side) <= 1.5 * grid.cell
    seeds = np.where(near, np.abs(side) / np.sqrt(inverse), FAR)
    return side, seeds


def _border_start(metric: CuspMetric, share: FloatArray) -> FloatArray:
    """Known g-distances of the cells along the border of the planned axis region.

    The border is where the blurred share of planned ground passes one half: so it runs smoothly between cells instead of
    along their edges, and the lines that follow it do not wiggle.
    """
    soft = blur(share, BORDER_BLUR / metric.grid.cell)
    slope_x, slope_y = gradient(soft, metric.grid.cell)
    steep = np.maximum(np.hypot(slope_x, slope_y), 1e-9)
    inward = np.maximum((soft - 0.5) / steep, 0.0)
    across_x, across_y = np.where(steep > 1e-9, slope_x / steep, 1.0), slope_y / steep
    determinant = metric.xx * metric.yy - metric.xy**2
    inverse = (metric.yy * across_x**2 - 2 * metric.xy * across_x * across_y + metric.xx * across_y**2) / determinant
    beside = (share >= 0.5) & ((inward <= 1.5 * metric.grid.cell) | (soft < 0.5))
    return np.where(beside, inward / np.sqrt(inverse), FAR)


BORDER_BLUR = 1.0
"""Standard deviation in mm of the blur that smooths the border before lines follow it."""
