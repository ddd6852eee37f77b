"""What was found to lie apart in a mesh."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Stray:
    """A small part that lies apart. middle: (x, y, z) mm in the body's own axes; size: its extent, mm; faces: how many triangles it has."""

    middle: tuple[float, float, float]
    size: tuple[float, float, float]
    faces: int


@dataclass(frozen=True)
class Apart:
    """What lies apart in a body. parts: how many parts are planned. strays: small ones that are left out, the largest first."""

    parts: int = 1
    strays: tuple[Stray, ...] = ()


NOTHING_APART = Apart()
