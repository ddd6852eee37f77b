"""Stock, zero, dowels, boxes and grain as they are set now, in place in the scene: what is drawn of them and moved by handles.

The box round the body is that of its last result; before there is one, the box round the object. What is set since then changes stock and zero
at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np

from ..finishing.core.array_types import Double, FloatArray
from ..finishing.core.errors import BadRequest
from ..finishing.job.dowels import dowel_places, in_job
from ..finishing.job.keep_out import KeepOut, boxes_on
from ..finishing.job.orientation import laid_corners, laid_matrix
from ..finishing.job.stock import Stock, corners_in_job, grain_on, job_from_body, resolve_stock
from ..finishing.job.tabs import Tab, tabs_in_stock
from .blender_data import present, world_matrix
from .body_box import box_key, world_box
from .body_settings import FinishingBody, settings_of
from .job_settings import keep_out_of
from .mesh_reading import millimetres_per_unit
from .request_building import dowel_settings, stock_settings, tab_settings
from .results import BodyResults


@dataclass(frozen=True)
class JobSetup:
    """One side of a job as it is set now.

    stock: in the axes of the body as it lies. body_low, body_high: corners (3,) of the body in these axes. low, high: corners (3,) of the stock in
    job mm. dowels: (n, 2) in job mm, dowel_radius in mm. boxes: in job mm, each with its row in the
    list. tabs: in job mm, those of the newest result where settings have placed them. grain: degrees from X, None where it is not known.
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
    tabs: tuple[Tab, ...]
    grain: float | None
    world_from_job: Double

    @property
    def size(self) -> float:
        """The longest edge of the stock, mm."""
        return float((self.high - self.low).max())


def setup_key(results: BodyResults, body_object: bpy.types.Object) -> tuple[object, ...]:
    """What changes whenever a setup does."""
    body = settings_of(body_object)
    place = (results.revision, world_matrix(body_object).tobytes()) if results.newest is not None else (body.side, body.up, *box_key(body_object))
    try:
        return (*place, stock_settings(body), dowel_settings(body), tab_settings(body), _boxes(body), body.use_grain and round(body.grain_angle, 6))
    except BadRequest as error:
        return (*place, str(error))


def job_setup(results: BodyResults, body_object: bpy.types.Object) -> JobSetup | None:
    """The setup of the side that is looked at; None for an object without extent, and while settings contradict each other."""
    lying, body = _lying(results, body_object), settings_of(body_object)
    if lying is None:
        return None
    try:
        settings, dowels = stock_settings(body), dowel_settings(body)
    except BadRequest:
        return None
    side, stock = lying.side, resolve_stock(settings, lying.low, lying.high)
    low, high = corners_in_job(stock, side)
    return JobSetup(
        side=side,
        stock=stock,
        body_low=lying.low,
        body_high=lying.high,
        low=low,
        high=high,
        dowels=in_job(dowel_places(dowels, stock), stock, side),
        dowel_radius=dowels.diameter / 2,
        boxes=tuple((row, here) for row, box in _boxes(body) for here in boxes_on((box,), stock, side)),
        tabs=tabs_in_stock(_tabs(results, body), stock, side),
        grain=grain_on(side, body.first_side, float(np.degrees(body.grain_angle))) if body.use_grain else None,
        world_from_job=np.asarray(lying.world @ np.linalg.inv(job_from_body(stock, side)), np.float64),
    )


@dataclass(frozen=True)
class _Lying:
    """A body as it lies on the machine. low, high: its corners (3,) in its own mm. world: (4, 4), from these to Blender units. side: looked at."""

    side: str
    low: Double
    high: Double
    world: Double


def _lying(results: BodyResults, body_object: bpy.types.Object) -> _Lying | None:
    """The body of the newest result, wherever its object is now; without one the box round the object."""
    newest = results.newest
    if newest is None:
        return _unmeasured(body_object)
    placed = results.world_from_job(body_object)
    if placed is None:
        return None
    before = job_from_body(newest.stock, newest.request.side)
    back = np.linalg.inv(before)
    corners = np.array([newest.body.low, newest.body.high]) @ back[:3, :3].T + back[:3, 3]
    return _Lying(newest.request.side, corners.min(axis=0), corners.max(axis=0), np.asarray(placed @ before, np.float64))


def _unmeasured(body_object: bpy.types.Object) -> _Lying | None:
    """The box round an object, laid as a plan would lay it."""
    box, body = world_box(body_object), settings_of(body_object)
    if box is None:
        return None
    laid = laid_matrix(body.up, box[1] - box[0])
    units = np.diag([1 / millimetres_per_unit(present(bpy.context.scene))] * 3 + [1.0])
    return _Lying(body.side, *laid_corners(laid, *box), np.asarray(units @ np.linalg.inv(laid), np.float64))


def _tabs(results: BodyResults, body: FinishingBody) -> tuple[Tab, ...]:
    """The tabs of the newest result in the axes of the body as it lies, where they have been moved to since."""
    layout = None if results.newest is None else results.newest.tab_layout
    try:
        settings = tab_settings(body)
    except BadRequest:
        return ()
    if layout is None or not settings.wanted:
        return ()
    return layout.standing_at(settings.places) if settings.places else layout.tabs


def _boxes(body: FinishingBody) -> tuple[tuple[int, KeepOut], ...]:
    """The keep-out boxes whose corners are the right way round, each with its row in the list."""
    found = []
    for row, item in enumerate(body.keep_out):
        try:
            found.append((row, keep_out_of(item)))
        except BadRequest:  # planning says so
            continue
    return tuple(found)
