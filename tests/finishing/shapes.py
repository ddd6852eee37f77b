"""Closed-form bodies as triangles, for tests."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

Heights = Callable[[np.ndarray, np.ndarray], np.ndarray]


def graph(heights: Heights, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Triangles (n, 3, 3) of z = heights(x, y) over a rectangular grid of coordinates, facing up."""
    across, along = np.meshgrid(x, y)
    v = np.stack([across, along, heights(across, along)], axis=-1)
    a, b, c, d = v[:-1, :-1], v[:-1, 1:], v[1:, 1:], v[1:, :-1]
    return np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)


def block(heights: Heights, length: float, width: float, step: float, bottom: float = 0.0) -> np.ndarray:
    """A closed block (n, 3, 3): a top surface over 0..length, 0..width, upright sides, a flat bottom."""
    x, y = np.linspace(0, length, int(round(length / step)) + 1), np.linspace(0, width, int(round(width / step)) + 1)
    parts = [graph(heights, x, y), graph(lambda a, b: np.full(a.shape, bottom), x, y)[:, ::-1]]
    for line, inward in (
        (np.column_stack([x, np.zeros(len(x))]), False),
        (np.column_stack([np.full(len(y), length), y]), False),
        (np.column_stack([x, np.full(len(x), width)]), True),
        (np.column_stack([np.zeros(len(y)), y]), True),
    ):
        top = np.column_stack([line, heights(line[:, 0], line[:, 1])])
        low = np.column_stack([line, np.full(len(line), bottom)])
        wall = np.concatenate([
            np.stack([low[:-1], low[1:], top[1:]], axis=1), np.stack([low[:-1], top[1:], top[:-1]], axis=1),
        ])  # fmt: skip
        parts.append(wall[:, ::-1] if inward else wall)
    return np.concatenate(parts)


def franke(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Franke's test surface on the unit square (Franke 1979, NPS-53-79-003, as in tests/reference_values.json)."""
    return (
        0.75 * np.exp(-((9 * x - 2) ** 2 + (9 * y - 2) ** 2) / 4)
        + 0.75 * np.exp(-((9 * x + 1) ** 2) / 49 - (9 * y + 1) / 10)
        + 0.5 * np.exp(-((9 * x - 7) ** 2 + (9 * y - 3) ** 2) / 4)
        - 0.2 * np.exp(-((9 * x - 4) ** 2) - (9 * y - 7) ** 2)
    )
