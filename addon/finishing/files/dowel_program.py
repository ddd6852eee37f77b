"""The program of the dowel holes."""

from __future__ import annotations

from ..core.errors import BadFile
from ..core.path import Path
from ..job.dowels import DowelSettings
from .path_program import write_moves
from .program_frame import ProgramFrame, approach, begun, end, spindle_on
from .program_writer import plain_number


def dowel_program(path: Path, settings: DowelSettings, frame: ProgramFrame) -> bytes:
    """A program that pecks the dowel holes with plain moves. path: the drill's way. Raises BadFile when there are no holes."""
    if len(path) == 0:
        raise BadFile("There are no dowel holes to write a program for: set Dowels to two or four.")
    lengths = f"drill of {plain_number(settings.diameter)} mm, {plain_number(settings.depth)} mm into the spoilboard"
    writer = begun(frame, f"Dowel holes: {lengths}, pecks of {plain_number(settings.peck)} mm")
    approach(writer, frame, path.points[0].tolist())
    spindle_on(writer, frame, settings.spindle_speed)
    write_moves(writer, path, frame.settings.fusing_tolerance, "Hole")
    return end(writer, frame)
