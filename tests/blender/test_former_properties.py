"""Files and presets of earlier versions: their settings are found under the names of now. On real bpy."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import bpy
import pytest

import addon
from addon.scene.former_properties import FORMER_BODY, FORMER_MACHINE, take_over_file
from addon.scene.length_properties import stored_name
from addon.scene.request_building import settings_request

# As version 0.1 stored them: lengths in mm, angles in radians, choices by their number.
BODY = {
    "start": 1, "use_start_angle": True, "start_angle": 0.5, "direction": 2, "lowest_depth_mm": 33.0, "use_lowest_depth": True,
    "greatest_bend_mm": 0.07, "rest_overlap_mm": 2.5, "body_lift_mm": 2.0, "use_body_lift": True,
    "step_down_mm": 3.0, "use_step_down": True, "slot_width_mm": 18.0, "use_slot_width": True,
}  # fmt: skip


@pytest.fixture
def registered() -> Iterator[None]:
    """The extension in an empty file; classes left registered at exit would hang bpy 4.2 and 4.5."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    addon.register()
    yield
    addon.unregister()


def store(owner: bpy.types.ID, values: dict) -> None:
    """Put values where the file keeps those of the extension."""
    if hasattr(owner, "bl_system_properties_get"):
        owner.bl_system_properties_get(do_create=True)["finishing"] = values
    else:
        owner["finishing"] = values


def test_a_file_of_before_is_taken_over_when_it_is_opened(registered: None, tmp_path: Path) -> None:
    body = bpy.data.objects.new("body", bpy.data.meshes.new("body"))
    bpy.context.scene.collection.objects.link(body)
    store(body, BODY)
    store(bpy.context.scene, {"machine": {"junction_deviation_mm": 0.05}})
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "former.blend"))
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "former.blend"))
    request = settings_request(bpy.context.scene, bpy.data.objects["body"])
    assert (request.lines_from, request.cutting_way) == ("edge", "conventional only")
    assert request.line_angle == pytest.approx(math.degrees(0.5), abs=1e-3)
    assert (request.region.deepest_tip, request.bite.tip_bend_limit, request.overlap_with_larger) == (33.0, 0.07, 2.5)
    assert (request.stock.height_in_stock, request.roughing.terrace_height, request.roughing.channel_width) == (2.0, 3.0, 18.0)
    assert request.machine.corner_rounding == 0.05


def test_values_of_now_are_not_overruled(registered: None) -> None:
    body = bpy.data.objects.new("body", bpy.data.meshes.new("body"))
    bpy.context.scene.collection.objects.link(body)
    store(body, {"step_down_mm": 3.0, "terrace_height_mm": 5.0})
    take_over_file()
    take_over_file()
    assert body.finishing.terrace_height_mm == 5.0


def test_every_former_property_stands_for_one_that_there_is(registered: None) -> None:
    body = bpy.data.objects.new("body", None)
    for names, owner in ((FORMER_BODY, body.finishing), (FORMER_MACHINE, bpy.context.scene.finishing.machine)):
        present = set(owner.bl_rna.properties.keys())
        assert set(names.values()) <= present and not set(names) & present
    assert stored_name("corner_rounding") in FORMER_MACHINE.values()
