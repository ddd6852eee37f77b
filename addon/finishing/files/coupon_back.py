"""What is measured on a test coupon goes back into the settings of the next plan."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from ..core.errors import BadFile, BadRequest
from ..core.message import Message
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.machine import Machine
from ..job.request import Request
from ..job.setting_kinds import Number, OrNothing, Record, Setting, require
from ..motion.run_time import calibrated
from ..options.coupon import diameter_of_groove
from .plan_record import SCHEMA, settings_in, with_settings

ZERO_KEPT = 0.02
"""mm by which Z zero may be off before it is told: what paper or a probe sets it to. Common practice, no source."""

GREATEST = 36000.0
"""Of the numbers in a coupon's record: the most seconds that can be measured; its lengths are far below."""

_NOTHING_ASKED = Request(Body("", np.zeros((1, 3, 3)), np.zeros(1, bool)))
"""Settings may be looked at without a body."""

FOUND = Record(
    "Coupon",
    (
        Setting("groove", OrNothing(Number(0.2, 200.0, "mm"), "not measured"), "Width of the groove at the top"),
        Setting("step", OrNothing(Number(0.0, 20.0, "mm"), "not measured"), "Step from the top to the fine flat field"),
        Setting("seconds", OrNothing(Number(0.1, 36000.0, "s"), "not measured"), "Time of the fine flat field"),
        Setting("field", OrNothing(Number(1, 3, whole=True), "not chosen"), "Column that is fine enough"),
    ),
)
"""What may be measured on a coupon."""


@dataclass(frozen=True)
class Found:
    """What was measured on a coupon: see FOUND; None for what was not."""

    groove: float | None = None
    step: float | None = None
    seconds: float | None = None
    field: int | None = None

    def __post_init__(self) -> None:
        require(FOUND, self)


@dataclass(frozen=True)
class Lesson:
    """What a coupon has taught. settings: a settings file for the next plan. words: in sentences."""

    settings: dict[str, Any]
    words: tuple[Message, ...]


def lesson_of(record: dict[str, Any], found: Found) -> Lesson:
    """The settings that a coupon was made with, changed by what was measured on it.

    record: its coupon.json. Raises BadFile for a record that is none of a coupon, BadRequest where nothing was measured, or what cannot be.
    """
    if found == Found():
        raise BadRequest("Nothing was measured: give --groove, --step, --seconds or --field.")
    made, settings, asked = _made(record), dict(settings_in(record)), with_settings(_NOTHING_ASKED, record)
    words: list[Message] = []
    measured: list[str] = []
    off = 0.0 if found.step is None else found.step - made.flat_depth
    cutter, machine = made.cutter, asked.machine
    if found.groove is not None:
        cutter = _as_measured(cutter, diameter_of_groove(found.groove, made.groove_depth + off))
        words.append(Message("The cutter cuts {diameter:.2f} mm; it was planned as {planned:g} mm.",
                             diameter=cutter.cutting_diameter, planned=made.cutter.cutting_diameter))  # fmt: skip
        measured.append("cutter")
    if found.step is not None:
        words.append(_zero_words(off))
        measured.append("zero")
    if found.seconds is not None:
        machine = calibrated(replace(machine, time_factor=made.time_factor), made.timed_seconds, found.seconds)
        words.append(Message("Runs take {factor:.3f} times their plain estimate on this machine.", factor=machine.time_factor))
        measured.append("minutes")
    if found.field is not None:
        settings["cusp"], settings["spacing"] = made.cusps[found.field - 1], None
        words.append(Message("The cusp height is {cusp:g} mm.", cusp=settings["cusp"]))
        measured.append("cusp")
    rack = [_same(each, made.cutter, cutter) for each in asked.rack] if "rack" in settings else []
    settings |= {"machine": asdict(machine), "cutter": asdict(cutter), "rack": [asdict(each) for each in rack], "measured": measured}
    with_settings(_NOTHING_ASKED, {"settings": settings})  # what the next plan would refuse is refused here
    return Lesson({"schema": SCHEMA, "settings": settings, "coupon": record["coupon"] | {"found": asdict(found), "zero_off": off}}, tuple(words))


def _zero_words(off: float) -> Message:
    """What a step that is not what it should be says of Z zero; off: mm that it is too deep."""
    if abs(off) <= ZERO_KEPT:
        return Message("Z zero was right within {off:.2f} mm.", off=abs(off))
    if off > 0:
        return Message("Z zero stood {off:.2f} mm too low, so that all was cut too deep: set it that much higher.", off=off)
    return Message("Z zero stood {off:.2f} mm too high, so that all was cut too shallow: set it that much lower.", off=-off)


def _as_measured(cutter: Cutter, diameter: float) -> Cutter:
    """The cutter with the diameter that its groove shows, in which its runout is."""
    return replace(cutter, measured_diameter=round(diameter, 3), runout=0.0)


def _same(each: Cutter, old: Cutter, new: Cutter) -> Cutter:
    return new if (each.name, each.diameter) == (old.name, old.diameter) else each


@dataclass(frozen=True)
class _Made:
    cutter: Cutter
    cusps: tuple[float, ...]
    groove_depth: float
    flat_depth: float
    timed_seconds: float
    time_factor: float


def _number(value: object) -> float:
    """A number of a record. Raises TypeError for anything else, true and false too."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError
    return float(value)


def _made(record: dict[str, Any]) -> _Made:
    """What a coupon's record says. Raises BadFile."""
    try:
        values = record["coupon"]
        numbers = {name: _number(values[name]) for name in ("groove_depth", "flat_depth", "timed_seconds", "time_factor")}
        cusps = tuple(_number(cusp) for cusp in values["cusps"])
        cutter = Cutter(**values["cutter"])
        Machine(time_factor=numbers["time_factor"])
        if len(cusps) != 3 or not all(0 < number <= GREATEST for number in numbers.values()):
            raise ValueError
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        raise BadFile("This is not the coupon.json of a test coupon: give the file that was written with its program.") from error
    return _Made(cutter=cutter, cusps=cusps, **numbers)
