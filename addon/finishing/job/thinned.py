"""What was left of a mesh that has more triangles than a plan can take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Thinned:
    """given, kept: numbers of triangles before and after. within: the distance in mm that was allowed between both surfaces. deviation: the
    greatest one that was measured, mm.
    """

    given: int
    kept: int
    within: float
    deviation: float


def thinned_together(parts: Sequence[Thinned | None], counts: Sequence[int]) -> Thinned | None:
    """What was left of several meshes, some of which were thinned; None where none was. counts: triangles that each has now."""
    done = [part for part in parts if part is not None]
    if not done:
        return None
    given = sum(count if part is None else part.given for part, count in zip(parts, counts, strict=True))
    return Thinned(given, sum(counts), within=max(part.within for part in done), deviation=max(part.deviation for part in done))
