"""The Skip tool on real bpy: the hatching on triangles against closed forms; strokes, their marks and the tool itself in a process of its own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from blender_process import run_in_blender

from addon.overlay.mark_hatch import ACROSS, hatch_on_triangles


def test_hatching_lies_on_its_triangles_in_planes_that_lie_a_spacing_apart() -> None:
    rng = np.random.default_rng(3)
    triangles = rng.uniform(-20, 20, (200, 3, 3))
    pieces, owner = hatch_on_triangles(triangles, 4.0)
    levels = pieces @ ACROSS / 4.0
    assert np.abs(levels - np.round(levels)).max() < 1e-9 and len(pieces) > 500
    # every end lies on an edge of its own triangle, between the edge's ends
    starts, ends = triangles, np.roll(triangles, -1, axis=1)
    for end, one in zip(pieces[::7].reshape(-1, 3), np.repeat(owner[::7], 2), strict=True):
        way = ends[one] - starts[one]
        share = np.clip(((end - starts[one]) * way).sum(axis=1) / (way**2).sum(axis=1), 0, 1)
        assert np.linalg.norm(starts[one] + share[:, None] * way - end, axis=1).min() < 1e-9


def test_the_length_of_hatching_on_level_ground_is_its_area_over_the_spacing() -> None:
    # a square of 100 mm in two triangles: lines 4 mm apart are 100 * 100 / 4 mm long, but for the last one at each corner
    square = np.array([[[0, 0, 5], [100, 0, 5], [100, 100, 5]], [[0, 0, 5], [100, 100, 5], [0, 100, 5]]], float)
    pieces, owner = hatch_on_triangles(square, 4.0)
    assert set(owner.tolist()) == {0, 1}
    assert abs(np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).sum() / 2500 - 1) < 0.01
    assert hatch_on_triangles(np.empty((0, 3, 3)), 4.0)[0].shape == (0, 2, 3)


SCRIPT = """
from mathutils import Vector
from addon.scene.shown_marks import SHOWN_MARKS, marked_triangles, read_wanted
from addon.scene.skip_brush import SKIP_TOOL, Aim, SkipBrush, active_tool, skip_tool_is_on
from addon.scene.skip_marks import SKIP_GROUP, skipped_faces
from addon.actions.skip_painting import TOOL_MODES

bpy.ops.wm.read_factory_settings(use_empty=True)
scene = bpy.context.scene
scene.unit_settings.scale_length = 0.001
bpy.ops.mesh.primitive_grid_add(x_subdivisions=40, y_subdivisions=40, size=80)
body = bpy.context.object
body.location, body.rotation_euler.z, body.scale = (30, 5, 2), 0.4, (1.0, 1.0, 1.0)
bpy.context.view_layer.update()
finished = {"FINISHED"}

def marked():
    return skipped_faces(body.data, body)

def middles(chosen):
    found = np.empty(3 * len(body.data.polygons), np.float32)
    body.data.polygons.foreach_get("center", found)
    matrix = np.array(body.matrix_world)
    return (found.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3])[chosen]

def stroke(places, radius, skip=True):
    brush, aim, last = SkipBrush(bpy.context, body), Aim(bpy.context, body), None
    for x, y in places:
        hit = aim.at(bpy.context, Vector((x, y, 50)), Vector((0, 0, -1)))
        if hit is not None:
            brush.dab(last, hit, radius, skip=skip)
        last = hit
    brush.show()
    shown = len(SHOWN_MARKS.known[body.session_uid].triangles)
    brush.write()
    return shown

# The tool has an entry in every mode, is switched on by the action and off by it, back to the tool before it.
for mode in ("OBJECT", "EDIT", "WEIGHT_PAINT"):
    bpy.ops.object.mode_set(mode=mode)
    assert bpy.context.mode in TOOL_MODES
    before = active_tool(bpy.context)
    assert bpy.ops.finishing.paint_skip() == finished and skip_tool_is_on(bpy.context), mode
    assert bpy.ops.finishing.paint_skip() == finished and not skip_tool_is_on(bpy.context), mode
    assert before in ("", active_tool(bpy.context)), (before, active_tool(bpy.context))
bpy.ops.object.mode_set(mode="SCULPT")
assert bpy.ops.finishing.paint_skip() == finished and bpy.context.mode == "OBJECT" and skip_tool_is_on(bpy.context)
assert bpy.ops.finishing.paint_skip() == finished
assert not bpy.ops.finishing.skip_stroke.poll()  # there is no view

# A stroke marks the faces whose middles lie within the radius of its way, in every mode alike, and takes them back.
for mode in ("OBJECT", "EDIT", "WEIGHT_PAINT"):
    bpy.ops.object.mode_set(mode=mode)
    shown = stroke([(20.0, 0.0), (40.0, 0.0)], 7.0)
    assert bpy.context.object.mode == mode
    bpy.ops.object.mode_set(mode="OBJECT")
    found, every = marked(), middles(slice(None))
    along = np.clip(every[:, 0], 20, 40)
    away = np.hypot(every[:, 0] - along, every[:, 1])
    assert (found[away < 6.99]).all() and not found[away > 7.01].any() and found.sum() > 50, mode
    assert shown == 2 * found.sum() == len(marked_triangles(body))
    bpy.ops.object.mode_set(mode=mode)
    stroke([(20.0, 0.0), (40.0, 0.0)], 8.0, skip=False)
    bpy.ops.object.mode_set(mode="OBJECT")
    assert not marked().any() and len(SHOWN_MARKS.known[body.session_uid].triangles) == 0, mode

# Off the body nothing is hit; a stroke that comes from there begins where it meets the body, not before.
aim = Aim(bpy.context, body)
assert aim.at(bpy.context, Vector((500, 0, 50)), Vector((0, 0, -1))) is None
hit = aim.at(bpy.context, Vector((30, 5, 50)), Vector((0, 0, -1)))
assert np.allclose(hit.place, (30, 5, 2), atol=1e-4) and np.allclose(hit.normal, (0, 0, 1), atol=1e-5)

# A hidden body is not hit; its ray ends in nothing, not in an error.
body.hide_set(True)
bpy.context.view_layer.update()
assert aim.at(bpy.context, Vector((30, 5, 50)), Vector((0, 0, -1))) is None
body.hide_set(False)
bpy.context.view_layer.update()

# Selected faces, weights and strokes are one set of marks: what weights mark is taken back by a stroke too, the rest of it stays.
group = body.vertex_groups.new(name=SKIP_GROUP)
group.add(range(len(body.data.vertices)), 1.0, "REPLACE")
assert marked().all()
stroke([(30.0, 5.0)], 10.0, skip=False)
away = np.hypot(*(middles(slice(None))[:, :2] - (30, 5)).T)
assert (marked() == (away > 10)).all() and SKIP_GROUP not in body.vertex_groups
body.data.polygons.foreach_set("select", away < 3)
assert bpy.ops.finishing.skip_selected() == finished
assert (marked() == ((away > 10) | (away < 3))).all()
assert bpy.ops.finishing.clear_skip() == finished and not marked().any()

# With a modifier that makes more faces a stroke marks those of the body's own mesh that what is seen comes from, and leaves no attribute.
body.modifiers.new("Finer", "SUBSURF").levels = 1
bpy.context.view_layer.update()
shown = stroke([(30.0, 5.0)], 6.0)
found = marked()
assert found.sum() > 20 and shown == 8 * found.sum() == len(marked_triangles(body))
assert np.hypot(*(middles(found)[:, :2] - (30, 5)).T).max() < 6 + 2 and [a for a in body.data.attributes if "number" in a.name] == []
body.modifiers.clear()
bpy.ops.finishing.clear_skip()

# On a closed body the far side gets no marks; another unit and a turned body change nothing.
bpy.ops.mesh.primitive_cube_add(size=20)
body = bpy.context.object
body.scale.z = 0.05
bpy.ops.object.mode_set(mode="EDIT"); bpy.ops.mesh.subdivide(number_cuts=20); bpy.ops.object.mode_set(mode="OBJECT")
bpy.context.view_layer.update()
stroke([(0.0, 0.0)], 5.0)
assert marked().any() and middles(marked())[:, 2].min() > 0.49
# Over the edges of Edit Mode only what looks towards the eye is hatched: from above all that is marked here, from below nothing.
from addon.overlay.mark_drawing import MarkBatches
batches = MarkBatches()
above, below = (len(batches.facing(body, 1.0, np.array([0.0, 0.0, z, 1.0]))) for z in (50.0, -50.0))
level = [len(batches.facing(body, 1.0, np.array([0.0, 0.0, z, 0.0]))) for z in (1.0, -1.0)]
assert above > 0 and below == 0 and level == [above, 0], (above, below, level)

# What is drawn is read anew by the timer when a mesh has changed, and nothing is read of a body that has no marks.
SHOWN_MARKS.forget()
assert SHOWN_MARKS.of(body) is None
while read_wanted() is not None:
    pass
assert len(SHOWN_MARKS.of(body).triangles) == 2 * marked().sum()
SHOWN_MARKS.wanted.clear()
bpy.ops.finishing.clear_skip()
bpy.context.view_layer.update()
assert body.session_uid in SHOWN_MARKS.wanted  # noticed by itself
while read_wanted() is not None:
    pass
assert len(SHOWN_MARKS.of(body).triangles) == 0

# Another attribute of the name of the marks is refused in words, in Edit Mode too.
from addon.finishing.core.errors import BadBody
body.data.attributes.new("finish_skip", "FLOAT", "POINT")
try:
    stroke([(0.0, 0.0)], 5.0)
    raise AssertionError("no error")
except BadBody as error:
    assert "finish_skip" in str(error)
bpy.ops.object.mode_set(mode="OBJECT")
assert bpy.ops.finishing.paint_skip() == finished and skip_tool_is_on(bpy.context)
addon.unregister()  # with the tool in hand
assert bpy.context.workspace.tools.from_space_view3d_mode("OBJECT", create=False).idname == "builtin.select_box"
"""


def test_strokes_of_the_skip_tool_in_blender(tmp_path: Path) -> None:
    run_in_blender(SCRIPT, tmp_path)
