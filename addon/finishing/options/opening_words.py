"""Openings and their floors in words."""

from __future__ import annotations

from ..core.message import Message, in_a_row, word
from ..surface.openings import Opening, OpeningFloor

UNEVEN = 0.3
"""mm; a floor whose depths lie farther apart is told with both of them."""


def opening_words(opening: Opening) -> Message:
    """What an opening is, and its floors where there is more to say of them."""
    sentence = Message("Opening {number}, a through hole {width:.1f} mm wide.", number=opening.number, width=opening.width)
    if opening.depth is not None:
        sentence = Message(
            "Opening {number}, a {kind} {width:.1f} mm wide and {depth:.1f} mm deep.",
            number=opening.number,
            kind=word(opening.kind),
            width=opening.width,
            depth=opening.depth,
        )
    return in_a_row(sentence, _floors(opening))


def treated_opening_words(opening: Opening) -> Message:
    """The same with what becomes of it."""
    size = {"number": opening.number, "width": opening.width, "treated": _treated(opening.treatment)}
    sentence = Message("Opening {number}, a through hole {width:.1f} mm wide, is {treated}.", **size)
    if opening.depth is not None:
        sentence = Message(
            "Opening {number}, a {kind} {width:.1f} mm wide and {depth:.1f} mm deep, is {treated}.",
            kind=word(opening.kind),
            depth=opening.depth,
            **size,
        )
    return in_a_row(sentence, _floors(opening))


def _floors(opening: Opening) -> Message | None:
    """The floors of an opening; None where the opening's own figures say it all."""
    if len(opening.floors) == 1 and not _is_uneven(opening.floors[0]):
        return None
    return Message("In it: {floors}.", floors=tuple(_floor(floor, opening.treatment) for floor in opening.floors))


def floor_words(opening: Opening, first: int) -> Message:
    """The floors that lie side by side with the one of this number, which are treated alike."""
    floors = tuple(_floor(floor, floor.treatment) for floor in opening.floors if floor.beside == first)
    return Message("Opening {number}, floor {floor}: {floors}.", number=opening.number, floor=first, floors=floors)


def _is_uneven(floor: OpeningFloor) -> bool:
    return floor.shallowest is not None and floor.deepest is not None and floor.deepest - floor.shallowest > UNEVEN


def _floor(floor: OpeningFloor, treatment: str) -> Message:
    if floor.depth is None:
        words = Message("a through hole {width:.1f} mm wide", width=floor.width)
    else:
        kind = {"floor": Message("a floor"), "recess": Message("a recess"), "island": Message("an island")}[floor.kind]
        words = Message("{kind} {width:.1f} mm wide and {depth:.1f} mm deep", kind=kind, width=floor.width, depth=floor.depth)
        if _is_uneven(floor):
            between = {"low": floor.shallowest, "high": floor.deepest}
            words = Message("{kind} {width:.1f} mm wide and from {low:.1f} to {high:.1f} mm deep", kind=kind, width=floor.width, **between)
    return words if floor.treatment == treatment else Message("{floor} ({treated})", floor=words, treated=_treated(floor.treatment))


def _treated(treatment: str) -> Message:
    return {"skip": Message("left out"), "bridge": Message("bridged"), "follow": Message("followed")}[treatment]
