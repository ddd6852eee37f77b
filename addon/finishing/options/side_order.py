"""Which side to cut first: the one after which the stock is the stiffer while the other is cut.

A piece of stock that is cut hollow from one side bends across its weakest section. The second moment of area of a section about its own neutral
axis tells how stiff it is, with the wood's stiffness the same everywhere: I = integral of (t^3/12 + t (m - c)^2) over the section's width, t the
thickness and m the mid-height of a strip, c the height of the section's centroid (parallel axis theorem, such as in Gere and Goodno, Mechanics of
Materials, ch. 12). Stock beside the body is taken as whole: channels beside it weaken both orders alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, FloatArray
from ..core.finding import Finding
from ..core.grid import Grid
from ..core.message import Message, word
from ..job.stock import other_side
from ..surface.height_map import height_map
from ..tooling.standing_stock import StockBox

CELL = 2.0
"""mm, cells of the sections: far finer than forms change that bear on stiffness."""

WORTH_TELLING = 1.25
"""How much stiffer the other order must leave the stock to be told."""

WHOLE = 0.999
"""Share of the whole stock's stiffness from which a side counts as not cut at all."""


@dataclass(frozen=True)
class SideOrder:
    """Least second moment of area of any section of the stock after one side alone has been cut, as a share of the whole stock's. side: the side
    that lies up; own: after it, other: after the other one.
    """

    side: str
    own: float
    other: float

    @property
    def better_first(self) -> str | None:
        """The side to cut first; None where one of them is not cut, or both orders are about as good."""
        if max(self.own, self.other) >= WHOLE:
            return None
        if max(self.own, self.other) < WORTH_TELLING * min(self.own, self.other):
            return None
        return self.side if self.own > self.other else other_side(self.side)


def section_moment(thickness: FloatArray, middle: FloatArray, width: float) -> Double:
    """Second moment of area in mm4 of sections (n, strips) about their own neutral axes. thickness, middle: mm of strips `width` mm wide."""
    area = np.maximum(thickness.sum(axis=1), np.finfo(float).tiny)
    centroid = (thickness * middle).sum(axis=1) / area
    return np.asarray(width * (thickness**3 / 12 + thickness * (middle - centroid[:, None]) ** 2).sum(axis=1), np.float64)


def weakest_share(thickness: FloatArray, middle: FloatArray, whole: float) -> float:
    """Least second moment of any section along rows or columns of stock (rows, columns), as a share of that of stock of thickness `whole`."""
    shares = []
    for t, m in ((thickness, middle), (thickness.T, middle.T)):
        full = whole**3 / 12 * t.shape[1]
        shares.append(float(section_moment(t, m, 1.0).min()) / full)
    return min(shares)


def side_order_of(side: str, triangles: FloatArray, stock: StockBox) -> SideOrder:
    """Weigh both orders. triangles: (n, 3, 3) of the body in job mm, `side` up."""
    grid = Grid.over(np.array(stock.low) + CELL / 2, np.array(stock.high) - CELL / 2, CELL)
    top = height_map(triangles, grid)
    under = -height_map(triangles * [1.0, 1.0, -1.0], grid, upward_only=False)
    body = top > -np.inf
    whole = stock.top - stock.bottom
    above = np.where(body, np.clip(top, stock.bottom, stock.top), stock.top)
    below = np.where(body, np.clip(np.where(body, under, 0.0), stock.bottom, stock.top), stock.bottom)
    own = weakest_share(above - stock.bottom, (above + stock.bottom) / 2, whole)
    other = weakest_share(stock.top - below, (stock.top + below) / 2, whole)
    return SideOrder(side, own, other)


def side_order_findings(order: SideOrder, first_side: str) -> tuple[Finding, ...]:
    """That the other side would better be cut first; told with the plan of the side that is to be cut first."""
    better = order.better_first
    if better is None or better == first_side:
        return ()
    sentence = Message(
        "Cut the {side} first: after it the weakest section of the stock is {share:.0%} as stiff as whole stock, after the other side {other:.0%}.",
        side=word(better),
        share=max(order.own, order.other),
        other=min(order.own, order.other),
    )
    return (Finding("side-order", sentence, Message("Set First Side, and plan both again: their zeros change.")),)
