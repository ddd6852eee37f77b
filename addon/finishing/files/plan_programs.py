"""The programs of a plan: its path and parts of it, the dry runs, and the dowel holes of its side."""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray
from ..core.cusp_formulas import spacing_on_flat
from ..core.errors import BadFile
from ..core.message import Message
from ..core.path import Path
from ..job.clear_height import clear_height
from ..job.cutter import cutter_words
from ..job.roughing import RoughingSettings
from ..motion.path_parts import PartEnds, lines_of_path, split_at
from ..motion.run_time import seconds_at
from ..planning.dowel_time import dowel_path_on
from ..planning.hazards import read_first
from ..planning.result import Plan
from ..tooling.lead_feeds import LeadFeeds, depth_of_wood
from .dowel_program import dowel_program
from .dry_run import dry_run_program, heights_near, low_dry_run_program, outline, with_steps
from .path_program import path_program
from .program_frame import FIRST_APPROACH_FEED, ProgramFrame

ABOVE_THE_WORK = 2.0
"""mm that the low dry run keeps above the path, the stock that stands and keep-out boxes: common practice, no source."""

COVERED_SPACINGS = 1.5
"""Spacings between neighbouring lines that the outline of the work takes for covered ground."""


def finishing_program(plan: Plan, unit: str) -> bytes:
    """The program of a plan's path; unit "mm" or "in"."""
    return path_program(plan.path, plan.cutter, program_frame(plan, unit))


def part_program(plan: Plan, unit: str, first: int, last: int) -> bytes:
    """The program of a plan's lines from `first` to `last` alone. Raises BadRequest when there is no such line."""
    note = f"Lines {first} to {last} of {plan.path.line_count} alone"
    return path_program(part_of(plan, first, last), plan.cutter, program_frame(plan, unit), note)


def part_of(plan: Plan, first: int, last: int) -> Path:
    """The motion along some lines alone. Raises BadRequest when there is no such line."""
    return lines_of_path(plan.path, first, last, _part_ends(plan))


def _part_ends(plan: Plan) -> PartEnds:
    """How parts of a plan's path come down and go up."""
    request, machine = plan.request, plan.request.machine
    asked = LeadFeeds(request.feed if request.feed is not None else plan.cutter.feed, machine.plunge_feed, plan.cutter, request.bite)

    def standing(places: FloatArray) -> FloatArray:
        return plan.free_height.over(np.stack([places, places], axis=1))

    def ramp_feeds(moves: FloatArray) -> FloatArray:
        return asked.along(moves, depth_of_wood(moves, standing))

    return PartEnds(plan.safe_z, machine.plunge_feed, machine.air_feed, ramp_angle=request.ramp_angle, standing=standing, ramp_feeds=ramp_feeds)


def part_minutes(plan: Plan, first: int, last: int) -> float:
    """Run time in minutes of some lines alone."""
    return _seconds(plan, part_of(plan, first, last)) / 60


def _seconds(plan: Plan, part: Path) -> float:
    machine = plan.request.machine
    return plan.time_factor * float(seconds_at(part, machine, plan.request.program.fusing_tolerance)[-1])


def parts_of(plan: Plan, minutes: float) -> list[tuple[int, int]]:
    """First and last lines of parts of a plan that take at most so many minutes each."""
    ends = _part_ends(plan)
    return split_at(plan.path, plan.run_time.at, 60 * minutes, lambda first, last: _seconds(plan, lines_of_path(plan.path, first, last, ends)))


def plan_dry_run(plan: Plan, unit: str) -> bytes:
    """The program that follows the outline of a plan's path above everything; unit "mm" or "in"."""
    return dry_run_program(_outline(plan), program_frame(plan, unit), plan.request.machine.air_feed)


def plan_low_dry_run(plan: Plan, unit: str) -> bytes:
    """The program that follows the outline of a plan's path just above the work; unit "mm" or "in"."""
    return low_dry_run_program(low_outlines(plan), program_frame(plan, unit), FIRST_APPROACH_FEED)


def _outline(plan: Plan) -> list[FloatArray]:
    return outline(plan.path, COVERED_SPACINGS * float(spacing_on_flat(plan.cutter.radius, plan.request.cusp)))


def low_outlines(plan: Plan) -> list[FloatArray]:
    """The outlines of the work with heights, (m, 3) each: as low as the path near by, the stock that may stand and keep-out boxes let cutter, shank
    and nut go, and a little above; never above `clear_z`.
    """
    found = []
    for ring in _outline(plan):
        places = with_steps(ring)
        on_the_way = plan.free_height.over(np.stack([places[:-1], places[1:]], axis=1))
        standing = np.maximum(np.append(on_the_way, -np.inf), np.append(-np.inf, on_the_way))
        low = np.maximum(standing, heights_near(plan.path, places)) + ABOVE_THE_WORK
        found.append(np.column_stack([places, np.minimum(low, clear_z(plan))]))
    return found


def dowel_path_of(plan: Plan) -> Path:
    """The way of the drill through the dowel holes on a plan's side."""
    request = plan.request
    return dowel_path_on(request.side, request.dowels, plan.stock, request.machine, request.keep_out)


def dowel_holes_program(plan: Plan, unit: str) -> bytes:
    """The program of the dowel holes on a plan's side; unit "mm" or "in". Raises BadFile when there are none."""
    path = dowel_path_of(plan)
    if len(path) == 0:
        raise BadFile("There are no dowel holes to write a program for: set Dowels to two or four.")
    return dowel_program(path, plan.request.dowels, program_frame(plan, unit))


def program_frame(plan: Plan, unit: str) -> ProgramFrame:
    """What the programs of a plan have in common."""
    request = plan.request
    return ProgramFrame(
        title=program_title(plan),
        safe_z=plan.safe_z,
        clear_z=clear_z(plan),
        machine=request.machine,
        settings=request.program,
        warnings=tuple(str(finding.words) for finding in read_first(plan)),
        unit=unit,
    )


def program_title(plan: Plan) -> tuple[str, ...]:
    """What stands at the head of a program: body, side, zeros, digest, what roughing is taken to have left."""
    corner, height = plan.stock.zero_words(plan.request.side)
    return (
        f"Finishing of {plan.request.body.name}, {plan.request.side} side",
        f"X Y zero: {corner}",
        f"Z zero: {height}",
        f"Made from body {plan.body_digest[:12]}",
        str(assumed_stock(plan)),
    )


def assumed_stock(plan: Plan) -> Message:
    """What a plan takes the stock to be before its cutter comes, as a sentence. Where no larger cutter came to it, it stands as before that one."""
    request = plan.request
    stock = Message("the stock stands as the object that was given for it") if request.stock_body is not None else _left_by_roughing(request.roughing)
    if request.remaining is None:
        return Message("Assumed: {stock}", stock=stock)
    return Message("Assumed: {stock}, then {cutter} has been over the side", stock=stock, cutter=cutter_words(request.remaining.larger))


def _left_by_roughing(roughing: RoughingSettings) -> Message:
    """What roughing is taken to have left."""
    left = {"allowance": roughing.allowance, "channel": roughing.channel}
    if roughing.terrace_height is None:
        return Message("roughing left {allowance:g} mm on the body, and a channel of {channel:g} mm round it", **left)
    return Message(
        "roughing left {allowance:g} mm on the body in terraces of {terraces:g} mm, and a channel of {channel:g} mm round it",
        terraces=roughing.terrace_height,
        **left,
    )


def clear_z(plan: Plan) -> float:
    """Height in job mm above the stock and every box."""
    request = plan.request
    return clear_height(plan.stock, request.side, request.machine.safe_height, request.keep_out)
