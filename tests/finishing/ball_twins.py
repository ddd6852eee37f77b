"""Slow plain twins of the ball's searches, which share no code with the product: definitions written out, for tests to hold it against."""

from __future__ import annotations

import numpy as np
import trimesh
from scipy import ndimage


def ball_cells(radius: float, cell: float) -> tuple[np.ndarray, np.ndarray]:
    """Which cells round a ball's middle lie within it, and how far the ball's surface lies above its tip there (0 outside)."""
    most = int(np.floor(radius / cell + 1e-9))
    squared = (np.arange(-most, most + 1)[:, None] ** 2 + np.arange(-most, most + 1) ** 2) * cell**2
    inside = squared <= radius**2 * (1 + 1e-12)
    return inside, np.where(inside, radius - np.sqrt(np.maximum(radius**2 - squared, 0)), 0)


def reference_dilation(heights: np.ndarray, radius: float, cell: float) -> np.ndarray:
    """scipy.ndimage.grey_dilation by a ball, the library call a user would otherwise write."""
    inside, sag = ball_cells(radius, cell)
    return ndimage.grey_dilation(heights, footprint=inside, structure=-sag.astype(np.float32), mode="constant", cval=-np.inf)


def resting_heights(triangles: np.ndarray, x: np.ndarray, y: np.ndarray, radius: np.ndarray) -> np.ndarray:
    """Tip heights (n,) of balls of some radii that come down over x, y onto one triangle each (n, 3, 3); -inf where they never touch.

    By bisection for the lowest centre to which no point of the triangle lies nearer than the radius, with trimesh's closest points. The
    distance to a triangle, which is convex, along a line is convex: above the height of its least it only grows.
    """

    def distance(z: np.ndarray) -> np.ndarray:
        centre = np.column_stack([x, y, z])
        return np.linalg.norm(trimesh.triangles.closest_point(triangles, centre) - centre, axis=1)

    low, high = triangles[:, :, 2].min(axis=1) - 1.0, triangles[:, :, 2].max(axis=1) + radius + 1.0
    bottom, top = low, high
    for _ in range(70):  # a third is cut off in each round
        one, other = bottom + (top - bottom) / 3, top - (top - bottom) / 3
        below = distance(one) < distance(other)
        bottom, top = np.where(below, bottom, one), np.where(below, other, top)
    nearest = (bottom + top) / 2
    touches = distance(nearest) <= radius
    low = nearest
    for _ in range(50):
        middle = (low + high) / 2
        clear = distance(middle) >= radius
        low, high = np.where(clear, low, middle), np.where(clear, middle, high)
    return np.where(touches, high - radius, -np.inf)


def resting_range(triangles: np.ndarray, x: np.ndarray, y: np.ndarray, radius: float) -> tuple[np.ndarray, np.ndarray]:
    """`resting_heights` for a radius, and which of them are sure: those that a radius a millionth larger or smaller hardly changes.

    Where the ball's equator just brushes past, its height jumps from nothing to something.
    """
    shares = np.array([1.0, 1 - 1e-6, 1 + 1e-6])
    many = resting_heights(np.tile(triangles, (3, 1, 1)), np.tile(x, 3), np.tile(y, 3), np.repeat(shares * radius, len(x)))
    found = many.reshape(3, -1)
    with np.errstate(invalid="ignore"):
        sure = (np.abs(found[1:] - found[0]) < 1e-4 * radius).all(axis=0) | (found == -np.inf).all(axis=0)
    return found[0], sure
