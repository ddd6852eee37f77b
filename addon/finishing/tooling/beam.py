"""How far a cutter bends: a cantilever in two steps, from the collet nut to the tip."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..job.cutter import Cutter

STIFFNESS = 210_000.0
"""N/mm2, Young's modulus of steel, the weaker of what shanks are made of (solid carbide: about 600 000)."""

FLUTED_SHARE = 0.8
"""Thickness of a round rod as stiff as the fluted part, over its diameter (0.7 to 0.8 by the cutter makers' rule)."""


def cantilever_bend(force: ArrayLike, length: float, diameter: float, stiffness: float = STIFFNESS) -> NDArray[np.float64]:
    """Bend in mm of a round rod at its free end: F L^3 / (3 E I), I = pi d^4 / 64. force: N; lengths: mm; stiffness: N/mm2."""
    return np.asarray(force, float) * length**3 / (3 * stiffness * _second_moment(diameter))


def cutter_bend(force: ArrayLike, cutter: Cutter, stiffness: float = STIFFNESS) -> NDArray[np.float64]:
    """Bend in mm of a cutter's tip under a force across in N.

    The rod has the fluted part's thickness up to the usable length and the shank's above it:
    F/(3E) ((L^3 - l^3)/I_shank + l^3/I_fluted), the integral of M^2 by Castigliano's theorem.
    """
    whole = cutter.stick_out
    fluted = min(cutter.usable_length, whole)
    shank = cutter.shank_diameter
    as_shank = cantilever_bend(force, whole, shank, stiffness) - cantilever_bend(force, fluted, shank, stiffness)
    return as_shank + cantilever_bend(force, fluted, FLUTED_SHARE * cutter.cutting_diameter, stiffness)


def _second_moment(diameter: float) -> float:
    """Second moment of area of a round rod in mm4."""
    return np.pi * diameter**4 / 64
