"""What legend and chart must not cover: zero, the corners of the stock, the middle of the body, in pixels of the view."""

from __future__ import annotations

import bpy
import numpy as np

from ..finishing.core.array_types import FloatArray
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
    seen = np.array(context.region_data.perspective_matrix, np.float64) @ place
    shown = np.column_stack([points, np.ones(len(points))]) @ seen.T
    shown = shown[shown[:, 3] > BEHIND]
    region = present(context.region)
    return (shown[:, :2] / shown[:, 3:] + 1) / 2 * (region.width, region.height)
