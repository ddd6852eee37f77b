"""Whether a body has a size that a body can have, and which unit would make sense of one that has not."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadBody
from ..core.message import Message
from .body import Body
from .machine import Machine
from .orientation import laid_corners, laid_matrix, upward_axis

SMALLEST_GUESSED = 50.0
"""mm; a body from a file without units that is shorter than this is not believed to be in millimetres."""

SHORTEST_LIKELY, LONGEST_LIKELY = 120.0, 1000.0
"""mm; bodies of instruments, plates, paddles and seats are as long as that. Common practice, no source."""

THINNEST_LIKELY, THICKEST_LIKELY = 5.0, 100.0
"""mm; and as thick as that, with the arch of a plate or the scoop of a seat."""

MISTAKES = (
    (0.001, Message("millimetres"), Message("metres")),
    (0.0254, Message("inches"), Message("metres")),
    (0.1, Message("millimetres"), Message("centimetres")),
    (25.4, Message("inches"), Message("millimetres")),
    (10.0, Message("centimetres"), Message("millimetres")),
    (1000.0, Message("metres"), Message("millimetres")),
)
"""(factor, what was meant, what it was read as): mistakes of unit, the likelier first."""


def is_likely(size: NDArray[np.float64], shortest: float = SHORTEST_LIKELY) -> bool:
    """Whether bodies of this extent (3,) mm are carved on routers."""
    return bool(shortest <= size.max() <= LONGEST_LIKELY and THINNEST_LIKELY <= size.min() <= THICKEST_LIKELY)


def check_guessed_unit(body: Body, units: Mapping[str, float]) -> None:
    """Refuse a body that was read as millimetres, since its file names no unit, when that makes it too small to be one.

    units: millimetres for each unit that can be asked for by its name. Raises BadBody, with the units that would make sense.
    """
    size = body.size
    if size.max() >= SMALLEST_GUESSED:
        return
    # Common where wood is worked in one country or another; of inches and centimetres inches are the likelier.
    others = [name for name in sorted(units, key=lambda name: name != "in") if units[name] != 1.0]
    likely = [name for name in others if is_likely(size * units[name])]
    # A small body is better told of a unit that makes it small than of none.
    likely = likely or [name for name in others if is_likely(size * units[name], SMALLEST_GUESSED)]
    measured = {"body": body.name, "length": size[0], "width": size[1], "height": size[2]}
    if not likely:
        raise BadBody(
            "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm if one unit is 1 mm: say with --unit what one unit means; "
            "--unit mm takes it as it is.",
            **measured,
        )
    raise BadBody(
        "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm if one unit is 1 mm, too small for a body. Give the unit that makes "
        "sense of it, {guesses}; --unit mm takes it as it is.",
        guesses=tuple(_guess(name, size * units[name]) for name in likely),
        **measured,
    )


def _guess(unit: str, size: NDArray[np.float64]) -> Message:
    """A unit and what it makes of the body."""
    return Message("--unit {unit} ({length:.0f} x {width:.0f} x {height:.0f} mm)", unit=unit, length=size[0], width=size[1], height=size[2])


def check_size(body: Body, up: str, machine: Machine, cutter_diameter: float) -> None:
    """Refuse a body that cannot lie on the bed or is smaller than the cutter, and say what would help.

    up: which of its axes looks up. Raises BadBody.
    """
    size = _laid_size(body.size, up)
    measured = {"body": body.name, "length": size[0], "width": size[1], "height": size[2]}
    if not _fits(size, machine):
        raise BadBody(
            "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, more than the machine's {bed_x:g} x {bed_y:g} x {travel_z:g} mm. {hint}",
            bed_x=machine.bed_x,
            bed_y=machine.bed_y,
            travel_z=machine.travel_z,
            hint=_hint(body, up, machine),
            **measured,
        )
    if max(size[:2]) < cutter_diameter:
        raise BadBody(
            "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, less than the cutter's diameter of {diameter:g} mm. {hint}",
            diameter=cutter_diameter,
            hint=_hint(body, up, machine),
            **measured,
        )


def _laid_size(size: NDArray[np.float64], up: str) -> NDArray[np.float64]:
    low, high = laid_corners(laid_matrix(up, size), np.zeros(3), size)
    return high - low


def _fits(size: NDArray[np.float64], machine: Machine) -> bool:
    """Whether a body of this extent goes onto the bed, either way round, and under the spindle."""
    bed_long, bed_short = max(machine.bed_x, machine.bed_y), min(machine.bed_x, machine.bed_y)
    return bool(max(size[:2]) <= bed_long and min(size[:2]) <= bed_short and size[2] <= machine.travel_z)


def _hint(body: Body, up: str, machine: Machine) -> Message:
    """What would help: laying the body flat, another unit, or neither."""
    flat = upward_axis("auto", body.size)
    if flat != upward_axis(up, body.size) and _fits(_laid_size(body.size, flat), machine):
        return Message("It stands on its edge: set Face Up (--up) to {axis}, and it fits.", axis=flat.upper())
    better = unit_hint(_laid_size(body.size, up), machine)
    return better if better is not None else Message("No other unit makes sense of it: take a body or a machine of another size.")


def unit_hint(size: NDArray[np.float64], machine: Machine) -> Message | None:
    """The unit that would make a likely body of this extent (3,) mm, as a sentence; None when no mistake of unit would."""
    for factor, meant, taken in MISTAKES:
        likely = size * factor
        if is_likely(likely) and _fits(likely, machine):
            return Message(
                "In {meant}, not {taken}, it would measure {length:.0f} x {width:.0f} x {height:.0f} mm: set the unit of the file (--unit) or of "
                "the scene (Unit Scale).",
                meant=meant,
                taken=taken,
                length=likely[0],
                width=likely[1],
                height=likely[2],
            )
    return None
