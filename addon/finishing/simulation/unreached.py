"""Planned ground on which the cutter cannot come to rest: how much there is, and how high it stands after the cut."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Mask
from ..core.place import Place, place_of
from .surface_samples import SampleGround
from .swept_ball import SweptBall

SAMPLES = 20_000
"""Most places of the unreached ground that are measured: it lies in strips a few cells wide, along which heights change slowly."""


@dataclass(frozen=True)
class Unreached:
    """Planned ground that is not reached. area: mm2 of plan. height: the most that the cut leaves above the body there, along the normal,
    mm; a ray that no move meets counts with the ball's radius, and no more than roughing has left can really stand. place: of that, None
    where all is reached.
    """

    area: float
    height: float
    place: Place | None


NONE_UNREACHED = Unreached(area=0.0, height=0.0, place=None)
"""Where all planned ground is reached."""


def unreached_steps(sweep: SweptBall, feet: SampleGround, unreached: Mask) -> Generator[float, None, tuple[Unreached, NDArray[np.float32]]]:
    """Measure what a cut leaves on some cells, (rows, columns); yields shares done. Returns it with what stands on each, (n,) in their order:
    that of the nearest one before it that was measured, nan where that is not known.
    """
    row, column = np.nonzero(unreached)
    if len(row) == 0:
        return NONE_UNREACHED, np.zeros(0, np.float32)
    heights = np.full(len(row), np.nan, np.float32)
    area = len(row) * feet.grid.cell_area
    step = -(-len(row) // SAMPLES)
    row, column = row[::step], column[::step]
    points, normals, crown = feet.at_cells(row, column)
    known = np.isfinite(points[:, 2])
    if not known.any():
        return Unreached(area=area, height=sweep.radius, place=None), heights
    row, column, points, normals, crown = row[known], column[known], points[known], normals[known], crown[known]
    entry = yield from sweep.entry_heights_steps(points, normals, crown)
    # The closing, which the rays start from, stands above the body where the ball does not fit.
    standing = np.clip(entry, 0.0, sweep.radius) + feet.bridged(row, column) * normals[:, 2]
    highest = int(standing.argmax())
    measured = np.full(len(known), np.nan)
    measured[known] = np.minimum(standing, sweep.radius)
    heights[:] = np.repeat(measured, step)[: len(heights)]
    return Unreached(area=area, height=min(float(standing[highest]), sweep.radius), place=place_of(points[highest])), heights
