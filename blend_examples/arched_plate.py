"""An arched plate with a recurved edge, of our own drawing: the arch rises from a channel of 12 mm radius along the edge.

420 x 300 mm, 6 mm thick at the back of the channel. The channel limits the cutter; at the waist the ground is a saddle.

Run with a Python that has bpy:  python arched_plate.py [out.blend]
"""

from __future__ import annotations

import numpy as np
from shaping import CurveDistance, Opening, Shape, bevel, circle, closed_curve, make_mesh, output_path, save

OUTLINE = [
    (6, 150), (26, 74), (84, 18), (160, 10), (222, 44), (268, 58), (318, 44), (372, 34), (410, 76), (420, 150),
    (410, 224), (372, 266), (318, 256), (268, 242), (222, 256), (160, 290), (84, 282), (26, 226),
]  # fmt: skip
CHANNEL = 11.0
HOLLOW_RADIUS = 12.0
RISE_DEGREES, LIP_DEGREES = 24.0, 11.0
CROWN_RADIUS = 120.0
FLOOR = 7.0


def make_shape() -> Shape:
    outline = closed_curve(OUTLINE, step=1.2)
    distance = CurveDistance(outline, most=90.0)
    hollow_reach = HOLLOW_RADIUS * np.sin(np.radians(RISE_DEGREES))
    width = 6.0
    total = bevel(np.array(0.0), width, RISE_DEGREES, CROWN_RADIUS)

    def top(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        inward = distance(x, y) - CHANNEL
        # From the channel inwards: an arc, a slanted plane, a wide crown. Outwards: the same arc up to a low lip.
        on_arc = np.clip(inward, -HOLLOW_RADIUS * np.sin(np.radians(LIP_DEGREES)), hollow_reach)
        z = FLOOR + HOLLOW_RADIUS - np.sqrt(HOLLOW_RADIUS**2 - on_arc**2)
        lip = np.minimum(inward + HOLLOW_RADIUS * np.sin(np.radians(LIP_DEGREES)), 0)
        z = z - lip * np.tan(np.radians(LIP_DEGREES))
        beyond = inward - hollow_reach
        rise = np.where(beyond > 0, total - bevel(np.maximum(beyond, 0), width, RISE_DEGREES, CROWN_RADIUS), 0.0)
        long_arch = 3.0 * np.clip(1 - ((x - 212) / 190) ** 2, 0, 1) ** 2 * np.clip((beyond - 20) / 40, 0, 1) ** 2
        return z + rise + long_arch

    def back(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.zeros(np.shape(x))

    openings = [Opening(circle(212, 120, 9.0, 48), None), Opening(circle(212, 180, 9.0, 48), None)]
    return Shape(outline, top, back, openings, facet=0.004, finest=0.5, coarsest=4.0)


if __name__ == "__main__":
    vertices, faces = make_mesh(make_shape())
    save(output_path(__file__), "Arched Plate", vertices, faces)
    print(f"{len(faces)} triangles")
