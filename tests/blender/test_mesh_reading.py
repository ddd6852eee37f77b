"""A block of 100 x 60 x 20 mm reads as just that, whatever units, transforms, parents, modifiers or modes stand in between."""

from __future__ import annotations

import dataclasses

import bpy
import numpy as np
import pytest

from addon.finishing.core.errors import BadBody
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.scene import blend_reading, handing_over, mesh_reading
from addon.scene.mesh_reading import read_body
from addon.scene.skip_marks import SKIP_ATTRIBUTE, SKIP_GROUP

SIZE = np.array([100.0, 60.0, 20.0])


@pytest.fixture
def scene():  # noqa: ANN201
    bpy.ops.wm.read_factory_settings(use_empty=True)
    return bpy.context.scene


def add_block(scale_length: float, name: str = "block") -> bpy.types.Object:
    """A block whose mesh has the right size in mm at this scene scale."""
    bpy.context.scene.unit_settings.scale_length = scale_length
    half = SIZE / 2 / (1000 * scale_length)
    corners = [(x * half[0], y * half[1], z * half[2]) for z in (-1, 1) for y in (-1, 1) for x in (-1, 1)]
    faces = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(corners, [], faces)
    made = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(made)
    bpy.context.view_layer.objects.active = made
    return made


def signed_volume(triangles: np.ndarray) -> float:
    """Closed form: a closed mesh facing outwards has its volume as the sum of signed tetrahedra."""
    return float(np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6)


@pytest.mark.parametrize("system", ["METRIC", "IMPERIAL", "NONE"])
@pytest.mark.parametrize("scale_length", [1.0, 0.01, 0.001, 0.0254])
def test_units(scene, system: str, scale_length: float) -> None:  # noqa: ANN001
    scene.unit_settings.system = system
    body = read_body(bpy.context, add_block(scale_length))
    np.testing.assert_allclose(body.size, SIZE, rtol=1e-5)


def test_mirror_keeps_faces_outward(scene) -> None:  # noqa: ANN001
    block = add_block(0.001)
    block.scale = (-1, 1, 1)
    bpy.context.view_layer.update()
    assert signed_volume(read_body(bpy.context, block).triangles) == pytest.approx(np.prod(SIZE), rel=1e-5)


def test_parent_scale_and_rotation(scene) -> None:  # noqa: ANN001
    block = add_block(0.001)
    parent = bpy.data.objects.new("parent", None)
    scene.collection.objects.link(parent)
    parent.scale = (2, 0.5, 1)
    block.parent = parent
    block.rotation_euler = (0, 0, np.pi / 2)
    bpy.context.view_layer.update()
    np.testing.assert_allclose(read_body(bpy.context, block).size, [60 * 2, 100 * 0.5, 20], rtol=1e-5)


def test_modifiers_count(scene) -> None:  # noqa: ANN001
    block = add_block(0.001)
    array = block.modifiers.new("array", "ARRAY")
    array.count = 2
    np.testing.assert_allclose(read_body(bpy.context, block).size, [200, 60, 20], rtol=1e-5)


def test_edit_mode(scene) -> None:  # noqa: ANN001
    block = add_block(0.001)
    bpy.ops.object.mode_set(mode="EDIT")
    try:
        np.testing.assert_allclose(read_body(bpy.context, block).size, SIZE, rtol=1e-5)
    finally:
        bpy.ops.object.mode_set(mode="OBJECT")


def test_skip_is_joined_from_attribute_group_and_mask(scene) -> None:  # noqa: ANN001
    block = add_block(0.001)
    mesh = block.data
    attribute = mesh.attributes.new(SKIP_ATTRIBUTE, "BOOLEAN", "FACE")
    attribute.data.foreach_set("value", np.array([1, 0, 0, 0, 0, 0], bool))  # the bottom
    group = block.vertex_groups.new(name=SKIP_GROUP)
    group.add([4, 5, 6, 7], 1.0, "REPLACE")  # the top, and half of every side: at half the weight the sides are in, too
    body = read_body(bpy.context, block)
    assert body.skip.all()
    group.add([4, 5, 6, 7], 0.9, "REPLACE")  # now the sides' mean is 0.45
    assert read_body(bpy.context, block).skip.sum() == 4
    block.vertex_groups.remove(group)
    mask = mesh.attributes.new(".sculpt_mask", "FLOAT", "POINT")
    mask.data.foreach_set("value", np.array([0, 1, 0, 1, 0, 1, 0, 1], np.float32))  # the +x side; half of four others
    assert read_body(bpy.context, block).skip.sum() == 12 - 2  # only the -x side is free


def test_what_is_no_body_is_refused(scene) -> None:  # noqa: ANN001
    mesh = bpy.data.meshes.new("bare")
    bare = bpy.data.objects.new("bare", mesh)
    scene.collection.objects.link(bare)
    with pytest.raises(BadBody, match="no faces"):
        read_body(bpy.context, bare)
    empty = bpy.data.objects.new("empty", None)
    scene.collection.objects.link(empty)
    with pytest.raises(BadBody, match="not a mesh"):
        read_body(bpy.context, empty)


def test_a_mesh_of_too_many_triangles_is_thinned_once(scene, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: ANN001
    block = add_block(0.001)
    block.scale = (-1, 1, 1)  # a mirror, which turns faces inside out
    split = block.modifiers.new("fine", "SUBSURF")
    split.subdivision_type, split.levels, split.render_levels = "SIMPLE", 5, 5
    bpy.context.view_layer.update()
    arrays = mesh_reading.read_arrays(bpy.context, block)
    assert mesh_reading.body_of(arrays).thinned is None
    monkeypatch.setattr(mesh_reading, "MOST_TRIANGLES", 5_000)
    store = ResultStore()
    body = finished(mesh_reading.known_body_steps(arrays, store))
    assert body.thinned is not None and body.thinned.given == 12 * 4**5 and len(body.triangles) < body.thinned.given / 4
    np.testing.assert_allclose(body.size, SIZE, rtol=1e-5)
    assert signed_volume(body.triangles) == pytest.approx(np.prod(SIZE), rel=1e-4)
    assert finished(mesh_reading.known_body_steps(arrays, store)) is body
    other = dataclasses.replace(arrays, skipped=np.arange(len(arrays.corners)) < 1000)
    marked = finished(mesh_reading.known_body_steps(other, store))
    assert marked is not body and marked.skip.any() and not marked.skip.all()


def test_thinned_objects_joined_say_so_together(
    tmp_path,  # noqa: ANN001
    scene,  # noqa: ANN001
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for name, place in (("left", -60.0), ("right", 60.0)):
        block = add_block(0.001, name)
        block.location.x = place
        split = block.modifiers.new("fine", "SUBSURF")
        split.subdivision_type, split.levels, split.render_levels = "SIMPLE", 5, 5
    path = tmp_path / "two.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    monkeypatch.setattr(mesh_reading, "MOST_TRIANGLES", 5_000)
    body = blend_reading.read_blend(path, "all")
    assert body.thinned is not None and body.thinned.given == 2 * 12 * 4**5 and body.thinned.kept == len(body.triangles)
    # And as another process hands it over.
    capsys.readouterr()
    blend_reading.hand_over([str(path), "all"])
    given = handing_over.handed_body(capsys.readouterr().out)
    assert given is not None
    handed, unit = given
    assert handed.thinned == body.thinned and unit == pytest.approx(1.0) and np.array_equal(handed.triangles, body.triangles)
