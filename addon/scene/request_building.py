"""From what the user has set to the request that the computation takes."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import bpy
import numpy as np

from ..finishing.core.errors import BadRequest
from ..finishing.job.apart import without_strays
from ..finishing.job.bite_settings import BiteSettings
from ..finishing.job.body import Body
from ..finishing.job.cutter import DEFAULT_RACK, Cutter
from ..finishing.job.cutter_names import named_cutter, parts_of_set
from ..finishing.job.dowels import DowelSettings
from ..finishing.job.ground_settings import FitSettings, RegionSettings
from ..finishing.job.request import MEASURED, Request
from ..finishing.job.roughing import RoughingSettings
from ..finishing.job.stock import StockSettings
from ..finishing.job.tabs import TabSettings
from .blender_data import present
from .body_settings import FinishingBody, settings_of
from .job_settings import keep_out_of, other_operation_of
from .mesh_reading import MeshArrays, body_of, read_arrays, read_body
from .program_properties import program_of
from .rack_settings import cutter_of, machine_of, shop_of

_NO_BODY = Body("", np.zeros((1, 3, 3)), np.zeros(1, bool))


def build_request(context: bpy.types.Context, body_object: bpy.types.Object) -> Request:
    """The request for an object, its mesh read now. Raises the errors of finishing.core.errors."""
    settings, stock = settings_request(present(context.scene), body_object), stock_arrays(context, body_object)
    return replace(settings, body=without_strays(read_body(context, body_object)), stock_body=None if stock is None else body_of(stock))


def stock_arrays(context: bpy.types.Context, body_object: bpy.types.Object) -> MeshArrays | None:
    """The object that was chosen as the stock as it stands, read now; None when there is none. Raises BadBody."""
    stock = settings_of(body_object).stock_object
    return None if stock is None or stock == body_object else read_arrays(context, stock)


def settings_request(scene: bpy.types.Scene, body_object: bpy.types.Object) -> Request:
    """The request that the settings stand for, without a body yet: cheap enough to be made at every redraw.

    Raises BadRequest when a setting is out of range or names a cutter that is not on the rack.
    """
    body = settings_of(body_object)
    rack = scene_rack(scene)
    straight = body.lines_from in ("best", "edge", "middle") and body.use_line_angle
    return Request(
        _NO_BODY,
        side=body.side,
        up=body.up,
        cutter=_named_cutter(body.cutter_name, rack),
        cutter_in_spindle=_named_cutter(body.cutter_in_spindle, rack),
        following_cutters=_following_cutters(body, rack),
        rack=rack,
        machine=machine_of(shop_of(scene).machine),
        program=program_of(shop_of(scene).program),
        stock=stock_settings(body),
        region=_region(body),
        dowels=dowel_settings(body),
        tabs=tab_settings(body),
        fit=FitSettings(_typed(body.uncut_height_mm), _typed(body.uncut_area)),
        cusp=_typed(body.cusp_mm),
        spacing=_used(body.use_fixed_spacing, body.fixed_spacing_mm),
        lines_from=body.lines_from,
        line_angle=_degrees(body.line_angle) if straight else None,
        cutting_way=body.cutting_way,
        rim_pass=body.rim_pass,
        measured=tuple(name for name in MEASURED if name in body.measured.replace(",", " ").split()),
        feed=_used(body.use_feed, body.feed),
        budget_minutes=_used(body.use_budget, body.budget_minutes),
        meet_budget=body.use_budget and body.meet_budget,
        smooth={"none": 0.0, "auto": None}.get(body.smoothing, _typed(body.smooth_mm)),
        cell=_typed(body.cell_mm),
        chord_tolerance=_typed(body.chord_tolerance_mm),
        ramp_angle=_degrees(body.ramp_angle),
        grain_angle=_degrees(body.grain_angle) if body.use_grain else None,
        grain_share=round(body.grain_share / 100, 4),
        keep_out=tuple(keep_out_of(item) for item in body.keep_out),
        elsewhere=tuple(other_operation_of(item) for item in body.elsewhere),
        roughing=RoughingSettings(
            _typed(body.allowance_mm),
            _used(body.use_terrace_height, body.terrace_height_mm),
            _typed(body.roughing_diameter_mm),
            _used(body.use_channel_width, body.channel_width_mm),
        ),
        bite=BiteSettings(body.wood, _typed(body.tip_bend_limit_mm), body.lower_feed),
        smaller_cutters=body.smaller_cutters,
        overlap_with_larger=_typed(body.overlap_with_larger_mm),
    )


def settings_or_usual(scene: bpy.types.Scene, body_object: bpy.types.Object) -> Request:
    """The request that the settings stand for; the usual one where they contradict each other, as before other settings are taken in their place."""
    try:
        return settings_request(scene, body_object)
    except BadRequest:
        return Request(_NO_BODY)


def scene_rack(scene: bpy.types.Scene) -> tuple[Cutter, ...]:
    """The cutters on the scene's rack; the built-in ones while it has none."""
    return tuple(cutter_of(item) for item in shop_of(scene).cutters) or DEFAULT_RACK


def settings_key(scene: bpy.types.Scene, body_object: bpy.types.Object, side: str | None = None) -> str:
    """A text that changes when a setting of the plan changes; of its own for every way in which settings contradict each other.

    side: the side that it is for, None for the one that is set.
    """
    try:
        stock, request = settings_of(body_object).stock_object, settings_request(scene, body_object)
        request = request if side is None else replace(request, side=side)
        values = [getattr(request, field.name) for field in fields(request) if field.name != "body"]
        return f"{values!r} {stock.name if stock is not None else ''}"
    except BadRequest as error:
        return f"!{error}"


def _named_cutter(name: str, rack: tuple[Cutter, ...]) -> Cutter | None:
    """The cutter of that name; None where no name is given."""
    if not name:
        return None
    for cutter in rack:
        if cutter.name == name:
            return cutter
    raise BadRequest("There is no cutter '{cutter}' on the rack: choose another one.", cutter=name)


def _following_cutters(body: FinishingBody, rack: tuple[Cutter, ...]) -> tuple[Cutter, ...]:
    """The smaller cutters that follow a named one; those of a set that the plan is to find are not named."""
    if not body.cutter_name:
        return ()
    found = []
    for text in filter(None, parts_of_set(body.following_cutters, rack)):
        cutter = named_cutter(text, rack)
        if cutter is None:
            raise BadRequest("There is no cutter of {diameter} mm on the rack: name the diameters of cutters that are there.", diameter=text)
        found.append(cutter)
    return tuple(found)


def stock_settings(body: FinishingBody) -> StockSettings:
    """Stock and zeros as they are set. Raises BadRequest when a value is out of range."""
    return StockSettings(
        length=_used(body.use_stock_length, body.stock_length_mm),
        width=_used(body.use_stock_width, body.stock_width_mm),
        thickness=_used(body.use_stock_thickness, body.stock_thickness_mm),
        margin=_typed(body.stock_margin_mm),
        height_in_stock=_used(body.use_height_in_stock, body.height_in_stock_mm),
        turn_axis=body.turn_axis,
        xy_zero=body.xy_zero,
        z_zero=body.z_zero,
        first_side=body.first_side,
        into_spoilboard=_typed(body.into_spoilboard_mm),
    )


def dowel_settings(body: FinishingBody) -> DowelSettings:
    """The dowels as they are set. Raises BadRequest when a value is out of range."""
    places = tuple((_typed(place.x_mm), _typed(place.y_mm)) for place in body.dowel_places)
    count = int(body.dowel_count)
    return DowelSettings(
        count=count,
        places=places if len(places) == count else (),  # another count places them anew
        diameter=_typed(body.dowel_diameter_mm),
        depth=_typed(body.dowel_depth_mm),
        clearance=_typed(body.dowel_clearance_mm),
        peck=_typed(body.dowel_peck_mm),
        feed=_typed(body.dowel_feed),
        spindle_speed=_typed(body.dowel_spindle_speed),
    )


def tab_settings(body: FinishingBody) -> TabSettings:
    """The tabs as they are set. Raises BadRequest when a value is out of range."""
    count = {"off": 0, "auto": None}.get(body.tabs, body.tab_count)
    places = tuple((_typed(place.x_mm), _typed(place.y_mm)) for place in body.tab_places)
    return TabSettings(
        count=count,
        width=_typed(body.tab_width_mm),
        height=_typed(body.tab_height_mm),
        height_in_stock=_used(body.use_tab_level, body.tab_level_mm),
        places=places if count and len(places) == count else (),  # another count places them anew
    )


def _region(body: FinishingBody) -> RegionSettings:
    return RegionSettings(
        wall_limit=_degrees(body.wall_limit),
        skip_margin=_typed(body.skip_margin_mm),
        overrun=_used(body.use_overrun, body.overrun_mm),
        deepest_tip=_used(body.use_deepest_tip, body.deepest_tip_mm),
        openings=body.openings,
        opening_margin=_typed(body.opening_margin_mm),
        flats=body.flats,
        flat_margin=_typed(body.flat_margin_mm),
        opening_choices=tuple((one.number, one.treatment) for one in body.opening_choices if not one.floor and one.treatment != "auto"),
        floor_choices=tuple((one.number, one.floor, one.treatment) for one in body.opening_choices if one.floor and one.treatment != "auto"),
    )


def _typed(value: float) -> float:
    """A value as it was typed: single precision must not put 0.0500000007 into requests and files."""
    return round(value, 5)


def _used(use: bool, value: float) -> float | None:
    """A value as it was typed, None where its box is not ticked."""
    return _typed(value) if use else None


def _degrees(angle: float) -> float:
    return round(math.degrees(angle), 4)
