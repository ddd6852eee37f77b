"""A carved electric bass body of our own drawing: the demanding example.

440 x 300 x 42 mm. Carved edge all round (36 degrees), an arm carve (33 degrees), a hollow whose tightest radius is about 8.6 mm
(a 16 mm cutter fits, 22 mm does not), upright outer walls, two pockets, a neck slot open to the outline, small holes, and one
crease narrower than any cutter. The back has a belly carve.

The same body lies beside it as a .ply, for the demo, which needs no Blender.

Run with a Python that has bpy:  python carved_bass.py [out.blend]
"""

from __future__ import annotations

import numpy as np
from shaping import (
    CurveDistance,
    Opening,
    Shape,
    bevel,
    circle,
    closed_curve,
    make_mesh,
    open_slot,
    output_path,
    rounded_rectangle,
    save,
    save_for_extension,
    save_ply,
)

THICKNESS = 42.0
OUTLINE = [
    (4, 150), (14, 84), (60, 30), (128, 12), (192, 30), (244, 46), (300, 32), (362, 10), (412, 18), (424, 52),
    (394, 84), (366, 106), (352, 132), (350, 156), (352, 180), (364, 202), (398, 224), (436, 246), (438, 282), (396, 298),
    (330, 284), (272, 262), (222, 262), (170, 284), (110, 298), (48, 276), (14, 220),
]  # fmt: skip
HOLLOW = {"x": 118.0, "y": 212.0, "turn": 12.0, "length": 120.0, "width": 26.0, "half_depth": 1.99}
CREASE = {"start": (250.0, 78.0), "end": (276.0, 84.0), "half_width": 0.8, "depth": 0.46}


def along_and_across(x: np.ndarray, y: np.ndarray, x0: float, y0: float, degrees: float) -> tuple[np.ndarray, np.ndarray]:
    """Coordinates along and across a direction through a point."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return (x - x0) * c + (y - y0) * s, -(x - x0) * s + (y - y0) * c


def make_shape() -> Shape:
    outline, slot = open_slot(closed_curve(OUTLINE, step=1.2), 292.0, 127.0, 185.0)
    distance = CurveDistance(outline)

    def top(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        carved = THICKNESS - bevel(distance(x, y), width=10.5, degrees=36.0, radius=21.0)
        # The arm carve: a plane at 33 degrees, joined to the rest by a soft minimum.
        u, v = along_and_across(x, y, 96.0, 254.0, 14.0)
        plane = THICKNESS - np.tan(np.radians(33.0)) * v + 0.0004 * u * u
        soft = 3.2
        z = -soft * np.logaddexp(-carved / soft, -plane / soft)
        # The hollow: a cosine groove that fades out at both ends.
        u, v = along_and_across(x, y, HOLLOW["x"], HOLLOW["y"], HOLLOW["turn"])
        inside_width = np.abs(v) < HOLLOW["width"] / 2
        profile = np.where(inside_width, 1 + np.cos(2 * np.pi * v / HOLLOW["width"]), 0.0)
        share = np.clip(np.abs(u) / (HOLLOW["length"] / 2), 0, 1)
        fade = (1 - share**4) ** 2
        z = z - HOLLOW["half_depth"] * profile * fade
        # The crease: two planes at 60 degrees from upright.
        start, end = np.array(CREASE["start"]), np.array(CREASE["end"])
        length = float(np.linalg.norm(end - start))
        angle = float(np.degrees(np.arctan2(*(end - start)[::-1])))
        u, v = along_and_across(x, y, *start, angle)
        run_out = np.clip(np.minimum(u, length - u) / 3.0, 0, 1)
        return z - CREASE["depth"] * np.clip(run_out - np.abs(v) / CREASE["half_width"], 0, None)

    def back(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        u, v = along_and_across(x, y, 150.0, 268.0, 4.0)
        plane = np.tan(np.radians(20.0)) * v - 0.0010 * u * u
        soft = 3.0
        return soft * np.logaddexp(0.0, plane / soft)

    start, end = np.array(CREASE["start"]), np.array(CREASE["end"])
    way = (end - start) / np.linalg.norm(end - start)
    across = np.array([-way[1], way[0]]) * CREASE["half_width"]
    share = np.linspace(0, 1, 60)[:, None]
    creases = [start + share * (end - start)]
    for side in (across, -across):
        creases.append(start + side + 3 * way + np.linspace(0, 1, 44)[:, None] * (end - start - 6 * way))
    openings = [
        Opening(slot, 26.0),
        Opening(rounded_rectangle(196, 112, 232, 200, 4), 22.0),
        Opening(rounded_rectangle(86, 62, 158, 108, 6), 12.0),
        *(Opening(circle(62, y, 4.0), None) for y in (132.0, 151.0, 170.0)),
        Opening(circle(40, 110, 8.0, 48), 20.0),
        Opening(circle(252, 236, 3.0, 24), 24.0),
        Opening(circle(172, 238, 6.0), 26.0),
    ]
    return Shape(outline, top, back, openings, creases)


if __name__ == "__main__":
    vertices, faces = make_mesh(make_shape())
    save(output_path(__file__), "Carved Bass", vertices, faces)
    save_ply(output_path(__file__).with_suffix(".ply"), vertices, faces)
    save_for_extension(__file__, make_shape())
    print(f"{len(faces)} triangles")
