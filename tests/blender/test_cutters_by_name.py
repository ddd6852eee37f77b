"""Two cutters of one diameter on the panel's rack, on real bpy: which of them a body's settings mean, and what is said where they do not say it."""

from __future__ import annotations

from pathlib import Path

from blender_process import ARCH, run_in_blender

SCRIPT = """
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.finding import Change
from addon.finishing.job.cutter import Cutter
from addon.finishing.files.plan_record import settings_record
from addon.scene.change_applying import apply_changes
from addon.scene.rack_settings import put_on_rack
from addon.scene.request_building import build_request
from addon.scene.settings_taking import take_settings
straight = Cutter("Round-nose 6", 6.0, usable_length=25.0, shank_diameter=6.0, stick_out=35.0)
tapered = Cutter("Tapered 6", 6.0, usable_length=40.0, stick_out=55.0, half_angle=6.0, top_diameter=12.0)
large = Cutter("Round-nose 16", 16.0)
scene = bpy.context.scene
put_on_rack(scene.finishing, [straight, tapered, large])

def asked():
    return build_request(bpy.context, body)

settings.cutter_name = "Round-nose 16"
for text, name in (("Tapered 6", "Tapered 6"), ("round-nose 6", "Round-nose 6")):
    settings.following_cutters = text
    assert [cutter.name for cutter in asked().following_cutters] == [name], text
settings.following_cutters = "6"
try:
    asked()
    raise AssertionError("6 mm of two cutters was taken")
except BadRequest as error:
    assert str(error) == "Several cutters of the rack are 6 mm: give the name of the one that you mean ('Round-nose 6', 'Tapered 6').", error
settings.following_cutters = "9"
try:
    asked()
    raise AssertionError("9 mm, which is not there, was taken")
except BadRequest as error:
    assert "no cutter of 9 mm on the rack" in str(error), error
# What a suggestion and a button of the table say is taken by the name.
apply_changes(scene, body, (Change("cutters", "16,Tapered 6"),))
assert (settings.cutter_name, settings.following_cutters) == ("Round-nose 16", "Tapered 6")
apply_changes(scene, body, (Change("cutters", "Tapered 6"),))
assert (settings.cutter_name, settings.following_cutters) == ("Tapered 6", "")
try:
    apply_changes(scene, body, (Change("cutters", "9"),))
    raise AssertionError("a cutter that is not there was taken")
except BadRequest as error:
    assert "rack has changed" in str(error)
# A written plan's settings come back as they were, also where its cutter is another than that of the same diameter on the rack.
apply_changes(scene, body, (Change("cutters", "16,Tapered 6"),))
written = settings_record(asked())
settings.cutter_name, settings.following_cutters = "", ""
take_settings(scene, body, written)
assert [cutter.name for cutter in asked().following_cutters] == ["Tapered 6"] and asked().cutter.name == "Round-nose 16"
put_on_rack(scene.finishing, [straight, large])
take_settings(scene, body, written)
assert asked().following_cutters == (tapered,)
"""


def test_the_panel_tells_cutters_of_one_diameter_apart(tmp_path: Path) -> None:
    run_in_blender(SCRIPT, tmp_path, ARCH)
