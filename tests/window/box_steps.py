"""Steps of the first job: legend, chart and readout keep off each other and off what matters, fold, open, are dragged, and choose."""

import importlib

import bpy
import numpy as np
import window as w
from grips import module
from mathutils import Vector


def overlay(name: str):  # noqa: ANN201
    """A module of the overlay as this Blender has installed it."""
    return importlib.import_module(f"{module()}.overlay.{name}")


def drawn() -> dict:
    """The boxes of the view by name."""
    region = w.region().as_pointer()
    return {name: box for (owner, name), box in overlay("view_boxes").BOXES.drawn.items() if owner == region}


def middle(name: str) -> tuple[float, float]:
    """Where the middle of a box is, in pixels of the screen."""
    box = drawn()[name]
    left, _, _, bottom = w.rect(w.region())
    return left + (box.left + box.right) / 2, bottom - (box.bottom + box.top) / 2


def check_apart(body, when: str) -> str:  # noqa: ANN001
    """No box meets another one, and none that stands where it has chosen to covers zero, a corner of the stock or the body's middle."""
    boxes, found = overlay("view_boxes").BOXES, drawn()
    results = importlib.import_module(f"{module()}.scene.results").STORE.find(body)
    with w.override():
        points = overlay("places_that_matter").places_that_matter(bpy.context, results, body)
    names = sorted(found)
    for number, one in enumerate(names):
        for other in names[number + 1 :]:
            own, beside = found[one], found[other]
            apart = own.right < beside.left or beside.right < own.left or own.top < beside.bottom or beside.top < own.bottom
            assert apart or boxes.kept_open, (when, one, other, own, beside)
        if one not in boxes.kept_open and one not in boxes.dragged:
            box = found[one]
            assert not any(box.left <= x <= box.right and box.bottom <= y <= box.top for x, y in points), (when, one, box, points)
    return ", ".join(f"{name} {'as its title' if name in boxes.folded else 'open'}" for name in names) or "none"


def outside():  # noqa: ANN201
    """Take the mouse off the view."""
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))


def over_body(body):  # noqa: ANN001, ANN201
    """Point at the body, somewhat beside its middle."""
    corners = np.array([body.matrix_world @ Vector(corner) for corner in body.bound_box])
    low, high = corners.min(axis=0), corners.max(axis=0)
    yield from w.move(*w.pixel((*(low + 0.55 * (high - low))[:2], high[2])))
    yield 0.4


def box_steps(body):  # noqa: ANN001, ANN201
    """Legend, chart and readout at once, from several sides; then each is folded, opened, dragged and pressed by the mouse."""
    view, boxes = bpy.context.window_manager.finishing_view, overlay("view_boxes").BOXES
    view.surface_map, view.show_trade_off = "curvature", True
    for name, look in (("8-boxes", None), ("8-boxes-from-above", w.view_top), ("8-boxes-perspective", w.view_persp)):
        if look is not None:
            yield from look()
        yield from over_body(body)
        yield from w.shot(name)
        print(f"{name}: {check_apart(body, name)}")
    space = w.area().spaces.active
    if bpy.context.preferences.view.ui_scale > 1.5 or "legend" not in drawn():
        # The sidebar leaves next to nothing of the view here: it is closed, as a maker would.
        space.show_region_ui = False
        yield 0.5
        yield from over_body(body)
        yield from w.shot("8-boxes-without-sidebar")
        print(f"without the sidebar: {check_apart(body, 'without the sidebar')}")
    view.show_trade_off = False
    yield from legend_steps(view, boxes)
    yield from readout_steps(body, view, boxes)
    yield from chart_steps(body, view, boxes)
    space.show_region_ui = True


def legend_steps(view, boxes):  # noqa: ANN001, ANN201
    """The legend is opened where it has folded by itself, folded by a click, and dragged."""
    yield from outside()
    yield 0.4
    if "legend" in boxes.folded:  # there is no room for it that would cover nothing; a click opens it all the same
        yield from w.click(*middle("legend"))
        yield 0.5
        assert "legend" not in boxes.folded and not view.legend_folded, "a click on the legend does not open it"
        yield from w.shot("9-opened")
    yield from w.click(*middle("legend"))
    yield 0.5
    assert view.legend_folded, "a click on the legend does not fold it"
    yield from w.shot("9-folded")
    x, y = middle("legend")
    up = 180 if y > 260 else -100
    yield from w.drag([(x, y), (x + 60, y - up / 2), (x + 120, y - up)])
    yield 0.5
    assert view.legend_folded
    moved = middle("legend")
    assert abs(moved[1] - y) > 50, (moved, (x, y))


def readout_steps(body, view, boxes):  # noqa: ANN001, ANN201
    """The readout is dragged out of its corner and folded; it stays while the mouse is on it."""
    yield from over_body(body)
    if "readout" not in drawn() or "readout" in boxes.folded:
        print("the readout has no room here")
        return
    x, y = middle("readout")
    yield from w.move(x, y)
    yield 0.4
    assert "readout" in drawn(), "the readout goes where the mouse comes to it"
    yield from w.drag([(x, y), (x + 30, y - 30), (x + 60, y - 60)])
    yield 0.5
    moved = middle("readout")
    assert moved != (x, y) and "readout" in boxes.dragged, (moved, (x, y))
    yield from w.shot("10-readout-dragged")
    yield from w.click(*moved)
    yield 0.5
    assert view.readout_folded, "a click on the readout does not fold it"
    yield from w.shot("10-readout-folded")
    view.readout_folded = False
    boxes.dragged.pop("readout")


def chart_steps(body, view, boxes):  # noqa: ANN001, ANN201
    """A click on its title folds the chart, another one opens it again; a press on its axes chooses cutter and cusp height."""
    yield from outside()
    view.show_trade_off = True
    yield 0.5
    yield from w.shot("11-chart")
    if "chart" in boxes.folded:
        yield from w.click(*middle("chart"))
        yield 0.5
        assert "chart" not in boxes.folded, "a click on the chart does not open it"
        yield from w.shot("11-chart-opened")
    corner = drawn()["chart"]
    left, _, _, bottom = w.rect(w.region())
    yield from w.click(left + corner.left + 24, bottom - corner.top + 12)  # on its words: in a small view Blender's own buttons may lie at its right
    yield 0.5
    assert view.chart_folded, "a click on the chart's title does not fold it"
    yield from w.shot("11-chart-folded")
    yield from w.click(*middle("chart"))
    yield 0.5
    assert not view.chart_folded
    if "chart" in boxes.folded:  # opened by hand it stays open only until it is folded by hand
        yield from w.click(*middle("chart"))
        yield 0.5
    before = body.finishing.cusp_mm
    x, y = middle("chart")
    yield from w.click(x, y)
    yield 0.5
    assert body.finishing.cusp_mm != before and body.finishing.cutter_name, "a press on the chart chooses nothing"
    yield from w.shot("12-chosen")
