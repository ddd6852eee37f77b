"""An arched plate with a recurved edge, of our own drawing: the arch rises from a channel along the edge.

The channel is a fair curve, as a scraper leaves it: its bend grows and fades without a jump, and is tightest at 12 mm radius.

420 x 300 mm, 6 mm thick at the back of the channel. The channel limits the cutter; at the waist the ground is a saddle.

Run with a Python that has bpy:  python arched_plate.py [out.blend]
"""

from __future__ import annotations

import numpy as np
from shaping import CurveDistance, Opening, Shape, bevel, circle, closed_curve, make_mesh, output_path, save, save_for_extension

OUTLINE = [
    (6, 150), (26, 74), (84, 18), (160, 10), (222, 44), (268, 58), (318, 44), (372, 34), (410, 76), (420, 150),
    (410, 224), (372, 266), (318, 256), (268, 242), (222, 256), (160, 290), (84, 282), (26, 226),
]  # fmt: skip
CHANNEL = 11.0
HOLLOW_RADIUS = 12.0
RISE_DEGREES, LIP_DEGREES = 24.0, 11.0
CROWN_RADIUS = 80.0
FLOOR = 7.0


def channel_width() -> float:
    """Width of the channel's bend, mm: where it is tightest its second derivative is twice its mean, the whole turn over the width."""
    turn = np.tan(np.radians(RISE_DEGREES)) + np.tan(np.radians(LIP_DEGREES))
    steepness = np.tan(np.radians(RISE_DEGREES)) - turn / 2
    return 2 * turn * HOLLOW_RADIUS / (1 + steepness**2) ** 1.5


def channel_slope(share: np.ndarray) -> np.ndarray:
    """Slope of the channel at a share of its width, from the lip inwards: its bend is a raised cosine."""
    rise, lip = np.tan(np.radians(RISE_DEGREES)), np.tan(np.radians(LIP_DEGREES))
    return -lip + (rise + lip) * (share - np.sin(2 * np.pi * share) / (2 * np.pi))


def channel_end() -> float:
    """How far inwards of its lowest place the channel's bend ends, mm."""
    share = np.linspace(0, 1, 4001)
    return float(channel_width() * (1 - share[np.abs(channel_slope(share)).argmin()]))


def channel_rise(inward: np.ndarray) -> np.ndarray:
    """Height above the channel's lowest place at a distance inwards of it, mm."""
    width, end = channel_width(), channel_end()
    share = np.clip((inward - end) / width + 1, 0, 1)
    rise, lip = np.tan(np.radians(RISE_DEGREES)), np.tan(np.radians(LIP_DEGREES))

    def height(t: np.ndarray) -> np.ndarray:
        return width * (-lip * t + (rise + lip) * (t * t / 2 + (np.cos(2 * np.pi * t) - 1) / (4 * np.pi**2)))

    outside = np.minimum(inward - end + width, 0)
    return height(share) - height(np.array(1 - end / width)) - outside * lip


def make_shape() -> Shape:
    outline = closed_curve(OUTLINE, step=1.2)
    distance = CurveDistance(outline, most=90.0)
    width = 6.0
    total = bevel(np.array(0.0), width, RISE_DEGREES, CROWN_RADIUS)

    def top(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        inward = distance(x, y) - CHANNEL
        # Outwards the channel ends in a low slanted lip, inwards in a slanted plane and a wide crown.
        z = FLOOR + channel_rise(inward)
        beyond = inward - channel_end()
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
    save_for_extension(__file__, make_shape())
    print(f"{len(faces)} triangles")
