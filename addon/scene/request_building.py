"""From what the user has set to the request that the computation takes."""

from __future__ import annotations

import math
from dataclasses import replace

import bpy
import numpy as np

from ..finishing.core.errors import BadRequest
from ..finishing.job.bite_settings import BiteSettings
from ..finishing.job.body import Body
from ..finishing.job.cutter import DEFAULT_RACK, Cutter
from ..finishing.job.dowels import DowelSettings
from ..finishing.job.ground_settings import FitSettings, RegionSettings
from ..finishing.job.request import Request
from ..finishing.job.roughing import RoughingSettings
from ..finishing.job.stock import StockSettings
from .body_settings import FinishingBody
from .job_settings import elsewhere_of, keep_out_of
from .mesh_reading import MeshArrays, body_of, read_arrays, read_body
from .rack_settings import cutter_of, machine_of

_NO_BODY = Body("", np.zeros((1, 3, 3)), np.zeros(1, bool))


def build_request(context: bpy.types.Context, body_object: bpy.types.Object) -> Request:
    """The request for an object, its mesh read now. Raises the errors of finishing.errors."""
    settings, stock = settings_request(context.scene, body_object), stock_arrays(context, body_object)
    return replace(settings, body=read_body(context, body_object), stock_body=None if stock is None else body_of(stock))


def stock_arrays(context: bpy.types.Context, body_object: bpy.types.Object) -> MeshArrays | None:
    """The object that was chosen as the stock as it stands, read now; None when there is none. Raises BadBody."""
    stock = body_object.finishing.stock_object
    return None if stock is None or stock == body_object else read_arrays(context, stock)


def settings_request(scene: bpy.types.Scene, body_object: bpy.types.Object) -> Request:
    """The request that the settings stand for, without a body yet: cheap enough to be made at every redraw.

    Raises BadRequest when a setting is out of range or names a cutter that is not on the rack.
    """
    body: FinishingBody = body_object.finishing
    rack = scene_rack(scene)
    straight = body.start in ("best", "edge", "middle") and body.use_start_angle
    return Request(
        _NO_BODY,
        side=body.side,
        cutter=_chosen_cutter(body, rack),
        rack=rack,
        machine=machine_of(scene.finishing.machine),
        stock=_stock(body),
        region=_region(body),
        dowels=DowelSettings(count=int(body.dowel_count), diameter=_mm(body.dowel_diameter_mm), depth=_mm(body.dowel_depth_mm)),
        fit=FitSettings(_mm(body.uncut_height_mm), _mm(body.uncut_area)),
        cusp=_mm(body.cusp_mm),
        start=body.start,
        start_angle=_degrees(body.start_angle) if straight else None,
        direction=body.direction,
        feed=_mm(body.feed) if body.use_feed else None,
        budget_minutes=_mm(body.budget_minutes) if body.use_budget else None,
        cell=_mm(body.cell_mm),
        chord_tolerance=_mm(body.chord_tolerance_mm),
        grain_angle=_degrees(body.grain_angle) if body.use_grain else None,
        grain_share=round(body.grain_share / 100, 4),
        keep_out=tuple(keep_out_of(item) for item in body.keep_out),
        elsewhere=tuple(elsewhere_of(item) for item in body.elsewhere),
        roughing=RoughingSettings(
            _mm(body.allowance_mm), _mm(body.step_down_mm) if body.use_step_down else None, _mm(body.roughing_diameter_mm),
            _mm(body.slot_width_mm) if body.use_slot_width else None,
        ),
        bite=BiteSettings(body.wood, _mm(body.greatest_bend_mm), body.lower_feed),
        smaller_cutters=body.smaller_cutters,
        rest_overlap=_mm(body.rest_overlap_mm),
    )  # fmt: skip


def scene_rack(scene: bpy.types.Scene) -> tuple[Cutter, ...]:
    """The cutters on the scene's rack; the built-in ones while it has none."""
    return tuple(cutter_of(item) for item in scene.finishing.cutters) or DEFAULT_RACK


def settings_key(scene: bpy.types.Scene, body_object: bpy.types.Object) -> str:
    """A text that changes when a setting of the plan changes; "" while the settings contradict each other."""
    try:
        stock = body_object.finishing.stock_object
        return f"{settings_request(scene, body_object)!r} {stock.name if stock is not None else ''}"
    except BadRequest as error:
        return f"!{error}"


def _chosen_cutter(body: FinishingBody, rack: tuple[Cutter, ...]) -> Cutter | None:
    if not body.cutter_name:
        return None
    for cutter in rack:
        if cutter.name == body.cutter_name:
            return cutter
    raise BadRequest("There is no cutter '{cutter}' on the rack: choose another one.", cutter=body.cutter_name)


def _stock(body: FinishingBody) -> StockSettings:
    return StockSettings(
        length=_mm(body.stock_length_mm) if body.use_stock_length else None,
        width=_mm(body.stock_width_mm) if body.use_stock_width else None,
        thickness=_mm(body.stock_thickness_mm) if body.use_stock_thickness else None,
        margin=_mm(body.stock_margin_mm),
        body_lift=_mm(body.body_lift_mm) if body.use_body_lift else None,
        turn_axis=body.turn_axis,
        xy_zero=body.xy_zero,
        z_zero=body.z_zero,
        first_side=body.first_side,
        into_spoilboard=_mm(body.into_spoilboard_mm),
    )


def _region(body: FinishingBody) -> RegionSettings:
    return RegionSettings(
        wall_limit=_degrees(body.wall_limit),
        skip_margin=_mm(body.skip_margin_mm),
        overrun=_mm(body.overrun_mm) if body.use_overrun else None,
        lowest_depth=_mm(body.lowest_depth_mm) if body.use_lowest_depth else None,
        openings=body.openings,
        opening_margin=_mm(body.opening_margin_mm),
        opening_choices=tuple((choice.number, choice.treatment) for choice in body.opening_choices if choice.treatment != "auto"),
    )


def _mm(value: float) -> float:
    """A value as it was typed: single precision must not put 0.0500000007 into requests and files."""
    return round(value, 5)


def _degrees(angle: float) -> float:
    return round(math.degrees(angle), 4)
