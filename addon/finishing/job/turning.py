"""Turning the stock over: whether both sides' zeros touch the same face of the real stock, whatever its thickness."""

from __future__ import annotations

from ..core.finding import Change, Finding
from ..core.message import Message
from ..core.path import Path
from ..core.place import place_of
from .stock import OUTSIDE, Stock, other_side


def zeroed_face(stock: Stock, side: str) -> str:
    """The face of the stock that Z zero of a side stands on: "top" or "back", named by the body's own axes.

    The first side lies with its other face on the spoilboard; turned over, that face looks up.
    """
    lies_on = other_side(side)
    return lies_on if stock.z_zero(side) == "spoilboard" else side


def parted_by(stock: Stock, deviation: float) -> float:
    """How far in mm the two sides are off each other when the real stock is thicker than nominal by a deviation.

    Nothing when both zeros touch the same face: every height is then measured from there. Else they part by the whole deviation.
    """
    return 0.0 if zeroed_face(stock, "top") == zeroed_face(stock, "back") else deviation


def stock_findings(stock: Stock, side: str, path: Path) -> list[Finding]:
    """What is wrong with stock and zeros on one side."""
    found = []
    into_spoilboard = stock.settings.into_spoilboard
    bottom = stock.spoilboard(side)
    if len(path) and float(path.points[:, 2].min()) < bottom - into_spoilboard - OUTSIDE:
        lowest = path.points[int(path.points[:, 2].argmin())]
        sentence = Message(
            "The tip goes {depth:.2f} mm below the bottom of the stock, more than the {allowed:g} mm allowed.",
            depth=bottom - float(lowest[2]),
            allowed=into_spoilboard,
        )
        remedy = Message("Raise Deepest Tip, or check where the body lies in the stock.")
        place = place_of(lowest)
        found.append(Finding("below-spoilboard", sentence, remedy, place, must_see=True))
    if parted_by(stock, 1.0):
        sentence = Message(
            "The two sides are zeroed on different faces of the stock: if it is 1 mm thicker than nominal, the sides end up 1 mm too far apart."
        )
        remedy = Message("Zero the first side on the spoilboard and the second on the top of the stock.")
        found.append(Finding("zeros-on-two-faces", sentence, remedy, must_see=True, changes=(Change("stock.z_zero", "auto"),)))
    return found
