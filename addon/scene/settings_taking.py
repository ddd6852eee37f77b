"""Settings of a written or kept plan put back on a body."""

from __future__ import annotations

import math
from typing import Any

import bpy

from ..finishing.job.cutter import Cutter
from ..finishing.job.cutter_names import name_on_rack
from .body_settings import FinishingBody, settings_of
from .length_properties import stored_name
from .rack_settings import fill_rack, free_name, set_record, shop_of
from .request_building import scene_rack

PLAIN = ("side", "up", "lines_from", "cutting_way", "rim_pass", "smaller_cutters", "meet_budget")
LENGTHS = ("cusp", "cell", "chord_tolerance", "overlap_with_larger")
REGION_LENGTHS = ("skip_margin", "opening_margin", "flat_margin")
OPTIONAL_LENGTHS = ("overrun", "deepest_tip")


def take_settings(scene: bpy.types.Scene, body_object: bpy.types.Object, settings: dict[str, Any]) -> None:
    """Put what a plan was made with on a body: cutter, cusp height, starts, grain, region, bite and roughing.

    The machine stays as it is; a cutter that is not on the rack is put there. settings: as in plan.json.
    """
    body = settings_of(body_object)
    for name in PLAIN:
        if name in settings:  # a plan that was kept by an older version lacks what is new
            setattr(body, name, settings[name])
    for name in LENGTHS:
        setattr(body, stored_name(name), settings[name])
    body.measured = ", ".join(settings.get("measured", ()))
    if "smooth" in settings:
        _take_smoothing(body, settings["smooth"])
    _take_optional(body, "use_fixed_spacing", "fixed_spacing_mm", settings.get("spacing"))
    region = settings["region"]
    for name in REGION_LENGTHS:
        setattr(body, stored_name(name), region[name])
    for name in OPTIONAL_LENGTHS:
        _take_optional(body, f"use_{name}", stored_name(name), region[name])
    body.opening_choices.clear()
    choices = [(number, 0, treatment) for number, treatment in region["opening_choices"]] + list(region.get("floor_choices", ()))
    for number, floor, treatment in choices:
        chosen = body.opening_choices.add()
        chosen.number, chosen.floor, chosen.treatment = number, floor, treatment
    body.wall_limit, body.openings, body.flats = math.radians(region["wall_limit"]), region["openings"], region["flats"]
    for use, name, turn in (
        ("use_line_angle", "line_angle", math.radians),
        ("use_grain", "grain_angle", math.radians),
        ("use_feed", "feed", float),
        ("use_budget", "budget_minutes", float),
    ):
        value = settings[name]
        _take_optional(body, use, name, None if value is None else turn(value))
    body.ramp_angle = math.radians(settings.get("ramp_angle", 3.0))
    body.grain_share = 100 * settings["grain_share"]
    bite, roughing = settings["bite"], settings["roughing"]
    body.wood, body.tip_bend_limit_mm, body.lower_feed = bite["wood"], bite["tip_bend_limit"], bite["lower_feed"]
    body.allowance_mm, body.roughing_diameter_mm = roughing["allowance"], roughing["cutter_diameter"]
    _take_optional(body, "use_terrace_height", "terrace_height_mm", roughing["terrace_height"])
    _take_optional(body, "use_channel_width", "channel_width_mm", roughing["channel_width"])
    followers = [Cutter(**values) for values in settings["following_cutters"]]
    for name, key in (("cutter_name", "cutter"), ("cutter_in_spindle", "cutter_in_spindle")):
        setattr(body, name, "" if settings.get(key) is None else _cutter_on_rack(scene, Cutter(**settings[key])))
    names = [_cutter_on_rack(scene, cutter) for cutter in followers]
    rack = {cutter.name: cutter for cutter in scene_rack(scene)}
    body.following_cutters = ", ".join(name_on_rack(rack[name], tuple(rack.values())) for name in names)


def _take_smoothing(body: FinishingBody, smooth: float | None) -> None:
    body.smoothing = "auto" if smooth is None else "given" if smooth > 0 else "none"
    if smooth:
        body.smooth_mm = smooth


def _take_optional(body: FinishingBody, use: str, name: str, value: float | None) -> None:
    setattr(body, use, value is not None)
    if value is not None:
        setattr(body, name, value)


def _cutter_on_rack(scene: bpy.types.Scene, cutter: Cutter) -> str:
    """The name of a cutter on the scene's rack, where it is put when it is not there."""
    fill_rack(scene)
    rack = shop_of(scene).cutters
    for item in rack:
        if item.name == cutter.name and abs(item.diameter_mm - cutter.diameter) < 1e-4:
            return item.name
    name = free_name(cutter.name, {item.name for item in rack})
    set_record(rack.add(), cutter)
    rack[len(rack) - 1].name = name
    return name
