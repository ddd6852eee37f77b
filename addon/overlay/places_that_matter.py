"""What legend and chart must not cover: zero, the corners of the stock, the middle of the body, in pixels of the view."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.array_types import Double, FloatArray
from ..finishing.job.stock import corners_in_job
from ..scene.blender_data import present
from ..scene.results import BodyResults

BEHIND = 1e-6
"""Depths below this lie at the eye or behind it."""


def places_that_matter(context: bpy.types.Context, results: BodyResults, body_object: bpy.types.Object) -> FloatArray:
    """Pixels (n, 2) from the lower left corner of the region; those behind the eye are left out."""
    newest, place = results.newest, results.world_from_job(body_object)
    if newest is None or place is None or context.region_data is None:
        return np.empty((0, 2))
    low, high = corners_in_job(newest.stock, newest.request.side)
    ends = np.array([low, high])
    corners = np.array([[ends[i, 0], ends[j, 1], ends[k, 2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    middle = (newest.body.low + newest.body.high) / 2
    across, along = (newest.body.high - newest.body.low)[:2] / 4
    inner = middle + np.array([[0, 0, 0], [across, 0, 0], [-across, 0, 0], [0, along, 0], [0, -along, 0]])
    points = np.vstack([np.zeros((1, 3)), corners, inner])
    found = pixels_of(context, points, place)
    return found[np.isfinite(found).all(axis=1)]


def pixels_of(context: bpy.types.Context, points: FloatArray, place: FloatArray) -> Double:
    """Pixels (n, 2) of the region in which points (n, 3) in job mm are seen; nan for those behind the eye. place: (4, 4), job mm to world."""
    seen = np.array(present(context.region_data).perspective_matrix, np.float64) @ place
    shown = np.column_stack([points, np.ones(len(points))]) @ seen.T
    region = present(context.region)
    with np.errstate(divide="ignore", invalid="ignore"):
        pixels = (shown[:, :2] / shown[:, 3:] + 1) / 2 * (region.width, region.height)
    pixels[shown[:, 3] <= BEHIND] = np.nan
    return np.asarray(pixels, np.float64)
