"""What a machine's record must say so that its estimates fit the stopwatch times of a timing test.

Five times cannot settle all values by themselves: three speeds, three accelerations, the kind of corner and the blocks looked ahead. What they
leave open is taken from the record: first of all that the speeds of X and Y keep their ratio. So every value is drawn to the record, weakly where
the patterns settle it and strongly where they do not, and the values that fit best are found by least squares for each kind of corner and number
of blocks (a maximum a posteriori estimate with normal errors of the logarithms). The combination that fits best of all wins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadRequest
from ..job.machine import CORNER_KINDS, EXACT_STOP, MACHINE, Machine
from .timing_test import Pattern, pattern_seconds, timing_patterns

BLOCK_NUMBERS = 8, 12, 16, 24, 32, 48, 64
"""Numbers of blocks ahead that are tried, besides the record's own. More are never needed, and fewer no control has."""

STOPWATCH, SHARE_OF_TIME = 0.2, 0.003
"""s and share of a time that a stopwatch reading may be off by: two presses of a hand; common practice, no source."""

SPEED_SPREAD, RATIO_SPREADS, ACCELERATION_SPREAD = 0.5, (0.1, 0.1, 0.3), 0.8
"""How far a machine may be from its record, in logarithms: all speeds together, the speeds of X, Y and Z beside that, each acceleration."""

BLOCKS_SPREAD = 0.7
"""The same of the number of blocks ahead."""

ROUNDS = 20
"""Most steps of the least squares: the times bend so little that a few are enough."""

GOOD_ENOUGH = 1e-3
"""Gain in the sum of squares, in units of the stopwatch's, below which a further step changes nothing that counts."""

LEAST_DAMPING, GREATEST_DAMPING = 1e-4, 1e3
"""Of steps, as a share of the squares' own curvature: hardly any while they help; beyond the greatest, no step helps any more."""

LEAST_CHANGE = 1e-20
"""Of a squared step: keeps the division finite where a search stands still."""

SMALL_STEP = 1e-3
"""Step in units of the spreads for derivatives: far above the rounding of the times, and small beside how they bend."""

AXES = "x", "y", "z"

BELIEVED = 0.03
"""Share by which the fitted machine may miss a time: beyond, a time is wrong or the control is of a kind of its own."""


@dataclass(frozen=True)
class TimingFit:
    """The machine as a timing test shows it. times, fitted: seconds of the patterns as measured, and on this machine."""

    machine: Machine
    times: tuple[float, ...]
    fitted: tuple[float, ...]

    @property
    def misses(self) -> tuple[float, ...]:
        """Shares by which the machine's times miss the measured ones."""
        return tuple(fitted / time - 1 for time, fitted in zip(self.times, self.fitted, strict=True))

    @property
    def believed(self) -> bool:
        """Whether all times fit one machine."""
        return max(abs(miss) for miss in self.misses) <= BELIEVED


def fitted_machine(times: Sequence[float], record: Machine) -> TimingFit:
    """The machine that the times of the five patterns show, in seconds. record: what is believed so far.

    Raises BadRequest for times that no timing test gives.
    """
    patterns = timing_patterns()
    if len(times) != len(patterns):
        raise BadRequest("A timing test has {count} times, not {given}: give one for each pattern.", count=len(patterns), given=len(times))
    if not all(np.isfinite(time) and time > 0 for time in times):
        raise BadRequest("The times of a timing test must be above 0 seconds: give what the stopwatch showed.")
    fit = _Fit(np.asarray(times, float), patterns)
    best, misfit = record, np.inf
    for corners in CORNER_KINDS:
        numbers = {record.blocks_ahead} if corners == EXACT_STOP else {*BLOCK_NUMBERS, record.blocks_ahead}
        found = fit.begun(replace(record, corners=corners, blocks_ahead=max(numbers)))
        for blocks in sorted(numbers, reverse=True):
            tried = replace(record, corners=corners, blocks_ahead=blocks)
            found = fit.solved(tried, found)
            squares = found.squares + float(np.log(blocks / record.blocks_ahead) / BLOCKS_SPREAD) ** 2
            if squares < misfit:
                best, misfit = _varied(tried, found.unknowns), squares
    machine = replace(_rounded(best), time_factor=1.0, timing_tested=True)
    return TimingFit(machine, tuple(fit.times.tolist()), tuple(pattern_seconds(patterns, machine).tolist()))


@dataclass(frozen=True)
class _Solution:
    """Where a search stands. unknowns: (7,), logarithms in units of their spreads: of a factor of all speeds, of one of each speed, of one of
    each acceleration. misfits: (12,), what is missed there. slopes: (12, 7), how that changes with the unknowns.
    """

    unknowns: NDArray[np.float64]
    misfits: NDArray[np.float64]
    slopes: NDArray[np.float64]

    @property
    def squares(self) -> float:
        """The sum of squares that the search makes least."""
        return float(self.misfits @ self.misfits)


@dataclass(frozen=True)
class _Fit:
    """Times of patterns, and the search for a machine that has them."""

    times: NDArray[np.float64]
    patterns: Sequence[Pattern]

    def begun(self, record: Machine) -> _Solution:
        """A search that stands at the record itself."""
        unknowns = np.zeros(1 + 2 * len(AXES))
        misfits = self._misfits(record, unknowns)
        steps = SMALL_STEP * np.eye(len(unknowns))
        slopes = np.column_stack([(self._misfits(record, unknowns + step) - misfits) / SMALL_STEP for step in steps])
        return _Solution(unknowns, misfits, slopes)

    def solved(self, record: Machine, found: _Solution) -> _Solution:
        """The solution for a record, from one that has been found for another.

        Gauss and Newton's steps, kept short while they do not help (Levenberg and Marquardt). Every step shows how the misfits really change
        along it and mends the slopes by that (Broyden 1965, Math. Comp. 19:577), which saves finding them anew.
        """
        unknowns, slopes = found.unknowns, found.slopes
        now, damping = self._misfits(record, unknowns), LEAST_DAMPING
        for _ in range(ROUNDS):
            normal = slopes.T @ slopes
            change = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -slopes.T @ now)
            then = self._misfits(record, unknowns + change)
            slopes = slopes + np.outer(then - now - slopes @ change, change) / max(float(change @ change), LEAST_CHANGE)
            gain = now @ now - then @ then
            if gain > 0:
                unknowns, now, damping = unknowns + change, then, max(damping / 10, LEAST_DAMPING)
            else:
                damping *= 10
            if 0 < gain < GOOD_ENOUGH or damping > GREATEST_DAMPING:
                break
        return _Solution(unknowns, now, slopes)

    def _misfits(self, record: Machine, unknowns: NDArray[np.float64]) -> NDArray[np.float64]:
        """By how many of its errors each time is missed, and by how many of its spreads each value."""
        error = np.hypot(STOPWATCH, SHARE_OF_TIME * self.times)
        seconds = pattern_seconds(self.patterns, _varied(record, unknowns))
        return np.concatenate([(seconds - self.times) / error, unknowns])


def _varied(record: Machine, unknowns: NDArray[np.float64]) -> Machine:
    """The record with speeds and accelerations changed by unknowns, within the limits of what a machine may be: a step can lead far beyond."""
    speeds = SPEED_SPREAD * unknowns[0] + np.array(RATIO_SPREADS) * unknowns[1 : 1 + len(AXES)]
    accelerations = ACCELERATION_SPREAD * unknowns[1 + len(AXES) :]
    names = [f"speed_{axis}" for axis in AXES] + [f"acceleration_{axis}" for axis in AXES]
    factors = np.exp(np.concatenate([speeds, accelerations]))
    changed: dict[str, Any] = {}
    for name, factor in zip(names, factors, strict=True):
        limits = MACHINE.limits(name)
        changed[name] = float(np.clip(getattr(record, name) * factor, limits.least, limits.greatest))
    return replace(record, **changed)


def _rounded(machine: Machine) -> Machine:
    """Speeds in whole tens of mm/min and accelerations in whole mm/s2: no stopwatch tells more."""
    rounded: dict[str, Any] = {}
    for axis in AXES:
        rounded[f"speed_{axis}"] = max(round(getattr(machine, f"speed_{axis}"), -1), 10.0)
        rounded[f"acceleration_{axis}"] = max(round(getattr(machine, f"acceleration_{axis}"), 0), 1.0)
    return replace(machine, **rounded)
