"""Runs inside a real Blender window (see run): some of the user's work, checked step by step.

By the mouse and the keyboard: Plan, a stroke to skip, Plan again, ESC. By operators: another cutter, its plan, the export. Not checked here:
undo, the export against the command line, a deleted body with the overlay on, the colours of the maps (look at the pictures). The longest
time the window stood still while it planned is printed, not judged.
"""

import importlib
import time
from pathlib import Path

import bpy
import numpy as np
import window as w


def module() -> str:
    """Name of the extension's package as this Blender has installed it."""
    return next(name for name in bpy.context.preferences.addons.keys() if name.endswith("curved_body_finishing"))  # noqa: SIM118


def results():  # noqa: ANN201
    """What the extension keeps for the body, None when there is nothing."""
    return importlib.import_module(f"{module()}.scene.results").STORE.find(body())


def body():  # noqa: ANN201
    """The body, looked up anew, since an undo replaces it."""
    return bpy.context.view_layer.objects.active


def plan():  # noqa: ANN201
    found = results()
    return None if found is None else found.plan


class Ticks:
    """Longest time between two ticks of Blender's own timer while it is on."""

    def __init__(self) -> None:
        self.last, self.longest, self.on = time.perf_counter(), 0.0, True
        bpy.app.timers.register(self.tick, first_interval=0.0)

    def tick(self) -> float | None:
        now = time.perf_counter()
        self.longest, self.last = max(self.longest, now - self.last), now
        return 0.01 if self.on else None


def wait_for(what, seconds: float = 90.0):  # noqa: ANN001, ANN201
    """Let Blender run until something is so."""
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "waited in vain"
        yield 0.1


def press(operator: str):  # noqa: ANN201
    x, y = yield from w.find_button(operator)
    yield from w.click(x, y)


def steps():  # noqa: ANN201
    yield from w.view_top()
    yield from w.frame(body())
    yield from w.show_sidebar("Body Finishing")
    body().finishing.start = "edge"
    body().finishing.cell_mm = 0.5
    yield from w.shot("1-before")

    # Plan, by a click
    ticks = Ticks()
    yield from press("finishing.plan")
    yield from wait_for(lambda: plan() is not None)
    ticks.on = False
    print(f"longest stand-still while planning: {ticks.longest:.3f} s")
    first = plan()
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.shot("2-planned")

    # A stroke of the weight paint brush on the skip group, by the mouse
    with w.override():
        assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
    yield from w.enter_weight_paint(body())  # waits until Blender has its brush
    bpy.ops.ed.undo_push(message="before the stroke")
    yield 1.0
    brush = bpy.context.tool_settings.weight_paint.brush
    unified = getattr(bpy.context.tool_settings.weight_paint, "unified_paint_settings", None) or bpy.context.tool_settings.unified_paint_settings
    unified.size, unified.weight, brush.strength = 40, 1.0, 1.0
    middle = np.array(w.center(w.rect(w.region())))
    yield from w.drag([tuple(middle + offset) for offset in ((-60, -50), (0, -50), (60, -50))])
    yield from w.shot("3-painted")

    def painted() -> int:
        group = body().vertex_groups["Finish Skip"].index
        return sum(any(g.group == group and g.weight > 0.5 for g in v.groups) for v in body().data.vertices)

    count = painted()
    assert count > 50, "the stroke marked nothing"
    assert results() is not None
    bpy.ops.object.mode_set(mode="OBJECT")
    yield from wait_for(lambda: results().state(bpy.context.scene, body()) == "shape", 10)
    yield from w.shot("4-out-of-date")
    yield from press("finishing.plan")
    yield from wait_for(lambda: plan() is not first)
    second = plan()
    assert second.ground.skipped_area > 100 and second.path.length_of(0) < first.path.length_of(0)
    yield from w.shot("5-skipped")

    # ESC stops a plan, and nothing is left of it
    body().finishing.cell_mm = 0.2
    yield 0.5
    yield from press("finishing.plan")
    yield 1.5
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.key("Escape")
    yield 2.0
    assert plan() is second, "the stopped plan has left something"
    yield from w.shot("6-stopped")

    # Another cutter, planned and written; the maps to look at
    body().finishing.cell_mm = 0.5
    with w.override():
        bpy.ops.finishing.rack(change="fill")
    body().finishing.cutter_name = "Round-nose 12"
    with w.override():
        assert bpy.ops.finishing.plan() == {"FINISHED"}
        assert bpy.ops.finishing.export(directory="/out/files", pictures=False, replace=True) == {"FINISHED"}
    assert plan().cutter.diameter == 12 and len(list(Path("/out/files").glob("*round-nose-12.csv"))) == 1
    view = bpy.context.window_manager.finishing_view
    yield from w.view_persp()
    for name in ("slope", "curvature", "uncut", "cusp"):
        view.surface_map = name
        yield from w.shot(f"7-{name}")

    # Quad view, local view and a second window with the overlay on, then the add-on off and on, then no body: no error
    with w.override():
        bpy.ops.screen.region_quadview()
    yield from w.shot("8-quad")
    with w.override():
        bpy.ops.screen.region_quadview()
        bpy.ops.view3d.localview()
    yield 0.5
    with w.override():
        bpy.ops.view3d.localview()
        bpy.ops.wm.window_new()
    yield 1.0
    import addon_utils

    name = module()
    for _ in range(2):
        addon_utils.disable(name)
        yield 0.5
        addon_utils.enable(name)
        yield 0.5
    bpy.data.objects.remove(body())
    yield 1.0
    yield from w.shot("9-deleted")


w.run(steps())
