"""Where legend, chart and readout lie in a 3D view: in a corner where they cover nothing that matters, or where the user has dragged them.

What is drawn notes its box, so that the gizmo which follows the mouse knows what lies under it.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..finishing.core.array_types import Double, FloatArray
from .free_space import FreeSpace

CORNER = 14.0
"""Pixels between a box and the edges of the view."""

BLENDERS_WORDS, BLENDERS_BALL, BLENDERS_KNOBS = (300.0, 56.0), (104.0, 104.0), (52.0, 230.0)
"""Width and height in pixels of what Blender has at the top of the view: the names of view and object at the left, at the right the ball of axes that
turns the view, and the knobs below it.
"""

AIR = 8.0
"""Pixels that a box keeps from what it must not cover."""

LONGEST_TITLE = 0.4
"""Share of the view's width that the title of a folded box may take; a longer one gives way to a plain name."""

BOX_WORTH = 1000
"""How many points a box that is met counts for."""

Size = tuple[float, float]
"""Width and height in pixels."""


@dataclass(frozen=True)
class ViewBox:
    """A rectangle in pixels of a region, from its lower left corner; its edges belong to it."""

    left: float
    bottom: float
    right: float
    top: float

    def holds(self, x: float, y: float) -> bool:
        """Whether a place lies within."""
        return self.left <= x <= self.right and self.bottom <= y <= self.top

    def covered(self, points: FloatArray, air: float) -> int:
        """How many of some points (n, 2) it covers, or nearly."""
        x, y = points[:, 0], points[:, 1]
        inside = (x > self.left - air) & (x < self.right + air) & (y > self.bottom - air) & (y < self.top + air)
        return int(inside.sum())

    def meets(self, other: ViewBox) -> bool:
        """Whether two boxes have a place in common, be it on their edges."""
        return self.left <= other.right and other.left <= self.right and self.bottom <= other.top and other.bottom <= self.top


class ViewBoxes:
    """Boxes by region and name as they are drawn, and where the user has dragged each to, by name.

    before: boxes of the picture before. folded: names of boxes that have folded by themselves, since they would cover what matters; kept_open: of those
    that the user has opened again. held: name of the one that the mouse holds.
    """

    def __init__(self) -> None:
        self.drawn: dict[tuple[int, str], ViewBox] = {}
        self.before: dict[tuple[int, str], ViewBox] = {}
        self.dragged: dict[str, Size] = {}
        self.folded: set[str] = set()
        self.kept_open: set[str] = set()
        self.held: str | None = None
        self._found: dict[tuple[int, str], tuple[Hashable, tuple[ViewBox, int] | None]] = {}

    def press(self, name: str, folded: bool) -> bool:
        """A box is clicked that the user has folded or not: one that has folded by itself opens for good. Returns whether it is folded from now on."""
        if name in self.folded and not folded:
            self.kept_open.add(name)
            return False
        self.kept_open.discard(name)
        return not folded

    def under(self, region: int, x: float, y: float) -> str | None:
        """Name of the box under a place of a region, None where there is none."""
        return next((name for (owner, name), box in self.drawn.items() if owner == region and box.holds(x, y)), None)

    def was_under(self, region: int, x: float, y: float) -> str | None:
        """The same in the picture before, while the next one is drawn."""
        return next((name for (owner, name), box in self.before.items() if owner == region and box.holds(x, y)), None)

    def forget(self, region: int | None = None) -> None:
        """Nothing is drawn in a region; without one, in none."""
        for boxes in (self.before, self.drawn):
            for key in [key for key in boxes if region in (None, key[0])]:
                box = boxes.pop(key)
                if boxes is self.drawn:
                    self.before[key] = box

    def drag(self, region: int, name: str, by_x: float, by_y: float) -> None:
        """Move a box from where it is drawn in a region, or from where it has been dragged to already."""
        box = self.drawn.get((region, name))
        x, y = self.dragged.get(name, (0.0, 0.0) if box is None else (box.left, box.bottom))
        self.dragged[name] = (x + by_x, y + by_y)

    def place(
        self, region: int, name: str, free: FreeSpace, sizes: Sequence[Size], points: FloatArray, *, folded: bool = False
    ) -> tuple[ViewBox, int] | None:
        """Choose the place of a box, and note it; returns it with the number of the size that it has, None where there is no room even for its title.

        sizes: in pixels, the fullest first, that of its title alone last. points: (n, 2), what it must not cover. folded: whether the user wants
        its title alone. A box that the user has opened or dragged may cover something, no other does, and none of them meets another.
        """
        taken = [box for (owner, other), box in self.drawn.items() if owner == region and other != name]
        taken += [box for (owner, other), box in self.before.items() if owner == region and other != name and other in self.dragged]
        key = (free, tuple(sizes), points.tobytes(), tuple(taken), folded, self.dragged.get(name), name in self.kept_open)
        known = self._found.get((region, name))
        if known is None or known[0] != key:
            self._found[region, name] = known = (key, self._choose(name, free, sizes, points, taken, folded=folded))
        found = known[1]
        self.folded.discard(name)
        if found is not None:
            self.drawn[region, name] = found[0]
        if not folded and (found is None or found[1] == len(sizes) - 1):
            self.folded.add(name)
        return found

    def _choose(
        self, name: str, free: FreeSpace, sizes: Sequence[Size], points: FloatArray, taken: Sequence[ViewBox], *, folded: bool
    ) -> tuple[ViewBox, int] | None:
        title = len(sizes) - 1
        if name in self.dragged:
            size = sizes[title if folded else 0]
            left = min(max(self.dragged[name][0], free.left), max(free.right - size[0], free.left))
            bottom = min(max(self.dragged[name][1], free.bottom), max(free.top - size[1], free.bottom))
            return ViewBox(left, bottom, left + size[0], bottom + size[1]), title if folded else 0
        for number in (title,) if folded else range(title + 1):
            if number == title and name in self.kept_open and not folded:
                return least_covering(free, sizes[title - 1], points, taken), title - 1
            box = free_place(free, sizes[number], points, taken)
            if box is not None:
                return box, number
        return None


def blenders_own(free: FreeSpace) -> list[ViewBox]:
    """What Blender itself draws over the free part of a view: names, knobs, and the box that adjusts the last action."""
    scale = free.scale
    own = [ViewBox(free.left, free.top - BLENDERS_WORDS[1] * scale, free.left + BLENDERS_WORDS[0] * scale, free.top)]
    own += [ViewBox(free.right - width * scale, free.top - height * scale, free.right, free.top) for width, height in (BLENDERS_BALL, BLENDERS_KNOBS)]
    return [*own, ViewBox(0.0, 0.0, free.buttons_right, free.buttons_top)] if free.buttons_top > 0 else own


def free_place(free: FreeSpace, size: Size, points: FloatArray, taken: Sequence[ViewBox] = ()) -> ViewBox | None:
    """Where a box covers none of some points (n, 2) and meets no other one, nor what Blender draws; None where there is no such place.

    Of the corners and the middles of the edges the first that is free: lower left, upper left, lower right, upper right, left, right, below, above.
    Where none is, the place that is nearest to one of them.
    """
    usual = _usual_places(free, size)
    worth = _worth(usual, free, size, points, taken)
    if len(usual) and worth.min() == 0:
        return _box(usual[int(worth.argmin())], size)
    places = _places_beside(free, size, points, taken)
    places = places[_worth(places, free, size, points, taken) == 0]
    return _box(_nearest(places, usual), size) if len(places) else None


def least_covering(free: FreeSpace, size: Size, points: FloatArray, taken: Sequence[ViewBox] = ()) -> ViewBox:
    """Where a box meets the fewest others and covers the fewest points (n, 2), as near to a corner as may be; the lower left one without room."""
    usual = _usual_places(free, size)
    places = np.concatenate([usual, _places_beside(free, size, points, taken)])
    if not len(places):
        return _box(np.array([free.left, free.bottom]), size)
    worth = _worth(places, free, size, points, taken)
    return _box(_nearest(places[worth == worth.min()], usual), size)


def _box(place: FloatArray, size: Size) -> ViewBox:
    left, bottom = float(place[0]), float(place[1])
    return ViewBox(left, bottom, left + size[0], bottom + size[1])


def _reach(free: FreeSpace, size: Size) -> tuple[float, float, float, float]:
    """Between which left, right, lower and upper places the lower left corner of a box may stand."""
    edge = CORNER * free.scale
    return free.left + edge, free.right - edge - size[0], free.bottom + edge, free.top - edge - size[1]


def _usual_places(free: FreeSpace, size: Size) -> Double:
    """Corners and middles of the edges (n, 2), those at the top beside or below what Blender has there; none where the box has no room."""
    left, right, bottom, top = _reach(free, size)
    if left > right or bottom > top:
        return np.zeros((0, 2))
    air = AIR * free.scale
    below_words = free.top - (BLENDERS_WORDS[1] * free.scale + air) - size[1]
    beside_ball = right - BLENDERS_BALL[0] * free.scale
    middle, level = (left + right) / 2, (bottom + top) / 2
    above_buttons = max(bottom, free.buttons_top + CORNER * free.scale if free.buttons_top > 0 else bottom)
    places = np.array(
        [
            (left, above_buttons),
            (left, below_words),
            (right, bottom),
            (beside_ball, top),
            (left, level),
            (right, level),
            (middle, bottom),
            (middle, top),
        ]
    )
    inside = (places[:, 0] >= left) & (places[:, 0] <= right) & (places[:, 1] >= bottom) & (places[:, 1] <= top)
    return places[inside]


def _places_beside(free: FreeSpace, size: Size, points: FloatArray, taken: Sequence[ViewBox]) -> Double:
    """Places (n, 2) at the edges of the view and just beside all that must not be covered: a free place can always be pushed to one of them."""
    left, right, bottom, top = _reach(free, size)
    if left > right or bottom > top:
        return np.zeros((0, 2))
    low, high = _obstacles(free, points, taken)
    apart = AIR * free.scale + 0.5
    across = np.concatenate([[left, right], high[:, 0] + apart, low[:, 0] - apart - size[0]])
    along = np.concatenate([[bottom, top], high[:, 1] + apart, low[:, 1] - apart - size[1]])
    across, along = across[(across >= left) & (across <= right)], along[(along >= bottom) & (along <= top)]
    x, y = np.meshgrid(across, along)
    return np.column_stack([x.ravel(), y.ravel()])


def _obstacles(free: FreeSpace, points: FloatArray, taken: Sequence[ViewBox]) -> tuple[Double, Double]:
    """Lower left and upper right corners (n, 2) of all that must not be covered: points first, then boxes, then what Blender draws."""
    boxes = np.array([[box.left, box.bottom, box.right, box.top] for box in (*taken, *blenders_own(free))])
    return np.concatenate([points, boxes[:, :2]]), np.concatenate([points, boxes[:, 2:]])


def _worth(places: FloatArray, free: FreeSpace, size: Size, points: FloatArray, taken: Sequence[ViewBox]) -> NDArray[np.int64]:
    """What a box would cover at each of some places (n, 2): points count 1, boxes BOX_WORTH; 0 where nothing."""
    low, high = _obstacles(free, points, taken)
    air = AIR * free.scale
    meets = ((places[:, None] <= high + air) & (places[:, None] + np.array(size) >= low - air)).all(axis=2)
    return np.asarray(meets @ np.where(np.arange(len(low)) < len(points), 1, BOX_WORTH), np.int64)


def _nearest(places: FloatArray, usual: FloatArray) -> FloatArray:
    """The one of some places (n, 2) that is nearest to a corner or the middle of an edge."""
    return places[int(np.abs(places[:, None] - usual).sum(axis=2).min(axis=1).argmin())]


BOXES = ViewBoxes()
"""The boxes of the session: drawing notes them, the gizmo reads them; Blender makes both itself and hands them nothing of ours."""
