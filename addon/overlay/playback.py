"""The run at one moment: where the cutter stands and what ground is cut by then, as plain arrays. No gpu and no bpy in here."""

from __future__ import annotations

import numpy as np

from ..finishing.ball.axis_region import AxisRegion
from ..finishing.core.array_types import FloatArray, Single
from ..finishing.core.path import CUT, Path, places_along
from .marks_data import Triangles
from .render_data import Rgb

SAMPLE = 0.5
"""mm between the places of a pass that are marked."""

FILLED = 3.0
"""mm that the time of a pass spreads to either side."""


def cut_times(path: Path, at: FloatArray, region: AxisRegion) -> Single:
    """Seconds after which every cell is cut, (rows, columns) on the region's grid; inf where it never is.

    at: (n,) seconds when each row of the path is reached. A cell takes the time of the contact of a pass nearest to it.
    """
    places = places_along(path, (CUT,), SAMPLE)
    seconds = at[places.row - 1] + places.share * (at[places.row] - at[places.row - 1])
    row, column = region.grid.nearest(places.points)
    times = np.full(region.grid.shape, np.inf, np.float32)
    np.minimum.at(times, (region.contact_row[row, column], region.contact_column[row, column]), seconds.astype(np.float32))
    known = np.isfinite(times)
    for _ in range(int(np.ceil(FILLED / region.grid.cell))):
        spread = times.copy()
        spread[1:] = np.minimum(spread[1:], times[:-1])
        spread[:-1] = np.minimum(spread[:-1], times[1:])
        spread[:, 1:] = np.minimum(spread[:, 1:], times[:, :-1])
        spread[:, :-1] = np.minimum(spread[:, :-1], times[:, 1:])
        fresh = ~known & np.isfinite(spread)
        if not fresh.any():
            break
        times[fresh] = spread[fresh]
        known |= fresh
    return times


def ghost_colours(ghost: Triangles, colour: Rgb, opacity: float) -> Single:
    """Colours (points, 4) of the cutter, lit from the upper left."""
    light = np.array([-0.5, -0.4, 0.77])
    bright = 0.55 + 0.45 * np.clip(ghost.normals @ light, 0, 1)
    return np.concatenate([bright[:, None] * np.array(colour), np.full((len(bright), 1), opacity)], axis=1).astype(np.float32)
