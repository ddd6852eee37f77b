"""Cusp height and spacing of round-nose passes on flat and on bent ground.

The formulas are those of Suresh and Yang 1994 (ASME J. Eng. Ind. 116:253), Lin and Koren 1996 (118:20) and Feng and
Li 2002 (CAD 34:647). Curvature k is counted positive on crowns (convex) and negative in hollows.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .errors import BadRequest

FloatResult = NDArray[np.float64]

FLAT = 1e-12
"""Curvature in 1/mm below which ground counts as flat: a radius of a million kilometres."""


def spacing_on_flat(radius: ArrayLike, cusp: ArrayLike) -> FloatResult:
    """Spacing s = 2 sqrt(h (2R - h)) of passes on flat ground that leave the cusp height h. All mm."""
    ball, height = np.asarray(radius, float), np.asarray(cusp, float)
    if np.any(height <= 0) or np.any(height > ball):
        raise BadRequest("The cusp height must lie above 0 and not above the cutter's radius.")
    return 2 * np.sqrt(height * (2 * ball - height))


def cusp_on_flat(radius: ArrayLike, spacing: ArrayLike) -> FloatResult:
    """Cusp height h = R - sqrt(R^2 - s^2/4) that passes at this spacing leave on flat ground. All mm.

    Written without the cancellation of the plain formula, so that it is the exact inverse of `spacing_on_flat`.
    """
    ball, step = np.asarray(radius, float), np.asarray(spacing, float)
    if np.any(step <= 0) or np.any(step > 2 * ball):
        raise BadRequest("The spacing must lie above 0 and not above the cutter's diameter.")
    half_squared = step * step / 4
    return half_squared / (ball + np.sqrt(np.maximum(ball * ball - half_squared, 0)))


def step_on_curve(radius: ArrayLike, cusp: ArrayLike, curvature: ArrayLike) -> FloatResult:
    """Step between contacts, as arc length on the body in mm, that leaves the cusp height on ground of curvature k (1/mm).

    s = (4/|k|) asin sqrt(k^2 h (2R - h) / (4 (1 + R k)(1 + h k))), exact in a principal plane.
    Raises BadRequest where the ball does not fit (1 + R k <= 0).
    """
    ball, height, bend = (np.asarray(v, float) for v in (radius, cusp, curvature))
    if np.any(1 + ball * bend <= 0):
        raise BadRequest("The hollow is tighter than the cutter: no step leaves this cusp height.")
    chord_squared = height * (2 * ball - height) / (4 * (1 + ball * bend) * (1 + height * bend))
    chord = np.sqrt(chord_squared)
    size = np.abs(bend)
    curved = size > FLAT
    safe = np.where(curved, size, 1.0)
    return np.where(curved, 4 / safe * np.arcsin(np.minimum(safe * chord, 1.0)), 4 * chord)


def cusp_on_curve(radius: ArrayLike, step: ArrayLike, curvature: ArrayLike) -> FloatResult:
    """Cusp height left by contacts one step (arc length, mm) apart on ground of curvature k (1/mm); inverse of `step_on_curve`.

    With S = (4/k) sin(k s/4), A = S^2 (1 + R k)/4, b = 2R - k A: h = 2A / (b + sqrt(b^2 - 4A)).
    """
    ball, arc, bend = (np.asarray(v, float) for v in (radius, step, curvature))
    curved = np.abs(bend) > FLAT
    safe = np.where(curved, bend, 1.0)
    chord = np.where(curved, 4 / safe * np.sin(safe * arc / 4), arc)
    area = chord * chord * (1 + ball * bend) / 4
    middle = 2 * ball - bend * area
    return 2 * area / (middle + np.sqrt(np.maximum(middle * middle - 4 * area, 0)))
