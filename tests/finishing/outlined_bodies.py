"""Closed bodies with an outline of any shape round the middle, for tests."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from shapes import Heights


def outlined(radius: Callable[[np.ndarray], np.ndarray], heights: Heights, around: int = 360, rings: int = 50) -> np.ndarray:
    """Triangles (n, 3, 3) of a body whose outline lies at radius(turn) mm from the middle, turn in radians, and whose top stands at heights(x, y)
    over the plane of its bottom.
    """
    turn = np.linspace(0, 2 * np.pi, around + 1)
    turn[-1] = 0.0  # the last column is the first again
    share, away = np.linspace(1, 0, rings + 1), radius(turn)
    x, y = np.outer(share, away * np.cos(turn)), np.outer(share, away * np.sin(turn))
    bottom, foot = np.zeros((1, around + 1, 3)), np.stack([x[:1], y[:1], np.zeros_like(x[:1])], axis=-1)
    layers = np.concatenate([bottom, foot, np.stack([x, y, heights(x, y)], axis=-1)])
    a, b, c, d = layers[:-1, :-1], layers[:-1, 1:], layers[1:, 1:], layers[1:, :-1]
    found = np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)
    along, beside = found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]
    return found[np.linalg.norm(np.cross(along, beside), axis=1) > 1e-9]


def turned(triangles: np.ndarray, degrees: int) -> np.ndarray:
    """Triangles (n, 3, 3) turned about Z by whole quarters of a turn, without rounding."""
    cosine, sine = round(np.cos(np.radians(degrees))), round(np.sin(np.radians(degrees)))
    return triangles @ np.array([[cosine, -sine, 0], [sine, cosine, 0], [0, 0, 1.0]]).T
