"""Runs inside a real Blender window (see run): the carved bass with default settings, in the pictures that the README shows."""

import bpy
import window as w


def steps():  # noqa: ANN201
    yield from w.view_top()
    body = bpy.context.view_layer.objects.active
    view = bpy.context.window_manager.finishing_view
    yield from w.frame(body)
    # A little to the right, so that the legend finds a corner at the left that is free.
    shown = w.area("VIEW_3D").spaces.active.region_3d
    shown.view_location.x -= 0.12 * body.dimensions.x
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
    view.surface_map, view.show_lines = "cusp", False
    yield from w.shot("4-cusp-map")
    view.show_lines = True
    shown.view_location.x += 0.12 * body.dimensions.x
    yield from w.view_persp()
    view.surface_map, view.show_cutter, view.played_share = "none", True, 0.4
    yield from w.shot("5-run")


w.run(steps())
