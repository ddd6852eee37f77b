"""The volume that a tapered cutter sweeps: its ball's (`swept_ball`) and its flank's.

The underside of the flank over a place is the lowest of tip + c(r) over all places of the tip at a distance r, foot <= r <= top (`Flank`): turned
upside down, what edges do to a flank that rests on them, so the moves of the tip are searched like those (`ball/flank_search.py`).

Along a ray p + t n the flank comes as near as the gap between its underside and the ray's place; that gap changes by no more than
k |n in plan| + n_z per mm of the ray, k being the flank's rise, and a step of the gap over that never passes the place where the ray enters.
Steps are taken outwards from the foot, or from below it where the cutter has cut into the surface, until they are smaller than what counts.
"""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..ball.flank_search import FlankSearch
from ..core.array_types import FloatArray
from ..core.stepping import within
from ..job.flank import Flank
from .swept_ball import CUT_INTO, SweptBall

ROUNDS, ENOUGH = 40, 1e-5
"""Steps along a ray at the most, and the step in mm that ends it: usual rays take three to ten."""

DEEPEST = 1.0
"""mm below its foot at which a ray begins where the cutter has cut into the surface: a deeper cut is told as this one."""


class SweptTaper(SweptBall):
    """Straight moves of a tapered cutter, sorted into square bins in plan."""

    def __init__(self, starts: FloatArray, ends: FloatArray, flank: Flank, bin_size: float) -> None:
        """starts, ends: (m, 3) centres of the ball, mm, as for `SweptBall`."""
        super().__init__(starts, ends, flank.radius, bin_size)
        to_tip = np.array([0.0, 0.0, flank.radius])
        upside_down = np.array([1.0, 1.0, -1.0])
        self._flank = FlankSearch((starts - to_tip) * upside_down, (ends - to_tip) * upside_down, flank)

    def entry_heights_steps(self, feet: FloatArray, normals: FloatArray, crown: FloatArray) -> Generator[float, None, FloatArray]:
        """As `SweptBall.entry_heights_steps`, into ball or flank, whichever comes first."""
        entry = yield from within(super().entry_heights_steps(feet, normals, crown), 0.0, 0.7)
        if len(feet) == 0:
            return entry
        last = np.minimum(entry, self.radius)
        start = np.minimum(last, 0.0)
        # A foot inside the cutter, be it straight above its ball, tells nothing of where its ray came in: such rays begin further down.
        own = yield from within(self._gaps_steps(feet, normals, start, start), 0.7, 0.75)
        at = np.where((own < -ENOUGH) | (last < -CUT_INTO), -DEEPEST, start)
        active = np.arange(len(feet))
        for number in range(ROUNDS):
            shares = 0.75 + 0.25 * number / ROUNDS, 0.75 + 0.25 * (number + 1) / ROUNDS
            step = yield from within(self._gaps_steps(feet[active], normals[active], at[active], last[active]), *shares)
            at[active] += np.maximum(step, 0.0)
            active = active[(step > ENOUGH) & (at[active] < last[active] - ENOUGH)]
            if len(active) == 0:
                break
        return np.where(at < last - ENOUGH, at, entry)

    def _gaps_steps(self, feet: FloatArray, normals: FloatArray, at: FloatArray, last: FloatArray) -> Generator[float, None, FloatArray]:
        """How far along each ray the flank surely stays away from its place `at` (n,), no farther than up to `last`; negative within the flank. mm."""
        steepness = self._flank.flank.rise * np.hypot(normals[:, 0], normals[:, 1]) + np.abs(normals[:, 2])
        places = feet + at[:, None] * normals
        far = places[:, 2] + np.maximum(last - at, 0.0) * steepness
        underside = -(yield from self._flank.raised_steps(places, -far))
        return (underside - places[:, 2]) / steepness

    def undersides_steps(self, points: FloatArray) -> Generator[float, None, FloatArray]:
        """As `SweptBall.undersides_steps`, of ball and flank."""
        ball = yield from within(super().undersides_steps(points), 0.0, 0.6)
        if len(points) == 0:
            return ball
        # Above the points themselves nothing matters.
        most = np.minimum(ball, points[:, 2])
        lowest = -(yield from within(self._flank.raised_steps(points, -most), 0.6, 1.0))
        return np.where(lowest < most, lowest, ball)


def swept(tips_from: FloatArray, tips_to: FloatArray, radius: float, bin_size: float, flank: Flank | None) -> SweptBall:
    """The volume that a cutter sweeps on straight moves of its tip, from and to (m, 3) mm. radius: of the ball. flank: None for a straight one."""
    lift = np.array([0.0, 0.0, radius])
    if flank is None:
        return SweptBall(tips_from + lift, tips_to + lift, radius, bin_size)
    return SweptTaper(tips_from + lift, tips_to + lift, flank, bin_size)
