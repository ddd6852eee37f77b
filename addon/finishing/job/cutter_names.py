"""Cutters of a rack by what a maker calls them: their diameter, or their name where that tells them apart better."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from ..core.errors import BadRequest
from ..core.message import Message
from .cutter import Cutter
from .setting_kinds import shown

SAME_DIAMETER = 1e-4
"""mm; diameters that differ by less are the same one: panels and files keep four decimals."""

SINGLE = ("cutter", "cutter_in_spindle")
"""Settings that are one cutter."""

MOST_NAMED = 4
"""Cutters that a complaint names; a rack may hold a hundred."""


def named_cutter(text: str, rack: Sequence[Cutter]) -> Cutter | None:
    """The cutter of a rack that a text means: by its name, in capitals or not, or by its diameter in mm.

    None for a diameter that no cutter of the rack has. Raises BadRequest for a diameter or a name that several have, and for a name that none has.
    """
    wanted = text.strip()
    named = [cutter for cutter in rack if cutter.name == wanted] or [cutter for cutter in rack if cutter.name.casefold() == wanted.casefold()]
    if len(named) > 1:
        raise BadRequest("Several cutters of the rack are called {name}: give each a name of its own.", name=shown(wanted))
    if named:
        return named[0]
    diameter = _diameter(wanted)
    if diameter is None:
        raise BadRequest(
            "There is no cutter {given} on the rack: give a diameter in mm, or a name of the rack ({names}).",
            given=shown(wanted),
            names=_listed(rack),
        )
    found = [cutter for cutter in rack if _alike(cutter.diameter, diameter)]
    if len(found) > 1:
        raise BadRequest(
            "Several cutters of the rack are {diameter:g} mm: give the name of the one that you mean ({names}).",
            diameter=diameter,
            names=_listed(found),
        )
    return found[0] if found else None


def cutters_found(settings: Mapping[str, Any], rack: Sequence[Cutter]) -> dict[str, Any]:
    """The settings of a file, with all values of the cutters that it only calls by name or diameter: by its own rack, or else by this one.

    Raises BadRequest as `named_cutter` does.
    """
    own = tuple(Cutter(**item) for item in settings["rack"]) if "rack" in settings else rack
    found: dict[str, Any] = {key: asdict(_cutter_of(settings[key], own)) for key in SINGLE if settings.get(key) is not None}
    if "following_cutters" in settings:
        found["following_cutters"] = [asdict(_cutter_of(value, own)) for value in settings["following_cutters"]]
    return dict(settings) | found


def _cutter_of(value: Any, rack: Sequence[Cutter]) -> Cutter:
    """A cutter as a settings file gives it: all of its values, or what it is called."""
    if isinstance(value, Mapping):
        return Cutter(**value)
    return named_or_plain(value if isinstance(value, str) else f"{value:.10g}", rack)


def named_or_plain(text: str, rack: Sequence[Cutter]) -> Cutter:
    """As `named_cutter`, and a plain one for a diameter that no cutter of the rack has."""
    found = named_cutter(text, rack)
    return Cutter(f"Round-nose {float(text):g}", float(text)) if found is None else found


def parts_of_set(text: str, rack: Sequence[Cutter]) -> tuple[str, ...]:
    """Names and diameters of a list with commas between them. A name of the rack may hold commas; diameters may have spaces between them."""
    names = {cutter.name.casefold() for cutter in rack}
    pieces = [piece.strip() for piece in text.split(",")]
    found: list[str] = []
    while pieces:
        # The longest run of pieces that is a name of the rack, else the next piece alone.
        count = next((k for k in range(len(pieces), 1, -1) if ", ".join(pieces[:k]).casefold() in names), 1)
        part, pieces = ", ".join(pieces[:count]), pieces[count:]
        apart = part.split()
        several = part.casefold() not in names and all(_diameter(piece) is not None for piece in apart)
        found += apart if several else [part]
    return tuple(found)


def name_on_rack(cutter: Cutter, rack: Sequence[Cutter]) -> str:
    """The shortest text that means a cutter: its diameter in mm, or its name where another cutter of the rack has that diameter too."""
    return cutter.name if shares_diameter(cutter, rack) else f"{cutter.diameter:g}"


def name_words(cutter: Cutter, rack: Sequence[Cutter]) -> Message:
    """The same to be shown: diameters as the language writes numbers, in mm."""
    if shares_diameter(cutter, rack):
        return Message("{name}", name=cutter.name)
    return Message("{diameter:g}", diameter=cutter.diameter)


def size_words(cutter: Cutter, rack: Sequence[Cutter]) -> Message:
    """The same with its unit: `6 mm`, or its name."""
    if shares_diameter(cutter, rack):
        return Message("{name}", name=cutter.name)
    return Message("{diameter:g} mm", diameter=cutter.diameter)


def _listed(cutters: Sequence[Cutter]) -> Message:
    """The names of some cutters, the first of many."""
    names = tuple(shown(cutter.name) for cutter in cutters[:MOST_NAMED])
    if len(cutters) <= MOST_NAMED:
        return Message("{names}", names=names)
    return Message("{names} and {more} more", names=names, more=len(cutters) - MOST_NAMED)


def shares_diameter(cutter: Cutter, rack: Sequence[Cutter]) -> bool:
    """Whether another cutter of a rack has the diameter of this one."""
    return any(other != cutter and _alike(other.diameter, cutter.diameter) for other in rack)


def _alike(one: float, other: float) -> bool:
    return abs(one - other) < SAME_DIAMETER


def _diameter(text: str) -> float | None:
    """The number that a text is, None where it is none."""
    try:
        return float(text)
    except ValueError:
        return None
