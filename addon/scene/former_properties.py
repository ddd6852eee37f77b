"""Properties of earlier versions in .blend files and presets: what they hold is taken over under the names that settings have now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, MutableMapping
from types import MappingProxyType
from typing import Any

import bpy
from bpy.app.handlers import persistent

from .body_settings import OBJECT_PROPERTY
from .rack_settings import SCENE_PROPERTY

FORMER_BODY: Mapping[str, str] = MappingProxyType(
    {
        "start": "lines_from",
        "use_start_angle": "use_line_angle",
        "start_angle": "line_angle",
        "direction": "cutting_way",
        "lowest_depth_mm": "deepest_tip_mm",
        "use_lowest_depth": "use_deepest_tip",
        "greatest_bend_mm": "tip_bend_limit_mm",
        "rest_overlap_mm": "overlap_with_larger_mm",
        "body_lift_mm": "height_in_stock_mm",
        "use_body_lift": "use_height_in_stock",
        "step_down_mm": "terrace_height_mm",
        "use_step_down": "use_terrace_height",
        "slot_width_mm": "channel_width_mm",
        "use_slot_width": "use_channel_width",
    }
)
"""Properties of a body as they were called, and as they are called now. Choices are stored by their number, and keep their order."""

FORMER_MACHINE: Mapping[str, str] = MappingProxyType({"junction_deviation_mm": "corner_rounding_mm"})
"""Properties of the machine as they were called, and as they are called now; presets may set them too."""


def take_over(stored: MutableMapping[str, Any], names: Mapping[str, str]) -> None:
    """Put stored values under their present names, unless there are values already, and drop the former ones."""
    for former, now in names.items():
        if former in stored:
            if now not in stored:
                stored[now] = stored[former]
            del stored[former]


def _stored(owner: bpy.types.ID, name: str) -> MutableMapping[str, Any]:
    """What a file holds for the settings on one of its data. From Blender 5.0 on that stands apart from custom properties."""
    of_system = getattr(owner, "bl_system_properties_get", None)
    held: Any = owner if of_system is None else of_system()
    found = held[name] if held is not None and name in held and owner.is_editable else None
    return _group(found)


def _group(found: Any) -> MutableMapping[str, Any]:
    """A group of stored values; none where a stranger's file has something else of that name."""
    group: MutableMapping[str, Any] = found if hasattr(found, "keys") else {}
    return group


def _groups() -> Iterator[tuple[MutableMapping[str, Any], Mapping[str, str]]]:
    for body in bpy.data.objects:
        yield _stored(body, OBJECT_PROPERTY), FORMER_BODY
    for scene in bpy.data.scenes:
        shop = _stored(scene, SCENE_PROPERTY)
        if "machine" in shop:
            yield _group(shop["machine"]), FORMER_MACHINE


@persistent
def take_over_file(*_: object) -> None:
    """Handler: a file was opened, perhaps one of an earlier version."""
    for stored, names in _groups():
        take_over(stored, names)


def register() -> None:
    """Look through every file that is opened from now on."""
    bpy.app.handlers.load_post.append(take_over_file)


def unregister() -> None:
    """Look through no file any more."""
    if take_over_file in bpy.app.handlers.load_post:
        bpy.app.handlers.load_post.remove(take_over_file)
