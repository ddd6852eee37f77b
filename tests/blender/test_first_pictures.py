"""What is shown while a body is planned for the first time: slope, then the fit of its cutter, then its lines. On real bpy, without a window."""

from __future__ import annotations

from pathlib import Path

from blender_process import ARCH, run_in_blender

SCRIPT = """
    from types import SimpleNamespace
    from addon.actions.planning import FINISHING_OT_plan as action, FINISHING_OT_plan_both as both_action
    from addon.finishing.core.stepping import finished as whole
    from addon.overlay.layers import BodyLayers
    from addon.scene.results import STORE

    settings.cell_mm, settings.cutter_name, settings.cusp_mm, settings.lines_from = 1.0, "Round-nose 12", 0.1, "edge"

    def begin(kind):
        # The action as Blender would run it, but that every step of the work is followed by a tick of its timer.
        self = SimpleNamespace(maps_first=True, _lent_map="", report=lambda *_: None)
        for name in ("_prepared", "work", "while_working", "_lend", "taken_down", "given_up", "keep", "accept", "summary", "body_is_gone"):
            setattr(self, name, getattr(kind, name).__get__(self))
        make_steps, self._results, key = self._prepared(bpy.context)
        return self, make_steps(), key

    def shown(steps, self):
        pictures, result = [], None
        while True:
            try:
                next(steps)
            except StopIteration as end:
                result = end.value
                break
            self.while_working(bpy.context)
            results = STORE.find(body)
            now = (view.surface_map, results.preview_lines is not None)
            if not pictures or pictures[-1] != now:
                pictures.append(now)
                layers = BodyLayers()
                assert (layers.shown_map(results, view) is not None) == (view.surface_map != "none" and results.newest is not None)
        return pictures, result

    for kind in (action, both_action):
        STORE.clear()
        self, steps, key = begin(kind)
        pictures, result = shown(steps, self)
        assert pictures == [("none", False), ("slope", False), ("fit", False), ("none", True)], (kind, pictures)
        results = STORE.find(body)
        lines = results.preview_lines
        self.taken_down(bpy.context)
        kind.keep(self, result, results, key)
        assert results.preview is None and results.preview_lines is None and results.plan is not None and view.surface_map == "none"
        assert results.cache.newest("path") is None
        # What was shown last were lines of the plan of the side that is looked at, though the other side was planned after it.
        assert np.array_equal(lines.points[lines.kind == 0][:, :2], results.plan.path.points[results.plan.path.kind == 0][:, :2])

    # A map that the user has chosen stays; a plan that is there is kept instead of pictures of the next.
    STORE.clear()
    view.surface_map = "curvature"
    self, steps, key = begin(action)
    pictures, result = shown(steps, self)
    assert {name for name, _ in pictures[1:]} == {"curvature"} and pictures[-1][1], pictures
    results = STORE.find(body)
    self.given_up()
    self.taken_down(bpy.context)
    assert results.preview is None and results.preview_lines is None and results.newest is None and view.surface_map == "curvature"
    view.surface_map = "none"
    assert bpy.ops.finishing.plan() == finished
    settings.cusp_mm = 0.07
    self, steps, key = begin(action)
    pictures, result = shown(steps, self)
    assert pictures == [("none", False)], pictures
    addon.unregister()
"""


def test_maps_fit_and_lines_are_shown_as_they_come(tmp_path: Path) -> None:
    run_in_blender(SCRIPT, tmp_path, ARCH)
