"""Runs inside a real Blender window (see run): the Skip tool by mouse and keys, in every mode that has it, with pictures to look at."""

import importlib
import subprocess
import sys
import time

import bpy
import numpy as np
import window as w
from grips import grip, module
from mouse import look_as_asked


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


def hatched() -> int:
    """How many triangles are hatched in the view."""
    return len(importlib.import_module(f"{module()}.scene.shown_marks").SHOWN_MARKS.known[body().session_uid].triangles)


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
    if "scale2" in sys.argv or bpy.context.window_manager.windows[0].width < 1500:  # the sidebar would lie over handles and body
        w.area().spaces.active.show_region_ui = False
        yield 0.5
    yield from unmeasured_steps()
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
        if mode == "EDIT":
            bpy.ops.mesh.select_all(action="DESELECT")
        yield 1.0
        with w.override():
            assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
        yield 0.3
        bpy.ops.ed.undo_push(message="before the stroke")
        before_stroke = hatched()
        yield from stroke(f"skip-4-{name}", 10 if mode == "EDIT" else 70)
        painted = hatched()
        assert painted > before_stroke, (mode, painted, before_stroke)
        for key, wanted in (("ctrl+z", before_stroke), ("ctrl+shift+z", painted)):
            yield from w.key(key)
            for _ in range(40):  # a busy machine takes its time
                if hatched() == wanted:
                    break
                yield 0.5
            assert hatched() == wanted and body().mode == mode, (mode, key, hatched(), wanted)
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
    yield from setup_steps()


def unmeasured_steps():  # noqa: ANN201
    """Handles stand on a body of which nothing is known yet, and set what they are dragged to."""
    results = importlib.import_module(f"{module()}.scene.results").STORE.find(body())
    assert results is None or results.newest is None
    with w.override():
        assert bpy.ops.finishing.move_in_view() == {"FINISHED"}
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield 0.5
    yield from w.shot("setup-0-not-measured")
    bpy.ops.ed.undo_push(message="before the drag")
    start = np.array(grip("length"))
    yield from w.drag([tuple(start + (k * 6, 0)) for k in range(8)])
    yield 0.5
    assert body().finishing.use_stock_length and body().finishing.stock_length_mm > 300, body().finishing.stock_length_mm
    yield from w.key("ctrl+z")
    yield 0.7
    assert not body().finishing.use_stock_length, "undo left the drag"
    with w.override():
        assert bpy.ops.finishing.move_in_view() == {"FINISHED"}
    yield 0.3


def setup_steps():  # noqa: ANN201
    """Stock, zero, grain, dowels and a keep-out box are moved by the mouse; a drag is undone by a key, one is typed, one is stopped by ESC."""
    settings = body().finishing
    settings.dowel_count, settings.use_grain = "2", True
    with w.override():
        bpy.ops.finishing.list(rows="keep_out", change="add")
        body().finishing.keep_out[0].low, body().finishing.keep_out[0].high = (2, 100, 0), (42, 130, 60)
        assert bpy.ops.finishing.move_in_view() == {"FINISHED"}
    yield 0.5
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("setup-1-top")
    yield from w.view_persp()
    yield 0.7
    yield from w.shot("setup-2-handles")
    bpy.ops.ed.undo_push(message="before the drags")
    before = body().finishing.stock_length_mm, body().finishing.use_stock_length
    start = np.array(grip("length"))
    yield from w.drag([tuple(start + (k * 6, k * 2)) for k in range(8)])
    yield 0.5
    yield from w.move(*grip("length"))
    yield 0.3
    yield from w.shot("setup-3-longer")
    assert body().finishing.use_stock_length and body().finishing.stock_length_mm != before[0], body().finishing.stock_length_mm
    yield from w.key("ctrl+z")
    yield 0.7
    assert (body().finishing.stock_length_mm, body().finishing.use_stock_length) == before, "undo left the drag"
    # typed while the mouse is held
    x, y = grip("length")
    yield from w.move(x, y)
    yield 0.3
    subprocess.run(["xdotool", "mousedown", "1"], check=True)
    yield 0.3
    for key in ("5", "2", "0"):
        yield from w.key(key)
    yield 0.3
    yield from w.shot("setup-4-typed")
    subprocess.run(["xdotool", "mouseup", "1"], check=True)
    yield 0.5
    assert abs(body().finishing.stock_length_mm - 520) < 1e-3, body().finishing.stock_length_mm
    # ESC puts back
    start = np.array(grip("grain"))
    yield from w.move(*start)
    yield 0.3
    subprocess.run(["xdotool", "mousedown", "1"], check=True)
    yield 0.2
    yield from w.move(*(start + (30, 60)))
    yield 0.4
    yield from w.shot("setup-5-grain")
    turned = body().finishing.grain_angle
    yield from w.key("Escape")
    subprocess.run(["xdotool", "mouseup", "1"], check=True)
    yield 0.5
    assert abs(turned) > 0.01 and abs(body().finishing.grain_angle) < 1e-6, (turned, body().finishing.grain_angle)
    yield from w.view_top()
    yield 0.5
    for name in ("zero", "dowel 0", "box 0 place"):
        yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
        yield 0.5
        start = np.array(grip(name))
        yield from w.move(*start)
        yield 0.5
        aim = np.array(w.center(w.rect(w.region()))) if name == "zero" else start + (40, -50)
        yield from w.drag([tuple(start + (aim - start) * share) for share in np.linspace(0, 1, 8)])
        yield 0.4
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("setup-6-moved")
    assert body().finishing.xy_zero == "centre" and len(body().finishing.dowel_places) == 2 and body().finishing.keep_out[0].low[0] > 2.5
    with w.override():
        assert bpy.ops.finishing.move_in_view() == {"FINISHED"}
    yield from pin_steps()


def pin_steps():  # noqa: ANN201
    """A pin is clicked to read its finding, the pie chooses and plays, and the time in Python of every picture of the run is taken."""
    with w.override():
        bpy.ops.finishing.place_dowels()
        body().finishing.keep_out.clear()
        assert bpy.ops.finishing.plan() == {"FINISHED"}
    yield from w.view_top()
    yield 0.7
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield 0.3
    pins = importlib.import_module(f"{module()}.overlay.setup_places").PINS
    boxes = importlib.import_module(f"{module()}.overlay.view_boxes").BOXES
    read = importlib.import_module(f"{module()}.actions.reading").FINISHING_OT_read_finding
    left, _, _, bottom = w.rect(w.region())
    key = w.region().as_pointer()
    name, x, y = next(pin for pin in pins.drawn[key] if boxes.under(key, *pin[1:]) is None)
    yield from w.move(left + x, bottom - y)
    yield 0.4
    assert pins.hot == name, (pins.hot, name)
    yield from w.shot("pin-1-hot")
    drawn, draw = [], read.draw

    def noted(self, context) -> None:  # noqa: ANN001
        drawn.append(self.number)
        draw(self, context)

    read.draw = noted
    yield from w.click(left + x, bottom - y)
    yield 0.7
    yield from w.shot("pin-2-read")
    read.draw = draw
    assert set(drawn) == {int(name)}, ("a click on the pin does not open its finding", drawn, name)
    yield from w.key("Escape")
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield 0.5
    yield from pie_steps()


def pie_steps():  # noqa: ANN201
    """The pie switches the lines off and on and plays the run, each by a click in its direction; ESC stops the run."""
    view = bpy.context.window_manager.finishing_view

    def choose(name: str, way: int):  # noqa: ANN202
        middle = np.array(w.center(w.rect(w.region()))) - (100, 0)
        yield from w.move(*middle)
        with w.override():
            bpy.ops.finishing.view_pie("INVOKE_DEFAULT")
        yield 0.7
        yield from w.shot(name)
        yield from w.move(*(middle + (way * 60, 0)))
        yield 0.2
        yield from w.click(*(middle + (way * 90, 0)))
        yield 0.5

    assert view.show_lines and not view.playing
    yield from choose("pie-1-open", -1)
    assert not view.show_lines, "the pie's left does not switch the lines off"
    yield from choose("pie-2-without-lines", -1)
    assert view.show_lines
    overlay = importlib.import_module(f"{module()}.overlay.drawing").OVERLAY
    taken, guarded = [], overlay.guarded

    def timed(draw) -> None:  # noqa: ANN001
        began = time.perf_counter()
        guarded(draw)
        taken.append(time.perf_counter() - began)

    overlay.guarded = timed
    yield from choose("pie-3-play", 1)
    assert view.playing and view.show_cutter, "the pie's right does not play"
    first = view.playhead
    yield 6.0
    overlay.guarded = guarded
    assert view.playing and view.playhead > first + 1.0, (first, view.playhead)
    yield from w.shot("play", settle=0)
    yield from w.key("Escape")
    yield 0.3
    stopped = view.playhead
    assert not view.playing
    yield 0.5
    assert view.playhead == stopped, "the run goes on after ESC"
    milliseconds = 1000 * np.array(taken)
    print(f"a picture of a run that is played, both draw functions: {2 * milliseconds.mean():.2f} ms, {2 * milliseconds.max():.2f} at worst")
    print(f"pictures in 6 s, drawn by a processor in place of a graphics card: {len(taken) // 2}")
    assert len(taken) > 0 and not overlay.trouble, overlay.trouble
    view.show_cutter = False
    yield from divider_steps()


def divider_steps():  # noqa: ANN201
    """Two finished surfaces side by side: the divider between them is dragged by its grip, stopped by ESC, and the lamp is turned."""
    view, settings = bpy.context.window_manager.finishing_view, body().finishing
    with w.override():
        assert bpy.ops.finishing.set_left() == {"FINISHED"}
        settings.cusp_mm *= 4
        assert bpy.ops.finishing.plan() == {"FINISHED"} and bpy.ops.finishing.show_finished() == {"FINISHED"}
    view.show_lines = view.show_findings = False
    yield from w.view_top()
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield 0.7
    yield from w.shot("divider-1")
    places = importlib.import_module(f"{module()}.overlay.setup_places").DIVIDER

    def place() -> np.ndarray:
        _, x, y = places.drawn[w.region().as_pointer()][0]
        left, _, _, bottom = w.rect(w.region())
        return np.array([left + x, bottom - y])

    start, before = place(), view.divider
    yield from w.move(*start)
    yield 0.4
    assert places.hot == "divider"
    yield from w.drag([tuple(start + (k * 10, 0)) for k in range(9)])
    yield 0.5
    assert np.abs(place() - start - (80, 0))[0] < 4 and view.divider > before, (place(), start, view.divider)
    yield from w.shot("divider-2-dragged")
    dragged = view.divider
    subprocess.run(["xdotool", "mousedown", "1"], check=True)
    yield 0.3
    yield from w.move(*(start + (-60, 20)))
    yield 0.4
    assert view.divider < dragged
    yield from w.key("Escape")
    subprocess.run(["xdotool", "mouseup", "1"], check=True)
    yield 0.5
    assert abs(view.divider - dragged) < 1e-6, (view.divider, dragged)
    view.light_from = 0.3
    yield 0.5
    yield from w.move(*w.center(w.rect(w.region())))
    w.area().spaces.active.region_3d.view_distance /= 6
    with w.override():
        assert bpy.ops.finishing.show_finished("EXEC_DEFAULT", where="view") == {"FINISHED"}
    yield 0.7
    yield from w.shot("divider-3-where-the-view-looks")


w.run(steps())
