"""Legend and chart keep off what matters; the contact of the ball against closed forms."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import cast

import bpy
import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.finishing.options.fit_table import RackRow
from addon.overlay import drawing
from addon.overlay.contact_lines import contact_points
from addon.overlay.free_space import FreeSpace
from addon.overlay.trade_off_drawing import CUSPS, PRESSED, Curve, Frame
from addon.overlay.view_boxes import AIR, BLENDERS_WORDS, BOXES, CORNER, ViewBox, ViewBoxes, free_corner

FREE = FreeSpace(left=60, right=900, bottom=0, top=700, scale=1.0, width=900, height=700)
SIZE = (200.0, 150.0)


def test_the_lower_left_corner_is_taken_while_nothing_lies_there() -> None:
    box = free_corner(FREE, SIZE, np.array([[480.0, 350.0]]))
    assert (box.left, box.bottom) == (60 + CORNER, CORNER)
    # above the box in which Blender offers to adjust the last action
    raised = FreeSpace(left=60, right=900, bottom=0, top=700, scale=1.0, width=900, height=700, buttons_top=40)
    assert free_corner(raised, SIZE, np.empty((0, 2))).bottom == 40 + CORNER


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_no_corner_is_covered_that_could_be_spared(scale: float) -> None:
    rng = np.random.default_rng(5)
    free = FreeSpace(left=60, right=900, bottom=0, top=700, scale=scale, width=900, height=700)
    for _ in range(200):
        points = rng.uniform((0, 0), (900, 700), (4, 2))
        box = free_corner(free, SIZE, points)
        edge = CORNER * scale
        corners = [
            ViewBox(x, y, x + SIZE[0], y + SIZE[1])
            for x, y in (
                (60 + edge, edge),
                (60 + edge, 700 - BLENDERS_WORDS * scale - SIZE[1]),
                (900 - edge - SIZE[0], edge),
            )
        ]
        assert box.covered(points, AIR * scale) <= min(other.covered(points, AIR * scale) for other in corners)


def test_a_box_that_would_cover_what_matters_folds_until_it_is_opened_or_dragged() -> None:
    boxes = ViewBoxes()
    everywhere = np.stack(np.meshgrid(np.arange(60, 900, 20.0), np.arange(0, 700, 20.0)), axis=-1).reshape(-1, 2)
    box = boxes.place(1, "legend", FREE, SIZE, everywhere)
    assert boxes.covers("legend", box, everywhere) and not boxes.covers("legend", box, np.array([[box.right + 1, box.top + 1]]))
    boxes.folded.add("legend")
    assert not boxes.press("legend", folded=False) and not boxes.covers("legend", box, everywhere)
    boxes.folded.clear()  # drawn open again
    assert boxes.press("legend", folded=False) and not boxes.press("legend", folded=True) and boxes.covers("legend", box, everywhere)
    boxes.drag("legend", 1.0, 1.0)
    assert not boxes.covers("legend", box, everywhere)
    # The middles of the edges are free where all corners are taken.
    corners = np.array([[x, y] for x in (61.0, 120.0, 730.0, 899.0) for y in (1.0, 100.0, 620.0, 699.0)])
    assert free_corner(FREE, SIZE, corners).covered(corners, AIR) == 0


def test_two_boxes_do_not_meet_and_a_dragged_one_stays_in_the_view() -> None:
    boxes = ViewBoxes()
    nothing = np.empty((0, 2))
    legend = boxes.place(1, "legend", FREE, SIZE, nothing)
    chart = boxes.place(1, "chart", FREE, SIZE, nothing)
    assert not legend.meets(chart) and boxes.under(1, legend.left + 5, legend.bottom + 5) == "legend"
    assert boxes.under(2, legend.left + 5, legend.bottom + 5) is None
    boxes.drag("legend", 30, 20)
    moved = boxes.place(1, "legend", FREE, SIZE, nothing)
    assert (moved.left - legend.left, moved.bottom - legend.bottom) == (30, 20)
    boxes.drag("legend", 5000, 5000)
    far = boxes.place(1, "legend", FREE, SIZE, nothing)
    assert far.right <= FREE.right and far.top <= FREE.top
    boxes.forget(1)
    assert boxes.under(1, far.left + 5, far.bottom + 5) is None


@pytest.fixture
def drawn() -> Iterator[None]:
    """Legend and chart as they were drawn last in two regions."""
    row = cast(RackRow, SimpleNamespace(cutter=SimpleNamespace(name="Round-nose 16")))
    for region in (1, 2):
        BOXES.place(region, "legend", FREE, SIZE, np.empty((0, 2)))
        PRESSED.shown(region, Frame(0.0, 0.0, 300.0, 180.0, 10.0, 1.0), [Curve(row, np.full(len(CUSPS), 5.0), (0.0, 0.0, 0.0, 1.0))])
    yield
    BOXES.forget()
    PRESSED.forget()


def takes_clicks(region: int) -> bool:
    """Whether anything of a region takes clicks: the box under its own middle, the chart under a place within its axes."""
    boxes = [box for (owner, _), box in BOXES.drawn.items() if owner == region]
    return bool(boxes) or PRESSED.at(region, 100.0, 90.0) is not None


def test_what_is_drawn_no_more_takes_no_clicks(drawn: None, monkeypatch: pytest.MonkeyPatch) -> None:
    assert takes_clicks(1) and takes_clicks(2)
    # The last body is hidden: nothing is drawn in this region.
    monkeypatch.setattr(drawing, "shown_bodies", lambda _context: [])
    drawing.draw_in_pixels(cast(bpy.types.Context, SimpleNamespace(mode="OBJECT", region=SimpleNamespace(as_pointer=lambda: 1))))
    assert not takes_clicks(1) and takes_clicks(2)


def test_an_overlay_that_is_off_takes_no_clicks(drawn: None) -> None:
    def fails() -> None:
        raise ValueError("trouble")

    overlay = drawing.Overlay()
    overlay.guarded(fails)
    assert overlay.trouble and not takes_clicks(1) and not takes_clicks(2)


def test_a_stopped_overlay_takes_no_clicks(drawn: None) -> None:
    drawing.Overlay().stop()
    assert not takes_clicks(1) and not takes_clicks(2)


def test_the_contact_on_a_plane_and_on_a_dome() -> None:
    # On a plane of slope s the contact lies R sin(angle) away from the tip, level with the plane; on a dome of radius D the centre of the ball
    # lies on the sphere of radius D + R, and the contact on that of D, on the same ray.
    grid = Grid(left=0.0, front=0.0, cell=0.5, rows=121, columns=121)
    x, y = np.meshgrid(0.5 * np.arange(121), 0.5 * np.arange(121))
    radius, angle = 8.0, np.radians(30)
    lift = radius / np.cos(angle) - radius
    plane = x * np.tan(angle) + lift
    tips = np.array([[20.0, 30.0, 20 * np.tan(angle) + lift], [40.0, 10.0, 40 * np.tan(angle) + lift]])
    found = contact_points(tips, plane, grid, radius)
    assert found[:, 2] == pytest.approx(found[:, 0] * np.tan(angle), abs=1e-9)
    assert tips[:, 0] + radius * np.sin(angle) == pytest.approx(found[:, 0], abs=1e-9)
    dome = 60.0
    centre_height = np.sqrt((dome + radius) ** 2 - (x - 30) ** 2 - (y - 30) ** 2)
    tip = centre_height - radius
    rows, columns = np.array([20, 60, 90]), np.array([30, 60, 100])
    tips = np.column_stack([x[rows, columns], y[rows, columns], tip[rows, columns]])
    found = contact_points(tips, tip, grid, radius)
    assert np.linalg.norm(found - (30.0, 30.0, 0.0), axis=1) == pytest.approx(dome, abs=0.01)
