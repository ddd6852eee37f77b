"""Handles on stock, zero, dowels, boxes and grain: rays against closed forms, and on real bpy what becomes of the settings and the requests."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from blender_process import run_in_blender

from addon.finishing.core.message import Message
from addon.overlay.setup_places import DrawnPlaces
from addon.scene.setup_drag import Drag, along_line, on_level
from addon.scene.setup_handles import ARROW, CHOICE, MOVE, TURN, Handle


def test_the_place_along_a_line_is_the_one_nearest_to_the_ray() -> None:
    rng = np.random.default_rng(7)
    for _ in range(100):
        place, origin, way = rng.normal(0, 10, (3, 3))
        direction = rng.normal(0, 1, 3)
        direction /= np.linalg.norm(direction)
        found = along_line(place, direction, origin, way)
        assert found is not None
        # a plain slow twin: the distance to the ray of many places along the line is least there
        along = found + np.linspace(-1, 1, 2001)
        points = place + along[:, None] * direction - origin
        away = np.linalg.norm(points - (points @ way / (way @ way))[:, None] * way, axis=1)
        assert abs(along[away.argmin()] - found) < 1e-3
    assert along_line(np.zeros(3), np.array([0, 0, 1.0]), np.ones(3), np.array([0, 0, -2.0])) is None
    assert on_level(5.0, np.array([1.0, 2.0, 9.0]), np.array([1.0, 0.0, -2.0])) == pytest.approx([3.0, 2.0])
    assert on_level(5.0, np.array([1.0, 2.0, 9.0]), np.array([1.0, 0.0, 0.0])) is None


def handle(kind: str, values: tuple[float, ...], **more: object) -> Handle:
    def take(_body: object, _values: object) -> None: ...

    return Handle("one", kind, np.zeros(3), values, take, lambda _values: Message(""), **more)  # type: ignore[arg-type]


DOWN = np.array([0.0, 0.0, -1.0])


def ray(x: float, y: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    return np.array([x, y, 100.0]), DOWN


def test_drags_snap_go_slowly_and_take_what_is_typed() -> None:
    drag = Drag(handle(ARROW, (200.0,), way=np.array([1.0, 0, 0]), gain=2.0), np.zeros(2))
    plain = {"snap": False, "precise": False}
    assert drag.move(*ray(10.0), **plain) == (200.0,)  # where it was taken hold of, whatever its place
    assert drag.move(*ray(13.2), **plain) == pytest.approx((206.4,))
    assert drag.move(*ray(13.2), snap=True, precise=False) == (205.0,) and drag.move(*ray(13.2), snap=True, precise=True) == (206.0,)
    assert drag.move(*ray(13.2), snap=False, precise=True) == pytest.approx((200.64,))
    for letter, found in (("4", 4.0), ("1", 41.0), (",", 41.0), ("5", 41.5), ("-", -41.5), ("-", 41.5), ("<", 41.0), ("x", 41.0)):
        assert drag.key(letter) == (found,)
    assert drag.move(*ray(90.0), **plain) == (41.0,)  # what is typed holds
    move = Drag(handle(MOVE, (10.0, 20.0)), np.zeros(2))
    move.move(*ray(0.0, 0.0), **plain)
    assert move.move(*ray(3.0, -4.0), **plain) == (13.0, 16.0)
    assert move.key(">") == (13.0, 16.0) and move.key("7") == (13.0, 7.0) and move.move(*ray(5.0, 5.0), **plain) == (15.0, 7.0)
    turn = Drag(handle(TURN, (170.0,)), np.array([1.0, 1.0]))
    turn.move(*ray(2.0, 1.0), **plain)
    assert turn.move(*ray(1.0, 2.0), **plain) == pytest.approx((260.0,)) and turn.move(*ray(1.0, 0.0), **plain) == pytest.approx((80.0,))
    choice = Drag(handle(CHOICE, (0.0,), places=np.array([[0, 0, 0], [50, 0, 0], [0, 0, 20.0]])), np.zeros(2))
    assert choice.move(*ray(40.0), **plain) == (1.0,) and choice.key("2") == (1.0,)
    assert choice.move(np.array([-100.0, 0, 19]), np.array([1.0, 0, 0]), **plain) == (2.0,)


def test_the_nearest_handle_within_reach_is_hit() -> None:
    places = DrawnPlaces()
    places.drawn[1] = [("one", 100.0, 100.0), ("other", 110.0, 100.0)]
    assert places.under(1, 106.0, 100.0, 1.0) == "other" and places.under(1, 101.0, 100.0, 1.0) == "one"
    assert places.under(1, 130.0, 100.0, 1.0) is None and places.under(1, 130.0, 100.0, 2.0) == "other" and places.under(2, 100.0, 100.0, 1.0) is None
    places.forget(1)
    assert places.under(1, 100.0, 100.0, 1.0) is None


SCRIPT = """
from addon.finishing.job.stock import corners_in_job, job_from_body
from addon.scene.job_setup import job_setup, setup_key
from addon.scene.request_building import settings_key, settings_request
from addon.scene.results import STORE, BodyResults
from addon.finishing.job.tabs import tabs_in_stock
from addon.scene.setup_handles import handles_of, noted, put_back
from addon.scene.setup_tool import setup_tool_is_on

bpy.ops.wm.read_factory_settings(use_empty=True)
scene = bpy.context.scene
scene.unit_settings.scale_length = 0.001
bpy.ops.mesh.primitive_uv_sphere_add(segments=48, ring_count=24, radius=30, location=(7, -3, 4))
body = bpy.context.object
body.scale.z = 0.3
bpy.ops.object.transform_apply(location=False, rotation=False, scale=True)
settings = body.finishing
settings.cell_mm, settings.lines_from, settings.deepest_tip_mm, settings.use_deepest_tip = 1.0, "edge", 8.0, True

# The tool is switched on and off by its action.
assert bpy.ops.finishing.move_in_view() == finished and setup_tool_is_on(bpy.context)
assert bpy.ops.finishing.paint_skip() == finished and not setup_tool_is_on(bpy.context)
assert bpy.ops.finishing.paint_skip() == finished

# The handles stand on the object's own box before anything is known of it, and on the same places once it is measured: as it lies, turned,
# stood on its edge, cut short by a modifier; for the side that is set, and with whatever is set of the stock.
results = STORE.of(body)

def shown(setup):
    places = np.vstack([setup.low, setup.high, setup.body_low, setup.body_high, np.zeros(3), *(handle.place for handle in handles_of(setup))])
    return (np.column_stack([places, np.ones(len(places))]) @ setup.world_from_job.T)[:, :3]

settings.dowel_count, settings.use_grain, settings.grain_angle = "2", True, 0.3
LYING = (((0, 0, 0), "top", "auto"), ((0, 0, 0.5), "back", "auto"), ((np.pi / 2, 0.1, 0.2), "top", "auto"), ((0, 0, 0), "top", "y"))
for number, (turn, side, up) in enumerate(LYING):
    body.rotation_euler, settings.side, settings.up = turn, side, up
    settings.use_stock_length, settings.stock_length_mm = number == 1, 150
    settings.use_height_in_stock = settings.use_stock_thickness = number == 1
    settings.stock_thickness_mm, settings.height_in_stock_mm = 40, 3
    if number == 2:
        cut = body.modifiers.new("cut", "MASK")
        group = body.vertex_groups.new(name="kept")
        group.add([v.index for v in body.data.vertices if v.co.x < 12], 1.0, "REPLACE")
        cut.vertex_group = "kept"
    bpy.context.view_layer.update()
    results.survey = None
    before = job_setup(results, body)
    assert before is not None and before.side == side and before.grain is not None and len(before.dowels) == 2
    assert results.newest is None
    assert bpy.ops.finishing.survey() == finished
    after = job_setup(results, body)
    assert np.allclose(shown(before), shown(after), atol=2e-3), (number, np.abs(shown(before) - shown(after)).max())
    assert [handle.name for handle in handles_of(before)] == [handle.name for handle in handles_of(after)]
    body.modifiers.clear()
key = setup_key(BodyResults(0, ""), body)
body.location.x += 1
bpy.context.view_layer.update()
assert setup_key(BodyResults(0, ""), body) != key
body.location.x -= 1
# Nothing can be taken hold of on an object without extent, or scaled to nothing.
body.rotation_euler, settings.side, settings.up = (0, 0, 0), "top", "auto"
settings.dowel_count, settings.use_grain, settings.grain_angle = "0", False, 0.0
settings.use_stock_length = settings.use_height_in_stock = settings.use_stock_thickness = False
assert results.world_from_job(body) is not None
body.scale.y = 0
bpy.context.view_layer.update()
assert results.world_from_job(body) is None and job_setup(results, body) is None
body.scale.y = 1
bpy.context.view_layer.update()
empty = bpy.data.objects.new("empty", bpy.data.meshes.new("empty"))
scene.collection.objects.link(empty)
assert job_setup(BodyResults(0, ""), empty) is None

def handles(**only):
    return {handle.name: handle for handle in handles_of(job_setup(results, body))}

def in_world(setup, place):
    return (setup.world_from_job @ np.append(place, 1.0))[:3]

def corners():
    setup = job_setup(results, body)
    return np.array([in_world(setup, setup.low), in_world(setup, setup.high)])

for side in ("top", "back"):
    settings.side = side
    put_back(settings, before_all) if side == "back" else None
    assert bpy.ops.finishing.survey() == finished
    before_all = noted(settings)
    setup = job_setup(results, body)
    assert setup.side == side and np.allclose(setup.low, corners_in_job(results.survey.stock, side)[0])
    # what is shown lies where the survey's own stock lies, in the scene's axes
    assert np.allclose(np.sort(corners(), axis=0), [[7 - 55, -3 - 55, 4 - 9], [7 + 55, -3 + 55, 4 + 9]], atol=1e-3), corners()
    world = np.sort(corners(), axis=0)
    # Every handle that is given the values that it has changes nothing that is planned with, but for what was open and is now said.
    for name, handle in handles().items():
        handle.take(settings, handle.values)
        assert np.allclose(np.sort(corners(), axis=0), world, atol=1e-3), name
        put_back(settings, before_all)
        assert noted(settings) == before_all
    # Length and width grow to both sides; upper and lower move one face and leave the other.
    handles()["length"].take(settings, (130.0,))
    handles()["width"].take(settings, (140.0,))
    assert np.allclose(np.sort(corners(), axis=0)[:, :2], [[7 - 65, -3 - 70], [7 + 65, -3 + 70]], atol=1e-3)
    up = 1 if side == "top" else 0  # which face of the stock in the scene looks up on the machine
    handles()["upper"].take(settings, (25.0,))
    after = np.sort(corners(), axis=0)
    assert abs(after[1 - up, 2] - world[1 - up, 2]) < 1e-3 and abs((after[1, 2] - after[0, 2]) - 25) < 1e-3, (side, after, world)
    assert abs(abs(after[up, 2] - world[up, 2]) - 7) < 1e-3
    handles()["lower"].take(settings, (30.0,))
    last = np.sort(corners(), axis=0)
    assert abs(last[up, 2] - after[up, 2]) < 1e-3 and abs((last[1, 2] - last[0, 2]) - 30) < 1e-3
    # Zero stands where it was put, in the scene too, and By Side stays where that is meant.
    setup = job_setup(results, body)
    zero = handles()["zero"]
    for number, place in enumerate(zero.places):
        wanted = in_world(setup, place)
        zero.take(settings, (float(number),))
        now = job_setup(results, body)
        assert np.allclose(in_world(now, np.zeros(3)), wanted, atol=1e-3), (side, number)
        assert handles()["zero"].values == (float(number),)
    own = 0 if side == settings.first_side else 1
    zero.take(settings, (float(own),))
    assert (settings.xy_zero, settings.z_zero) == ("corner", "auto")
    # The grain turns; an arrow and its opposite are one grain, and it is known from then on. The side cut last shows it in a mirror.
    handles()["grain"].take(settings, (200.0,))
    seen = 1 if side == settings.first_side else -1
    assert settings.use_grain and abs(seen * np.degrees(settings.grain_angle) + 160) < 1e-4
    assert abs(handles()["grain"].values[0] + 160) < 1e-4
    # Dowels move in pairs that meet when the stock is turned over; one on the axis stays on it.
    settings.dowel_count = "4"
    four = handles()
    place = np.array(four["dowel 0"].values)
    four["dowel 0"].take(settings, tuple(place + (4, 6)))
    setup, request = job_setup(results, body), settings_request(scene, body)
    assert len(request.dowels.places) == 4 and np.allclose(setup.dowels[0], place + (4, 6), atol=1e-3)
    turned = setup.dowels.copy()
    turned[:, 0] = setup.low[0] + setup.high[0] - turned[:, 0]
    assert all(np.linalg.norm(turned - one, axis=1).min() < 1e-2 for one in setup.dowels)
    assert sum(np.linalg.norm(setup.dowels - np.array(four[f"dowel {k}"].values), axis=1).min() > 1 for k in range(4)) == 2
    settings.dowel_count = "2"
    assert settings_request(scene, body).dowels.places == ()  # another count places them anew
    two = handles()
    x, y = two["dowel 0"].values
    two["dowel 0"].take(settings, (x + 9, y + 5))
    assert np.allclose(job_setup(results, body).dowels[0], (x, y + 5), atol=1e-3)
    assert bpy.ops.finishing.place_dowels() == finished and len(settings.dowel_places) == 0
    settings.dowel_count = "0"
    # Tabs move along the outline, all others stay where they are; they are planned where they are shown.
    settings.tabs, settings.tab_count, settings.tab_width_mm = "given", 4, 12.0
    assert bpy.ops.finishing.survey() == finished
    assert len(job_setup(results, body).tabs) == 4 and settings_request(scene, body).tabs.places == ()
    held = handles()
    before_tabs = job_setup(results, body).tabs
    x, y = held["tab 1"].values
    middle = (setup.low + setup.high)[:2] / 2
    aside = np.array([-(y - middle[1]), x - middle[0]]) / np.hypot(x - middle[0], y - middle[1])
    held["tab 1"].take(settings, tuple(np.array([x, y]) + 9 * aside))
    moved = job_setup(results, body).tabs
    assert 3 < np.hypot(*np.subtract(moved[1].place, before_tabs[1].place)) < 15
    assert all(np.allclose(moved[k].place, before_tabs[k].place, atol=0.1) for k in (0, 2, 3))
    assert len(settings_request(scene, body).tabs.places) == 4
    assert bpy.ops.finishing.survey() == finished
    planned = job_setup(results, body).tabs
    assert all(np.allclose(one.place, other.place, atol=0.1) for one, other in zip(moved, planned))
    in_plan = tabs_in_stock(results.newest.tab_layout.tabs, results.newest.stock, side)
    assert all(np.allclose(one.place, tab.place, atol=0.1) for one, tab in zip(in_plan, planned))
    assert bpy.ops.finishing.place_tabs() == finished and len(settings.tab_places) == 0
    settings.tabs = "off"
    assert job_setup(results, body).tabs == ()
    # Boxes: place, size, height; no edge gets shorter than a millimetre, and the row becomes the active one.
    for _ in range(2):
        assert bpy.ops.finishing.list(rows="keep_out", change="add") == finished
    settings.active_keep_out = 0
    box = handles()
    box["box 1 place"].take(settings, (12.0, 8.0))
    assert tuple(settings.keep_out[1].low) == (12.0, 8.0, 0.0) and tuple(settings.keep_out[1].high) == (52.0, 38.0, 60.0)
    assert settings.active_keep_out == 1
    handles()["box 1 size"].take(settings, (20.0, -5.0))
    assert tuple(settings.keep_out[1].high) == (32.0, 9.0, 60.0)
    handles()["box 1 height"].take(settings, (-3.0,))
    assert tuple(settings.keep_out[1].high) == (32.0, 9.0, 1.0)
    for side in ("top", "back", "both"):
        settings.keep_out[1].side = side
        assert ("box 1 place" in handles()) == (side in ("both", settings.side))
    settings.keep_out[0].low = (99, 99, 99)  # the wrong way round: has no handles, and does not shift those of the other
    assert {name for name in handles() if name.startswith("box")} == {"box 1 place", "box 1 size", "box 1 height"}
    settings.keep_out.clear()

# What is drawn follows the settings without a new plan, and goes along with the object.
key = setup_key(results, body)
settings.stock_length_mm += 1
assert setup_key(results, body) != key
before = corners()
body.location.x += 5
bpy.context.view_layer.update()
assert np.allclose(corners() - before, [[5, 0, 0], [5, 0, 0]], atol=1e-3)
# A pin stands for a finding with a place, and is read with what to do; the pie holds what is there, each by its own name.
from types import SimpleNamespace
from addon.actions.reading import FINISHING_OT_read_finding
from addon.overlay.layers import pinned
from addon.screen.menus import FINISHING_MT_view_pie

class Drawn:
    def __init__(self):
        self.found = []
    def label(self, *, text="", **_):
        self.found.append(text)
    def prop(self, owner, name, **_):
        assert hasattr(owner, name)
        self.found.append(name)
    def operator(self, name, **_):
        group, action = name.split(".")
        getattr(getattr(bpy.ops, group), action).get_rna_type()
        self.found.append(name)
        return SimpleNamespace()
    def __getattr__(self, name):
        assert name in ("row", "column", "split", "menu_pie")
        return lambda **_: self

assert not bpy.ops.finishing.read_finding.poll()
settings.side, settings.cutter_name, settings.use_stock_length, settings.use_height_in_stock = "top", "", False, False
settings.use_stock_width = settings.use_stock_thickness = settings.use_grain = False
assert bpy.ops.finishing.rack(change="fill") == finished
settings.cutter_name = "Round-nose 12"
settings.dowel_count, settings.dowel_clearance_mm = "2", 12.0  # more room than there is between the stock's edge and the body
assert bpy.ops.finishing.plan() == finished
plan, numbers = results.plan, pinned(results.plan)
assert any(plan.findings[number].key.startswith("dowel") for number in numbers), [finding.key for finding in plan.findings]
for number in numbers:
    drawn = Drawn()
    FINISHING_OT_read_finding.draw(SimpleNamespace(layout=drawn, number=number), bpy.context)
    said = " ".join(text for text in drawn.found if " " in text)
    assert str(plan.findings[number].words).split()[0] in said and "finishing.look_at" in drawn.found, (number, drawn.found)
drawn = Drawn()
FINISHING_OT_read_finding.draw(SimpleNamespace(layout=drawn, number=len(plan.findings)), bpy.context)
assert drawn.found == []  # planned anew meanwhile
assert bpy.ops.finishing.read_finding.poll() and bpy.ops.finishing.read_finding(number=numbers[0]) == finished
FINISHING_MT_view_pie.draw(SimpleNamespace(layout=drawn), bpy.context)
assert drawn.found == ["show_lines", "finishing.play", "side", "surface_map"], drawn.found
assert bpy.ops.finishing.view_pie.poll() and bpy.ops.finishing.view_pie() == finished
assert not any(item.idname == "finishing.view_pie" for keymap in bpy.context.window_manager.keyconfigs.addon.keymaps for item in keymap.keymap_items)

# Sentences of all handles can be said, in every place that they can be in.
for handle in handles_of(job_setup(results, body)):
    assert str(handle.sentence(handle.values))
addon.unregister()
"""


def test_handles_set_what_they_show_in_blender(tmp_path: Path) -> None:
    run_in_blender(SCRIPT, tmp_path)
