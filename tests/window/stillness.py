"""Runs inside a real Blender window (see run): how long the window stands still during a whole job on a body of 200 000 triangles from an STL file.

Measure, plan both sides, export, all maps, playback, dials, a stroke of the Skip tool with undo; what is printed is told apart into the extension's
own Python and the rest, which is Blender and, where there is no graphics card, a processor that draws in its place.
"""

import importlib
import time
from pathlib import Path

import bpy
import mouse
import numpy as np
import window as w
from first_job_body import write_body
from main_thread import MainThread
from waiting import WAIT

LONGEST = 0.1
"""Seconds that the window may stand still."""

ROUND, ACROSS = 321, 161
"""Points of the body's grid: 2 * 320 * 160 quads of two triangles."""


def package() -> str:
    """Name of the extension as this Blender has installed it."""
    return next(name for name in bpy.context.preferences.addons.keys() if name.endswith("curved_body_finishing"))  # noqa: SIM118


def results():  # noqa: ANN201
    """What the extension keeps for the active body."""
    return importlib.import_module(f"{package()}.scene.results").STORE.find(bpy.context.view_layer.objects.active)


def running() -> bool:
    return importlib.import_module(f"{package()}.scene.background").WORK.running


def body():  # noqa: ANN201
    return bpy.context.view_layer.objects.active


def until_done():  # noqa: ANN201
    """Let Blender run until no work is under way."""
    end = time.monotonic() + WAIT * 300
    yield 0.3
    while running():
        assert time.monotonic() < end, "the work does not come to its end"
        yield 0.05
    yield 1.0


class Told:
    """Every measurement of the run."""

    def __init__(self) -> None:
        self.own: dict[str, float] = {}

    def note(self, what: str, watch: MainThread) -> None:
        watch.stop()
        print(watch.told(what))
        self.own[what] = max(gap.ours - gap.drawing for gap in watch.gaps)


def steps():  # noqa: ANN201
    mouse.look_as_asked()
    watch, told = MainThread(), Told()
    yield from w.show_sidebar("Body Finishing")
    file = Path("/out/fine_body.stl")
    write_body(file, ROUND, ACROSS)
    began = time.perf_counter()
    with w.override():
        bpy.ops.wm.stl_import(filepath=str(file))
    print(f"Blender's own import of the STL file, in one piece: {time.perf_counter() - began:.3f} s")
    file.unlink()
    yield 1.0
    print(f"triangles: {len(body().data.polygons)}")

    def measured(what: str, action, operator: bool = True):  # noqa: ANN001, ANN202
        watch.start()
        if operator:
            with w.override():
                action("INVOKE_DEFAULT")
        else:
            action()
        yield from until_done()
        told.note(what, watch)

    watch.start()
    yield 2.0
    told.note("nothing to do", watch)
    watch.start()
    for _ in range(20):
        for area in bpy.context.window_manager.windows[0].screen.areas:
            area.tag_redraw()
        yield 0.05
    told.note("full redraws with nothing to do", watch)
    yield from measured("Treat as Millimetres", lambda how: bpy.ops.finishing.treat_as(how, unit="mm"))
    yield from measured("Measure Body", bpy.ops.finishing.survey)
    yield from w.shot("stillness-1-measured")
    yield from measured("Plan Both Sides", bpy.ops.finishing.plan_both)
    assert len({plan.request.side for plan in results().job()}) == 2
    yield from w.shot("stillness-2-planned")
    yield from measured("Export", bpy.ops.finishing.export)
    assert body().finishing_files.written
    view = bpy.context.window_manager.finishing_view
    for name in ("slope", "curvature", "fit", "uncut", "cusp", "none"):
        yield from measured(f"map '{name}'", lambda name=name: setattr(view, "surface_map", name), operator=False)
    for name in ("line", "bite", "feed"):
        if name in [item.identifier for item in view.bl_rna.properties["lines_by"].enum_items]:
            yield from measured(f"lines by '{name}'", lambda name=name: setattr(view, "lines_by", name), operator=False)
    yield from measured("the lines at the contact", lambda: setattr(view, "lines_at", "contact"), operator=False)
    yield from measured("the back", lambda: setattr(body().finishing, "side", "back"), operator=False)
    yield from measured("the top", lambda: setattr(body().finishing, "side", "top"), operator=False)
    yield from playback_steps(watch, told)
    yield from dial_steps(watch, told)
    yield from skip_steps(watch, told)
    worst = max(told.own, key=told.own.get)
    print(f"most of the extension's own Python between two ticks of the whole job, calls that draw left out: {told.own[worst]:.3f} s, at: {worst}")
    for what, seconds in told.own.items():
        if seconds > LONGEST:
            print(f"above {LONGEST} s: {what}, {seconds:.3f} s")


def whole(piece) -> float:  # noqa: ANN001
    return piece.of_thread


def without_drawing(piece) -> float:  # noqa: ANN001
    return piece.of_thread - piece.drawing


def playback_steps(watch: MainThread, told: Told):  # noqa: ANN201
    """The run is played: pictures a second, and the Python of one picture."""
    view = bpy.context.window_manager.finishing_view
    watch.start()
    with w.override():
        bpy.ops.finishing.play("INVOKE_DEFAULT")
    view.play_speed = 20.0
    yield 8.0
    assert view.playing and view.playhead > 10, "the run does not play"
    told.note("playback", watch)
    drawn = [[piece for piece in watch.pieces if name in piece.name] for name in ("drawing.py:_in_space", "drawing.py:_in_pixels")]
    usual, python = (sum(1000 * float(np.median([taken(piece) for piece in pieces])) for pieces in drawn) for taken in (whole, without_drawing))
    print(f"playback: {len(drawn[0])} pictures in 8 s, {usual:.2f} ms of the extension's processor time for a usual one")
    print(f"of which {python:.2f} ms are Python without the calls that draw")
    print(f"that is {python / (1000 / 30):.1%} of the time that a picture has at 30 a second")
    yield from w.shot("stillness-3-played", settle=0)
    yield from w.move(*w.center(w.rect(w.region())))
    yield from w.key("Escape")
    yield 0.5
    view.show_cutter = False


def dial_steps(watch: MainThread, told: Told):  # noqa: ANN201
    """Cusp height, feed, budget and cutter are turned while chart and card show what they would give."""
    view, settings = bpy.context.window_manager.finishing_view, body().finishing
    view.show_trade_off = True
    yield 1.0
    watch.start()
    for share in np.linspace(0, 1, 20):
        settings.cusp_mm = 0.02 + 0.1 * share
        yield 0.05
    settings.use_feed = True
    for share in np.linspace(0, 1, 10):
        settings.feed = 2000 + 2000 * share
        yield 0.05
    settings.use_budget = True
    for share in np.linspace(0, 1, 10):
        settings.budget_minutes = 10 + 20 * share
        yield 0.05
    yield 1.0
    told.note("dials", watch)
    yield from w.shot("stillness-4-dials")
    view.show_trade_off = settings.use_feed = settings.use_budget = False


def skip_steps(watch: MainThread, told: Told):  # noqa: ANN201
    """A stroke of the Skip tool, undone by a key. Undo itself is Blender's."""
    with w.override():
        assert bpy.ops.finishing.paint_skip() == {"FINISHED"}
    bpy.ops.ed.undo_push(message="before the stroke")
    yield 0.5
    watch.start()
    middle = np.array(w.center(w.rect(w.region())))
    yield from w.drag([tuple(middle + (x, 20)) for x in range(-90, 91, 15)])
    yield 1.5
    told.note("a stroke of the Skip tool", watch)
    yield from w.shot("stillness-5-skip")
    watch.start()
    yield from w.key("ctrl+z")
    yield 2.0
    told.note("undo of the stroke", watch)
    yield from w.key("Return")
    began = time.perf_counter()
    with w.override():
        bpy.ops.wm.save_as_mainfile(filepath="/tmp/fine_body.blend", copy=True)
    print(f"Blender's own saving of the file, in one piece: {time.perf_counter() - began:.3f} s")


w.run(steps())
