"""Settings as a suggestion would have them, put on a body: what the Apply buttons do."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import bpy

from ..finishing.core.errors import BadRequest
from ..finishing.core.finding import Change
from ..finishing.job.cutter_names import name_on_rack, named_cutter, parts_of_set
from .body_settings import FinishingBody, settings_of
from .rack_settings import fill_rack, free_name, set_record, shop_of
from .request_building import scene_rack


def apply_changes(scene: bpy.types.Scene, body_object: bpy.types.Object, changes: Iterable[Change]) -> None:
    """Set what a suggestion says. Raises BadRequest when a cutter that it names is on the rack no more."""
    for change in changes:
        if change.setting == "cutters":
            name_set(scene, body_object, str(change.value))
        elif change.setting == "rack":
            add_diameter(scene, float(str(change.value)))
        else:
            APPLIED[change.setting](settings_of(body_object), change.value)


def name_set(scene: bpy.types.Scene, body_object: bpy.types.Object, cutters: str) -> None:
    """Name a set of cutters by diameters in mm or names, the largest first, with commas between them; none leaves the choice to the plan.

    Raises BadRequest when one of them is not on the rack.
    """
    settings = settings_of(body_object)
    rack = scene_rack(scene)
    parts = parts_of_set(cutters, rack) if cutters else ()
    found = [cutter for part in parts if (cutter := named_cutter(part, rack)) is not None]
    if len(found) < len(parts):
        raise BadRequest("The rack has changed: measure the body again")
    fill_rack(scene)
    settings.cutter_name = found[0].name if found else ""
    settings.following_cutters = ", ".join(name_on_rack(cutter, rack) for cutter in found[1:])


def add_diameter(scene: bpy.types.Scene, diameter: float) -> None:
    """Put a cutter of a diameter in mm on the rack, with the other values of the one there that is nearest to it, but those that
    were measured on it and its taper; nothing where it is there.
    """
    rack = scene_rack(scene)
    nearest = min(rack, key=lambda cutter: abs(cutter.diameter - diameter))
    if abs(nearest.diameter - diameter) < 1e-6:
        return
    fill_rack(scene)
    shop = shop_of(scene)
    name = free_name(f"Round-nose {diameter:g}", {item.name for item in shop.cutters})
    item = shop.cutters.add()
    set_record(item, replace(nearest, diameter=diameter, measured_diameter=0.0, runout=0.0, half_angle=0.0, top_diameter=0.0))
    item.name = name
    shop.active_cutter = len(shop.cutters) - 1


def _cusp(body: FinishingBody, value: Any) -> None:
    body.cusp_mm, body.use_fixed_spacing, body.meet_budget = value, False, False


def _feed(body: FinishingBody, value: Any) -> None:
    body.feed, body.use_feed = value, True


def _overrun(body: FinishingBody, value: Any) -> None:
    body.overrun_mm, body.use_overrun = value, True


def _wall_limit(body: FinishingBody, value: Any) -> None:
    body.wall_limit = math.radians(value)


def _smooth(body: FinishingBody, value: Any) -> None:
    body.smoothing = "auto" if value is None else "given"
    if value is not None:
        body.smooth_mm = value


def _plain(name: str) -> Callable[[FinishingBody, Any], None]:
    return lambda body, value: setattr(body, name, value)


APPLIED: dict[str, Callable[[FinishingBody, Any], None]] = {
    "cusp": _cusp,
    "feed": _feed,
    "smooth": _smooth,
    "region.overrun": _overrun,
    "region.wall_limit": _wall_limit,
    "region.flats": _plain("flats"),
    "bite.lower_feed": _plain("lower_feed"),
    "stock.z_zero": _plain("z_zero"),
    "chord_tolerance": _plain("chord_tolerance_mm"),
    "meet_budget": _plain("meet_budget"),
    "rim_pass": _plain("rim_pass"),
    "up": _plain("up"),
}
"""By the key of a setting: how it is put on a body."""
