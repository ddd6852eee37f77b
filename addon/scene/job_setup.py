"""Stock, zero, dowels, boxes and grain as they are set now, in place in the scene: what is drawn of them and moved by handles.

The box round the body is known once it has been measured or planned; what is set since then changes stock and zero at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np

from ..finishing.core.array_types import Double, FloatArray
from ..finishing.core.errors import BadRequest
from ..finishing.job.dowels import dowel_places, in_job
from ..finishing.job.keep_out import KeepOut, boxes_on
from ..finishing.job.stock import Stock, corners_in_job, job_from_body, resolve_stock
from .body_settings import FinishingBody, settings_of
from .job_settings import keep_out_of
from .request_building import dowel_settings, stock_settings
from .results import BodyResults


@dataclass(frozen=True)
class JobSetup:
    """One side of a job as it is set now.

    stock: in the axes of the body as it lies. body_low, body_high: corners (3,) of the body in these axes. low, high: corners (3,) of the stock in
    job mm. dowels: (n, 2) in job mm, dowel_radius in mm. boxes: in job mm, each with its row in the
    list. grain: degrees from X, None where it is not known.
    world_from_job: (4, 4), job mm to Blender units.
    """

    side: str
    stock: Stock
    body_low: Double
    body_high: Double
    low: Double
    high: Double
    dowels: FloatArray
    dowel_radius: float
    boxes: tuple[tuple[int, KeepOut], ...]
    grain: float | None
    world_from_job: Double

    @property
    def size(self) -> float:
        """The longest edge of the stock, mm."""
        return float((self.high - self.low).max())


def setup_key(results: BodyResults, body: FinishingBody) -> tuple[object, ...]:
    """What changes whenever a setup does, but for moves of the object."""
    try:
        return (results.revision, stock_settings(body), dowel_settings(body), _boxes(body), body.use_grain and round(body.grain_angle, 6))
    except BadRequest as error:
        return (results.revision, str(error))


def job_setup(results: BodyResults, body_object: bpy.types.Object) -> JobSetup | None:
    """The setup of the side that is looked at; None while the body has not been measured, and while settings contradict each other."""
    newest, placed, body = results.newest, results.world_from_job(body_object), settings_of(body_object)
    if newest is None or placed is None:
        return None
    side = newest.request.side
    try:
        settings, dowels = stock_settings(body), dowel_settings(body)
    except BadRequest:
        return None
    before = job_from_body(newest.stock, side)
    back = np.linalg.inv(before)
    corners = np.array([newest.body.low, newest.body.high]) @ back[:3, :3].T + back[:3, 3]
    body_low, body_high = corners.min(axis=0), corners.max(axis=0)
    stock = resolve_stock(settings, body_low, body_high)
    low, high = corners_in_job(stock, side)
    return JobSetup(
        side=side,
        stock=stock,
        body_low=body_low,
        body_high=body_high,
        low=low,
        high=high,
        dowels=in_job(dowel_places(dowels, stock), stock, side),
        dowel_radius=dowels.diameter / 2,
        boxes=tuple((row, here) for row, box in _boxes(body) for here in boxes_on((box,), stock, side)),
        grain=float(np.degrees(body.grain_angle)) if body.use_grain else None,
        world_from_job=np.asarray(placed @ before @ np.linalg.inv(job_from_body(stock, side)), np.float64),
    )


def _boxes(body: FinishingBody) -> tuple[tuple[int, KeepOut], ...]:
    """The keep-out boxes whose corners are the right way round, each with its row in the list."""
    found = []
    for row, item in enumerate(body.keep_out):
        try:
            found.append((row, keep_out_of(item)))
        except BadRequest:  # planning says so
            continue
    return tuple(found)
