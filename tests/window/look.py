"""Runs inside a real Blender window (see run): plans the carved bass, shows lines and maps, and takes pictures to look at."""

import bpy
import window as w


def steps():  # noqa: ANN201
    yield from w.view_top()
    body = bpy.context.view_layer.objects.active
    yield from w.frame(body)
    yield from w.show_sidebar("Body Finishing")
    yield from w.shot("before")
    body.finishing.start = "edge"
    body.finishing.cell_mm = 0.5
    assert not bpy.ops.finishing.export.poll()
    with w.override():
        assert bpy.ops.finishing.plan() == {"FINISHED"}
    yield 1.0
    yield from w.shot("planned")
    view = bpy.context.window_manager.finishing_view
    yield from w.view_persp()
    for name in ("slope", "curvature", "uncut", "cusp"):
        view.surface_map = name
        yield from w.shot(name)


w.run(steps())
