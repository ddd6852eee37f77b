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
from addon.overlay.view_boxes import AIR, BOXES, CORNER, ViewBox, ViewBoxes, blenders_own, free_place, least_covering

FREE = FreeSpace(left=60, right=900, bottom=0, top=700, scale=1.0, width=900, height=700)
SIZE = (200.0, 150.0)


def test_the_lower_left_corner_is_taken_while_nothing_lies_there() -> None:
    box = free_place(FREE, SIZE, np.array([[480.0, 350.0]]))
    assert box is not None and (box.left, box.bottom) == (60 + CORNER, CORNER)
    # above the box in which Blender offers to adjust the last action
    raised = FreeSpace(left=60, right=900, bottom=0, top=700, scale=1.0, width=900, height=700, buttons_top=40, buttons_right=230)
    box = free_place(raised, SIZE, np.empty((0, 2)))
    assert box is not None and box.bottom == 40 + CORNER


def test_edges_of_boxes_belong_to_them() -> None:
    one = ViewBox(0, 0, 10, 10)
    assert one.meets(ViewBox(10, 3, 20, 5)) and one.meets(ViewBox(10, 10, 20, 20)) and not one.meets(ViewBox(10.01, 0, 20, 10))


def is_free(box: ViewBox, free: FreeSpace, points: np.ndarray, taken: list[ViewBox]) -> bool:
    """Whether a box lies in the view, covers no point, and meets neither another box nor what Blender draws; told without the code that places it."""
    inside = free.left <= box.left and box.right <= free.right and free.bottom <= box.bottom and box.top <= free.top
    apart = all(
        box.right < other.left or other.right < box.left or box.top < other.bottom or other.top < box.bottom for other in (*taken, *blenders_own(free))
    )
    return inside and apart and not any(box.left <= x <= box.right and box.bottom <= y <= box.top for x, y in points)


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_free_place_is_found_wherever_there_is_one(scale: float) -> None:
    # The plain slow twin tries every place that lies four pixels from the next.
    rng = np.random.default_rng(5)
    free = FreeSpace(left=60, right=900, bottom=0, top=700, scale=scale, width=900, height=700)
    edge, found, none = CORNER * scale, 0, 0
    for count in (3, 14, 14, 30, 30, 60, 60, 120, 120, 250):
        points = rng.uniform((0, 0), (900, 700), (count, 2))
        taken = [ViewBox(x, y, x + 150, y + 90) for x, y in rng.uniform((60, 0), (700, 600), (2, 2))]
        box = free_place(free, SIZE, points, taken)
        tried = [
            ViewBox(x, y, x + SIZE[0], y + SIZE[1])
            for x in np.arange(60 + edge, 900 - edge - SIZE[0], 4.0)
            for y in np.arange(edge, 700 - edge - SIZE[1], 4.0)
        ]
        air = AIR * scale + 1
        roomy = [each for each in tried if is_free(ViewBox(each.left - air, each.bottom - air, each.right + air, each.top + air), free, points, taken)]
        assert box is not None or not roomy, (count, roomy[0])
        assert box is None or is_free(box, free, points, taken)
        found, none = found + (box is not None), none + (box is None)
    assert found > 2 and none > 0  # both are tried here


VIEWS = {(1280, 720): (895, 571), (1600, 1000): (1312, 851)}
"""Size of the 3D view in windows of these sizes, as Blender's default screen divides them at a scale of 1."""


@pytest.mark.parametrize("language", ["english", "german"])
@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("window", VIEWS)
def test_legend_chart_and_readout_neither_meet_nor_cover_what_matters(window: tuple[int, int], scale: float, language: str) -> None:
    # Sizes as the boxes have them with the longest words of each language. Bodies in views from above and from the side, near and far.
    wider = 1.25 if language == "german" else 1.0
    sizes = {
        "legend": [(330 * wider, 220.0), (330 * wider, 140.0), (190 * wider, 31.0)],
        "chart": [(436.0, 256.0), (305.0, 179.0), (200 * wider, 31.0)],
        "readout": [(250 * wider, 114.0), (80 * wider, 26.0)],
    }
    rng, width, height = np.random.default_rng(18), *VIEWS[window]
    open_, titles = 0, 0
    for sidebar in (0.0, 260.0 * scale):
        for below in (0.0, 40.0 * scale):
            free = FreeSpace(
                left=50 * scale,
                right=width - sidebar,
                bottom=0.0,
                top=height - 52 * scale - below,
                scale=scale,
                width=width,
                height=height,
                buttons_top=28 * scale,
                buttons_right=220 * scale,
            )
            if free.right - free.left < 300 * scale:  # a sidebar that leaves no view
                continue
            for _ in range(40):
                middle = np.array([(free.left + free.right) / 2, free.top / 2]) + rng.uniform(-60, 60, 2)
                reach, turn = rng.uniform(0.15, 0.75) * width / 2, rng.uniform(0, np.pi)
                flat = rng.uniform(0.1, 1.0)
                around = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
                inner = np.array([[0, 0], [0.5, 0], [-0.5, 0], [0, 0.5], [0, -0.5], [1, 1], [1, -1], [-1, 1], [-1, -1]])
                points = middle + reach * (inner @ around) * (1.0, flat)
                boxes, drawn = ViewBoxes(), {}
                for name, own in sizes.items():
                    placed = boxes.place(1, name, free, [(x * scale, y * scale) for x, y in own], points)
                    if placed is not None:
                        assert is_free(placed[0], free, points, list(drawn.values())), (name, placed)
                        drawn[name] = placed[0]
                        open_, titles = open_ + (placed[1] < len(own) - 1), titles + (placed[1] == len(own) - 1)
    # All open in a large view; at twice the size a small one has room for titles alone.
    if (window, scale) == ((1600, 1000), 1.0):
        assert open_ > 10 * titles
    elif (window, scale) == ((1280, 720), 2.0):
        assert titles > 0
    else:
        assert open_ > 0 and titles > 0


def test_a_box_that_would_cover_what_matters_folds_until_it_is_opened_or_dragged() -> None:
    boxes = ViewBoxes()
    sizes = (SIZE, (100.0, 30.0))
    everywhere = np.stack(np.meshgrid(np.arange(60, 900, 40.0), np.arange(0, 700, 40.0)), axis=-1).reshape(-1, 2)
    assert boxes.place(1, "legend", FREE, sizes, everywhere) is None and boxes.folded == {"legend"}
    # room for a title between the points
    apart = everywhere[everywhere[:, 0] % 120 < 60]
    placed = boxes.place(1, "legend", FREE, (SIZE, (40.0, 30.0)), apart)
    assert placed is not None and placed[1] == 1 and boxes.folded == {"legend"}
    assert not boxes.press("legend", folded=False)
    opened = boxes.place(1, "legend", FREE, sizes, everywhere)
    assert opened is not None and opened[1] == 0 and not boxes.folded and opened[0] == least_covering(FREE, SIZE, everywhere)
    assert boxes.press("legend", folded=False) and not boxes.press("legend", folded=True)
    assert boxes.place(1, "legend", FREE, sizes, everywhere) is None
    boxes.drag(1, "legend", 1.0, 1.0)
    dragged = boxes.place(1, "legend", FREE, sizes, everywhere)
    assert dragged is not None and dragged[1] == 0
    folded = boxes.place(1, "legend", FREE, sizes, everywhere, folded=True)
    assert folded is not None and folded[1] == 1 and not boxes.folded


def test_a_view_without_room_draws_no_box_unless_it_is_asked_for() -> None:
    boxes, tiny = ViewBoxes(), FreeSpace(left=0, right=120, bottom=0, top=90, scale=1.0, width=120, height=90)
    sizes, nothing = (SIZE, (80.0, 30.0)), np.empty((0, 2))
    assert boxes.place(1, "legend", tiny, sizes, nothing) is None
    boxes.kept_open.add("legend")
    placed = boxes.place(1, "legend", tiny, sizes, nothing)
    assert placed is not None and (placed[0].left, placed[0].bottom, placed[1]) == (0, 0, 0)


def test_a_dragged_box_stays_where_it_is_put_and_the_others_keep_off_it() -> None:
    boxes, nothing, sizes = ViewBoxes(), np.empty((0, 2)), (SIZE, (100.0, 30.0))

    def drawn(*names: str) -> dict[str, ViewBox]:
        boxes.forget(1)
        found = {name: boxes.place(1, name, FREE, sizes, nothing) for name in names}
        return {name: placed[0] for name, placed in found.items() if placed is not None}

    first = drawn("legend", "chart")
    assert not first["legend"].meets(first["chart"]) and boxes.under(1, first["legend"].left + 5, first["legend"].bottom + 5) == "legend"
    assert boxes.under(2, first["legend"].left + 5, first["legend"].bottom + 5) is None
    boxes.drag(1, "legend", 30, 20)
    moved = drawn("legend", "chart")
    assert (moved["legend"].left - first["legend"].left, moved["legend"].bottom - first["legend"].bottom) == (30, 20)
    assert not moved["legend"].meets(moved["chart"])
    # the chart, dragged to where the legend would stand by itself, is drawn after it
    boxes.dragged.clear()
    boxes.drag(1, "chart", *(np.array([first["legend"].left, first["legend"].bottom]) - (moved["chart"].left, moved["chart"].bottom)))
    drawn("legend", "chart")
    later = drawn("legend", "chart")
    assert later["chart"].left == pytest.approx(first["legend"].left) and not later["legend"].meets(later["chart"])
    boxes.drag(1, "legend", 5000, 5000)
    far = drawn("legend")["legend"]
    assert far.right <= FREE.right and far.top <= FREE.top
    boxes.forget(1)
    assert boxes.under(1, far.left + 5, far.bottom + 5) is None and boxes.was_under(1, far.left + 5, far.bottom + 5) == "legend"


@pytest.fixture
def drawn() -> Iterator[None]:
    """Legend and chart as they were drawn last in two regions."""
    row = cast(RackRow, SimpleNamespace(cutter=SimpleNamespace(name="Round-nose 16")))
    for region in (1, 2):
        BOXES.place(region, "legend", FREE, (SIZE, (100.0, 30.0)), np.empty((0, 2)))
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
