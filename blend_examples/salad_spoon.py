"""A salad spoon of our own drawing, carved on both sides: a bowl, and a groove along the handle that asks for a slim ball.

236 x 66 x 19 mm. Its settings, `salad_spoon.json`, have a straight and a tapered cutter of 3 mm on the rack, the grain along the spoon, and tabs.

Run with a Python that has bpy:  python salad_spoon.py [out.blend]
"""

from __future__ import annotations

import numpy as np
from shaping import CurveDistance, Shape, bevel, closed_curve, make_mesh, output_path, save

THICKNESS = 20.0
OUTLINE = [
    (2, 0), (12, -22), (44, -33), (78, -24), (108, -12), (150, -9.5), (200, -11), (229, -9), (238, 0), (229, 9), (200, 11), (150, 9.5), (108, 12),
    (78, 24), (44, 33), (12, 22),
]  # fmt: skip
GROOVE_FROM, GROOVE_TO, GROOVE_DEPTH, GROOVE_RADIUS = 116.0, 218.0, 3.0, 2.0
"""mm; the radius is that of the groove's bottom, 2 depth / width^2 being its bend."""


def eased(share: np.ndarray) -> np.ndarray:
    """0 below 0, 1 above 1, and level at both."""
    t = np.clip(share, 0, 1)
    return t * t * (3 - 2 * t)


def make_shape() -> Shape:
    outline = closed_curve(OUTLINE, step=1.2)
    distance = CurveDistance(outline)
    width = np.sqrt(2 * GROOVE_DEPTH * GROOVE_RADIUS)

    def top(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        z = THICKNESS - bevel(distance(x, y), width=2.0, degrees=30.0, radius=10.0) - 3.0 * eased((x - 70) / 70)
        z = z - 10.0 * np.exp(-(((x - 46) / 27.0) ** 2) - (y / 19.0) ** 2)
        along = eased((x - GROOVE_FROM) / 12) * eased((GROOVE_TO - x) / 12)
        return z - GROOVE_DEPTH * along * np.exp(-((y / width) ** 2))

    def back(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        away = np.minimum(((x - 46) / 44.0) ** 2 + (y / 33.0) ** 2, 1.0)
        return bevel(distance(x, y), width=3.0, degrees=35.0, radius=12.0) + 3.5 * eased(away)

    return Shape(outline, top, back, facet=0.008, finest=0.6, coarsest=4.8, back_facet=0.008)


if __name__ == "__main__":
    vertices, faces = make_mesh(make_shape())
    save(output_path(__file__), "Salad Spoon", vertices, faces)
    print(f"{len(faces)} triangles")
