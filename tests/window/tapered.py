"""Runs inside a real Blender window (see run): a tapered cutter is planned and played, its outline on the screen held against the closed form, and
pictures taken of it from the side and in the whole view.
"""

import importlib

import bpy
import numpy as np
import window as w
from grips import module
from mathutils import Vector
from mouse import look_as_asked

HALF_ANGLE, BALL, TOP, STICK_OUT = 6.0, 6.0, 12.0, 55.0
"""Degrees and mm: see steps."""


def body():  # noqa: ANN201
    """The body, looked up anew, since an undo replaces it."""
    return bpy.context.view_layer.objects.active


def plan():  # noqa: ANN201
    """The plan that the extension keeps for the body."""
    return importlib.import_module(f"{module()}.scene.results").STORE.find(body()).plan


def tip() -> Vector:
    """Where the cutter's tip is in the scene, whose unit is a mm."""
    layers = importlib.import_module(f"{module()}.overlay.layers").BodyLayers()
    at = layers.tip(plan(), bpy.context.window_manager.finishing_view.playhead)
    return body().matrix_world @ Vector((np.linalg.inv(plan().job_from_body) @ [*at, 1.0])[:3])


def look_at_tip(axis: str, wide: float):  # noqa: ANN201
    """Turn the view to where the cutter stands. wide: mm of the scene in the view, about."""
    with w.override():
        bpy.ops.view3d.view_axis(type=axis)
    yield 0.5
    region = w.area().spaces.active.region_3d
    region.view_location, region.view_distance = tip() + Vector((0, 0, 25)), wide
    yield 0.5
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield 0.4


def screen_of(name: str) -> np.ndarray:
    """A picture of the screen that was taken, (rows, columns, 3)."""
    image = bpy.data.images.load(f"/out/{name}.png")
    width, height = image.size
    pixels = np.empty(width * height * 4, np.float32)
    image.pixels.foreach_get(pixels)
    bpy.data.images.remove(image)
    return pixels.reshape(height, width, 4)[::-1, :, :3]


def width_at(height: float) -> float:
    """Width of the cutter at a height above its tip, mm: ball, cone, and straight from its top on."""
    a, radius = np.radians(HALF_ANGLE), BALL / 2
    foot = radius * (1 - np.sin(a))
    return min(2 * (radius * np.cos(a) + (height - foot) * np.tan(a)), TOP)


def outline_steps():  # noqa: ANN201
    """From the front, the cutter is as wide at every height as its ball, cone and shank are, and of one even opacity across."""
    view = bpy.context.window_manager.finishing_view
    yield from look_at_tip("FRONT", 160.0)
    yield from w.shot("tapered-front")
    view.show_cutter = False
    yield 0.4
    yield from w.shot("tapered-front-without")
    view.show_cutter = True
    shown, bare = screen_of("tapered-front"), screen_of("tapered-front-without")
    per_mm = abs(w.pixel(tip())[1] - w.pixel(tip() + Vector((0, 0, 50)))[1]) / 50
    x, bottom = w.pixel(tip())
    found = []
    for height in (20.0, 24.0, 28.0, 31.0, 36.0, 44.0, 52.0):
        row = round(bottom - height * per_mm)
        reach = round(9 * per_mm)
        changed = np.abs(shown[row] - bare[row]).max(axis=1)[x - reach : x + reach] > 0.02
        found.append((height, changed.sum() / per_mm, width_at(height)))
        inner = shown[row, x - round(0.4 * width_at(height) * per_mm) : x + round(0.4 * width_at(height) * per_mm)]
        steps_across = np.abs(np.diff(inner, axis=0)).max()
        assert steps_across < 0.05, f"streaks of {steps_across:.3f} across the cutter at {height} mm"
    print("height, width seen, width of the form, mm:", [tuple(round(float(v), 2) for v in row) for row in found], f"{per_mm:.1f} pixels a mm")
    assert all(abs(seen - wanted) < 2.5 / per_mm for _, seen, wanted in found), found


def steps():  # noqa: ANN201
    look_as_asked()
    yield from w.view_top()
    yield from w.frame(body())
    yield from w.show_sidebar("Body Finishing")
    settings, view = body().finishing, bpy.context.window_manager.finishing_view
    racks, cutters = (importlib.import_module(f"{module()}.{name}") for name in ("scene.rack_settings", "finishing.job.cutter"))
    tapered = cutters.Cutter(
        "Tapered 6", BALL, usable_length=40.0, shank_diameter=12.0, stick_out=STICK_OUT, feed=2500.0, half_angle=HALF_ANGLE, top_diameter=TOP
    )
    racks.put_on_rack(bpy.context.scene.finishing, [*cutters.DEFAULT_RACK, tapered])
    settings.lines_from, settings.cell_mm, settings.cutter_name = "edge", 1.0, "Tapered 6"
    with w.override():
        assert bpy.ops.finishing.plan() == {"FINISHED"}
    assert plan().cutter == tapered, plan().cutter
    view.show_cutter = True
    view.playhead = 0.5 * plan().run_time.total_seconds
    yield from outline_steps()
    yield from w.view_persp()
    yield from w.frame(body())
    yield 0.5
    yield from w.shot("tapered-whole")


w.run(steps())
