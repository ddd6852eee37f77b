"""What ways between pass lines are worth when their running order is looked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.grid import FloatArray
from ..core.masks import Mask

SHORT = 10.0
"""mm; shorter ways join lines side by side: they are taken as free and never lifted."""


@dataclass(frozen=True)
class WayCosts:
    """Seconds of ways between lines, without the turns at their ends. Speeds in mm/s.

    lift_seconds: what going up and down takes. barred: whether straight ways (n, 2, 2) in plan are barred on the surface, (n,).
    """

    link_speed: float
    lift_seconds: float
    air_speed: float
    barred: Callable[[FloatArray], Mask]

    def least(self, distance: float) -> float:
        """Seconds of a way of some mm that is not barred; short ways are taken as such."""
        linked = distance / self.link_speed
        return linked if distance <= SHORT else min(linked, self.lift_seconds + distance / self.air_speed)

    def of(self, ways: FloatArray) -> FloatArray:
        """Seconds (n,) of straight ways (n, 2, 2) in plan: along the surface where that is not barred, or lifted when that is quicker."""
        distance = np.hypot(*(ways[:, 1] - ways[:, 0]).T)
        lifted = self.lift_seconds + distance / self.air_speed
        linked = distance / self.link_speed
        asked = np.flatnonzero((distance > SHORT) & (linked < lifted))
        linked[asked[self.barred(ways[asked])]] = np.inf
        return np.where(distance > SHORT, np.minimum(linked, lifted), linked)
