"""The height at which nothing is met: above the stock and above every box that the cutter must stay out of."""

from __future__ import annotations

from .keep_out import KeepOut, boxes_on
from .stock import Stock, stock_top

ABOVE_BOXES = 5.0
"""mm that the first approach and the dry run keep above the highest box: common practice, no source."""


def clear_height(stock: Stock, side: str, safe_height: float, keep_out: tuple[KeepOut, ...]) -> float:
    """Height in job mm of a side above stock and boxes. safe_height: mm above the stock."""
    return max([stock_top(stock, side) + safe_height, *(box.high[2] + ABOVE_BOXES for box in boxes_on(keep_out, stock, side))])
