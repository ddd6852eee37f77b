"""A drag of a handle: from rays at the mouse, keys held and numbers typed to the values that the handle takes. Rays are in job mm."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..finishing.core.array_types import Double
from .setup_handles import ARROW, CHOICE, MOVE, TURN, Handle, Values

COARSE_MM, FINE_MM, COARSE_DEGREES, FINE_DEGREES = 5.0, 1.0, 15.0, 5.0
"""Steps with Ctrl, and with Ctrl and Shift."""

PRECISE = 0.1
"""Share of the way that counts with Shift, as for Blender's own gizmos."""

STEEPEST = 1e-6
"""Rays that run along a plane or an arrow as nearly as this meet it nowhere."""

TYPED = frozenset("0123456789.-")


@dataclass
class Drag:
    """One drag. middle: (2,) about which a handle turns. typed: text of each value that was typed. at: the value that typing goes to."""

    handle: Handle
    middle: Double
    start: Double | float | None = None
    values: Values = ()
    typed: dict[int, str] = field(default_factory=dict)
    at: int = 0

    def __post_init__(self) -> None:
        self.values = self.handle.values

    def move(self, origin: Double, way: Double, *, snap: bool, precise: bool) -> Values:
        """The values for a ray from an origin (3,) along a way (3,). What is typed holds, whatever the mouse does."""
        now = self._measured(origin, way)
        if now is not None:
            if self.start is None:
                self.start = now
            self.values = self._moved(now, snap=snap, precise=precise)
        return self.with_typed()

    def key(self, letter: str) -> Values:
        """Take a typed letter: a figure, a decimal mark, a sign; "<" takes one back, ">" goes on to the next value."""
        if self.handle.kind == CHOICE:
            return self.values
        letter = "." if letter == "," else letter
        text = self.typed.get(self.at, "")
        if letter == ">":
            self.at = (self.at + 1) % len(self.values)
        elif letter == "<":
            self.typed[self.at] = text[:-1]
        elif letter == "-":
            self.typed[self.at] = text[1:] if text.startswith("-") else f"-{text}"
        elif letter in TYPED:
            self.typed[self.at] = text + letter
        return self.with_typed()

    def with_typed(self) -> Values:
        """The values, those that were typed in place of the mouse's."""
        found = list(self.values)
        for number, text in self.typed.items():
            try:
                found[number] = float(text)
            except ValueError:  # nothing yet, or half a number
                continue
        return tuple(found)

    def _measured(self, origin: Double, way: Double) -> Double | float | None:
        """What a ray says: mm along an arrow, a point (2,) of the plane, degrees, or the number of the nearest place."""
        handle = self.handle
        if handle.kind == ARROW and handle.way is not None:
            return along_line(handle.place, handle.way, origin, way)
        if handle.kind == CHOICE and handle.places is not None:
            apart = handle.places - origin
            away = apart - (apart @ way / (way @ way))[:, None] * way
            return float(np.linalg.norm(away, axis=1).argmin())
        point = on_level(float(handle.place[2]), origin, way)
        if point is None or handle.kind == MOVE:
            return point
        return float(np.degrees(np.arctan2(point[1] - self.middle[1], point[0] - self.middle[0])))

    def _moved(self, now: Double | float, *, snap: bool, precise: bool) -> Values:
        handle = self.handle
        if handle.kind == CHOICE:
            return (float(np.asarray(now)),)
        change = np.atleast_1d(np.asarray(now, float) - np.asarray(self.start, float)) * handle.gain
        if handle.kind == TURN:
            change = (change + 180.0) % 360.0 - 180.0
        change = change * (PRECISE if precise and not snap else 1.0)
        values = np.array(handle.values) + change
        if snap:
            step = (FINE_DEGREES if precise else COARSE_DEGREES) if handle.kind == TURN else (FINE_MM if precise else COARSE_MM)
            values = np.round(values / step) * step
        return tuple(float(value) for value in np.round(values, 3))


def along_line(place: Double, direction: Double, origin: Double, way: Double) -> float | None:
    """How far from a place along a line (unit direction) the point is that lies nearest to a ray; None where they are parallel."""
    way = way / np.linalg.norm(way)
    lean = float(direction @ way)
    if 1 - lean**2 < STEEPEST:
        return None
    apart = place - origin
    return float((lean * (way @ apart) - direction @ apart) / (1 - lean**2))


def on_level(height: float, origin: Double, way: Double) -> Double | None:
    """Where a ray meets a level plane, (2,); None where it runs along it."""
    if abs(way[2]) < STEEPEST * float(np.linalg.norm(way)):
        return None
    return np.asarray((origin + (height - origin[2]) / way[2] * way)[:2], np.float64)
