"""Part programs of paths in plain words (ISO 6983, RS-274): what the machine does, row after row."""

from __future__ import annotations

import numpy as np

from ..core.errors import BadFile
from ..core.path import CUT, EXIT, LIFT, Path
from ..job.cutter import Cutter
from ..motion.blocks import block_rows
from .program_frame import ProgramFrame, approach, begun, end, spindle_on
from .program_writer import ProgramWriter, plain_number

IN_THE_AIR = (LIFT, EXIT)
"""Kinds of motion that are written as G0 where every way is free, and straight up; a lead out runs on a ramp through wood."""

ROUNDING = 1e-6
"""mm by which a height may miss the safe height and still is it."""


def path_program(path: Path, cutter: Cutter, frame: ProgramFrame, *notes: str) -> bytes:
    """The program of one path, its blocks fused as `block_rows` has them. notes: more comments for the head.

    Every pass line begins with a comment that holds its number, and with all words; so does every move after a lift. Raises BadFile for a
    path without moves.
    """
    if len(path) == 0:
        raise BadFile("There are no pass lines to write a program for: plan a side first.")
    lengths = f"diameter {plain_number(cutter.cutting_diameter)} mm, {_taper(cutter)}stick-out {plain_number(cutter.stick_out)} mm"
    writer = begun(frame, f"Cutter: {cutter.name}, {lengths}", *notes)
    approach(writer, frame, path.points[0].tolist())
    spindle_on(writer, frame, cutter.spindle_speed)
    write_moves(writer, path, frame.settings.fusing_tolerance, free_z=frame.safe_z)
    return end(writer, frame)


def _taper(cutter: Cutter) -> str:
    """The taper of a cutter for a comment, which is written in plain ASCII."""
    if cutter.flank is None:
        return ""
    return f"taper {plain_number(cutter.half_angle)} degrees to {plain_number(cutter.top_diameter or cutter.shank_diameter)} mm, "


def write_moves(writer: ProgramWriter, path: Path, tolerance: float, each: str = "Line", free_z: float = -np.inf) -> None:
    """The moves of a path, from where it starts; a comment at the beginning of each line. each: what a line is called there.

    free_z: height from which every way is free. Below it moves across are written as G1: on G0 many controls drive each axis at its own speed,
    and the way between two places is then no straight one.
    """
    rows = block_rows(path, tolerance)
    kinds, numbers = path.kind.tolist(), path.line.tolist()
    number, kind = None, None
    for row in rows.tolist():
        if numbers[row] != number:
            number = numbers[row]
            writer.note(f"{each} {number}")
            writer.forget()
        if kinds[row] != kind:
            if kind in IN_THE_AIR or kinds[row] == CUT:
                writer.forget()
            kind = kinds[row]
        if row == 0:
            continue
        straight_up = kind == EXIT and bool((path.points[row, :2] == path.points[row - 1, :2]).all())
        fast = straight_up or (kind == LIFT and path.points[row, 2] >= free_z - ROUNDING)
        writer.move("G0" if fast else "G1", path.points[row].tolist(), None if fast else float(path.feed[row]))
