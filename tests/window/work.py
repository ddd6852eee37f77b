"""Runs inside a real Blender window (see run): the user's work, checked step by step.

By the mouse and the keyboard: Plan, a stroke to skip, Plan again, undo, ESC, Plan for another cutter, Play and ESC. By operators or
properties: the choice of maps and cutter, the export (its file dialog is Blender's own). The colours of the maps are read off the
screen; the export is compared byte for byte with that of the command line. The longest time the window stood still while it planned is
printed, not judged: it depends on the machine.
"""

import importlib
import json
import subprocess
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
    """Click the button of an operator, scrolled into sight by the wheel where need be."""
    for _ in range(12):
        try:
            x, y = yield from w.find_button(operator)
        except Exception:  # the driver says in its own words that the button is not in sight
            yield from w.click(*w.center(w.rect(w.region("UI"))), button=5)
            yield from w.click(*w.center(w.rect(w.region("UI"))), button=5)
            continue
        yield from w.click(x, y)
        return
    raise AssertionError(f"no button of {operator} in the sidebar")


def screen_of_view(name: str):  # noqa: ANN201
    """Take a picture and give the 3D view's part of it, (rows, columns, 3), top row first."""
    path = yield from w.shot(name)
    image = bpy.data.images.load(str(path or f"/out/{name}.png"))
    width, height = image.size
    pixels = np.empty(width * height * 4, np.float32)
    image.pixels.foreach_get(pixels)
    bpy.data.images.remove(image)
    left, top, right, bottom = (int(v) for v in w.rect(w.region()))
    return pixels.reshape(height, width, 4)[::-1, :, :3][top:bottom, left:right]


def share_changed(one: np.ndarray, other: np.ndarray) -> float:
    """Share of the pixels that two pictures of the view do not have in common."""
    return float((np.abs(one - other).max(axis=2) > 0.04).mean())


def steps():  # noqa: ANN201
    yield from w.view_top()
    yield from w.frame(body())
    yield from w.show_sidebar("Body Finishing")
    body().finishing.lines_from = "edge"
    body().finishing.cell_mm = 0.5
    yield from w.shot("1-before")

    # What a redraw of the whole window takes here, with nothing to do: the stand-still while planning is to be seen beside it
    ticks = Ticks()
    for _ in range(20):
        for area in bpy.context.window_manager.windows[0].screen.areas:
            area.tag_redraw()
        yield 0.05
    ticks.on = False
    print(f"longest stand-still of a full redraw with nothing to do: {ticks.longest:.3f} s")

    # Plan, by a click
    ticks = Ticks()
    yield from press("finishing.plan")
    yield from wait_for(lambda: plan() is not None)
    ticks.on = False
    print(f"longest stand-still while planning: {ticks.longest:.3f} s")
    first = plan()
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.shot("2-planned")

    # Every map changes the picture over the body, and no two look alike
    view = bpy.context.window_manager.finishing_view
    with w.override():
        assert bpy.ops.finishing.show_fit("EXEC_DEFAULT", cutter="Round-nose 22") == {"FINISHED"}
    view.show_lines = view.show_links = view.show_lifts = view.show_readout = False
    pictures = {}
    for name in ("none", "slope", "curvature", "fit", "uncut", "cusp"):
        view.surface_map = name
        yield 0.5
        pictures[name] = yield from screen_of_view(f"map-{name}")
    shares = {name: share_changed(pictures[name], pictures["none"]) for name in pictures if name != "none"}
    print("share of the view that each map changes:", {name: round(share, 3) for name, share in shares.items()})
    assert all(share > 0.08 for share in shares.values()), shares
    assert share_changed(pictures["slope"], pictures["curvature"]) > 0.05
    view.surface_map = "none"
    view.show_lines = view.show_links = view.show_lifts = view.show_readout = True

    # A stroke of the Skip tool, by the mouse
    with w.override():
        assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
    bpy.ops.ed.undo_push(message="before the stroke")
    yield 1.0
    middle = np.array(w.center(w.rect(w.region())))
    yield from w.drag([tuple(middle + offset) for offset in ((-60, -50), (0, -50), (60, -50))])
    yield 0.5
    yield from w.shot("3-painted")

    def painted() -> int:
        attribute = body().data.attributes.get("finish_skip")
        return 0 if attribute is None else sum(mark.value for mark in attribute.data)

    assert painted() > 50, "the stroke marked nothing"
    assert results() is not None
    # Undo, by the keyboard: the stroke is gone and the plan holds again; redo brings it back.
    yield from w.move(*middle)
    yield from w.key("ctrl+z")
    yield 1.0
    assert painted() == 0, "undo left the stroke"
    yield from wait_for(lambda: results().state(bpy.context.scene, body()) == "current", 15)
    yield from w.key("ctrl+shift+z")
    yield 1.0
    assert painted() > 50, "redo did not bring the stroke back"
    yield from w.key("Return")  # ends the tool
    yield from wait_for(lambda: results().state(bpy.context.scene, body()) == "shape", 15)
    yield from w.shot("4-out-of-date")
    yield from press("finishing.plan")
    yield from wait_for(lambda: plan() is not first)
    second = plan()
    assert second.ground.skipped_area > 100 and second.path.length_of(0) < first.path.length_of(0)
    yield from w.shot("5-skipped")

    # ESC stops a plan, and nothing is left of it
    work = importlib.import_module(f"{module()}.actions.planning").WORK
    body().finishing.cell_mm = 0.2
    yield 0.5
    yield from press("finishing.plan")
    yield 1.0
    assert work.running, "the plan was over before ESC could stop it"
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.key("Escape")
    yield from wait_for(lambda: not work.running, 2)
    yield 1.0
    assert plan() is second, "the stopped plan has left something"
    yield from w.shot("6-stopped")

    # Another cutter, planned by a click, and written: byte for byte what the command line writes
    body().finishing.cell_mm = 0.5
    with w.override():
        bpy.ops.finishing.rack(change="fill")
        bpy.ops.finishing.clear_skip()
    body().finishing.cutter_name = "Round-nose 12"
    yield from press("finishing.plan")
    yield from wait_for(lambda: plan() is not second)
    with w.override():
        assert bpy.ops.finishing.export(directory="/out/files", pictures=False, replace=True) == {"FINISHED"}
    mine = next(Path("/out/files").glob("*round-nose-12.csv"))
    settings = Path("/out/files/settings.json")
    settings.write_text(json.dumps({"settings": {"cell": 0.5, "lines_from": "edge"}}))
    words = ["plan", bpy.data.filepath, "--cutter", "12", "--settings", str(settings), "--out", "/out/command"]
    script = (
        f"import addon_utils, importlib, sys; addon_utils.enable({module()!r}); "
        f"sys.exit(importlib.import_module({module() + '.command'!r}).run({words!r}))"
    )
    command = [bpy.app.binary_path, "--background", "--python-expr", script]
    done = subprocess.run(command, capture_output=True, text=True, timeout=200, check=False)
    assert done.returncode in (0, 3), done.stdout[-2000:] + done.stderr[-2000:]
    assert next(Path("/out/command").glob("*round-nose-12.csv")).read_bytes() == mine.read_bytes(), "screen and command line differ"

    # The run is played, and ESC stops it
    yield from w.view_persp()
    with w.override():
        bpy.ops.finishing.play("INVOKE_DEFAULT")
    view.play_speed = 200.0
    yield 2.0
    assert view.playing and view.playhead > 10, "the run does not play"
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.key("Escape")
    yield 0.5
    assert not view.playing
    yield from w.shot("7-played")
    view.show_cutter = False

    # Quad view, local view and a second window with the overlay on
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
    with bpy.context.temp_override(window=bpy.context.window_manager.windows[-1]):
        bpy.ops.wm.window_close()
    yield 0.5

    # The body is deleted with the overlay on; undone by the keyboard; the file is loaded again; the add-on is off and on; it plans again
    assert results().plan is not None
    bpy.ops.ed.undo_push(message="before the deletion")
    bpy.data.objects.remove(body())
    yield 1.0
    yield from w.shot("9-deleted")
    bpy.ops.wm.open_mainfile(filepath=bpy.data.filepath)
    yield 1.0
    assert results() is None, "results outlive their file"
    yield from w.shot("10-loaded")
    import addon_utils

    name = module()
    for _ in range(2):
        addon_utils.disable(name)
        yield 0.5
        addon_utils.enable(name)
        yield 0.5
    body().finishing.lines_from, body().finishing.cell_mm = "edge", 0.5
    with w.override():
        assert bpy.ops.finishing.plan("EXEC_DEFAULT") == {"FINISHED"}
    yield 1.0
    assert plan() is not None
    yield from w.shot("11-again")


w.run(steps())
