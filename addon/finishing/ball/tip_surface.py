"""The tip surface of a ball over a height grid, and the surface the ball leaves at best (rolling-ball closing)."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..core.array_types import FloatArray, Mask, Single
from ..core.stepping import finished
from .ball_dilation import symmetric_dilation_steps
from .bounded_dilation import bounded_dilation_steps

LARGE_BALL = 32
"""Radius in cells from which branch and bound is quicker than going through all of the ball's cells (see the bench)."""


def tip_surface(heights: FloatArray, radius: float, cell: float) -> Single:
    """Tip height of a ball at every cell, touching the grid of heights from above: (rows, columns) float32.

    T(x) = max over |d| <= R of z(x + d) - (R - sqrt(R^2 - d^2)), exactly over the cells; -inf where no cell with a height
    lies within the radius. Pad the grid by the radius for the whole surface. All mm.
    """
    return finished(tip_surface_steps(heights, radius, cell))


def tip_surface_steps(heights: FloatArray, radius: float, cell: float, wanted: Mask | None = None) -> Generator[float, None, Single]:
    """`tip_surface` in short steps: yields progress from 0 to 1, returns the surface. wanted: cells that matter (None: all)."""
    single = np.asarray(heights, np.float32)
    if radius >= LARGE_BALL * cell:
        return bounded_dilation_steps(single, radius, cell, wanted)
    return symmetric_dilation_steps(single, radius, cell)


def closing_steps(tip: FloatArray, radius: float, cell: float, wanted: Mask | None = None) -> Generator[float, None, Single]:
    """Surface that the ball leaves when it has been everywhere: erosion of its tip surface by the same ball.

    tip: (rows, columns), -inf where the ball meets nothing. The result is exact where every cell within the radius has a
    tip height, so wherever there is a body on a grid that was padded by the radius. wanted: cells that matter (None: all).
    Yields progress from 0 to 1.
    """
    upside_down = np.where(tip > -np.inf, -tip, -np.inf).astype(np.float32)
    dilated = yield from tip_surface_steps(upside_down, radius, cell, wanted)
    return -dilated
