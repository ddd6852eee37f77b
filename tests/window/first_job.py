"""Runs inside a real Blender window (see run): from a default scene and an STL file to programs of both sides, by the mouse, clicks counted.

The file is in millimetres and comes in by Blender's own importer, which takes it for metres: the first trouble that a maker meets.
"""

import importlib
import struct
import time
from pathlib import Path

import bpy
import mouse
import numpy as np
import window as w

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


def write_body(path: Path) -> None:
    """A body of 260 x 180 mm with a wide dome and a hollow, and a shallower dome on its back, as binary STL in mm."""
    u, v = np.meshgrid(np.linspace(-1, 1, 131), np.linspace(-1, 1, 91), indexing="ij")
    round_plan = np.stack([130 * u * np.sqrt(1 - v**2 / 2), 90 * v * np.sqrt(1 - u**2 / 2)], axis=-1)
    dome = (1 - u**2) * (1 - v**2)
    top = np.dstack([round_plan, 14 + 14 * dome - 6 * np.exp(-((u - 0.3) ** 2 + v**2) / 0.06)])
    back = np.dstack([round_plan, -4 - 5 * dome])
    out = []
    for grid, turn in ((top, 1), (back, -1)):
        a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
        both = np.concatenate([np.stack([a, b, c], -2).reshape(-1, 3, 3), np.stack([a, c, d], -2).reshape(-1, 3, 3)])
        out.append(both[:, ::turn])
    for above, below in ((top[:, 0], back[:, 0]), (top[-1], back[-1]), (top[::-1, -1], back[::-1, -1]), (top[0, ::-1], back[0, ::-1])):
        out += [np.stack([below[:-1], below[1:], above[1:]], -2), np.stack([below[:-1], above[1:], above[:-1]], -2)]
    triangles = np.concatenate(out)
    rows = np.zeros(len(triangles), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")]))
    rows["corners"] = triangles
    path.write_bytes(bytes(80) + struct.pack("<I", len(rows)) + rows.tobytes())


def steps():  # noqa: ANN201
    mouse.look_as_asked()
    yield 0.5
    with w.override():
        bpy.ops.object.select_all(action="DESELECT")
        bpy.context.view_layer.objects.active = None
    yield from w.show_sidebar("Body Finishing")
    yield from w.shot("1-nothing-selected")
    file = Path("/out/domed_top.stl")
    write_body(file)
    with w.override():
        bpy.ops.wm.stl_import(filepath=str(file))
    yield 0.5
    yield from w.shot("2-imported")

    yield from mouse.press("bpy.ops.finishing.treat_as")
    yield from w.shot("3-true-size")
    body = bpy.context.view_layer.objects.active
    assert abs(body.dimensions.x * bpy.context.scene.unit_settings.scale_length - 0.26) < 0.02

    yield from mouse.press("bpy.ops.finishing.plan_both()")
    pictures = ["none"]
    end = time.monotonic() + 300
    while results() is None or len({plan.request.side for plan in results().job()}) < 2:
        assert time.monotonic() < end, "the plan does not come to its end"
        if results() is not None and picture(results()) != pictures[-1] and results().plan is None:
            pictures.append(picture(results()))
            yield from w.shot(f"4-planning-{pictures[-1]}", settle=0)
        yield 0.1
    print(f"shown while planning: {pictures}")
    assert pictures == ["none", "slope", "fit", "lines"], pictures
    yield 0.5
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("5-planned")

    yield from mouse.press("bpy.ops.finishing.export()")
    end = time.monotonic() + 100
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

    # Maps fade the lines; the legend is folded by a click and dragged; a press on the chart chooses cutter and cusp height.
    view = bpy.context.window_manager.finishing_view
    view.surface_map = "curvature"
    yield from w.shot("8-map")
    boxes = importlib.import_module(f"{package()}.overlay.view_boxes").BOXES
    print(f"the legend folds by itself: {'legend' in boxes.folded}")

    def middle(name: str):  # noqa: ANN202
        box = next(box for (_, other), box in boxes.drawn.items() if other == name)
        left, _, _, bottom = w.rect(w.region())
        return left + (box.left + box.right) / 2, bottom - (box.bottom + box.top) / 2

    if "legend" in boxes.folded:  # there is no room for it that would cover nothing; a click opens it all the same
        yield from w.click(*middle("legend"))
        yield 0.5
        assert not boxes.folded and not view.legend_folded, "a click on the legend does not open it"
        yield from w.shot("8-opened")
    yield from w.click(*middle("legend"))
    yield 0.5
    assert view.legend_folded, "a click on the legend does not fold it"
    yield from w.shot("9-folded")
    x, y = middle("legend")
    yield from w.drag([(x, y), (x + 60, y - 90), (x + 120, y - 180)])
    yield 0.5
    assert view.legend_folded
    moved = middle("legend")
    assert moved[1] < y - 100, (moved, (x, y))
    view.show_trade_off = True
    yield 0.5
    yield from w.shot("10-chart")
    # A click on its title folds the chart, and another one opens it again.
    corner = boxes.drawn[w.region().as_pointer(), "chart"]
    left, _, _, bottom = w.rect(w.region())
    yield from w.click(left + corner.right - 12, bottom - corner.top + 12)
    yield 0.5
    assert view.chart_folded, "a click on the chart's title does not fold it"
    yield from w.shot("10-chart-folded")
    yield from w.click(*middle("chart"))
    yield 0.5
    assert not view.chart_folded
    before = body.finishing.cusp_mm
    x, y = middle("chart")
    yield from w.click(x, y)
    yield 0.5
    assert body.finishing.cusp_mm != before and body.finishing.cutter_name, "a press on the chart chooses nothing"
    yield from w.shot("11-chosen")


w.run(steps())
