"""What stands round the moves of a program: what must be read first, the head, the first approach, the spindle, the end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..job.cautions import CAUTIONS
from ..job.machine import EXACT_STOP, OVERLAP, Machine
from ..job.program_settings import RAISED_TO_TOP, SWITCHED_BY_HAND, WAIT_IN_SECONDS, ProgramSettings
from .program_writer import ProgramWriter, plain_number
from .written_unit import WrittenUnit, written_unit

READ_FIRST = "READ FIRST"

FIRST_APPROACH_FEED = 1000.0
"""mm/min of the first move sideways where a person has raised the cutter: slow enough to press stop when it was not raised. Common practice,
no source."""

WIDEST_CORNER = 0.02
"""mm that rounded corners may leave the path, whatever the record says: more would show among cusps of 0.05 mm."""


@dataclass(frozen=True)
class ProgramFrame:
    """What programs of one side have in common.

    title: body, side, zeros, as comments. safe_z: job mm, above the stock; the moves between lines are at this height. clear_z: job mm, above the
    stock and every keep-out box, where the first approach and the end are. warnings: what must be read first. unit: "mm" or "in".
    """

    title: tuple[str, ...]
    safe_z: float
    clear_z: float
    machine: Machine = field(default_factory=Machine)
    settings: ProgramSettings = field(default_factory=ProgramSettings)
    warnings: tuple[str, ...] = ()
    unit: str = "mm"

    @property
    def written(self) -> WrittenUnit:
        """The unit in files. Raises BadFile when there is none of that name."""
        return written_unit(self.unit)


def begun(frame: ProgramFrame, *notes: str) -> ProgramWriter:
    """A program with its head: what must be read first, title, notes and cautions, then the words that all moves rely on. Raises BadFile."""
    writer = ProgramWriter(frame.written)
    if frame.warnings:
        writer.note(READ_FIRST, *frame.warnings, f"End of {READ_FIRST}")
    writer.note(*frame.title, *notes, *CAUTIONS)
    writer.words("G17", frame.written.word, "G90", "G94")
    if frame.settings.cancel_words:
        writer.words("G40", "G49", "G80", "G54")
    if frame.settings.path_mode:
        _path_mode(writer, frame)
    return writer


def _path_mode(writer: ProgramWriter, frame: ProgramFrame) -> None:
    """Say how exactly the path is to be followed, in the words of the machine's kind of control.

    Q0 keeps a control that overlaps blocks from merging them: merged moves add their own tolerance to the path's.
    """
    if frame.machine.corners == OVERLAP:
        unit = frame.written
        tolerance = min(frame.machine.corner_rounding, WIDEST_CORNER) * unit.per_mm
        # Rounded down: inches must not make it wider.
        down = math.floor(tolerance * 10**unit.decimals + 1e-9) / 10**unit.decimals
        writer.words("G64", f"P{down:.{unit.decimals}f}", "Q0")
    elif frame.machine.corners == EXACT_STOP:
        writer.words("G61")


def approach(writer: ProgramWriter, frame: ProgramFrame, place: Sequence[float]) -> None:
    """Come up, then sideways above a place (x, y, z), then down to it. The first move never goes down."""
    unit = frame.unit
    x, y, z = place
    if frame.settings.first_rise == RAISED_TO_TOP:
        writer.note("Up to the top of the travel: machine zero of Z")
        writer.words("G53", "G0", "Z0")
        writer.move("G0", (x, y, None))
    else:
        height = plain_number(frame.clear_z * frame.written.per_mm)
        # Most controls do not move by hand while a program waits: what is not right must be put right before it is started again.
        writer.note(
            f"The cutter must stand at Z {height} {unit} or higher now, raised by hand: it moves sideways first, slowly, at the height where it is",
            "If it stands lower: stop, raise it, and start again. Else press start",
        )
        writer.words("M0")
        writer.move("G1", (x, y, None), FIRST_APPROACH_FEED)
    writer.move("G0", (None, None, z))
    writer.forget()


def spindle_on(writer: ProgramWriter, frame: ProgramFrame, spindle_speed: float) -> None:
    """Switch the spindle on and wait until it has its speed, by the program or by hand."""
    seconds = plain_number(frame.machine.spin_up_seconds)
    if frame.settings.spindle_start == SWITCHED_BY_HAND:
        writer.note(f"Switch the router on by hand, {spindle_speed:.0f} 1/min, wait {seconds} s until it has its speed, then press start")
        writer.words("M0")
        return
    writer.words("M3", f"S{spindle_speed:.0f}")
    if frame.machine.spin_up_seconds > 0:
        in_seconds = frame.settings.spindle_start == WAIT_IN_SECONDS
        writer.note(f"Wait {seconds} s for the spindle: P counts {'seconds' if in_seconds else 'milliseconds'} here")
        writer.words("G4", f"P{seconds if in_seconds else plain_number(1000 * frame.machine.spin_up_seconds, 0)}")


def end(writer: ProgramWriter, frame: ProgramFrame) -> bytes:
    """Up above everything, spindle off, end of program; returns the program's bytes."""
    writer.move("G0", (None, None, max(frame.clear_z, frame.safe_z)))
    if frame.settings.spindle_start == SWITCHED_BY_HAND:
        writer.note("Switch the router off by hand")
    writer.words("M5")
    writer.words("M30")
    return writer.content()
