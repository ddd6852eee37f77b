"""Runs inside a real Blender window (see run): the carved bass with default settings, in the pictures that the README shows."""

import bpy
import window as w


def steps():  # noqa: ANN201
    yield from w.view_top()
    body = bpy.context.view_layer.objects.active
    view = bpy.context.window_manager.finishing_view
    yield from w.frame(body)
    yield from w.show_sidebar("Body Finishing")
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("1-body")
    with w.override():
        assert bpy.ops.finishing.survey() == {"FINISHED"}
    view.surface_map = "fit"
    yield 1.0
    yield from w.shot("2-measured")
    view.surface_map = "none"
    with w.override():
        assert bpy.ops.finishing.plan() == {"FINISHED"}
    yield 1.0
    yield from w.shot("3-planned")
    view.surface_map = "cusp"
    yield from w.shot("4-cusp-map")
    yield from w.view_persp()
    view.surface_map, view.show_cutter, view.played_share = "none", True, 0.4
    yield from w.shot("5-run")


w.run(steps())
