"""Runs inside a real Blender window (see run): tabs drawn on a measured body, one moved along the outline by the mouse, with pictures to look at."""

import bpy
import numpy as np
import window as w
from grips import grip
from mouse import look_as_asked


def body():  # noqa: ANN201
    """The body, looked up anew, since an undo replaces it."""
    return bpy.context.view_layer.objects.active


def steps():  # noqa: ANN201
    look_as_asked()
    yield from w.view_top()
    yield from w.frame(body())
    yield from w.show_sidebar("Body Finishing")
    settings = body().finishing
    settings.tabs, settings.tab_count, settings.cell_mm = "given", 6, 1.0
    with w.override():
        assert bpy.ops.finishing.survey() == {"FINISHED"}
    yield 20.0
    with w.override():
        assert bpy.ops.finishing.move_in_view() == {"FINISHED"}
    yield 0.7
    yield from w.shot("tabs-1-top")
    bpy.ops.ed.undo_push(message="before the drag")
    start = np.array(grip("tab 2"))
    yield from w.drag([tuple(start + (k * 8, k * 2)) for k in range(8)])
    yield 0.5
    yield from w.move(*grip("tab 2"))
    yield 0.4
    yield from w.shot("tabs-2-moved")
    assert len(body().finishing.tab_places) == 6
    assert np.hypot(*(np.array(grip("tab 2")) - start)) > 20
    yield from w.key("ctrl+z")
    yield 0.7
    assert len(body().finishing.tab_places) == 0, "undo left the drag"
    yield from w.view_persp()
    yield 0.7
    yield from w.shot("tabs-3-perspective")


w.run(steps())
