"""What a map's legend says: the range, rounded tick values with units, and where each value lies on the ramp."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Single
from ..core.errors import BadRequest
from ..core.message import Message
from .ramps import CURVATURE, CUSP, LAMPLIGHT, LINES, SLOPE, UNCUT, Ramp

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
"""Round numbers, times a power of ten: those that a rule or a scale is divided by."""

ANGLE_STEPS = (1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 90.0)
"""Round angles in degrees."""

RADII = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 300, 500, 1000, 2000, 5000)
"""Round radii in mm that a curvature legend may name."""

CURVATURE_TICKS = (1.0, 0.75, 0.5, 0.25)
"""Positions of the named radii along each arm of a curvature legend, 1 at its end: four labels fit side by side."""

ROUNDING = 1e-9
"""Relative; numbers this close count as equal, so that a tick at the very end of a range is not lost to rounding."""

MOST_DECIMALS = 6
"""Of tick labels; a nanometre, finer than anything on a map."""

END_ROOM = 0.1
"""Share of the range beside an end that has a label of its own in which no other label would have room."""

FIT_END_ROOM = 0.08
"""The same above the tolerance of a fit legend, whose label is at the very end of the bar."""

CUSP_RANGE = 2.0
"""Up to this many times the asked height a cusp legend's colours go evenly with the height; what stands higher at a few borders has the rest of
the bar, or it would drown all else."""

CUSP_BEND = 0.7
"""Place on the bar where that ends."""

MM = Message("mm")
"""The unit of most maps."""


@dataclass(frozen=True)
class Tick:
    """A value of the map and what is written beside it."""

    value: float
    label: Message


@dataclass(frozen=True)
class Legend:
    """How one map is coloured and explained.

    title: what the map shows. unit: written once above the bar, None when the labels say it. low, high: values of the ends of
    the ramp; beyond them the end colours stay. ticks: inside low..high. signed_root: the colour follows the signed square
    root of the value, so that gentle curvature and tight both show (diverging ramps, low = -high). bend: a value and its place on the ramp,
    0 to 1, where the scale changes: below it and above it colours go evenly with the value; None for one even scale.
    """

    title: Message
    ramp: Ramp
    low: float
    high: float
    unit: Message | None = None
    ticks: tuple[Tick, ...] = ()
    signed_root: bool = False
    bend: tuple[float, float] | None = None

    def position(self, values: FloatArray) -> Single:
        """Where values lie on the ramp, from 0 at low to 1 at high, clipped; nan stays nan."""
        shown = np.asarray(values, np.float32)
        if self.signed_root:
            root = np.sqrt(np.abs(shown))
            shown = np.copysign(root, shown)
            low, high = -math.sqrt(-self.low), math.sqrt(self.high)
        else:
            low, high = self.low, self.high
        if self.bend is not None:
            value, place = self.bend
            below = (shown - np.float32(low)) * np.float32(place / (value - low))
            above = np.float32(place) + (shown - np.float32(value)) * np.float32((1 - place) / (high - value))
            return np.clip(np.where(shown <= value, below, above), 0, 1).astype(np.float32)
        return np.clip((shown - np.float32(low)) * np.float32(1 / (high - low)), 0, 1)

    def colours(self, values: FloatArray) -> Single:
        """Colours (..., 4) float32 sRGB; opacity 0 where nan."""
        return self.ramp.colours(self.position(values), 0, 1)


def nice_ticks(low: float, high: float, about: int = 6, steps: tuple[float, ...] = STEPS) -> tuple[float, ...]:
    """Rounded values inside low..high, about as many as asked for: multiples of 1, 2, 2.5 or 5 times a power of ten.

    Raises BadRequest when the range is empty or not finite.
    """
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        raise BadRequest("A legend needs a range from a lower to a higher value, not {low} to {high}.", low=low, high=high)
    wanted = (high - low) / max(about - 1, 1)
    if steps is STEPS:
        power = 10.0 ** math.floor(math.log10(wanted))
        choices = [factor * power for factor in STEPS]
    else:
        choices = list(steps)
    step = min(choices, key=lambda s: abs(math.log(s / wanted)))
    first, last = math.ceil(low / step - ROUNDING), math.floor(high / step + ROUNDING)
    return tuple(0.0 if k == 0 else k * step for k in range(first, last + 1))


def tick_labels(values: tuple[float, ...]) -> tuple[Message, ...]:
    """Numbers of equally spaced values with the fewest decimals that give all of them exactly."""
    decimals = _decimals(values)
    return tuple(Message("{value:.{decimals}f}", value=value, decimals=decimals) for value in values)


def _decimals(values: tuple[float, ...]) -> int:
    for decimals in range(MOST_DECIMALS + 1):
        if all(abs(round(v, decimals) - v) < ROUNDING * max(1.0, abs(v)) for v in values):
            break
    return decimals


def labelled(values: tuple[float, ...]) -> tuple[Tick, ...]:
    """Ticks at equally spaced values, each with its number."""
    return tuple(Tick(v, label) for v, label in zip(values, tick_labels(values), strict=True))


def linear_legend(title: Message, ramp: Ramp, low: float, high: float, unit: Message = MM) -> Legend:
    """The legend of a map whose colour follows its value, with round ticks. Raises BadRequest when high is not above low."""
    return Legend(title, ramp, low, high, unit=unit, ticks=labelled(nice_ticks(low, high)))


def shade_legend(heights_times: float = 1.0) -> Legend:
    """Shade of a surface under a low lamp, from none; level ground lies half-way. Heights that are enlarged are told."""
    ticks = (Tick(0.0, Message("bright")), Tick(0.5, Message("level")), Tick(1.0, Message("dark")))
    title = Message("Finished surface")
    if heights_times != 1:
        title = Message("Finished surface, heights x {times:g}", times=heights_times)
    return Legend(title, LAMPLIGHT, 0.0, 1.0, ticks=ticks)


def slope_legend() -> Legend:
    """Slope in degrees from horizontal, 0 to 90."""
    values = nice_ticks(0, 90, 7, ANGLE_STEPS)
    decimals = _decimals(values)
    degrees = tuple(Tick(value, Message("{value:.{decimals}f}°", value=value, decimals=decimals)) for value in values)
    return Legend(Message("Slope from horizontal"), SLOPE, 0.0, 90.0, ticks=degrees)


def curvature_legend(least_radius: float) -> Legend:
    """Signed curvature, 1/mm, in hollows and crowns down to `least_radius` in mm; the labels are radii in mm.

    Raises BadRequest when the radius is not above 0.
    """
    if not (math.isfinite(least_radius) and least_radius > 0):
        raise BadRequest("The least radius of a curvature legend must be above 0 mm, not {radius}.", radius=least_radius)
    limit = 1 / least_radius
    chosen: list[float] = []
    for position in CURVATURE_TICKS:
        # The position goes with the square root of the curvature: radius = least / position^2.
        radius = least_radius if position == 1 else min(RADII, key=lambda r: abs(math.log(r * position * position / least_radius)))
        if radius >= least_radius and radius not in chosen:
            chosen.append(radius)
    radii = [Message("R {radius:g}", radius=radius) for radius in chosen]
    hollow, crown = Message("hollow R {radius:g}", radius=least_radius), Message("crown R {radius:g}", radius=least_radius)
    hollows = [Tick(-1 / r, hollow if r == least_radius else label) for r, label in zip(chosen, radii, strict=True)]
    crowns = [Tick(1 / r, crown if r == least_radius else label) for r, label in zip(chosen, radii, strict=True)]
    ticks = (*hollows, Tick(0.0, Message("flat")), *reversed(crowns))
    unit = Message("tighter curvature, radius in mm")
    return Legend(Message("Curvature"), CURVATURE, -limit, limit, unit=unit, ticks=ticks, signed_root=True)


def uncut_legend(greatest: float) -> Legend:
    """Uncut height in mm, 0 to `greatest`."""
    return linear_legend(Message("Uncut height"), UNCUT, 0.0, greatest)


def fit_legend(tolerance: float, greatest: float) -> Legend:
    """How one cutter fits: pale up to the height tolerance in mm, coloured by the uncut height above it.

    Raises BadRequest when the greatest height is not above the tolerance.
    """
    inner = [v for v in nice_ticks(tolerance, greatest) if v > tolerance + FIT_END_ROOM * (greatest - tolerance)]
    ticks = (Tick(tolerance, Message("fits, up to {height:g}", height=tolerance)), *labelled(tuple(inner)))
    return Legend(Message("Fit of the cutter"), UNCUT, tolerance, greatest, unit=Message("mm uncut"), ticks=ticks)


def cusp_legend(asked: float, greatest: float = 0.0) -> Legend:
    """Cusp height in mm: evenly from 0 to twice the asked one, and on to the greatest that is there, where that is more."""
    usual = CUSP_RANGE * asked
    inner = labelled(tuple(v for v in nice_ticks(0, usual) if v < (1 - END_ROOM) * usual))
    title = Message("Simulated cusp height")
    if greatest <= usual * (1 + ROUNDING):
        return Legend(title, CUSP, 0.0, usual, unit=MM, ticks=(*inner, Tick(usual, Message("{height:g}", height=usual))))
    high = rounded_up(greatest)
    ends = (Tick(usual, Message("{height:g}", height=usual)), Tick(high, Message("{height:g}, coarser scale", height=high)))
    return Legend(title, CUSP, 0.0, high, unit=MM, ticks=(*inner, *ends), bend=(usual, CUSP_BEND))


def order_legend(line_count: int) -> Legend:
    """Pass lines in running order, 1 to the number of lines."""
    last = max(line_count, 2)
    inner = [v for v in nice_ticks(1, last, 5) if v == round(v) and 1 + END_ROOM * last < v < (1 - END_ROOM) * last]
    numbers = (Tick(v, Message("{value:.0f}", value=v)) for v in inner)
    ticks = (Tick(1, Message("first")), *numbers, Tick(last, Message("{number} last", number=last)))
    return Legend(Message("Running order"), LINES, 1.0, float(last), unit=Message("pass line"), ticks=ticks)


def height_legend(low: float, high: float) -> Legend:
    """Height of the pass lines in mm."""
    return linear_legend(Message("Height"), LINES, low, high)


def feed_legend(low: float, high: float) -> Legend:
    """Feed along the pass lines in mm/min."""
    if high <= low:
        low, high = 0.0, max(high, 1.0)
    return linear_legend(Message("Feed"), LINES, low, high, Message("mm/min"))


def bite_legend(greatest: float) -> Legend:
    """Section of the stock that a pass takes across its direction, in mm2, 0 to `greatest`."""
    return linear_legend(Message("Bite"), LINES, 0.0, rounded_up(greatest), Message("mm² across the pass line"))


def rounded_up(value: float) -> float:
    """The next round number from `value` up (1, 2, 2.5, 5 times a power of ten): a calm end for a legend; 1 for 0 or nan."""
    if not (math.isfinite(value) and value > 0):
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    return next(factor * power for factor in STEPS if factor * power >= value * (1 - ROUNDING))
