"""Bodies of the benches that are no examples: built here, of about the size of a small instrument part, each with one thing that is hard to plan."""

from __future__ import annotations

import pathlib
import sys
from collections.abc import Callable

import numpy as np

ROOT = pathlib.Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(ROOT / "tests" / "finishing"))

from ledge_bodies import LedgeTop  # noqa: E402
from random_bodies import random_body  # noqa: E402
from shapes import block  # noqa: E402

from addon.finishing.core.array_types import FloatArray  # noqa: E402

Heights = Callable[[FloatArray, FloatArray], FloatArray]


def oval(heights: Heights, half_length: float, half_width: float, around: int = 360, rings: int = 70) -> FloatArray:
    """Triangles (n, 3, 3) of a closed oval body from z = 0 up to heights over its middle."""
    turn, share = np.linspace(0, 2 * np.pi, around + 1), np.linspace(1, 0, rings + 1)
    x, y = half_length * np.outer(share, np.cos(turn)), half_width * np.outer(share, np.sin(turn))
    bottom = np.zeros((1, around + 1, 3))
    edge = np.stack([x[:1], y[:1], np.zeros_like(x[:1])], axis=-1)
    layers = np.concatenate([bottom, edge, np.stack([x, y, heights(x, y)], axis=-1)])
    a, b, c, d = layers[:-1, :-1], layers[:-1, 1:], layers[1:, 1:], layers[1:, :-1]
    found = np.concatenate([np.stack([a, b, c], axis=2).reshape(-1, 3, 3), np.stack([a, c, d], axis=2).reshape(-1, 3, 3)])
    size = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1)
    return np.asarray(found[size > 1e-9])


def carved_slab(x: FloatArray, y: FloatArray) -> FloatArray:
    """A flat slab of 40 mm with an arm carve along one edge and a control cavity under a recessed cover."""
    carve = 12 * np.clip((30 - y) / 30, 0, 1) ** 2
    cover, cavity = (np.abs(x - 130) < 33) & (np.abs(y - 90) < 23), (np.abs(x - 130) < 25) & (np.abs(y - 90) < 15)
    return 40 - carve - 3.0 * cover - 25.0 * cavity


def belly(x: FloatArray, y: FloatArray) -> FloatArray:
    """A gentle belly with a waist."""
    return 25 - (x - 80) ** 2 / 900 - (y - 60) ** 2 / 500 + 1.5 * np.cos(x / 18)


def noisy_belly(x: FloatArray, y: FloatArray) -> FloatArray:
    """The same as a scan: 0.05 mm of noise at every corner."""
    noise = np.random.default_rng(5).normal(0, 0.05, 4096)
    return belly(x, y) + noise[(np.rint(x).astype(int) * 131 + np.rint(y).astype(int) * 17) % len(noise)]


def vee(x: FloatArray, y: FloatArray) -> FloatArray:
    """A dome with a V crease of 120 degrees across it."""
    return 24 - ((x - 75) ** 2 + (y - 50) ** 2) / 600 - np.maximum(2.5 - 0.58 * np.abs(y - 50 + 0.3 * (x - 75)), 0)


def recurve(x: FloatArray, y: FloatArray) -> FloatArray:
    """An arched plate with a recurve and a level edge."""
    r = np.hypot(x / 100, y / 75)
    return 14 + 8 * np.cos(np.pi * np.clip(r / 0.85, 0, 1)) + 5 * np.clip((r - 0.85) / 0.15, 0, 1) ** 2


def spoon(x: FloatArray, y: FloatArray) -> FloatArray:
    """A paddle's blade, hollowed along its middle."""
    return 12 + 5 * (y / 40) ** 2 + 4 * (x / 110) ** 2 - 2.0 * np.exp(-((y / 9) ** 2))


BODIES: dict[str, Callable[[], FloatArray]] = {
    "ledge top, 160 x 120": lambda: LedgeTop().triangles(),
    "ledge top, 400 x 300": lambda: LedgeTop(half_length=200, half_width=150, dome_rise=15, edge_height=25).triangles(),
    "arched plate with a recurve": lambda: oval(recurve, 100.0, 75.0),
    "slab, arm carve, cavity and cover": lambda: block(carved_slab, 200.0, 130.0, 1.0),
    "belly": lambda: block(belly, 160.0, 120.0, 1.0),
    "belly, scanned": lambda: block(noisy_belly, 160.0, 120.0, 1.0),
    "V crease across a dome": lambda: block(vee, 150.0, 100.0, 0.75),
    "paddle blade": lambda: oval(spoon, 110.0, 40.0),
}
"""Triangles by name."""


def enlarged(seed: int, times: float = 6.0) -> FloatArray:
    """Triangles of a small random body of the tests, made larger in plan and height alike."""
    return random_body(seed).triangles * times


def creased(seed: int) -> FloatArray:
    """Triangles of a dome of 110 x 80 mm with a V crease across it, of any direction, depth and steepness."""
    rng = np.random.default_rng(seed)
    steep, turn, bow, deep = rng.uniform(0.2, 0.7), rng.uniform(0, np.pi), rng.uniform(400, 900), rng.uniform(1.5, 3.5)
    c, s = np.cos(turn), np.sin(turn)

    def heights(x: FloatArray, y: FloatArray) -> FloatArray:
        away = np.abs((x - 55) * c + (y - 40) * s)
        return 22 - ((x - 55) ** 2 + (y - 40) ** 2) / bow - np.maximum(deep - steep * away, 0)

    return block(heights, 110.0, 80.0, 0.75)


def grooved(seed: int) -> FloatArray:
    """Triangles of a wavy block of 110 x 80 mm with a round-bottomed ring groove, of any size, 3 to 5 mm of radius across."""
    rng = np.random.default_rng(seed)
    a, b, wide, deep = rng.uniform(28, 42), rng.uniform(20, 30), rng.uniform(3, 5), rng.uniform(0.8, 2.0)

    def heights(x: FloatArray, y: FloatArray) -> FloatArray:
        across = (np.hypot((x - 55) / a, (y - 40) / b) - 1) * np.sqrt(a * b)
        return 20 + 2 * np.sin(x / 25) - deep * np.exp(-((across / wide) ** 2))

    return block(heights, 110.0, 80.0, 0.75)


FITTED: dict[str, Callable[[], FloatArray]] = {
    "ledge, 104 x 80": lambda: LedgeTop(half_length=52.0, half_width=40.0, bevel_rise=8.0, strip_width=8.0).triangles(),
    "ledge, 124 x 90": lambda: LedgeTop(half_length=62.0, half_width=45.0).triangles(),
    "plate": lambda: oval(lambda x, y: 6 + 0.7 * recurve(1.6 * x, 1.6 * y), 62.0, 47.0),
    **{f"crease {seed}": (lambda seed=seed: creased(seed)) for seed in range(4)},
    **{f"groove {seed}": (lambda seed=seed: grooved(seed)) for seed in range(3)},
    **{f"random {seed}": (lambda seed=seed: enlarged(seed, 5.0)) for seed in (1, 4, 3, 14)},
}  # fmt: skip
"""Bodies that the shares of the prediction are fitted on."""

HELD_OUT: dict[str, Callable[[], FloatArray]] = {
    "ledge, 140 x 96": lambda: LedgeTop(half_length=70.0, half_width=48.0, bevel_rise=9.0, groove_depth=1.2).triangles(),
    "paddle": lambda: oval(lambda x, y: spoon(1.5 * x, 1.2 * y), 72.0, 33.0),
    **{f"crease {seed}": (lambda seed=seed: creased(seed)) for seed in (11, 12, 13)},
    **{f"groove {seed}": (lambda seed=seed: grooved(seed)) for seed in (11, 12)},
    **{f"random {seed}": (lambda seed=seed: enlarged(seed, 5.0)) for seed in (11, 13, 24)},
}  # fmt: skip
"""Bodies that take no part in the fit."""


def stretched(triangles: FloatArray, times: float) -> FloatArray:
    """A body made so many times larger in plan, and less so in height."""
    return np.asarray(triangles * np.array([times, times, 1 + HEIGHT_GROWS * (times - 1)]))


HEIGHT_GROWS = 0.4
"""Of what a body grows in plan, the share that it grows in height."""

LARGE: dict[str, Callable[[], FloatArray]] = {
    f"{name}, {times:g} times": (lambda name=name, times=times: stretched(HELD_OUT[name](), times))
    for name, times in (("ledge, 140 x 96", 2.5), ("crease 11", 3.0), ("crease 13", 3.0), ("groove 11", 3.0), ("groove 12", 3.0), ("random 13", 2.0))
}  # fmt: skip
"""Bodies of which not every set is laid before one is chosen; they take no part in the fit."""
