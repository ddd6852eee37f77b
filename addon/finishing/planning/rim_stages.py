"""Stages of the pass along the rims: its lines, what it costs, and what is told of borders that stand high."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np

from ..ball.axis_region import AxisRegion
from ..ball.exact_surface import ExactSurface
from ..core.array_types import FloatArray
from ..core.finding import Change, Finding
from ..core.message import Message
from ..core.path import CUT, Path
from ..core.polyline import clipped, travelled
from ..core.stepping import within
from ..job.machine import Machine
from ..job.request import Request
from ..job.run_log import Experience
from ..motion.hops import RouteSettings
from ..motion.route import RunLine, route_steps
from ..motion.run_time import RunTime
from ..motion.run_time import run_time as timed
from ..passes.crest_meter import CrestMeter
from ..passes.lifting import lifted_lines
from ..passes.rim_lines import rim_gap_steps
from ..passes.rim_lines import rim_lines as lines_along_rims
from ..simulation.proof import Proof
from ..surface.ground import Ground
from ..tooling.free_height import FreeHeight
from .pass_stages import SHORTEST_KEPT

HIGH_BORDER = 1.5
"""A border of which a thousandth stands higher than this many times the cusp height gets a rim pass by itself, where that is asked for."""

TRIAL_CHORD = 0.05
"""mm; chord tolerance of links where the minutes of a rim pass are estimated at the grid's tip heights."""


@dataclass(frozen=True)
class RimPass:
    """A pass along the rims. lines: (n, 2) each, in plan. length: mm. minutes: with moves between its lines. is_run: whether it is planned."""

    lines: tuple[FloatArray, ...]
    length: float
    minutes: float
    is_run: bool


def border_stands_high(proof: Proof, cusp: float) -> bool:
    """Whether a border stands too high for a rim pass to be left out."""
    return dict(proof.border_percentiles)[99.9] > HIGH_BORDER * cusp


def rim_lines(
    region: AxisRegion,
    ground: Ground,
    laid_exact_heights: list[FloatArray],
    crest_meter: CrestMeter,
    surface: ExactSurface,
    chord_tolerance: float,
) -> Generator[float, None, tuple[FloatArray, ...]]:
    """Lines in plan along the rims of the planned ground, with short ones where the border would still stand. They are looked for where the pass is
    not run too: on some bodies they take longer than the lines along the rims, and the price would leave them out.
    """
    lines = lines_along_rims(region, ground.planned)
    if not lines:
        return ()

    def lifted(some: list[FloatArray]) -> Generator[float, None, list[FloatArray]]:
        return (yield from lifted_lines(some, surface.exact_steps, surface.estimate, chord_tolerance, surface.radius))

    passes = [points for _, points in clipped(laid_exact_heights, region.may_cut, SHORTEST_KEPT)]
    along = yield from within(lifted(lines), 0.0, 0.3)
    return (*lines, *(yield from within(rim_gap_steps([*passes, *along], lifted, region, crest_meter), 0.3, 1.0)))


def rim(
    rim_pass: str,
    rim_lines: tuple[FloatArray, ...],
    region: AxisRegion,
    surface: ExactSurface,
    route_settings: RouteSettings,
    machine: Machine,
    free_height: FreeHeight,
) -> Generator[float, None, RimPass]:
    """The pass along the rims of the planned ground with its minutes, whether it is run or not."""

    def estimated(points: FloatArray) -> Generator[float, None, FloatArray]:
        yield 0.0
        return surface.estimate(points.reshape(-1, 2)).reshape(points.shape[:-1])

    runs = [RunLine(np.column_stack([points, surface.estimate(points)]), True) for points in rim_lines]
    settings = replace(route_settings, chord_tolerance=TRIAL_CHORD)
    path = yield from route_steps(runs, estimated, surface.estimate, region.may_link, settings, free_height)
    minutes = _seconds_between_ends(path, timed(path, machine)) / 60 if rim_lines else 0.0
    return RimPass(rim_lines, float(sum(travelled(line)[-1] for line in rim_lines)), minutes, rim_pass == "on")


def timed_rim(rim: RimPass, machine_time_factor: float, experience: Experience) -> RimPass:
    """The same with the minutes that logged runs say; no line depends on them."""
    known = experience.time_factor
    return rim if known is None else replace(rim, minutes=rim.minutes * known / machine_time_factor)


def _seconds_between_ends(path: Path, run: RunTime) -> float:
    """Seconds from the beginning of a path's first line to the end of its last: the run that it is added to comes down and goes up anyway."""
    cuts = np.flatnonzero(path.kind == CUT)
    return float(run.at[cuts[-1]] - run.at[cuts[0]])


def rim_heights(rim: RimPass, surface: ExactSurface, chord_tolerance: float) -> Generator[float, None, list[FloatArray]]:
    """The lines of the rim pass on the exact tip surface; none where it is not run."""
    lines = list(rim.lines) if rim.is_run else []
    return (yield from lifted_lines(lines, surface.exact_steps, surface.estimate, chord_tolerance, surface.radius))


def rim_findings(timed_rim: RimPass, proof: Proof, cusp: float) -> tuple[Finding, ...]:
    """What the rim pass takes, or what stands along the borders without it."""
    rim = timed_rim
    if rim.is_run:
        sentence = Message(
            "The pass along the rims is {length:.1f} m long and takes about {minutes:.1f} minutes.", length=rim.length / 1000, minutes=rim.minutes
        )
        return (Finding("rim-pass", sentence),)
    if not rim.lines or not border_stands_high(proof, cusp):
        return ()
    stands = dict(proof.border_percentiles)[99.9]
    sentence = Message(
        "Along borders a thousandth of the surface stands higher than {height:.2f} mm, {times:.1f} times the cusp height.",
        height=stands,
        times=stands / cusp,
    )
    remedy = Message(
        "A pass along the rims cuts it down: {length:.1f} m, about {minutes:.1f} minutes. Set Rim Pass to On.",
        length=rim.length / 1000,
        minutes=rim.minutes,
    )
    return (Finding("border-stands", sentence, remedy, changes=(Change("rim_pass", "on"),)),)


def settled_rim(request: Request, proof: Proof) -> Request:
    """The request with its rim pass on or off, by the proof of the plan without it."""
    return replace(request, rim_pass="on" if border_stands_high(proof, request.cusp) else "off")


STAGES = (rim_lines, rim, timed_rim, rim_heights, rim_findings)
