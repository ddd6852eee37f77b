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


def resting_height(triangle: np.ndarray, x: float, y: float, radius: float) -> float:
    """Tip height of a ball that comes down over x, y onto one triangle (3, 3); -inf where it never touches.

    By bisection for the lowest centre that the triangle lies nowhere nearer to than the radius, with trimesh's closest points. The
    distance to a triangle, a convex body, along a line is convex: from the height of its least on it only grows.
    """

    def distance(z: float) -> float:
        centre = np.array([[x, y, z]])
        return float(np.linalg.norm(trimesh.triangles.closest_point(triangle[None], centre) - centre))

    low, high = float(triangle[:, 2].min()) - 1.0, float(triangle[:, 2].max()) + radius + 1.0
    bottom, top = low - radius, high
    for _ in range(200):  # golden section would do as well; a third is cut off in each round
        one, other = bottom + (top - bottom) / 3, top - (top - bottom) / 3
        bottom, top = (bottom, other) if distance(one) < distance(other) else (one, top)
        if top - bottom < 1e-12:
            break
    nearest = (bottom + top) / 2
    if distance(nearest) > radius:
        return -np.inf
    low = nearest
    while high - low > 1e-12 * max(1.0, abs(high)):
        middle = (low + high) / 2
        low, high = (low, middle) if distance(middle) >= radius else (middle, high)
    return high - radius
