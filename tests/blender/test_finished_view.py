"""The finished surface in Blender: made by a button, lit from where the user turns the lamp, two plans beside a divider. On real bpy, without gpu."""

from __future__ import annotations

from pathlib import Path

from blender_process import ARCH, run_in_blender

SCRIPT = """
    from addon.overlay.layers import BodyLayers
    from addon.scene.results import STORE

    settings.cell_mm, settings.cutter_name, settings.cusp_mm = 0.5, "Round-nose 12", 0.1
    assert not bpy.ops.finishing.show_finished.poll() and not bpy.ops.finishing.set_left.poll()
    assert bpy.ops.finishing.plan() == finished
    results = STORE.find(body)
    layers = BodyLayers()
    view.surface_map = "finished"
    assert layers.shown_map(results, view) is None  # nothing was cut yet

    assert bpy.ops.finishing.show_finished() == finished
    shown = layers.shown_map(results, view)
    known = np.isfinite(shown.values)
    assert shown.is_lit and known.sum() > 4000 and results.finish.other is None
    assert np.array_equal(known, np.isfinite(results.finish.own.heights)) and np.ptp(shown.values[known]) > 0.2
    assert shown is layers.shown_map(results, view)  # kept while nothing changes
    # The lamp is turned: another light, the same surface.
    view.light_from = 0.0
    turned = layers.shown_map(results, view)
    assert turned is not shown and turned.heights is shown.heights and np.abs(turned.values - shown.values)[known].max() > 0.1

    view.heights_times = 4.0
    assert str(layers.shown_map(results, view).legend.title) == "Finished surface, heights x 4"
    view.heights_times = 1.0
    # Another plan beside it: left of the divider stands the first one.
    assert bpy.ops.finishing.set_left() == finished and results.finish is None
    settings.cusp_mm = 0.02
    assert bpy.ops.finishing.plan() == finished and bpy.ops.finishing.show_finished() == finished
    first, second = results.finish.other, results.finish.own
    assert np.isfinite(first.heights).sum() == np.isfinite(second.heights).sum()
    low, high = results.finish.reach()
    columns = np.flatnonzero(np.isfinite(second.body).any(axis=0))
    assert abs(high - low - 40) <= second.grid.cell and abs(low - second.grid.x()[columns[0]]) <= second.grid.cell
    def over(ground):
        inside = np.isfinite(ground.heights)
        standing = ground.heights[inside] - ground.body[inside]
        return np.nanpercentile(standing, 95)
    assert over(first) > 2 * over(second)
    # Each side of the divider is lit as its own plan's surface would be, whole; the surface that the light lies on stays as the divider is moved.
    from addon.finishing.pictures.raking_light import RakingLight, lit
    lamp = RakingLight(round(float(np.degrees(view.light_from)), 2))
    lights = [1 - lit(ground.heights, ground.grid.cell, lamp) for ground in (first, second)]
    inside = np.isfinite(second.heights)
    for share in (0.0, 0.3, 0.5, 1.0):
        view.divider = share
        shown = layers.shown_map(results, view)
        left = second.grid.x() < low + view.divider * (high - low)
        assert abs(left[columns].mean() - share) < 0.03, (share, left[columns].mean(), len(columns))
        wanted = np.where(left, lights[0], lights[1])
        assert np.array_equal(shown.values[inside], wanted[inside]) and shown.heights is layers.shown_map(results, view).heights
    # The divider's line lies on the surface at its share of the body's length, and its grip in the middle of the line.
    from addon.overlay.divider import divider_line
    for share in (0.0, 0.25, 0.5, 1.0):
        line = divider_line(results.finish, shown.heights, share)
        assert np.allclose(line.points[:, 0], low + share * (high - low)) and np.isfinite(line.grip).all()
        known = np.isfinite(line.points[:, 2])
        assert known.sum() > 50 and abs(line.grip[1] - line.points[known, 1].mean()) <= 2 * second.grid.cell
        rows, columns_of = second.grid.nearest(line.points[known])
        assert np.allclose(line.points[known, 2], shown.heights[rows, np.clip(columns_of, columns[0], columns[-1])], atol=0.3)
    kept = shown.heights
    view.divider = 0.4
    assert layers.shown_map(results, view).heights is kept

    # A new plan is not what was cut.
    settings.cusp_mm = 0.05
    assert bpy.ops.finishing.plan() == finished and results.finish is None
    # What was cut by plans that are looked at no more is not kept: the map says what makes it.
    from types import SimpleNamespace
    from addon.actions.finished_view import FINISHING_OT_show_finished as show
    from addon.screen.result_card import missing_map_words
    assert str(missing_map_words(results, "finished", "")) == "Press Show Finished Surface: it makes this map"
    said = []
    late = SimpleNamespace(_cut=(results.plans, results.matching_left()), body_is_gone=lambda _: False, report=lambda kind, words: said.append(kind))
    results.plans = (*results.plans,)  # as planning anew sets them
    show.keep(late, SimpleNamespace(), results, "")
    assert results.finish is None and said[-1] == {"WARNING"}, said
    assert bpy.ops.finishing.show_finished() == finished and missing_map_words(results, "finished", "") is None
    # Another side is no comparison.
    settings.side = "back"
    assert bpy.ops.finishing.plan() == finished and results.matching_left() == ()
    addon.unregister()
"""


def test_the_finished_surface_is_shown_and_compared(tmp_path: Path) -> None:
    run_in_blender(SCRIPT, tmp_path, ARCH)
