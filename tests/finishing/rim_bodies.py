"""Plates with curved outlines as triangles, for tests of what goes along an outline."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

HalfWidth = Callable[[np.ndarray], np.ndarray]


def plate(half_width: HalfWidth, length: float, thickness: float, top: Callable[[np.ndarray], np.ndarray] | None = None) -> np.ndarray:
    """A closed plate (n, 3, 3) over x from 0 to length and y between the two half widths, upright sides, a flat bottom at zero.

    top: height of the top surface at a share of the half width from the middle (0) to the rim (1); None for a flat one.
    """
    x = length * (1 - np.cos(np.linspace(0, np.pi, 161))) / 2
    share = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 61))  # closest at the rim
    width = np.maximum(half_width(x), 1e-3)
    y = share * width[:, None]
    across = np.broadcast_to(x[:, None], y.shape)
    level = np.full(share.shape, thickness) if top is None else top(np.abs(share))
    upper = np.stack([across, y, np.broadcast_to(level, y.shape)], axis=-1)
    lower = upper * [1.0, 1.0, 0.0]
    faces = [_quads(upper), _quads(lower)[:, ::-1]]
    for edge, inward in ((0, False), (-1, True)):
        for own, turn in (((upper[:, edge], lower[:, edge]), inward), ((upper[edge], lower[edge]), not inward)):
            high, low = own
            wall = np.concatenate([np.stack([low[:-1], low[1:], high[1:]], axis=1), np.stack([low[:-1], high[1:], high[:-1]], axis=1)])
            faces.append(wall[:, ::-1] if turn else wall)
    return np.concatenate(faces)


def _quads(v: np.ndarray) -> np.ndarray:
    """Triangles of a net (rows along x, columns along y) of points, facing up."""
    a, b, c, d = v[:-1, :-1], v[1:, :-1], v[1:, 1:], v[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)


def ellipse(length: float, width: float) -> HalfWidth:
    """The half width of an ellipse of these two axes."""
    return lambda x: width / 2 * np.sqrt(np.maximum(1 - (2 * x / length - 1) ** 2, 0.0))


def waisted(length: float, width: float, waist: float) -> HalfWidth:
    """An ellipse drawn in by a waist of some mm on each side in its middle."""
    whole = ellipse(length, width)
    return lambda x: whole(x) - waist * np.exp(-(((x - length / 2) / (length / 9)) ** 2))


def paddle(length: float, blade: float, shaft: float) -> HalfWidth:
    """A blade with round end over a third of the length, then a straight shaft with a round end; the two half widths."""

    def half_width(x: np.ndarray) -> np.ndarray:
        long = length / 6
        on_blade = blade * np.sqrt(np.maximum(1 - (np.clip(x, 0, 2 * long) / long - 1) ** 2, 0.0))
        end = np.sqrt(np.maximum(shaft**2 - np.maximum(x - (length - shaft), 0.0) ** 2, 0.0))
        return np.where(x < long, on_blade, np.where(x > length - shaft, end, np.maximum(on_blade * (x < 2 * long), shaft)))

    return half_width
