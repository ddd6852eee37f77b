"""The stock box round the body, its two sides, turning it over, and where zero is on each side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadRequest
from ..core.message import Message
from ..core.place import place_of
from .setting_kinds import Choice, Number, OrNothing, Record, Setting, require

SIDES = ("top", "back")
TURN_AXES = ("y", "x")
AXES = ("X", "Y", "Z")
XY_ZEROS = ("corner", "centre")
Z_ZEROS = ("auto", "spoilboard", "stock top")

OUTSIDE = 1e-3
"""mm; less than this out of the stock, or below its bottom, is rounding."""


STOCK = Record(
    "Stock",
    (
        Setting("length", OrNothing(Number(1.0, 20000.0, "mm"), "the body and the margin on each side"), "Length along the body's X"),
        Setting("width", OrNothing(Number(1.0, 20000.0, "mm"), "the body and the margin on each side"), "Width along the body's Y"),
        Setting("thickness", OrNothing(Number(0.5, 2000.0, "mm"), "the body's, without a margin"), "Thickness along the body's Z"),
        Setting("margin", Number(0.0, 1000.0, "mm"), "Stock round the body on each side, as long as length and width are not given"),
        Setting(
            "height_in_stock",
            OrNothing(Number(0.0, 1000.0, "mm"), "the body lies in the middle"),
            "Height of the body's lowest point above the bottom of the stock",
        ),
        Setting("turn_axis", Choice(TURN_AXES), "Axis that the stock is turned over about"),
        Setting("xy_zero", Choice(XY_ZEROS), "Where X and Y are zero; corner is the lower left corner of the stock seen from above, on either side"),
        Setting("z_zero", Choice(Z_ZEROS), "What Z is zeroed on; auto: the spoilboard for the first side, the stock's top for the second"),
        Setting("first_side", Choice(SIDES), "Side that is cut first"),
        Setting("into_spoilboard", Number(0.0, 50.0, "mm"), "How far the tip may go below the bottom of the stock"),
    ),
)
"""The stock and its zeros."""


def other_side(side: str) -> str:
    """The name of the side that a side is not."""
    return "back" if side == "top" else "top"


@dataclass(frozen=True)
class StockSettings:
    """What is known of the stock: see STOCK."""

    length: float | None = None
    width: float | None = None
    thickness: float | None = None
    margin: float = 25.0
    height_in_stock: float | None = None
    turn_axis: str = "y"
    xy_zero: str = "corner"
    z_zero: str = "auto"
    first_side: str = "top"
    into_spoilboard: float = 0.0

    def __post_init__(self) -> None:
        require(STOCK, self)


def grain_on(side: str, first_side: str, grain_angle: float | None) -> float | None:
    """Angle of the wood's grain from X on a side, degrees; None where it is not known. grain_angle: on the side that is cut first.

    The other side shows the same grain in a mirror, whichever axis the stock is turned about.
    """
    return grain_angle if grain_angle is None or side == first_side else -grain_angle


@dataclass(frozen=True)
class Stock:
    """A stock box in the body's axes. low, high: corners (x, y, z) in mm."""

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    settings: StockSettings

    @property
    def size(self) -> tuple[float, float, float]:
        """Length, width and thickness in mm."""
        return (self.high[0] - self.low[0], self.high[1] - self.low[1], self.high[2] - self.low[2])

    def z_zero(self, side: str) -> str:
        """What Z is zeroed on for a side: "spoilboard" or "stock top"."""
        if self.settings.z_zero != "auto":
            return self.settings.z_zero
        return "spoilboard" if side == self.settings.first_side else "stock top"

    def zero_words(self, side: str) -> tuple[Message, Message]:
        """Where X Y and Z zero are on a side, in words."""
        at_corner, on_board = self.settings.xy_zero == "corner", self.z_zero(side) == "spoilboard"
        corner = Message("lower left corner of the stock, seen from above" if at_corner else "middle of the stock")
        height = Message("spoilboard under the stock" if on_board else "top of the stock (not of the body)")
        return corner, height

    def spoilboard(self, side: str) -> float:
        """Height of the stock's bottom in job mm of a side."""
        return stock_top(self, side) - self.size[2]


def resolve_stock(settings: StockSettings, body_low: NDArray[np.float64], body_high: NDArray[np.float64]) -> Stock:
    """The stock box for a body between two corners (3,) in its own axes, the body centred in it in x and y."""
    size = body_high - body_low
    wanted = (
        settings.length if settings.length is not None else size[0] + 2 * settings.margin,
        settings.width if settings.width is not None else size[1] + 2 * settings.margin,
        settings.thickness if settings.thickness is not None else size[2],
    )
    middle = (body_low + body_high) / 2
    low = middle - np.array(wanted) / 2
    if settings.height_in_stock is not None:
        low[2] = body_low[2] - settings.height_in_stock
    high = low + np.array(wanted)
    return Stock(place_of(low), place_of(high), settings)


def check_holds(stock: Stock, body_low: NDArray[np.float64], body_high: NDArray[np.float64]) -> None:
    """Refuse stock that does not hold the body between two corners (3,), all in the body's axes. Raises BadRequest."""
    out = np.maximum(np.array(stock.low) - body_low, body_high - np.array(stock.high))
    worst = int(out.argmax())
    if out[worst] > OUTSIDE:
        raise BadRequest(
            "The stock does not hold the body: along {axis} the body reaches from {body_low:.2f} to {body_high:.2f} mm, the stock only from "
            "{stock_low:.2f} to {stock_high:.2f} mm, in the body's own axes. Give the stock its real size, or change Height in Stock.",
            axis=AXES[worst],
            body_low=float(body_low[worst]),
            body_high=float(body_high[worst]),
            stock_low=stock.low[worst],
            stock_high=stock.high[worst],
        )


def job_from_body(stock: Stock, side: str) -> NDArray[np.float64]:
    """The 4x4 turn and shift that takes body mm to job mm of one side; no mirror.

    The back is turned up by half a turn about the stock's turn axis.
    """
    matrix = np.eye(4)
    if side == "back":
        matrix[:3, :3] = np.diag([-1.0, 1.0, -1.0] if stock.settings.turn_axis == "y" else [1.0, -1.0, -1.0])
    corners = np.array([stock.low, stock.high]) @ matrix[:3, :3].T
    low, high = corners.min(axis=0), corners.max(axis=0)
    zero = low.copy() if stock.settings.xy_zero == "corner" else (low + high) / 2
    zero[2] = low[2] if stock.z_zero(side) == "spoilboard" else high[2]
    matrix[:3, 3] = -zero
    return matrix


def corners_in_job(stock: Stock, side: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest corner of the stock, (3,) each, in job mm of one side."""
    matrix = job_from_body(stock, side)
    corners = np.array([stock.low, stock.high]) @ matrix[:3, :3].T + matrix[:3, 3]
    return corners.min(axis=0), corners.max(axis=0)


def stock_top(stock: Stock, side: str) -> float:
    """Height of the stock's top in job mm of a side."""
    return stock.size[2] if stock.z_zero(side) == "spoilboard" else 0.0
