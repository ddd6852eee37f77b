"""Change watching on real bpy: edits of a body are noticed, what changes nothing is not, and brushes count at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import bpy
import numpy as np
import pytest

import addon
from addon.finishing.planning.result import Plan
from addon.finishing.planning.survey import Survey
from addon.scene.change_watching import STEP_SECONDS, compare_suspects, on_change, suspect
from addon.scene.mesh_reading import read_arrays
from addon.scene.request_building import settings_key
from addon.scene.results import STORE, BodyResults
from addon.scene.skip_marks import SKIP_GROUP, SKIP_MASK, VERTICES_AT_ONCE, clear_marks, mark_faces

SIDE = 6
"""Vertices along one side of the body's top."""


def grid_object(name: str, side: int = SIDE) -> bpy.types.Object:
    """A flat square grid in the scene, active and selected."""
    x, y = np.meshgrid(np.arange(side), np.arange(side))
    corner = np.arange(side * side).reshape(side, side)
    faces = np.stack([corner[:-1, :-1], corner[:-1, 1:], corner[1:, 1:], corner[1:, :-1]], axis=-1).reshape(-1, 4)
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(np.stack([x.ravel(), y.ravel(), np.zeros(side * side)], axis=1).tolist(), [], faces.tolist())
    body = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(body)
    bpy.context.view_layer.objects.active = body
    body.select_set(True)
    return body


@pytest.fixture
def registered() -> Iterator[None]:
    """The extension in an empty file; classes left registered at exit would hang bpy 4.2 and 4.5."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    addon.register()
    yield
    if bpy.context.object is not None and bpy.context.object.mode != "OBJECT":
        bpy.ops.object.mode_set(mode="OBJECT")
    addon.unregister()


@pytest.fixture
def body(registered: None) -> bpy.types.Object:
    """A body whose results have just been worked out."""
    body = grid_object("body")
    read_now(body)
    settle()
    return body


@pytest.fixture
def notices(body: bpy.types.Object) -> list[str]:
    """Grows with every notice that results have changed their state."""
    found: list[str] = []
    on_change(lambda: found.append("changed"))
    return found


def read_now(body: bpy.types.Object) -> BodyResults:
    """Note that a body has been read, as planning does."""
    bpy.context.view_layer.update()
    results = STORE.of(body)
    results.begin_reading(read_arrays(bpy.context, body))
    results.take_reading()
    suspect(results)
    return results


def settle() -> int:
    """Let Blender notice what has happened, and the timer run to its end, which it does not do without a window; returns its steps."""
    bpy.context.view_layer.update()
    steps = 1
    while compare_suspects() is not None:
        steps += 1
        assert steps < 1000
    return steps


def results_of(body: bpy.types.Object) -> BodyResults:
    results = STORE.find(body)
    assert results is not None
    return results


def move_vertex(body: bpy.types.Object) -> None:
    body.data.vertices[0].co.z += 0.5
    body.data.update()


def move_object(body: bpy.types.Object) -> None:
    body.location.x += 1.0


def subdivide(body: bpy.types.Object) -> None:
    body.modifiers.new("finer", "SUBSURF")


def mark_one_face(body: bpy.types.Object) -> None:
    mark_faces(body.data, np.arange(len(body.data.polygons)) == 3)


def weigh(body: bpy.types.Object) -> None:
    body.vertex_groups.new(name=SKIP_GROUP).add([0, 1, 2], 1.0, "REPLACE")
    body.data.update()


def mask(body: bpy.types.Object) -> None:
    attribute = body.data.attributes.new(SKIP_MASK, "FLOAT", "POINT")
    attribute.data.foreach_set("value", np.ones(len(body.data.vertices), np.float32))
    body.data.update()


def turn_faces_over(body: bpy.types.Object) -> None:
    body.data.flip_normals()
    body.data.update()


EDITS = (move_vertex, move_object, subdivide, mark_one_face, weigh, mask, turn_faces_over)


@pytest.mark.parametrize("edit", EDITS)
def test_an_edit_is_noticed(body: bpy.types.Object, notices: list[str], edit: Callable[[bpy.types.Object], None]) -> None:
    assert results_of(body).source.stamp and not results_of(body).shape_changed
    edit(body)
    settle()
    assert results_of(body).shape_changed and notices == ["changed"]


def test_another_unit_is_noticed_with_the_next_update(body: bpy.types.Object) -> None:
    bpy.context.scene.unit_settings.scale_length = 0.01
    body.update_tag()
    settle()
    assert results_of(body).shape_changed


def test_an_edit_taken_back_by_hand_is_noticed_too(body: bpy.types.Object, notices: list[str]) -> None:
    body.data.vertices[0].co.z += 0.5
    body.data.update()
    settle()
    body.data.vertices[0].co.z -= 0.5
    body.data.update()
    settle()
    assert not results_of(body).shape_changed and notices == ["changed", "changed"]


def test_marks_taken_away_again_leave_the_body_as_it_was(body: bpy.types.Object) -> None:
    for mark in (mark_one_face, weigh, mask):
        mark(body)
    settle()
    assert results_of(body).shape_changed
    clear_marks(body)
    settle()
    assert not results_of(body).shape_changed


def change_settings(body: bpy.types.Object) -> None:
    body.finishing.cusp_mm = 0.08
    body.finishing.last_radius_mm = 6.0
    bpy.context.scene.finishing.cutters.add()


def select_faces(body: bpy.types.Object) -> None:
    body.data.polygons.foreach_set("select", [True] * len(body.data.polygons))
    body.data.update()


def enter_and_leave_edit_mode(body: bpy.types.Object) -> None:
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.context.view_layer.update()
    bpy.ops.object.mode_set(mode="OBJECT")


def rename(body: bpy.types.Object) -> None:
    body.name = "another name"
    body.update_tag()


def add_a_child(body: bpy.types.Object) -> None:
    grid_object("lines").parent = body


def mark_no_face(body: bpy.types.Object) -> None:
    mark_faces(body.data, np.zeros(len(body.data.polygons), bool))


def weigh_nothing(body: bpy.types.Object) -> None:
    body.vertex_groups.new(name=SKIP_GROUP)
    body.data.update()


PLANS = cast(tuple[Plan, ...], (SimpleNamespace(request=SimpleNamespace(side="top")),))
SURVEY = cast(Survey, SimpleNamespace(rack=()))
"""Stand for results where nothing but their being there counts."""

NOTHING = (change_settings, select_faces, enter_and_leave_edit_mode, rename, add_a_child, mark_no_face, weigh_nothing)


@pytest.mark.parametrize("act", NOTHING)
def test_what_changes_nothing_is_not_noticed(body: bpy.types.Object, notices: list[str], act: Callable[[bpy.types.Object], None]) -> None:
    act(body)
    body.update_tag(refresh={"DATA"})  # so that the comparison is certain to run
    settle()
    assert not results_of(body).shape_changed and notices == []


def test_reading_the_body_again_forgets_the_change(body: bpy.types.Object) -> None:
    move_vertex(body)
    settle()
    assert results_of(body).shape_changed
    read_now(body)
    settle()
    assert not results_of(body).shape_changed


def test_work_that_is_stopped_leaves_the_results_out_of_date(body: bpy.types.Object, notices: list[str]) -> None:
    # Mark, plan, press ESC: the plan that is there is still one of the body as it was.
    move_vertex(body)
    settle()
    results = results_of(body)
    results.begin_reading(read_arrays(bpy.context, body))
    suspect(results)
    settle()
    assert results.shape_changed and notices == ["changed"]
    results.drop_reading()
    settle()
    assert results.shape_changed and notices == ["changed"]


def test_what_is_changed_during_the_work_makes_its_result_out_of_date(body: bpy.types.Object) -> None:
    results = results_of(body)
    results.begin_reading(read_arrays(bpy.context, body))
    suspect(results)
    settle()
    move_vertex(body)
    settle()
    results.take_reading()
    assert results.shape_changed
    # And what was changed before it is in it.
    results.begin_reading(read_arrays(bpy.context, body))
    suspect(results)
    settle()
    results.take_reading()
    settle()
    assert not results.shape_changed


def test_an_edit_before_the_first_comparison_counts(registered: None) -> None:
    body = grid_object("body")
    results = read_now(body)
    move_vertex(body)
    settle()
    assert results.shape_changed
    body.update_tag(refresh={"DATA"})  # and goes on counting
    settle()
    assert results.shape_changed


def test_an_edit_right_after_work_has_begun_counts(registered: None) -> None:
    body = grid_object("body")
    bpy.context.view_layer.update()
    results = STORE.of(body)
    results.begin_reading(read_arrays(bpy.context, body))
    suspect(results)
    move_vertex(body)
    settle()
    results.take_reading()
    assert results.shape_changed


def planned(body: bpy.types.Object) -> BodyResults:
    """Results with plans that were made just now."""
    results = read_now(body)
    results.plans, results.plans_reading, results.plan_key = PLANS, results.last_reading, settings_key(bpy.context.scene, body)
    settle()
    assert results.state(bpy.context.scene, body) == "current"
    return results


def test_work_of_another_kind_does_not_make_an_old_plan_current(body: bpy.types.Object) -> None:
    # Plan, mark, measure: what was measured knows the mark, the plan does not.
    results = planned(body)
    matrix = results.source.matrix.copy()
    mark_one_face(body)
    move_object(body)
    settle()
    assert results.state(bpy.context.scene, body) == "shape"
    results.begin_reading(read_arrays(bpy.context, body))
    results.take_reading()
    results.keep_survey(SURVEY, "")
    settle()
    assert not results.survey_reading.changed
    assert results.state(bpy.context.scene, body) == "shape"
    assert (results.source.matrix == matrix).all(), "what is drawn of the plan stays where the plan was made"
    clear_marks(body)
    body.location.x -= 1.0
    settle()
    assert results.state(bpy.context.scene, body) == "current" and results.survey_reading.changed


def test_the_stock_belongs_to_what_a_plan_was_made_from(body: bpy.types.Object) -> None:
    stock = grid_object("stock")
    body.finishing.stock_object = stock
    results = planned(body)
    move_vertex(stock)
    settle()
    assert results.state(bpy.context.scene, body) == "shape"
    stock.data.vertices[0].co.z -= 0.5
    stock.data.update()
    settle()
    assert results.state(bpy.context.scene, body) == "current"
    move_object(stock)
    settle()
    assert results.state(bpy.context.scene, body) == "shape"


@pytest.mark.parametrize("modifier", [None, "SUBSURF", "MIRROR"])
def test_a_plan_made_in_edit_mode_holds_when_it_is_left(registered: None, modifier: str | None) -> None:
    body = grid_object("body")
    if modifier is not None:
        body.modifiers.new("modifier", modifier)
    bpy.context.view_layer.update()
    bpy.ops.object.mode_set(mode="EDIT")
    results = planned(body)
    for mode in ("OBJECT", "EDIT", "OBJECT", "EDIT"):
        bpy.ops.object.mode_set(mode=mode)
        body.update_tag(refresh={"DATA"})
        settle()
        assert results.state(bpy.context.scene, body) == "current", mode


def test_an_edit_in_edit_mode_is_noticed_there(registered: None) -> None:
    import bmesh  # there once bpy is

    body = grid_object("body")
    bpy.context.view_layer.update()
    bpy.ops.object.mode_set(mode="EDIT")
    results = planned(body)
    mesh = bmesh.from_edit_mesh(body.data)
    mesh.verts.ensure_lookup_table()
    mesh.verts[0].co.z += 0.5
    bmesh.update_edit_mesh(body.data)
    settle()
    assert results.state(bpy.context.scene, body) == "shape"
    bpy.ops.object.mode_set(mode="OBJECT")
    settle()
    assert results.state(bpy.context.scene, body) == "shape"


def test_weights_given_in_edit_mode_are_noticed_there(registered: None) -> None:
    import bmesh  # there once bpy is

    body = grid_object("body")
    body.vertex_groups.new(name=SKIP_GROUP).add([3], 1.0, "REPLACE")
    bpy.context.view_layer.update()
    bpy.ops.object.mode_set(mode="EDIT")
    results = planned(body)
    mesh = bmesh.from_edit_mesh(body.data)
    mesh.verts.ensure_lookup_table()
    mesh.verts[5][mesh.verts.layers.deform.verify()][0] = 1.0
    bmesh.update_edit_mesh(body.data)
    settle()
    assert results.state(bpy.context.scene, body) == "shape"


def test_strokes_of_a_brush_count_at_once_and_entering_the_mode_does_not(body: bpy.types.Object, notices: list[str]) -> None:
    weigh_nothing(body)
    settle()
    bpy.ops.object.mode_set(mode="WEIGHT_PAINT")
    settle()
    assert not results_of(body).shape_changed and notices == []
    body.update_tag(refresh={"DATA"})  # what every stroke does
    bpy.context.view_layer.update()
    assert results_of(body).shape_changed and notices == ["changed"]


def test_a_large_body_with_weights_is_compared_in_steps(registered: None) -> None:
    side = int(np.sqrt(2.5 * VERTICES_AT_ONCE)) + 1
    body = grid_object("large", side)
    body.vertex_groups.new(name=SKIP_GROUP).add([side * side - 1], 1.0, "REPLACE")
    read_now(body)
    assert compare_suspects() == STEP_SECONDS
    assert settle() >= side * side // VERTICES_AT_ONCE
    results = results_of(body)
    assert results.source.stamp and not results.shape_changed
    body.vertex_groups[SKIP_GROUP].add([0], 1.0, "REPLACE")
    body.data.update()
    settle()
    assert results.shape_changed


def test_a_comparison_begun_before_the_body_was_read_again_counts_for_nothing(registered: None) -> None:
    body = grid_object("large", int(np.sqrt(2.5 * VERTICES_AT_ONCE)) + 1)
    body.vertex_groups.new(name=SKIP_GROUP)
    results = read_now(body)
    assert [compare_suspects(), compare_suspects()] == [STEP_SECONDS] * 2  # the first vertices have been read
    body.vertex_groups[SKIP_GROUP].add([0], 1.0, "REPLACE")
    body.data.update()
    read_now(body)
    settle()
    assert results.source.stamp and not results.shape_changed


def test_a_body_deleted_during_a_comparison_is_let_be(registered: None) -> None:
    body = grid_object("large", int(np.sqrt(2.5 * VERTICES_AT_ONCE)) + 1)
    body.vertex_groups.new(name=SKIP_GROUP)
    results = read_now(body)
    assert compare_suspects() == STEP_SECONDS
    bpy.data.objects.remove(body)
    settle()
    assert not results.shape_changed


def test_another_file_forgets_everything(body: bpy.types.Object, notices: list[str], tmp_path: Path) -> None:
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "body.blend"))
    move_vertex(body)
    bpy.context.view_layer.update()
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "body.blend"))
    assert len(STORE) == 0 and notices and compare_suspects() is None


def test_undo_has_every_body_compared(body: bpy.types.Object, notices: list[str]) -> None:
    other = grid_object("other")
    read_now(other)
    settle()
    for each in (body, other):
        results_of(each).source.stamp = "as it was before what is undone"
    for handler in (*bpy.app.handlers.undo_post, *bpy.app.handlers.redo_post):
        handler(bpy.context.scene, None)
    assert notices and not results_of(body).shape_changed
    while compare_suspects() is not None:
        pass
    assert results_of(body).shape_changed and results_of(other).shape_changed


def test_first_maps_lie_on_the_body_that_is_read(registered: None) -> None:
    # Nothing was worked out before: where the job lies and what a unit is, the reading of the work under way alone knows.
    bpy.context.scene.unit_settings.scale_length = 1.0
    body = grid_object("body")
    body.location = (3.0, -2.0, 0.5)
    bpy.context.view_layer.update()
    results = STORE.of(body)
    results.begin_reading(read_arrays(bpy.context, body))
    job_from_body = np.eye(4)
    job_from_body[:3, 3] = (10.0, 20.0, 30.0)
    results.show_preview(cast(Survey, SimpleNamespace(job_from_body=job_from_body)))
    # job_from_body takes the mm of the world, in which bodies are read, to the job: its zero lies at (-10, -20, -30) mm.
    placed = results.world_from_job(body)
    assert placed is not None
    assert placed @ (0, 0, 0, 1) == pytest.approx((-0.01, -0.02, -0.03, 1.0))
    assert placed @ (1000, 0, 0, 1) == pytest.approx((0.99, -0.02, -0.03, 1.0))
    body.location.x += 1.0  # it goes along
    bpy.context.view_layer.update()
    moved = results.world_from_job(body)
    assert moved is not None and moved @ (0, 0, 0, 1) == pytest.approx((0.99, -0.02, -0.03, 1.0))
    results.take_reading()
    assert results.preview is None and results.newest is None


def test_undo_of_a_side_brings_its_plans_back(body: bpy.types.Object) -> None:
    def plans(side: str) -> tuple[Plan, ...]:
        return (cast(Plan, SimpleNamespace(request=SimpleNamespace(side=side))),)

    results = results_of(body)
    results.plans, results.other_side = plans("top"), plans("back")
    results._look_at = lambda there, key, reading: setattr(results, "plans", there)  # type: ignore[method-assign]  # figures need a real plan
    results.fit_maps["a cutter"] = "what it leaves"  # type: ignore[index,assignment]
    body.finishing["side"] = 1  # as undo sets it: nobody is told
    assert body.finishing.side == "back" and results.plans[0].request.side == "top"
    for handler in bpy.app.handlers.undo_post:
        handler(bpy.context.scene, None)
    assert results.plans[0].request.side == "back" and results.other_side[0].request.side == "top" and not results.fit_maps
    for handler in bpy.app.handlers.undo_post:  # nothing more to turn
        handler(bpy.context.scene, None)
    assert results.plans[0].request.side == "back"


def test_nothing_is_left_when_the_extension_goes(registered: None) -> None:
    body = grid_object("body")
    read_now(body)
    assert bpy.app.timers.is_registered(compare_suspects)
    addon.unregister()
    ours = {"addon.scene.change_watching"}
    lists = (bpy.app.handlers.depsgraph_update_post, bpy.app.handlers.undo_post, bpy.app.handlers.redo_post, bpy.app.handlers.load_post)
    assert not any(getattr(handler, "__module__", "") in ours for handlers in lists for handler in handlers)
    assert not bpy.app.timers.is_registered(compare_suspects) and len(STORE) == 0
    addon.register()  # for the fixture
