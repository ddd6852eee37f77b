"""Handles on stock, zero, dowels, boxes and grain: where each is, what it says, and what becomes of the settings when it is moved.

A handle has one value or two, as the user types them: mm, or degrees for the grain. Everything is in job mm of the side that is looked at, in the
frame that held when the drag began: zero may be what is moved.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..finishing.core.array_types import Double
from ..finishing.core.message import Message
from ..finishing.job.keep_out import KeepOut
from ..finishing.job.stock import grain_on, job_from_body
from .body_settings import FinishingBody
from .job_setup import JobSetup

ARROW, MOVE, TURN, CHOICE = "arrow", "move", "turn", "choice"
"""Kinds of handle: along a line, on a level plane, about an upright axis, to the nearest of some places."""

GRAIN_SHARE = 0.3
"""Length of the grain's arrow over the longest edge of the stock, from the stock's middle."""

LEAST_BOX = 1.0
"""mm; no edge of a keep-out box is dragged shorter."""

Values = tuple[float, ...]

MOVED = (
    "use_stock_length", "stock_length_mm", "use_stock_width", "stock_width_mm", "use_stock_thickness", "stock_thickness_mm", "use_height_in_stock",
    "height_in_stock_mm", "xy_zero", "z_zero", "use_grain", "grain_angle", "active_keep_out",
    "tabs", "tab_count",
)  # fmt: skip
"""Settings that handles set, beside the rows of boxes, dowels and tabs."""


@dataclass(frozen=True)
class Handle:
    """One thing to take hold of.

    place: (3,) job mm. way: (3,) unit direction in which an arrow is moved. gain: by how much the value grows for each mm of it. values: as they are
    now. take: sets the settings for other values. sentence: what is said of values. places: (n, 3) between which a choice is made.
    """

    name: str
    kind: str
    place: Double
    values: Values
    take: Callable[[FinishingBody, Values], None]
    sentence: Callable[[Values], Message]
    way: Double | None = None
    gain: float = 1.0
    places: Double | None = None


def handles_of(setup: JobSetup) -> list[Handle]:
    """All handles of a setup."""
    boxes = [handle for row, box in setup.boxes for handle in _box_handles(row, box)]
    return [
        *_stock_handles(setup),
        _zero_handle(setup),
        *(_dowel_handle(setup, number) for number in range(len(setup.dowels))),
        *boxes,
        *(_tab_handle(setup, number) for number in range(len(setup.tabs))),
        _grain_handle(setup),
    ]


def _stock_handles(setup: JobSetup) -> list[Handle]:
    """Length and width, about the body's middle; top and bottom, each with the other face at its place."""
    middle, low, high = (setup.low + setup.high) / 2, setup.low, setup.high
    level = (low[2] + high[2]) / 2

    def set_length(body: FinishingBody, values: Values) -> None:
        body.use_stock_length, body.stock_length_mm = True, values[0]

    def set_width(body: FinishingBody, values: Values) -> None:
        body.use_stock_width, body.stock_width_mm = True, values[0]

    # Which face of the body's own axes looks up depends on the side; the height in the stock is measured from the body's lower face.
    held = setup.stock.low[2] if setup.side == "top" else setup.stock.high[2]
    before = setup.body_low[2] - setup.stock.low[2]

    def set_upper(body: FinishingBody, values: Values) -> None:
        height = before if setup.side == "top" else setup.body_low[2] - (held - values[0])
        _set_thickness(body, values[0], height)

    def set_lower(body: FinishingBody, values: Values) -> None:
        height = before + values[0] - setup.stock.size[2] if setup.side == "top" else before
        _set_thickness(body, values[0], height)

    length, width, thickness = setup.stock.size
    return [
        Handle(
            "length",
            ARROW,
            np.array([high[0], middle[1], level]),
            (length,),
            take=set_length,
            sentence=_length_words,
            way=np.array([1.0, 0, 0]),
            gain=2.0,
        ),
        Handle(
            "width", ARROW, np.array([middle[0], high[1], level]), (width,), take=set_width, sentence=_width_words, way=np.array([0, 1.0, 0]), gain=2.0
        ),
        Handle(
            "upper",
            ARROW,
            np.array([middle[0], middle[1], high[2]]),
            (thickness,),
            take=set_upper,
            sentence=_thickness_words,
            way=np.array([0, 0, 1.0]),
        ),
        Handle(
            "lower",
            ARROW,
            np.array([middle[0], middle[1], low[2]]),
            (thickness,),
            take=set_lower,
            sentence=_thickness_words,
            way=np.array([0, 0, -1.0]),
        ),
    ]


def _set_thickness(body: FinishingBody, thickness: float, height_in_stock: float) -> None:
    body.use_stock_thickness, body.stock_thickness_mm = True, thickness
    body.use_height_in_stock, body.height_in_stock_mm = True, max(height_in_stock, 0.0)


def _length_words(values: Values) -> Message:
    return Message("Stock length {length:.1f} mm", length=values[0])


def _width_words(values: Values) -> Message:
    return Message("Stock width {width:.1f} mm", width=values[0])


def _thickness_words(values: Values) -> Message:
    return Message("Stock thickness {thickness:.2f} mm", thickness=values[0])


def _zero_handle(setup: JobSetup) -> Handle:
    """Zero goes to corner or middle, on the spoilboard or on the stock's top; its value is the number of the place."""
    low, high = setup.low, setup.high
    middle = (low + high) / 2
    choices = [(xy, z) for xy in ("corner", "centre") for z in ("spoilboard", "stock top")]
    spots = {"corner": low[:2], "centre": middle[:2]}
    places = np.array([[*spots[xy], low[2] if z == "spoilboard" else high[2]] for xy, z in choices])
    own = "spoilboard" if setup.side == setup.stock.settings.first_side else "stock top"
    now = choices.index((setup.stock.settings.xy_zero, setup.stock.z_zero(setup.side)))

    def take(body: FinishingBody, values: Values) -> None:
        xy, z = choices[int(values[0])]
        body.xy_zero, body.z_zero = xy, "auto" if z == own else z

    def words(values: Values) -> Message:
        return ZERO_WORDS[int(values[0])]

    return Handle("zero", CHOICE, np.zeros(3), (float(now),), take=take, sentence=words, places=places)


ZERO_WORDS = (
    Message("Zero: lower left corner, spoilboard"),
    Message("Zero: lower left corner, stock top"),
    Message("Zero: centre, spoilboard"),
    Message("Zero: centre, stock top"),
)
"""In the order of the places."""


def _dowel_handle(setup: JobSetup, number: int) -> Handle:
    """A dowel is moved with the one that it lands on when the stock is turned over; one on the turn axis stays on it."""
    place = setup.dowels[number]
    axis = 0 if setup.stock.settings.turn_axis == "y" else 1
    middle = float((setup.low[axis] + setup.high[axis]) / 2)
    turned = place.copy()
    turned[axis] = 2 * middle - place[axis]
    partner = int(np.linalg.norm(setup.dowels - turned, axis=1).argmin())
    back = np.linalg.inv(job_from_body(setup.stock, setup.side))

    def take(body: FinishingBody, values: Values) -> None:
        places = setup.dowels.astype(np.float64)
        places[number] = values
        if partner == number:
            places[number, axis] = middle
        else:
            places[partner] = places[number]
            places[partner, axis] = 2 * middle - places[number, axis]
        own = places @ back[:2, :2].T + back[:2, 3]
        body.dowel_places.clear()
        for x, y in own.tolist():
            row = body.dowel_places.add()
            row.x_mm, row.y_mm = round(x, 3), round(y, 3)

    def words(values: Values) -> Message:
        return Message("Dowel {number}: X {x:.1f}, Y {y:.1f} mm", number=number + 1, x=values[0], y=values[1])

    return Handle(f"dowel {number}", MOVE, np.array([*place, setup.high[2]]), (float(place[0]), float(place[1])), take=take, sentence=words)


def _tab_handle(setup: JobSetup, number: int) -> Handle:
    """A tab is moved along the outline: it stands at the point that is nearest to where it is dragged. All of them stay where they are then."""
    tab = setup.tabs[number]
    back = np.linalg.inv(job_from_body(setup.stock, setup.side))

    def take(body: FinishingBody, values: Values) -> None:
        places = np.array([each.place for each in setup.tabs])
        places[number] = values
        body.tabs, body.tab_count = "given", len(places)
        body.tab_places.clear()
        for x, y in (places @ back[:2, :2].T + back[:2, 3]).tolist():
            row = body.tab_places.add()
            row.x_mm, row.y_mm = round(x, 3), round(y, 3)

    def words(values: Values) -> Message:
        return Message("Tab {number}: X {x:.1f}, Y {y:.1f} mm", number=tab.number, x=values[0], y=values[1])

    return Handle(f"tab {number}", MOVE, np.array([*tab.place, tab.high]), tab.place, take=take, sentence=words)


def _box_handles(number: int, box: KeepOut) -> list[Handle]:
    """A box is moved by the middle of its top, made larger by a corner of it, and higher by an arrow."""
    low, high = np.array(box.low), np.array(box.high)
    middle = (low + high) / 2

    def move(body: FinishingBody, values: Values) -> None:
        shift = np.array([values[0] - low[0], values[1] - low[1], 0.0])
        _set_box(body, number, low + shift, high + shift)

    def stretch(body: FinishingBody, values: Values) -> None:
        _set_box(body, number, low, np.array([*np.maximum(low[:2] + values, low[:2] + LEAST_BOX), high[2]]))

    def raise_top(body: FinishingBody, values: Values) -> None:
        _set_box(body, number, low, np.array([high[0], high[1], max(low[2] + values[0], low[2] + LEAST_BOX)]))

    def move_words(values: Values) -> Message:
        return Message("'{box}': X {x:.1f}, Y {y:.1f} mm", box=box.name, x=values[0], y=values[1])

    def size_words(values: Values) -> Message:
        return Message("'{box}': {x:.1f} x {y:.1f} mm", box=box.name, x=values[0], y=values[1])

    def height_words(values: Values) -> Message:
        return Message("'{box}': {height:.1f} mm high", box=box.name, height=values[0])

    size = high - low
    lower_left = (float(low[0]), float(low[1]))
    return [
        Handle(f"box {number} place", MOVE, np.array([middle[0], middle[1], low[2]]), lower_left, take=move, sentence=move_words),
        Handle(f"box {number} size", MOVE, np.array([high[0], high[1], low[2]]), (float(size[0]), float(size[1])), take=stretch, sentence=size_words),
        Handle(
            f"box {number} height",
            ARROW,
            np.array([middle[0], middle[1], high[2]]),
            (float(size[2]),),
            take=raise_top,
            sentence=height_words,
            way=np.array([0, 0, 1.0]),
        ),
    ]


def _set_box(body: FinishingBody, number: int, low: Double, high: Double) -> None:
    """Set a row by corners from the zero of the side that is looked at. The row's Z may count from another zero: its bottom stays."""
    row = body.keep_out[number]
    bottom = row.low[2]
    row.low = (float(low[0]), float(low[1]), bottom)
    row.high = (float(high[0]), float(high[1]), bottom + float(high[2] - low[2]))
    body.active_keep_out = number


def grain_tip(setup: JobSetup) -> Double:
    """Where the grain's arrow ends, (3,) job mm, over the stock's top."""
    angle = math.radians(setup.grain or 0.0)
    middle = (setup.low + setup.high) / 2
    reach = GRAIN_SHARE * setup.size
    return np.array([middle[0] + reach * math.cos(angle), middle[1] + reach * math.sin(angle), setup.high[2]])


def _grain_handle(setup: JobSetup) -> Handle:
    def take(body: FinishingBody, values: Values) -> None:
        # An arrow and its opposite are one grain.
        angle = grain_on(setup.side, body.first_side, (values[0] + 180.0) % 360.0 - 180.0)
        body.use_grain, body.grain_angle = True, math.radians(angle or 0.0)

    def words(values: Values) -> Message:
        return Message("Grain {angle:.1f}°", angle=(values[0] + 180.0) % 360.0 - 180.0)

    return Handle("grain", TURN, grain_tip(setup), (setup.grain or 0.0,), take=take, sentence=words)


@dataclass(frozen=True)
class Before:
    """What handles can set, as it was before a drag."""

    plain: tuple[object, ...]
    boxes: tuple[tuple[tuple[float, float, float], tuple[float, float, float]], ...]
    dowels: tuple[tuple[float, float], ...]
    tabs: tuple[tuple[float, float], ...]


def noted(body: FinishingBody) -> Before:
    """What there is now."""
    boxes = tuple((_three(row.low), _three(row.high)) for row in body.keep_out)
    dowels, tabs = (tuple((row.x_mm, row.y_mm) for row in rows) for rows in (body.dowel_places, body.tab_places))
    return Before(tuple(getattr(body, name) for name in MOVED), boxes, dowels, tabs)


def put_back(body: FinishingBody, before: Before) -> None:
    """Set everything as it was."""
    for name, value in zip(MOVED, before.plain, strict=True):
        setattr(body, name, value)
    for row, (low, high) in zip(body.keep_out, before.boxes, strict=True):
        row.low, row.high = low, high
    body.dowel_places.clear()
    for x, y in before.dowels:
        place = body.dowel_places.add()
        place.x_mm, place.y_mm = x, y
    body.tab_places.clear()
    for x, y in before.tabs:
        spot = body.tab_places.add()
        spot.x_mm, spot.y_mm = x, y


def _three(place: tuple[float, float, float]) -> tuple[float, float, float]:
    return (place[0], place[1], place[2])
