"""Cusp height and spacing of round-nose passes on flat ground: two ways to say one thing.

The formulas are those of Suresh and Yang 1994 (ASME J. Eng. Ind. 116:253) and Lin and Koren 1996 (118:20).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from .array_types import Double
from .errors import BadRequest


def spacing_on_flat(radius: ArrayLike, cusp: ArrayLike) -> Double:
    """Spacing s = 2 sqrt(h (2R - h)) of passes on flat ground that leave the cusp height h. All mm."""
    ball, height = np.asarray(radius, float), np.asarray(cusp, float)
    if np.any(height <= 0) or np.any(height > ball):
        raise BadRequest("The cusp height must lie above 0 and not above the cutter's radius: change it, or take a larger cutter.")
    return 2 * np.sqrt(height * (2 * ball - height))


def cusp_on_flat(radius: ArrayLike, spacing: ArrayLike) -> Double:
    """Cusp height h = R - sqrt(R^2 - s^2/4) that passes at this spacing leave on flat ground. All mm.

    Written without the cancellation of the plain formula, so that it is the exact inverse of `spacing_on_flat`.
    """
    ball, step = np.asarray(radius, float), np.asarray(spacing, float)
    if np.any(step <= 0) or np.any(step > 2 * ball):
        raise BadRequest("The spacing must lie above 0 and not above the cutter's diameter: change it, or take a larger cutter.")
    half_squared = step * step / 4
    return half_squared / (ball + np.sqrt(np.maximum(ball * ball - half_squared, 0)))
