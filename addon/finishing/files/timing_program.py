"""The timing test as a program, what its user is told, and the settings file that its times give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from ..job.cautions import CAUTIONS
from ..job.machine import CORNER_SPEED, EXACT_STOP, OVERLAP, Machine
from ..motion.timing_fit import TimingFit
from ..motion.timing_test import Pattern, pattern_seconds, room_needed, timing_patterns
from .plan_record import SCHEMA, settings_in
from .program_writer import END_OF_BLOCK, comment
from .written_unit import WrittenUnit, written_unit

CORNER_WORDS = {
    OVERLAP: "rounded by overlap",
    CORNER_SPEED: "passed at a corner speed",
    EXACT_STOP: "every block ends at rest",
}
"""How a control takes corners, as a user is told."""


def timing_program(unit: str = "mm") -> bytes:
    """The program of the timing test. unit: "mm" or "in". Spindle off; it waits before every pattern until start is pressed. Raises BadFile."""
    written = written_unit(unit)
    patterns = timing_patterns()
    lines: list[str] = []
    head = ("Timing test in the air, spindle off, no cutter needed", room_words(patterns), *_how_to(len(patterns)), *CAUTIONS)
    for text in head:
        lines += comment(text)
    lines += [f"G17 {written.word} G90 G94", "M5"]
    begin = patterns[0].points[0]
    lines.append("G0 " + _place_words(begin.tolist(), written))
    for number, pattern in enumerate(patterns, 1):
        lines += comment(f"Pattern {number} of {len(patterns)}: {pattern.title}")
        lines.append("M0")
        lines += _blocks(pattern, written)
    lines += ["M5", "M30"]
    return (END_OF_BLOCK.join(lines) + END_OF_BLOCK).encode("ascii")


def _blocks(pattern: Pattern, unit: WrittenUnit) -> list[str]:
    """Straight moves with all their words: nothing is left out that a control might have forgotten while it waited."""
    return [
        f"G1 {_place_words(place.tolist(), unit)} F{feed * unit.per_mm:.{unit.feed_decimals}f}"
        for place, feed in zip(pattern.points[1:], pattern.feed[1:], strict=True)
    ]


def _place_words(place: Sequence[float], unit: WrittenUnit) -> str:
    return " ".join(f"{axis}{round(value * unit.per_mm, unit.decimals) + 0.0:.{unit.decimals}f}" for axis, value in zip("XYZ", place, strict=True))


def room_words(patterns: Sequence[Pattern]) -> str:
    """The room that the patterns need, as a sentence."""
    x, y, z = room_needed(patterns)
    return f"Needs free room of {x:.0f} mm along X, {y:.0f} mm along Y and {z:.0f} mm upwards from where zero is set"


def _how_to(count: int) -> tuple[str, ...]:
    return (
        "Set zero of all axes at the left front corner of that room, clear of stock and clamps",
        f"The machine waits before each of {count} patterns: press start and the stopwatch together, and stop the watch when all axes rest",
        "Keep the feed override at 100 per cent",
    )


def instructions(machine: Machine) -> str:
    """What to do with the program, and how long each pattern takes as the record has it."""
    patterns = timing_patterns()
    seconds = pattern_seconds(patterns, machine)
    lines = [f"{room_words(patterns)}.", *(f"{line}." for line in _how_to(len(patterns)))]
    lines += [f"{number}. {pattern.title}: {time:.0f} s" for number, (pattern, time) in enumerate(zip(patterns, seconds, strict=True), 1)]
    lines += [
        f"Together about {seconds.sum():.0f} s on {machine.name}, as far as it is known; a control that stops at every block takes minutes more.",
        "Then: timing-test --times a,b,c,d,e, in seconds.",
    ]
    return "\n".join(lines)


def fit_text(fit: TimingFit) -> str:
    """What a timing test has shown."""
    machine = fit.machine
    lines = [f"{'pattern':<26} {'measured s':>10} {'fitted s':>9} {'off':>7}"]
    for pattern, time, fitted, miss in zip(timing_patterns(), fit.times, fit.fitted, fit.misses, strict=True):
        lines.append(f"{pattern.title:<26} {time:>10.1f} {fitted:>9.1f} {miss:>+7.1%}")
    lines += [
        f"Speeds X, Y, Z: {machine.speed_x:g}, {machine.speed_y:g}, {machine.speed_z:g} mm/min",
        f"Accelerations X, Y, Z: {machine.acceleration_x:g}, {machine.acceleration_y:g}, {machine.acceleration_z:g} mm/s2",
        f"Corners: {CORNER_WORDS[machine.corners]}",
    ]
    if machine.corners != EXACT_STOP:
        lines.append(f"Blocks looked ahead: {machine.blocks_ahead}")
    if not fit.believed:
        lines.append(
            "The times do not fit any machine well, and no settings are written: time the patterns again, with the feed override at 100 per cent."
        )
    return "\n".join(lines)


def fit_record(fit: TimingFit, known: dict[str, Any]) -> dict[str, Any]:
    """A settings file: the settings known so far with the machine that the test has shown, and the times it comes from."""
    settings = settings_in(known) | {"machine": asdict(fit.machine)}
    return {"schema": SCHEMA, "settings": settings, "timing_test": {"measured_seconds": fit.times, "fitted_seconds": fit.fitted}}
