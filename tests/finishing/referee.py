"""An independent referee: how deep a ball cuts into a body on a path, from dense points on the true triangles.

It uses nothing of the product: only numpy and scipy's nearest neighbours.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree


def points_on(triangles: np.ndarray, step: float) -> np.ndarray:
    """Points (k, 3) on triangles (n, 3, 3), edges and corners included, nowhere farther apart than `step` mm."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    longest = np.max([np.linalg.norm(v, axis=1) for v in (b - a, c - a, c - b)], axis=0)
    parts = np.maximum(np.ceil(longest / step), 1).astype(int)
    found = []
    for n in np.unique(parts):
        i, j = np.meshgrid(np.arange(n + 1), np.arange(n + 1))
        inside = i + j <= n
        u, v = i[inside] / n, j[inside] / n
        some = parts == n
        p = a[some, None] + u[None, :, None] * (b - a)[some, None] + v[None, :, None] * (c - a)[some, None]
        found.append(p.reshape(-1, 3))
    return np.concatenate(found)


class Referee:
    """Measures gouge by the distance of the ball's centre to points on the body.

    Between points `step` apart the distance reads too large by at most step^2 / (6 R) on a face (the middle of a triangle of
    points is step / sqrt(3) from them), so the gouge reads too small by no more than that: `error`.
    """

    def __init__(self, triangles: np.ndarray, radius: float, step: float = 0.1) -> None:
        self.radius, self.error = radius, step * step / (6 * radius)
        self._tree = cKDTree(points_on(triangles, step))

    def depths(self, tips: np.ndarray) -> np.ndarray:
        """Depth (n,) in mm, at the nearest body point, to which a ball with its tip at (n, 3) cuts in; negative: it is clear."""
        centres = tips + np.array([0.0, 0.0, self.radius])
        return self.radius - self._tree.query(centres, distance_upper_bound=1.5 * self.radius)[0]

    def worst(self, points: np.ndarray, fractions: tuple[float, ...] = (0.25, 0.5, 0.75, 1.0)) -> float:
        """Greatest depth on a whole path (n, 3): at its points and at these fractions of every move."""
        tips = [points[:-1] + fraction * np.diff(points, axis=0) for fraction in fractions]
        return float(self.depths(np.concatenate([points[:1], *tips])).max())
