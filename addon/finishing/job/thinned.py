"""What was left of a mesh that has more triangles than a plan can take."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Thinned:
    """given, kept: numbers of triangles before and after. within: the distance in mm that was allowed between both surfaces. deviation: the
    greatest one that was measured, mm. roughness: by how much the points of a rough mesh scatter, mm, each of which became the mean of its patch;
    0 for a mesh whose points were kept where they were.
    """

    given: int
    kept: int
    within: float
    deviation: float
    roughness: float = 0.0

    @property
    def scatter_left(self) -> float:
        """By how much the means of patches scatter, mm: over the square root of the points that each is of (standard error of a mean)."""
        return self.roughness * math.sqrt(self.kept / self.given)


def thinned_together(parts: Sequence[Thinned | None], counts: Sequence[int]) -> Thinned | None:
    """What was left of several meshes, some of which were thinned; None where none was. counts: triangles that each has now."""
    done = [part for part in parts if part is not None]
    if not done:
        return None
    given = sum(count if part is None else part.given for part, count in zip(parts, counts, strict=True))
    greatest = {name: max(getattr(part, name) for part in done) for name in ("within", "deviation", "roughness")}
    return Thinned(given, sum(counts), **greatest)
