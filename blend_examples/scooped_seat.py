"""A scooped seat of our own drawing: two wide hollows, a raised middle, and an island that is skipped.

420 x 380 x 46 mm. The island's faces carry the boolean attribute "finish_skip".

Run with a Python that has bpy:  python scooped_seat.py [out.blend]
"""

from __future__ import annotations

import numpy as np
from shaping import CurveDistance, Shape, bevel, closed_curve, make_mesh, output_path, save, save_for_extension

THICKNESS = 46.0
OUTLINE = [
    (4, 190), (12, 96), (58, 26), (140, 6), (210, 20), (280, 6), (362, 26), (408, 96), (416, 190), (404, 290),
    (340, 356), (210, 376), (80, 356), (16, 290),
]  # fmt: skip
ISLAND = (210.0, 285.0, 24.0)


def make_shape() -> Shape:
    outline = closed_curve(OUTLINE, step=1.5)
    distance = CurveDistance(outline)

    def top(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        z = THICKNESS - bevel(distance(x, y), width=4.0, degrees=32.0, radius=30.0)
        for x0 in (128.0, 292.0):
            z = z - 15.0 * np.exp(-(((x - x0) / 62.0) ** 2) - ((y - 205.0) / 82.0) ** 2)
        return z - 5.0 * np.exp(-(((x - 210.0) / 110.0) ** 2) - ((y - 250.0) / 80.0) ** 2)

    def back(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.zeros(np.shape(x))

    return Shape(outline, top, back, facet=0.003, finest=0.55, coarsest=4.4)


if __name__ == "__main__":
    vertices, faces = make_mesh(make_shape())
    middle = vertices[faces].mean(axis=1)
    x, y, radius = ISLAND
    on_island = (np.hypot(middle[:, 0] - x, middle[:, 1] - y) < radius) & (middle[:, 2] > 1.0)
    save(output_path(__file__), "Scooped Seat", vertices, faces, on_island)
    save_for_extension(__file__, make_shape())
    print(f"{len(faces)} triangles, {int(on_island.sum())} skipped")
