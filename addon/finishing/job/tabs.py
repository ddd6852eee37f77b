"""Tabs: bridges of wood between the body's outline and the stock round it, which hold the body and are sawn through by hand in the end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadRequest
from .keep_out import TurnedBox
from .setting_kinds import Number, OrNothing, Record, Row, Setting, Several, require
from .stock import OUTSIDE, Stock, job_from_body

MOST_TABS = 24
"""Tabs of a body; more of them are a web."""

TABS = Record(
    "Tabs",
    (
        Setting("count", OrNothing(Number(0, MOST_TABS, whole=True), "as many as hold"), "How many tabs hold the body in its stock; 0 for none"),
        Setting("width", Number(2.0, 200.0, "mm"), "Width of a tab, along the outline"),
        Setting("height", Number(0.5, 100.0, "mm"), "Height of a tab, along Z"),
        Setting(
            "height_in_stock",
            OrNothing(Number(0.0, 1000.0, "mm"), "where the body's rim holds them best"),
            "Height of the undersides of the tabs above the bottom of the stock, the top side up",
        ),
        Setting(
            "places",
            Several(Row((Number(-1e5, 1e5, "mm"), Number(-1e5, 1e5, "mm"))), MOST_TABS),
            "X and Y of each tab in the body's axes, taken to the nearest place of the outline; none spreads them",
        ),
    ),
)
"""Tabs."""


@dataclass(frozen=True)
class TabSettings:
    """Which tabs are wanted: see TABS. Width and height: common practice, no source."""

    count: int | None = 0
    width: float = 22.0
    height: float = 8.0
    height_in_stock: float | None = None
    places: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        require(TABS, self)

    @property
    def wanted(self) -> bool:
        """Whether there are to be tabs at all."""
        return self.count != 0


@dataclass(frozen=True)
class Tab:
    """One tab, in the axes of the body as it lies or in job mm of a side.

    number: from 1. place: (x, y) on the outline, in the middle of its width. way: (x, y) unit vector from there to the stock. width: along the
    outline; length: from the outline to the stock; low, high: z of its faces, mm.
    """

    number: int
    place: tuple[float, float]
    way: tuple[float, float]
    width: float
    length: float
    low: float
    high: float

    @property
    def height(self) -> float:
        """Height in mm."""
        return self.high - self.low

    @property
    def end(self) -> FloatArray:
        """Where it meets the stock, (2,)."""
        return np.array(self.place) + self.length * np.array(self.way)

    def corners(self, inward: float = 0.0) -> FloatArray:
        """Its four corners in plan, (4, 2), anticlockwise. inward: mm by which it reaches into the body."""
        way = np.array(self.way)
        across = np.array([-way[1], way[0]]) * self.width / 2
        start = np.array(self.place) - inward * way
        return np.array([start - across, self.end - across, self.end + across, start + across])

    def across_and_along(self, points: FloatArray) -> FloatArray:
        """Points (n, 2) as (n, 2): mm across from its middle line, and mm along it from the outline towards the stock."""
        way = np.array(self.way)
        apart = points[:, :2] - np.array(self.place)
        return np.column_stack([apart @ np.array([-way[1], way[0]]), apart @ way])

    def box(self, name: str, inward: float, side: str) -> TurnedBox:
        """The box that the cutter must stay out of. inward: mm by which it reaches into the body, over what lies lower than its top there."""
        corners = self.corners(inward)
        low, high = corners.min(axis=0), corners.max(axis=0)
        middle = corners.mean(axis=0)
        return TurnedBox(
            name, (float(low[0]), float(low[1]), self.low), (float(high[0]), float(high[1]), self.high), side,
            middle=(float(middle[0]), float(middle[1])), way=self.way, half=((self.length + inward) / 2, self.width / 2),
        )  # fmt: skip


def tab_in_job(tab: Tab, stock: Stock, side: str) -> Tab:
    """A tab in the body's axes in job mm of a side."""
    matrix = job_from_body(stock, side)
    place, way = matrix[:2, :2] @ np.array(tab.place) + matrix[:2, 3], matrix[:2, :2] @ np.array(tab.way)
    levels = sorted((float(matrix[2, 2] * tab.low + matrix[2, 3]), float(matrix[2, 2] * tab.high + matrix[2, 3])))
    return Tab(
        number=tab.number,
        place=(float(place[0]), float(place[1])),
        way=(float(way[0]), float(way[1])),
        width=tab.width,
        length=tab.length,
        low=levels[0],
        high=levels[1],
    )


def tabs_in_stock(tabs: tuple[Tab, ...], stock: Stock, side: str) -> tuple[Tab, ...]:
    """Tabs in the body's axes in job mm of a side."""
    return tuple(tab_in_job(tab, stock, side) for tab in tabs)


def check_tabs(settings: TabSettings, stock: Stock) -> None:
    """Refuse tabs that stand out of the stock. Raises BadRequest."""
    top = (settings.height_in_stock or 0.0) + settings.height
    if settings.wanted and top > stock.size[2] + OUTSIDE:
        raise BadRequest(
            "The tabs would stand out of the stock: their tops would be {top:g} mm above its bottom, and it is {thickness:g} mm thick. Lower "
            "Tab Height or Tab Level.",
            top=top,
            thickness=stock.size[2],
        )
