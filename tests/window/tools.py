"""Runs inside a real Blender window (see run): the Skip tool by mouse and keys, in every mode that has it, with pictures to look at."""

import importlib
import subprocess

import bpy
import numpy as np
import window as w
from mouse import look_as_asked


def module() -> str:
    """Name of the extension's package as this Blender has installed it."""
    return next(name for name in bpy.context.preferences.addons.keys() if name.endswith("curved_body_finishing"))  # noqa: SIM118


def body():  # noqa: ANN201
    """The body, looked up anew, since an undo replaces it."""
    return bpy.context.view_layer.objects.active


def marked() -> int:
    """How many faces are marked."""
    attribute = body().data.attributes.get("finish_skip")
    if attribute is None:
        return 0
    found = np.zeros(len(body().data.polygons), bool)
    attribute.data.foreach_get("value", found)
    return int(found.sum())


def tool() -> str:
    return bpy.context.workspace.tools.from_space_view3d_mode(bpy.context.mode, create=False).idname


def stroke(name: str, offset: int):  # noqa: ANN201
    """Drag over the body, below its middle by some pixels."""
    middle = np.array(w.center(w.rect(w.region())))
    yield from w.drag([tuple(middle + (x, offset)) for x in range(-90, 91, 15)])
    yield 0.5
    yield from w.shot(name)


def steps():  # noqa: ANN201
    look_as_asked()
    yield from w.view_top()
    yield from w.frame(body())
    yield from w.show_sidebar("Body Finishing")
    before = tool()
    with w.override():
        assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
    yield 0.3
    assert tool() == "finishing.skip_tool", tool()
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.shot("skip-1-cursor")
    bpy.ops.ed.undo_push(message="before the stroke")
    yield from stroke("skip-2-object-mode", -60)
    first = marked()
    assert first > 100, first
    yield from w.key("ctrl+z")
    yield 0.6
    assert marked() == 0
    yield from w.key("ctrl+shift+z")
    yield 0.6
    assert marked() == first
    # Ctrl takes back
    subprocess.run(["xdotool", "keydown", "ctrl"], check=True)
    middle = np.array(w.center(w.rect(w.region())))
    yield from w.drag([tuple(middle + (x, -60)) for x in range(-30, 31, 10)])
    subprocess.run(["xdotool", "keyup", "ctrl"], check=True)
    yield 0.5
    assert 0 < marked() < first, (marked(), first)
    yield from w.shot("skip-3-taken-back")
    second = marked()
    # Enter ends, back to the tool before
    yield from w.key("Return")
    yield 0.3
    assert tool() == before, (tool(), before)
    for mode, name in (("EDIT", "edit-mode"), ("WEIGHT_PAINT", "weight-paint")):
        bpy.ops.object.mode_set(mode=mode)
        yield 1.0
        with w.override():
            assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
        yield 0.3
        yield from stroke(f"skip-4-{name}", 10 if mode == "EDIT" else 70)
        with w.override():
            assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
        bpy.ops.object.mode_set(mode="OBJECT")
        yield 0.5
        assert marked() > second, (mode, marked(), second)
        second = marked()
    yield from w.view_persp()
    yield 0.5
    yield from w.shot("skip-5-before-planning")
    body().finishing.lines_from, body().finishing.cell_mm = "edge", 1.0
    with w.override():
        assert bpy.ops.finishing.plan() == {"FINISHED"}
    yield 0.5
    yield from w.shot("skip-6-planned")
    with w.override():
        bpy.ops.finishing.paint_skip()
    yield from w.view_top()
    yield from stroke("skip-7-out-of-date", -100)
    yield 1.0
    yield from w.shot("skip-8-out-of-date")
    results = importlib.import_module(f"{module()}.scene.results").STORE.find(body())
    assert results.state(bpy.context.scene, body()) == "shape"


w.run(steps())
