"""Colour ramps of our own for maps and pass lines, safe for colour-blind eyes, used by pictures and viewport alike.

Every ramp is given by a few control colours in Oklab cylinder coordinates (lightness, chroma, hue; Ottosson 2020), a
perceptual space, and is interpolated there: sequential ramps fall in lightness from one end to the other, so they read in
grey and with any colour blindness; the diverging ramp darkens towards both ends along the blue to copper axis, which
red-green blindness leaves intact.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..core.array_types import Double, FloatArray, Single

# Oklab to linear sRGB: published matrices (B. Ottosson, "A perceptual color space for image processing", 2020).
_LAB_TO_ROOTS = np.array([[1, 0.3963377774, 0.2158037573], [1, -0.1055613458, -0.0638541728], [1, -0.0894841775, -1.2914855480]])
_CONES_TO_LINEAR = np.array(
    [
        [4.0767416621, -3.3077115913, 0.2309699292],
        [-1.2684380046, 2.6097574011, -0.3413193965],
        [-0.0041960863, -0.7034186147, 1.7076147010],
    ]
)

COLOURS = 256
"""Colours of a ramp: as many as a screen shows of one channel, so that no step can be seen."""


@dataclass(frozen=True)
class Stop:
    """A control colour. position: on the ramp, 0 to 1. lightness: 0 to 1. chroma. hue: degrees (Oklab)."""

    position: float
    lightness: float
    chroma: float
    hue: float


@dataclass(frozen=True)
class Ramp:
    """A colour ramp; diverging ramps have their neutral colour in the middle and take values from -limit to limit."""

    name: str
    stops: tuple[Stop, ...]
    diverging: bool = False

    def table(self) -> Single:
        """The ramp as (COLOURS, 4) float32 sRGB with opacity 1, not to be written to."""
        return _table(self)

    def colours(self, values: FloatArray, low: float, high: float) -> Single:
        """Colours (..., 4) float32 sRGB of values; below low and above high the end colours, clear where nan."""
        table, last = self.table(), COLOURS - 1
        span = high - low
        with np.errstate(invalid="ignore"):
            step = (np.asarray(values, np.float32) - np.float32(low)) * np.float32(last / span if span else 0.0)
            index = np.clip(np.rint(step), 0, last)
        index[np.isnan(index)] = COLOURS
        return np.concatenate([table, np.zeros((1, 4), np.float32)])[index.astype(np.intp)]


@lru_cache(maxsize=64)
def _table(ramp: Ramp) -> Single:
    """Interpolate the control colours of a ramp in Oklab by monotone cubics."""
    stops = ramp.stops
    position = np.array([s.position for s in stops])
    hue = np.radians([s.hue for s in stops])
    chroma, lightness = np.array([s.chroma for s in stops]), np.array([s.lightness for s in stops])
    at = np.linspace(0, 1, COLOURS)
    lab = np.empty((COLOURS, 3))
    # The two arms of a diverging ramp meet in a ridge of lightness, not in a plateau: each is interpolated by itself.
    middle = len(stops) // 2
    arms = (slice(0, middle + 1), slice(middle, None)) if ramp.diverging else (slice(None),)
    for arm in arms:
        inside = (at >= position[arm][0]) & (at <= position[arm][-1])
        for k, values in enumerate((lightness, chroma * np.cos(hue), chroma * np.sin(hue))):
            lab[inside, k] = monotone_cubic(position[arm], values[arm], at[inside])
    table = np.ones((COLOURS, 4), np.float32)
    table[:, :3] = np.clip(srgb_from_oklab(lab), 0, 1)
    table.flags.writeable = False
    return table


def srgb_from_oklab(lab: FloatArray) -> Double:
    """sRGB (..., 3; IEC 61966-2-1) of Oklab colours (..., 3); values outside 0..1 lie outside the screen's range."""
    linear = (lab @ _LAB_TO_ROOTS.T) ** 3 @ _CONES_TO_LINEAR.T
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 0.0031308) ** (1 / 2.4) - 0.055)


def colour(lightness: float, chroma: float = 0.0, hue: float = 0.0) -> tuple[float, float, float]:
    """One sRGB colour from Oklab lightness, chroma and hue in degrees."""
    angle = np.radians(hue)
    lab = np.array([lightness, chroma * np.cos(angle), chroma * np.sin(angle)])
    red, green, blue = np.clip(srgb_from_oklab(lab), 0, 1)
    return float(red), float(green), float(blue)


def monotone_cubic(x: Double, y: Double, at: Double) -> Double:
    """Cubic Hermite interpolation without overshoot (Fritsch and Butland 1984)."""
    step, rise = np.diff(x), np.diff(y) / np.diff(x)
    slope = np.zeros_like(y)
    slope[0], slope[-1] = rise[0], rise[-1]
    before, after = rise[:-1], rise[1:]
    same = before * after > 0
    weight_before, weight_after = 2 * step[1:] + step[:-1], step[1:] + 2 * step[:-1]
    weighted = weight_before / np.where(same, before, 1) + weight_after / np.where(same, after, 1)
    slope[1:-1] = np.where(same, (weight_before + weight_after) / np.where(same, weighted, 1), 0)
    k = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(step) - 1)
    t = (at - x[k]) / step[k]
    return (
        y[k] * (1 + 2 * t) * (1 - t) ** 2
        + slope[k] * step[k] * t * (1 - t) ** 2
        + y[k + 1] * t * t * (3 - 2 * t)
        + slope[k + 1] * step[k] * t * t * (t - 1)
    )


SLOPE = Ramp(
    "Ember",
    (
        Stop(0.00, 0.960, 0.022, 95),
        Stop(0.25, 0.865, 0.088, 84),
        Stop(0.50, 0.720, 0.132, 60),
        Stop(0.75, 0.520, 0.135, 35),
        Stop(1.00, 0.290, 0.085, 12),
    ),
)
"""Slope from flat (parchment) to upright (dark wine)."""

CURVATURE = Ramp(
    "Creek and Copper",
    (
        Stop(0.00, 0.370, 0.083, 244),
        Stop(0.25, 0.650, 0.100, 228),
        Stop(0.50, 0.960, 0.004, 90),
        Stop(0.75, 0.740, 0.125, 62),
        Stop(1.00, 0.430, 0.112, 42),
    ),
    diverging=True,
)
"""Signed curvature: hollows at the low end (blue), crowns at the high one (copper), flat in the middle."""

UNCUT = Ramp(
    "Plum",
    (
        Stop(0.00, 0.950, 0.010, 320),
        Stop(0.35, 0.790, 0.090, 336),
        Stop(0.70, 0.560, 0.150, 338),
        Stop(1.00, 0.310, 0.110, 322),
    ),
)
"""Uncut height, from none (nearly white) up."""

CUSP = Ramp(
    "Moss",
    (
        Stop(0.00, 0.960, 0.025, 118),
        Stop(0.35, 0.820, 0.095, 132),
        Stop(0.70, 0.580, 0.095, 158),
        Stop(1.00, 0.315, 0.052, 188),
    ),
)
"""Cusp height, from none (nearly white) up."""

LINES = Ramp(
    "Iris",
    (
        Stop(0.00, 0.760, 0.110, 302),
        Stop(0.33, 0.620, 0.165, 296),
        Stop(0.67, 0.450, 0.180, 288),
        Stop(1.00, 0.270, 0.110, 280),
    ),
)
"""Pass lines by order, height or feed: lilac to ink, hues that no map has; the light end still stands out from a pale body."""

LAMPLIGHT = Ramp(
    "Lamplight",
    (
        Stop(0.0, 0.970, 0.025, 85),
        Stop(0.5, 0.660, 0.030, 75),
        Stop(1.0, 0.180, 0.015, 70),
    ),
)
"""Shade on wood under a lamp, from none: only lightness tells it."""

SKIP_COLOUR: tuple[float, float, float] = colour(0.80, 0.012, 250)
"""Ground that is left out; hatched with SKIP_HATCH."""
SKIP_HATCH: tuple[float, float, float] = colour(0.50, 0.020, 250)
UNREACHED_COLOUR: tuple[float, float, float] = colour(0.87, 0.055, 75)
"""Planned ground that is not reached; hatched with UNREACHED_HATCH."""
UNREACHED_HATCH: tuple[float, float, float] = colour(0.38, 0.080, 50)
RIM_COLOUR: tuple[float, float, float] = colour(0.92, 0.020, 320)
"""Rims that the cutter rolls over; hatched with RIM_HATCH."""
RIM_HATCH: tuple[float, float, float] = colour(0.42, 0.110, 325)
