"""The sanding that a cusp height leaves: volume, roughness, and a grit to start with."""

from __future__ import annotations

from dataclasses import dataclass

LEAST_REMOVAL = ((220, 0.013), (180, 0.025), (150, 0.051), (120, 0.102), (100, 0.152), (80, 0.203), (60, 0.381))
"""(grit, mm): removal that clears the grit's own scratch, Woodworking Network 2014, wide-belt machines."""

PRACTICE_GRIT = 60
"""Grit that sanding of routed bodies starts with: common practice, no source."""

MEAN_SHARE = 1 / 3
"""Mean thickness of equal round cusps over their height (parabolic cusps, closed form)."""

ROUGHNESS_SHARE = 0.2566
"""Ra over the height of equal round cusps: 4 / (9 sqrt 3), closed form for parabolic cusps."""


@dataclass(frozen=True)
class Sanding:
    """What sanding a finished side takes.

    volume: mm3 left in the cusps. roughness_rz, roughness_ra: mm, of ideal equal cusps. start_grit: the finest grit whose own
    scratch goes as deep as the cusps, a heuristic; None for cusps deeper than the coarsest of the table.
    """

    volume: float
    roughness_rz: float
    roughness_ra: float
    start_grit: int | None


def sanding_after(cusp: float, area: float) -> Sanding:
    """The sanding after passes of one cusp height in mm over an area in mm2."""
    return Sanding(MEAN_SHARE * area * cusp, cusp, ROUGHNESS_SHARE * cusp, start_grit(cusp))


def start_grit(height: float) -> int | None:
    """The finest grit whose own scratch goes as deep as ridges of a height in mm; None for higher ones than the coarsest of the table."""
    return next((number for number, removal in LEAST_REMOVAL if removal >= height), None)
