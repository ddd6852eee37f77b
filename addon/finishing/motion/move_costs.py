"""What moves between pass lines cost when the running order is looked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Mask

SHORT_MOVE = 10.0
"""mm; shorter moves join lines side by side (the spacing of a 32 mm cutter at a cusp height of 0.2 mm is 5 mm): they count as free and are
never lifted, so that the many thousands of them that a search compares need no look at the ground."""


@dataclass(frozen=True)
class LiftCosts:
    """Seconds that going up and down takes. least: for any move; of: for straight moves (n, 2, 2) in plan, (n,)."""

    least: float
    of: Callable[[FloatArray], FloatArray]


@dataclass(frozen=True)
class MoveCosts:
    """Seconds of moves between lines, without the turns at their ends. Speeds in mm/s.

    lifts: what going up and down takes. barred: whether straight moves (n, 2, 2) in plan leave the ground that links may
    cross, (n,). short: mm; moves up to it count as such that are not barred.
    """

    link_speed: float
    lifts: LiftCosts
    air_speed: float
    barred: Callable[[FloatArray], Mask]
    short: float = SHORT_MOVE

    def least(self, distance: float) -> float:
        """Seconds of a move of some mm that is not barred; short moves count as such."""
        linked = distance / self.link_speed
        return linked if distance <= self.short else min(linked, self.lifts.least + distance / self.air_speed)

    def of(self, moves: FloatArray) -> FloatArray:
        """Seconds (n,) of straight moves (n, 2, 2) in plan: along the surface where that is not barred, or lifted when that is quicker."""
        distance = np.hypot(*(moves[:, 1] - moves[:, 0]).T)
        linked = distance / self.link_speed
        lifted = np.full(len(moves), np.inf)
        far = np.flatnonzero(distance > self.short)
        lifted[far] = self.lifts.of(moves[far]) + distance[far] / self.air_speed
        asked = far[linked[far] < lifted[far]]
        linked[asked[self.barred(moves[asked])]] = np.inf
        return np.where(distance > self.short, np.minimum(linked, lifted), linked)
