"""The fit table: what every cutter at hand would do on one side, before a line is laid."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np

from ..ball.fit import Fit, FitGround, LargestRadius, largest_radius_steps
from ..core.array_types import FloatArray, Mask
from ..job.cutter import Cutter
from ..job.ground_settings import FitSettings, RegionSettings
from ..surface.ground import Ground
from ..surface.side import Side, settled_openings, side_ground
from ..tooling.clearance import Contact

GREATEST_RADIUS = 40.0
"""mm; no larger ball is tried."""

TIGHTEST_SHARE = 0.001
"""Share of the planned ground whose hollows may be tighter than the radius shown: single cells of noise are no hollow."""


@dataclass(frozen=True)
class RackRow:
    """One cutter on the planned ground. uncut_area in mm2 and uncut_height in mm: what it cannot reach; place: where most.

    hollow_radius: the tightest hollow on its planned ground in mm, None where there is none. least_length: bound on the pass
    length in mm for the cusp; minutes: that length at the cutter's feed. contacts: what the tool would touch on the ground it cuts.
    """

    cutter: Cutter
    fits: bool
    hollow_radius: float | None
    uncut_area: float
    uncut_height: float
    place: tuple[float, float, float] | None
    least_length: float
    minutes: float
    cusp: float
    contacts: tuple[Contact, ...] = ()

    @property
    def free(self) -> bool:
        """Whether cutter, shank and nut touch nothing that they should not."""
        return not self.contacts


def fit_row(cutter: Cutter, fit: Fit, hollow_radii: FloatArray, least_length: float, cusp: float, feed: float) -> RackRow:
    """One cutter's row. hollow_radii: (n,) of the hollows on its planned ground in mm, infinite where there is none."""
    radii = hollow_radii[np.isfinite(hollow_radii)]
    return RackRow(
        cutter=cutter,
        fits=fit.fits,
        hollow_radius=float(np.quantile(radii, TIGHTEST_SHARE)) if len(radii) else None,
        uncut_area=fit.area,
        uncut_height=fit.height,
        place=fit.place,
        least_length=least_length,
        minutes=least_length / feed,
        cusp=cusp,
    )


def largest_radius(
    tried: dict[float, bool], side: Side, skipped: Mask, region: RegionSettings, fit: FitSettings, face: float | None = None
) -> Generator[float, None, LargestRadius]:
    """The largest radius that fits the planned ground at all; yields shares done. tried: radii in mm, and whether each fits.
    face: z of the stock's even face, None for no such face.
    """
    grounds: dict[tuple[str, ...], Ground] = {}

    def ground_of(radius: float) -> FitGround:
        settled = tuple(opening.treatment for opening in settled_openings(side, region, 2 * radius))
        if settled not in grounds:
            grounds[settled] = side_ground(side, skipped, region, 2 * radius, face=face)
        ground = grounds[settled]
        return FitGround(side.grid, ground.heights, ground.planned)

    fitting = max((radius for radius, fits in tried.items() if fits), default=0.0)
    failing = [radius for radius, fits in tried.items() if not fits and radius > fitting]
    return (yield from largest_radius_steps(ground_of, fit, fitting, min(failing, default=None), GREATEST_RADIUS))
