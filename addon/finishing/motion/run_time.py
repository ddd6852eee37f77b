"""Run time of a path: what a machine with limited speeds and accelerations and its control make of the path's program.

The control sees the blocks that programs write (blocks.py). Every block is clipped by the speed and by the acceleration of each axis along
its direction; what happens at corners and how far the control looks ahead is the subject of control.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadRequest
from ..core.fusing import FUSING_TOLERANCE
from ..core.message import Message
from ..core.path import KINDS, Path
from ..job.machine import GREATEST_FACTOR, LEAST_FACTOR, Machine
from ..job.run_log import Experience
from .blocks import WRITTEN_DECIMALS, block_rows
from .control import driven, driven_by_the_quickest, driven_by_the_slowest
from .moves import Moves
from .speed_profile import SpeedProfile

NO_MOVE = 1e-9
"""mm; shorter moves take no time and have no direction."""

TESTED, MEASURED = 0.06, 0.05
"""Share by which the estimate may be off after a timing test, and after a measured run of another path. On a control that is of one of the kinds
a timing test leaves 3 %; a real control keeps rules of its own besides, which made up to 5.4 % on nine runs of the examples on three machines.
Of a measured run: common practice, no source."""


@dataclass(frozen=True)
class RunTime:
    """Time of a path. at: (n,) seconds when each row is reached. seconds_by_kind: by the names in path.KINDS.

    low_seconds, high_seconds: between which the run lies on any control that the machine's record may stand for; reason: how much is known
    of it, as a sentence.
    """

    at: NDArray[np.float64]
    total_seconds: float
    seconds_by_kind: dict[str, float]
    low_seconds: float
    high_seconds: float
    reason: Message

    @property
    def minutes(self) -> float:
        """Total run time in minutes."""
        return self.total_seconds / 60

    @property
    def range_minutes(self) -> tuple[float, float]:
        """Least and greatest run time in minutes."""
        return self.low_seconds / 60, self.high_seconds / 60

    @property
    def uncertainty(self) -> float:
        """Share by which the true time may differ from the estimate, the larger of both sides."""
        if self.total_seconds <= 0:
            return 0.0
        return max(self.high_seconds / self.total_seconds - 1, 1 - self.low_seconds / self.total_seconds)


def run_time(path: Path, machine: Machine, fusing_tolerance: float = FUSING_TOLERANCE, experience: Experience | None = None) -> RunTime:
    """Run time of a path on a machine, from standstill to standstill, without spindle start and tool change.

    fusing_tolerance: mm, of the blocks of its program. experience: what logged runs say; where there are any, their median overrules the
    time factor of the machine.
    """
    blocks = Blocks.of(path, machine, fusing_tolerance)
    factor = time_factor(machine, experience)
    at = factor * blocks.times()
    total = float(at[-1]) if len(at) else 0.0
    if experience is not None and experience.time_factor is not None:
        low, high = min(1 - MEASURED, experience.least_factor / factor) * total, max(1 + MEASURED, experience.greatest_factor / factor) * total
        runs = Message("1 logged run") if experience.runs == 1 else Message("{count} logged runs", count=experience.runs)
        reason = Message("Scaled by {factor:.3f}, the median of {runs} of this machine, cutter and wood.", factor=factor, runs=runs)
    elif factor != 1.0:
        low, high = (1 - MEASURED) * total, (1 + MEASURED) * total
        reason = Message("Scaled by {factor:.3f} after a measured run on this machine.", factor=machine.time_factor)
    elif machine.timing_tested:
        low, high = (1 - TESTED) * total, (1 + TESTED) * total
        reason = Message("Speeds, accelerations and corners are those of a timing test on this machine.")
    else:
        low, high = min(blocks.seconds(driven_by_the_quickest), total), max(blocks.seconds(driven_by_the_slowest), total)
        reason = Message("Not yet compared with a measured run on this machine.")
    by_kind = np.bincount(path.kind, weights=np.diff(at, prepend=0.0), minlength=len(KINDS))
    return RunTime(
        at=at,
        total_seconds=total,
        seconds_by_kind=dict(zip(KINDS, by_kind.tolist(), strict=True)),
        low_seconds=low,
        high_seconds=high,
        reason=reason,
    )


def seconds_at(path: Path, machine: Machine, fusing_tolerance: float) -> NDArray[np.float64]:
    """Seconds when each row of a path is reached, (n,), by the machine's record: what `run_time` has as `at`, before any time factor."""
    return Blocks.of(path, machine, fusing_tolerance).times()


def time_factor(machine: Machine, experience: Experience | None) -> float:
    """What estimates are multiplied by: the median of logged runs, else what the machine's record says."""
    known = None if experience is None else experience.time_factor
    return machine.time_factor if known is None else known


Drive = Callable[[Moves, Machine], SpeedProfile]
"""A control: how it drives moves on a machine."""


@dataclass(frozen=True)
class Blocks:
    """The blocks of a path's program as a machine's moves. rows: of the path at which they end, from the first row on. moves: None where nothing
    moves. travelled: (n,) mm along the blocks at each row.
    """

    rows: NDArray[np.intp]
    machine: Machine
    moves: Moves | None
    travelled: NDArray[np.float64]

    @staticmethod
    def of(path: Path, machine: Machine, fusing_tolerance: float) -> Blocks:
        """Those of a path, fused within a tolerance in mm."""
        rows = block_rows(path, fusing_tolerance)
        vectors = np.diff(path.points[rows].round(WRITTEN_DECIMALS), axis=0)
        length = np.linalg.norm(vectors, axis=1)
        real = np.flatnonzero(length > NO_MOVE)
        if len(real) == 0:
            return Blocks(rows, machine, moves=None, travelled=np.zeros(len(path)))
        moves = Moves.limited_by(machine, vectors[real], length[real], path.feed[rows[real + 1]])
        along_path, along_blocks = np.cumsum(path.lengths()), np.concatenate([[0.0], np.cumsum(np.where(length > NO_MOVE, length, 0.0))])
        return Blocks(rows, machine, moves=moves, travelled=np.interp(along_path, along_path[rows], along_blocks))

    def times(self, drive: Drive = driven) -> NDArray[np.float64]:
        """Seconds when each row of the path is reached, (n,)."""
        return np.zeros(len(self.travelled)) if self.moves is None else drive(self.moves, self.machine).time_at(self.travelled)

    def seconds(self, drive: Drive) -> float:
        """Seconds of the whole path."""
        return 0.0 if self.moves is None else float(drive(self.moves, self.machine).seconds.sum())


def calibrated(machine: Machine, estimated_seconds: float, measured_seconds: float) -> Machine:
    """The machine with its time factor set so that its estimate for a run becomes what was measured.

    estimated_seconds: what this machine record gave for that run, with the time factor it has now. Raises BadRequest for times that are
    not above 0, and for a factor that is not believed.
    """
    if not (estimated_seconds > 0 and measured_seconds > 0):
        raise BadRequest("Give a measured time above 0 minutes, of a plan that takes some.")
    factor = machine.time_factor * measured_seconds / estimated_seconds
    if not LEAST_FACTOR <= factor <= GREATEST_FACTOR:
        raise BadRequest(
            "The measured time makes the machine's time factor {factor:.2g}, outside {least:g} to {greatest:g}: check that it belongs to this run.",
            factor=factor,
            least=LEAST_FACTOR,
            greatest=GREATEST_FACTOR,
        )
    return replace(machine, time_factor=factor)
