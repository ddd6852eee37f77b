"""Closed forms that several tests hold the product against; nothing of the product is used."""

from __future__ import annotations

import numpy as np


def cusp_on_curve(radius: float, step: float, curvature: float) -> float:
    """Cusp height half-way between two contacts `step` mm of arc apart on a circle of this curvature (1/mm, above 0 on crowns).

    The centres run on rho + R, half of the step's angle to either side; along the middle ray the ball's near side stands at
    (rho + R) cos a - sqrt(R^2 - (rho + R)^2 sin^2 a) from the circle's centre.
    """
    if curvature == 0:
        return float(radius - np.sqrt(radius**2 - step**2 / 4))
    rho, angle = 1 / curvature, step * curvature / 2
    away = rho + radius
    return float(away * np.cos(angle) - np.sqrt(radius**2 - (away * np.sin(angle)) ** 2) - rho)


def step_on_curve(radius: float, cusp: float, curvature: float) -> float:
    """Step (arc, mm) between contacts that leaves the cusp height on ground of a curvature other than 0 (Lin and Koren 1996, ASME 118:20).

    s = (4/|k|) asin sqrt(k^2 h (2R - h) / (4 (1 + R k)(1 + h k))): the inverse of `cusp_on_curve`.
    """
    chord_squared = cusp * (2 * radius - cusp) / (4 * (1 + radius * curvature) * (1 + cusp * curvature))
    return float(4 / abs(curvature) * np.arcsin(abs(curvature) * np.sqrt(chord_squared)))
