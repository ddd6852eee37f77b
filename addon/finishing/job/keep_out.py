"""Boxes that the cutter must stay out of: clamps, tabs, screws."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadRequest
from ..core.finding import Finding
from ..core.message import Message, word
from ..core.path import Path
from ..core.place import place_of
from ..core.ragged import run_owners, run_places
from .flank import Flank
from .setting_kinds import Choice, Number, Record, Row, Setting, Text, require
from .stock import AXES, OUTSIDE, SIDES, Stock, corners_in_job

STEP = 0.5
"""mm between the places of a move that are looked at: a box that a ball of 3 mm touches only between two of them, it enters by 0.01 mm."""


BOTH_SIDES = "both"

_PLACE = Row((Number(-1e5, 1e5, "mm"), Number(-1e5, 1e5, "mm"), Number(-1e5, 1e5, "mm")))

KEEP_OUT = Record(
    "Keep-out box",
    (
        Setting("name", Text(), "What stands there: a clamp, a tab, a screw"),
        Setting("low", _PLACE, "Its lowest corner: X, Y, Z from the zero of its side, of the side cut first where it is there on both"),
        Setting("high", _PLACE, "Its highest corner, from the same zero"),
        Setting("side", Choice((BOTH_SIDES, *SIDES)), "Side on which it is there: a clamp often on both, a tab turns over with the stock"),
    ),
    needed=("name", "low", "high"),
    partial=False,
)
"""A box that the cutter must stay out of."""


@dataclass(frozen=True)
class KeepOut:
    """A box: see KEEP_OUT. What is there on both sides stays where it is on the bed when the stock is turned over, and so do X and Y zero."""

    name: str
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    side: str = BOTH_SIDES

    def __post_init__(self) -> None:
        require(KEEP_OUT, self)
        if any(a >= b for a, b in zip(self.low, self.high, strict=True)):
            raise BadRequest("The low corner of the keep-out box '{box}' must be below its high corner in X, Y and Z: swap what is not.", box=self.name)

    def distance(self, point: FloatArray) -> float:
        """Distance in plan from a point (x, y) to the box, 0 inside."""
        return float(np.sqrt(self.squared_distances(point[None, :2])[0]))

    def squared_distances(self, points: FloatArray) -> FloatArray:
        """Squared distances in plan (n,) from points (n, 2) to the box, 0 inside, mm2."""
        out = np.maximum(np.maximum(np.array(self.low[:2]) - points, points - np.array(self.high[:2])), 0)
        squared: FloatArray = (out**2).sum(axis=1)
        return squared


@dataclass(frozen=True)
class TurnedBox(KeepOut):
    """A box that stands turned about Z; its corners low and high hold all of it.

    middle: (x, y) of its middle. way: (x, y) unit vector along it. half: half its length along that, and half its width.
    """

    middle: tuple[float, float] = (0.0, 0.0)
    way: tuple[float, float] = (1.0, 0.0)
    half: tuple[float, float] = (1.0, 1.0)

    def squared_distances(self, points: FloatArray) -> FloatArray:
        """Squared distances in plan (n,) from points (n, 2) to the box, 0 inside, mm2."""
        apart = points - np.array(self.middle)
        along = np.abs(apart[:, 0] * self.way[0] + apart[:, 1] * self.way[1]) - self.half[0]
        across = np.abs(apart[:, 1] * self.way[0] - apart[:, 0] * self.way[1]) - self.half[1]
        squared: FloatArray = np.maximum(along, 0.0) ** 2 + np.maximum(across, 0.0) ** 2
        return squared


def boxes_on(keep_out: tuple[KeepOut, ...], stock: Stock, side: str) -> tuple[KeepOut, ...]:
    """The boxes that are there on a side, in job mm from its own zero.

    A box on both sides was measured from the zero of the side that is cut first. Z zero is elsewhere on the other one (on the stock's top, say):
    the box keeps its height above the spoilboard.
    """
    rise = stock.spoilboard(side) - stock.spoilboard(stock.settings.first_side)
    return tuple(_raised(box, rise if box.side == BOTH_SIDES else 0.0, side) for box in keep_out if box.side in (BOTH_SIDES, side))


def _raised(box: KeepOut, rise: float, side: str) -> KeepOut:
    """The box that much higher, as one of this side."""
    return replace(box, low=(*box.low[:2], box.low[2] + rise), high=(*box.high[:2], box.high[2] + rise), side=side)


def check_boxes(keep_out: tuple[KeepOut, ...], stock: Stock, side: str, safe_height: float) -> None:
    """Refuse boxes that lie where no clamp or tab can be on a side: beside the stock, or out of all reach below or above it. Raises BadRequest.

    A box that only touches the stock lies at it.
    """
    low, high = corners_in_job(stock, side)
    most = high + (0.0, 0.0, safe_height)
    for box in boxes_on(keep_out, stock, side):
        for axis, name in enumerate(AXES):
            if box.high[axis] < low[axis] - OUTSIDE or box.low[axis] > most[axis] + OUTSIDE:
                raise BadRequest(
                    "The keep-out box '{box}' lies outside the stock: along {axis} it reaches from {box_low:.1f} to {box_high:.1f} mm, the stock "
                    "from {stock_low:.1f} to {stock_high:.1f} mm, from zero of the {side} side. Move the box, or leave it out.",
                    box=box.name,
                    axis=name,
                    box_low=box.low[axis],
                    box_high=box.high[axis],
                    stock_low=float(low[axis]),
                    stock_high=float(high[axis]),
                    side=word(side),
                )


def keep_out_findings(path: Path, radius: float, keep_out: tuple[KeepOut, ...], flank: Flank | None = None) -> list[Finding]:
    """The boxes that the cutter touches along its path, each with where it goes in deepest. radius: of the ball, mm."""
    found = []
    for box in keep_out:
        deepest, place = deepest_inside(path.points, radius, box, flank)
        if deepest > 0 and place is not None:
            sentence = Message("The cutter runs {depth:.1f} mm into '{box}'.", depth=deepest, box=box.name)
            remedy = Message("Move the clamp or tab, skip the surface beside it, or raise Safe Height above it.")
            found.append(Finding("keep-out", sentence, remedy, place, must_see=True, hits=True))
    return found


def deepest_inside(points: FloatArray, radius: float, box: KeepOut, flank: Flank | None = None) -> tuple[float, tuple[float, float, float] | None]:
    """How far ball or flank goes into a box on straight moves between points (n, 3) of the tip, and where. radius: of the ball, mm."""
    low, high = np.array(box.low), np.array(box.high)
    widest = radius if flank is None else flank.top_radius
    start, end = points[:-1], points[1:]
    # The cutter reaches up from its tip without end: only what lies wholly above the box is far from it in z.
    near_in_plan = (np.minimum(start, end)[:, :2] < high[:2] + widest).all(axis=1) & (np.maximum(start, end)[:, :2] > low[:2] - widest).all(axis=1)
    near = near_in_plan & (np.minimum(start[:, 2], end[:, 2]) < high[2])
    start, end = start[near], end[near]
    if len(start) == 0:
        return 0.0, None
    count = np.maximum(2, np.ceil(np.linalg.norm(end - start, axis=1) / STEP).astype(int) + 1)
    move = run_owners(count)
    share = run_places(count) / (count[move] - 1)
    tips = start[move] + share[:, None] * (end - start)[move]
    # Above its equator the cutter is as wide as the ball: only where the ball's centre lies above the box does height keep it away.
    over = np.maximum(tips[:, 2] + radius - high[2], 0)
    away = box.squared_distances(tips[:, :2])
    depth = radius - np.sqrt(away + over**2)
    if flank is not None:
        # Into the cone square to its side: the box's upper edge lies so much farther from the axis than the flank is wide there.
        wide = flank.half_width(high[2] - tips[:, 2]) - np.sqrt(away)
        depth = np.maximum(depth, np.where(high[2] > tips[:, 2] + flank.foot_height, wide * np.cos(np.radians(flank.half_angle)), -np.inf))
    worst = int(depth.argmax())
    return float(depth[worst]), place_of(tips[worst])
