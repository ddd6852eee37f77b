"""A pass line in plan, as it is laid."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.array_types import FloatArray

SHORTEST_LINE = 2.0
"""Pass lines shorter than this are left out, in mm: they cost a lift each and clear next to nothing."""


@dataclass(frozen=True)
class LaidLine:
    """A pass line in plan. points: (n, 2) mm, a closed line ends where it starts. kind: "level", "valley" or "gap". level: its number in
    the field, or None for valley and gap lines. uncut_left: whether the ground of the next level lies to the left of the line as it runs; None for
    valley and gap lines, which have ground to be cut on both sides alike.
    """

    points: FloatArray
    kind: str
    level: int | None
    uncut_left: bool | None
