"""How far a cutter bends: a cantilever in steps, from the collet nut to the tip, of a tapered one with a cone between them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..job.cutter import Cutter

STIFFNESS = 210_000.0
"""N/mm2, Young's modulus of steel, the weaker of what shanks are made of (solid carbide: about 600 000)."""

FLUTED_SHARE = 0.8
"""Thickness of a round rod as stiff as the fluted part, over its diameter (0.7 to 0.8 by the cutter makers' rule)."""

EVEN = 1e-3
"""Share by which a cone must grow to be reckoned as one: the difference of its ends would be lost in rounding."""


def cantilever_bend(force: ArrayLike, length: float, diameter: float, stiffness: float = STIFFNESS) -> NDArray[np.float64]:
    """Bend in mm of a round rod at its free end: F L^3 / (3 E I), I = pi d^4 / 64. force: N; lengths: mm; stiffness: N/mm2."""
    return np.asarray(force, float) * length**3 / (3 * stiffness * _second_moment(diameter))


def cutter_bend(force: ArrayLike, cutter: Cutter, stiffness: float = STIFFNESS) -> NDArray[np.float64]:
    """Bend in mm of a cutter's tip under a force across in N.

    The rod has the fluted part's thickness up to the usable length and the shank's above it:
    F/(3E) ((L^3 - l^3)/I_shank + l^3/I_fluted), the integral of M^2 by Castigliano's theorem. A tapered cutter is as thick as its ball up to the
    foot of its flank, grows with the cone, and is as thick as the top diameter from there to the usable length.
    """
    whole = cutter.stick_out
    fluted = min(cutter.usable_length, whole)
    shank = cutter.shank_diameter
    as_shank = cantilever_bend(force, whole, shank, stiffness) - cantilever_bend(force, fluted, shank, stiffness)
    flank = cutter.flank
    if flank is None:
        return as_shank + cantilever_bend(force, fluted, FLUTED_SHARE * cutter.cutting_diameter, stiffness)
    foot, top = min(flank.foot_height, fluted), min(flank.top_height, fluted)
    thin, thick = (2 * FLUTED_SHARE * float(flank.half_width(height)) for height in (foot, top))
    neck = cantilever_bend(force, fluted, thick, stiffness) - cantilever_bend(force, top, thick, stiffness)
    return as_shank + neck + cone_bend(force, foot, top, (thin, thick), stiffness) + cantilever_bend(force, foot, thin, stiffness)


def cone_bend(force: ArrayLike, start: float, end: float, diameters: tuple[float, float], stiffness: float = STIFFNESS) -> NDArray[np.float64]:
    """What a piece of a cantilever from `start` to `end` mm behind its free end adds to the bend there, mm, where its thickness grows evenly.

    diameters: at start and end, mm. F/E times the integral of x^2 / I over the piece (Castigliano's theorem) with I = pi d^4 / 64 and
    d = d0 + g (x - s): with q = d0 - g s, 64 F / (pi E g^3) [q/d^2 - 1/d - q^2/(3 d^3)] from d0 to d1. For a whole cone from its free end on that
    is 64 F L^3 / (3 pi E d0 d1^3), the known formula of a tapered cantilever.
    """
    first, last = diameters
    if last - first <= EVEN * first or end <= start:
        mean = (first + last) / 2
        return cantilever_bend(force, end, mean, stiffness) - cantilever_bend(force, start, mean, stiffness)
    growth = (last - first) / (end - start)
    offset = first - growth * start

    def integral(d: float) -> float:
        return offset / d**2 - 1 / d - offset**2 / (3 * d**3)

    return np.asarray(force, float) * 64 / (np.pi * stiffness * growth**3) * (integral(last) - integral(first))


def _second_moment(diameter: float) -> float:
    """Second moment of area of a round rod in mm4."""
    return np.pi * diameter**4 / 64
