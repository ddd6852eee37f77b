"""Small closed bodies at random: domes, hollows, saddles, creases, walls, pockets and the noise of a scanned mesh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from shapes import block

KINDS = ("dome", "hollow", "saddle", "waves", "crease", "ridge", "wall", "pocket", "noise", "mixed")
SMOOTH = ("dome", "hollow", "saddle", "waves")
LENGTH, WIDTH = 18.0, 14.0

Part = Callable[[np.ndarray, np.ndarray], np.ndarray]


@dataclass(frozen=True)
class RandomBody:
    """A random body. triangles: (n, 3, 3) mm. radius: of the ball to finish it with. kind: one of KINDS."""

    kind: str
    triangles: np.ndarray
    radius: float


SHIPPED = 200
"""Seeds from 0 on that have been looked at: every one of their bodies leaves a cutter something to plan."""


def random_body(seed: int) -> RandomBody:
    """The body of one seed; the kinds take turns."""
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    radius = float(rng.uniform(2.0, 4.0))
    parts = [_PARTS[name](rng, radius) for name in ((kind,) if kind != "mixed" else ("waves", "crease", "pocket"))]
    if kind in ("crease", "ridge", "wall", "pocket"):
        parts.append(_gentle(rng))
    step = 0.4 if kind in SMOOTH else 0.5
    noise = rng.normal(0, 0.01, 4096) if kind in ("noise", "mixed") else None

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        z = 14.0 + sum(part(x, y) for part in parts)
        if noise is not None:
            # The same corner gets the same noise on top and on the sides.
            z = z + noise[(np.rint(x / step).astype(int) * 131 + np.rint(y / step).astype(int) * 17) % len(noise)]
        return np.maximum(z, 2.0)

    return RandomBody(kind, block(heights, LENGTH, WIDTH, step), radius)


def _middle(rng: np.random.Generator) -> tuple[float, float]:
    return float(rng.uniform(0.3, 0.7) * LENGTH), float(rng.uniform(0.3, 0.7) * WIDTH)


def _dome(rng: np.random.Generator, radius: float) -> Part:
    a, b = _middle(rng)
    rho = rng.uniform(24, 60)
    return lambda x, y: np.sqrt(rho**2 - (x - a) ** 2 - (y - b) ** 2) - rho


def _hollow(rng: np.random.Generator, radius: float) -> Part:
    a, b = _middle(rng)
    rho = rng.uniform(1.3 * radius, 8 * radius)  # of the bottom, the tightest place
    return lambda x, y: 4 * rho * (np.sqrt(1 + ((x - a) ** 2 + (y - b) ** 2) / (4 * rho * rho)) - 1)


def _saddle(rng: np.random.Generator, radius: float) -> Part:
    a, b = _middle(rng)
    rho, turn = rng.uniform(2 * radius, 12 * radius), rng.uniform(0, np.pi)
    c, s = np.cos(turn), np.sin(turn)

    def part(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        u, v = (x - a) * c + (y - b) * s, (y - b) * c - (x - a) * s
        return 2 * rho * (np.sqrt(1 + u * u / (4 * rho * rho)) - np.sqrt(1 + v * v / (4 * rho * rho)))

    return part


def _waves(rng: np.random.Generator, radius: float) -> Part:
    length, turn, shift = rng.uniform(14, 40), rng.uniform(0, np.pi), rng.uniform(0, 2 * np.pi)
    # The tightest hollow of A cos(2 pi u / L) has the radius (L / 2 pi)^2 / A: at least 1.4 R.
    height = min(2.5, (length / (2 * np.pi)) ** 2 / (rng.uniform(1.4, 6) * radius))
    return lambda x, y: height * np.cos(2 * np.pi * (x * np.cos(turn) + y * np.sin(turn)) / length + shift)


def _gentle(rng: np.random.Generator) -> Part:
    a, b, shift = *rng.uniform(-0.15, 0.15, 2), rng.uniform(0, 2 * np.pi)
    return lambda x, y: a * x + b * y + 0.4 * np.sin(x / 5 + shift)


def _fold(rng: np.random.Generator) -> Part:
    a, b = _middle(rng)
    turn = rng.uniform(0, np.pi)
    return lambda x, y: (x - a) * np.cos(turn) + (y - b) * np.sin(turn)


def _crease(rng: np.random.Generator, radius: float) -> Part:
    fold, steep = _fold(rng), rng.uniform(0.15, 0.7)
    return lambda x, y: steep * np.minimum(np.abs(fold(x, y)), 5)


def _ridge(rng: np.random.Generator, radius: float) -> Part:
    fold, steep = _fold(rng), rng.uniform(0.15, 0.7)
    return lambda x, y: -steep * np.minimum(np.abs(fold(x, y)), 5)


def _wall(rng: np.random.Generator, radius: float) -> Part:
    fold, height = _fold(rng), rng.uniform(1.0, 6.0)
    return lambda x, y: height * (fold(x, y) > 0)


def _pocket(rng: np.random.Generator, radius: float) -> Part:
    a, b = _middle(rng)
    half, depth = rng.uniform(0.5, 1.5) * radius, rng.uniform(3.0, 8.0)
    return lambda x, y: np.where((np.abs(x - a) < half) & (np.abs(y - b) < 0.8 * half), -depth, 0.0)


_PARTS: dict[str, Callable[[np.random.Generator, float], Part]] = {
    "dome": _dome, "hollow": _hollow, "saddle": _saddle, "waves": _waves, "crease": _crease,
    "ridge": _ridge, "wall": _wall, "pocket": _pocket, "noise": _waves,
}  # fmt: skip
