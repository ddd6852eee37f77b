"""Runs inside a real Blender window (see run): from a default scene and an STL file to programs of both sides, by the mouse, clicks counted.

The file is in millimetres and comes in by Blender's own importer, which takes it for metres: the first trouble that a maker meets.
"""

import importlib
import time
from pathlib import Path

import bpy
import mouse
import window as w
from box_steps import box_steps
from first_job_body import write_body
from guide_picture import guide_picture
from waiting import WAIT

MOST_CLICKS = 8
"""From the imported body to the programs of both sides."""


def package() -> str:
    """Name of the extension as this Blender has installed it."""
    return next(name for name in bpy.context.preferences.addons.keys() if name.endswith("curved_body_finishing"))  # noqa: SIM118


def results():  # noqa: ANN201
    """What the extension keeps for the active body."""
    return importlib.import_module(f"{package()}.scene.results").STORE.find(bpy.context.view_layer.objects.active)


def picture(kept) -> str:  # noqa: ANN001
    """What is shown of work under way: a map, or lines."""
    return "lines" if kept.preview_lines is not None else bpy.context.window_manager.finishing_view.surface_map


def steps():  # noqa: ANN201
    mouse.look_as_asked()
    yield 0.5
    with w.override():
        bpy.ops.object.select_all(action="DESELECT")
        bpy.context.view_layer.objects.active = None
    yield from w.show_sidebar("Body Finishing")
    yield from w.shot("1-nothing-selected")
    guide_picture("start", "1-nothing-selected")
    file = Path("/out/domed_top.stl")
    write_body(file)
    with w.override():
        bpy.ops.wm.stl_import(filepath=str(file))
    yield 0.5
    yield from w.shot("2-imported")

    yield from mouse.press("bpy.ops.finishing.treat_as")
    yield from w.shot("3-true-size")
    guide_picture("body", "3-true-size")
    body = bpy.context.view_layer.objects.active
    assert abs(body.dimensions.x * bpy.context.scene.unit_settings.scale_length - 0.26) < 0.02

    # With another mesh selected too the panel says which one is planned.
    cube = bpy.data.objects["Cube"]
    cube.hide_set(False)
    cube.select_set(True)
    yield from w.shot("3-two-selected")
    cube.select_set(False)

    yield from mouse.press("bpy.ops.finishing.plan_both()")
    pictures, began = ["none"], time.monotonic()
    end = time.monotonic() + WAIT * 300
    while results() is None or len({plan.request.side for plan in results().job()}) < 2:
        assert time.monotonic() < end, "the plan does not come to its end"
        if results() is not None and picture(results()) != pictures[-1] and results().plan is None:
            pictures.append(picture(results()))
            print(f"{pictures[-1]} after {time.monotonic() - began:.1f} s")
            yield from w.shot(f"4-planning-{pictures[-1]}", settle=0)
        yield 0.1
    print(f"shown while planning: {pictures}")
    assert pictures == ["none", "slope", "fit", "lines"], pictures
    yield 0.5
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("5-planned")
    guide_picture("planned", "5-planned")

    yield from mouse.press("bpy.ops.finishing.export()")
    end = time.monotonic() + WAIT * 100
    while not body.finishing_files.written:
        assert time.monotonic() < end, "the export does not come to its end"
        yield 0.1
    yield 0.5
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("6-exported")
    folder = Path(body.finishing_files.written)
    programs = [f.name for f in folder.iterdir() if f.suffix == ".nc"]
    assert folder.name.startswith("domed_top-finishing"), folder
    assert any("top" in name for name in programs) and any("back" in name for name in programs), sorted(f.name for f in folder.iterdir())
    # The sheet is written in the language of the panels; it is kept beside the pictures.
    sheet = next(folder.glob("*-bench-sheet.html"))
    assert f'lang="{bpy.context.preferences.view.language[:2]}"' in sheet.read_text(encoding="utf-8")
    assert ("Werkblatt: " in sheet.read_text(encoding="utf-8")) == bpy.context.preferences.view.language.startswith("de")
    Path("/out/bench-sheet.html").write_bytes(sheet.read_bytes())
    print(f"clicks from the imported STL to the programs of both sides: {len(mouse.CLICKS.on)} {mouse.CLICKS.on}")
    assert len(mouse.CLICKS.on) <= MOST_CLICKS

    body.finishing.side = "back"
    yield 0.5
    yield from w.shot("7-back")
    body.finishing.side = "top"

    yield 0.5
    yield from box_steps(body)


w.run(steps())
