"""A plain walk of a program through the stock: what every move meets, with what it has cut away gone.

Independent of the product: it reads the program's own words, and knows the stock as heights on its own cells and the tool as a ball with
straight flanks above it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

STEP = 0.4
"""mm between the places of a move that are looked at."""

CELL = 0.5
"""mm."""


@dataclass(frozen=True)
class Step:
    """One straight move of a program. start, end: (3,) mm. feed: mm/min, inf for a rapid move."""

    start: np.ndarray
    end: np.ndarray
    feed: float


def moves_of(program: bytes, start: tuple[float, float, float]) -> list[Step]:
    """The moves of a program in mm with plain G0 and G1 words."""
    at, feed, rapid, out = np.array(start, float), np.nan, True, []
    for block in program.decode("ascii").splitlines():
        words = dict(re.findall(r"([GXYZF])(-?[\d.]+)", re.sub(r"\(.*?\)", "", block)))
        if "G" in words and float(words["G"]) in (0, 1):
            rapid = float(words["G"]) == 0
        feed = float(words.get("F", feed))
        if not words.keys() & set("XYZ"):
            continue
        after = np.array([float(words.get(axis, at[k])) for k, axis in enumerate("XYZ")])
        out.append(Step(at, after, np.inf if rapid else feed))
        at = after
    return out


@dataclass
class Walk:
    """Stock as heights (rows, columns) at places low + CELL * (column, row), and a ball of a radius with straight flanks."""

    low: np.ndarray
    heights: np.ndarray
    radius: float

    @staticmethod
    def through(stock: Callable[[np.ndarray, np.ndarray], np.ndarray], low: np.ndarray, high: np.ndarray, radius: float) -> Walk:
        """Stock of some height at every place between two corners (2,)."""
        x, y = (np.arange(low[k], high[k] + CELL, CELL) for k in (0, 1))
        return Walk(np.array(low, float), stock(*np.meshgrid(x, y)).astype(float), radius)

    def run(self, steps: list[Step]) -> np.ndarray:
        """How deep the tool goes into wood on each move, (n,) mm; it takes away what it meets."""
        return np.array([self._move(step) for step in steps])

    def _move(self, step: Step) -> float:
        count = max(2, int(np.ceil(np.linalg.norm(step.end - step.start) / STEP)) + 1)
        return max(self._stand(step.start + share * (step.end - step.start)) for share in np.linspace(0, 1, count))

    def _stand(self, tip: np.ndarray) -> float:
        """How deep the tool stands in wood with its tip at a place; it takes it away."""
        first = np.maximum(np.ceil((tip[:2] - self.radius - self.low) / CELL).astype(int), 0)
        last = np.maximum(np.floor((tip[:2] + self.radius - self.low) / CELL).astype(int) + 1, 0)
        patch = self.heights[first[1] : last[1], first[0] : last[0]]
        if not patch.size:
            return 0.0
        x = self.low[0] + CELL * (first[0] + np.arange(patch.shape[1])) - tip[0]
        y = self.low[1] + CELL * (first[1] + np.arange(patch.shape[0])) - tip[1]
        room = self.radius**2 - (x**2 + y[:, None] ** 2)
        under = np.where(room > 0, tip[2] + self.radius - np.sqrt(np.maximum(room, 0)), np.inf)
        deep = float((patch - under).max())
        np.minimum(patch, under, out=patch)
        return max(deep, 0.0)
