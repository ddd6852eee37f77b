"""Stock box, zero mark, Z arrow, cutter ghost and legend bar as plain arrays for the viewport. No gpu and no bpy in here.

Lengths in mm in job axes (the legend bar: pixels); colours float32 sRGB with opacity.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..finishing.core.array_types import FloatArray, Single
from ..finishing.core.message import Message
from ..finishing.job.cutter import Cutter
from ..finishing.pictures.legend import Legend
from ..finishing.pictures.lettering import lettering
from .render_data import IndexArray, LineSet, Rgb, plain_lines

ROUND = 48
"""Straight pieces of a full circle."""


@dataclass(frozen=True)
class Triangles:
    """Points (n, 3), their unit normals (n, 3) and triangles (m, 3) int32."""

    positions: Single
    normals: Single
    triangles: IndexArray


@dataclass(frozen=True)
class LegendBar:
    """The colour bar of a legend in pixels: corner points (n, 2) with colours (n, 4) and triangles; ticks and their words.

    tick_lines: (2k, 2). labels: words and the place (x, y) of its left end at half the height of its capitals.
    """

    positions: Single
    colours: Single
    triangles: IndexArray
    tick_lines: Single
    labels: tuple[tuple[Message, float, float], ...]


def box_lines(low: FloatArray, high: FloatArray, colour: Rgb, opacity: float = 0.7) -> LineSet:
    """The twelve edges of a box from its lowest to its highest corner, such as the stock."""
    corner = np.array([[(i >> axis) & 1 for axis in range(3)] for i in range(8)])
    pairs = [(a, b) for a in range(8) for b in range(a + 1, 8) if np.abs(corner[a] - corner[b]).sum() == 1]
    points = np.where(corner, np.asarray(high, float), np.asarray(low, float))
    return plain_lines(points[np.array(pairs)], colour, opacity)


def zero_lines(zero: FloatArray, size: float, colour: Rgb, opacity: float = 1.0) -> LineSet:
    """The zero mark: a ring with a cross, the three axes as arrows of this length, each with its letter."""
    angle = np.linspace(0, 2 * np.pi, ROUND + 1)
    ring = 0.18 * size * np.stack([np.cos(angle), np.sin(angle), np.zeros_like(angle)], axis=1)
    parts = [chain(ring)]
    cross = 0.27 * size
    parts.append(np.array([[[-cross, 0, 0], [0, 0, 0]], [[0, -cross, 0], [0, 0, 0]]]))
    for axis, letter in enumerate("XYZ"):
        direction = np.eye(3)[axis]
        side = np.eye(3)[1 if axis == 0 else 0]
        parts.append(_arrow(np.zeros(3), direction, side, size, 0.09 * size))
        # The letters X and Y lie flat like the ground, Z stands and is read from the front.
        up = np.eye(3)[2] if axis == 2 else np.eye(3)[1]
        parts.append(_letter(letter, direction * size * 1.2, np.eye(3)[0], up, 0.14 * size))
    return plain_lines(np.concatenate(parts) + np.asarray(zero, float), colour, opacity)


def pin_lines(places: FloatArray, size: float, colour: Rgb, opacity: float = 1.0) -> LineSet:
    """Pins that stand on places (n, 3): a stem, and a diamond above it."""
    half, top = 0.3 * size, np.array([0.0, 0.0, size])
    diamond = np.array([[0, 0, 0], [half, 0, half], [0, 0, 2 * half], [-half, 0, half], [0, 0, 0]]) + top
    turned = diamond[:, [1, 0, 2]]
    shape = np.concatenate([chain(np.array([[0.0, 0.0, 0.0], top])), chain(diamond), chain(turned)])
    pieces = (np.asarray(places, float)[:, None, None] + shape[None]).reshape(-1, 2, 3)
    return plain_lines(pieces, colour, opacity)


def cutter_ghost(cutter: Cutter) -> Triangles:
    """The round-nose cutter with its tip at the origin: ball, flank of a taper, cutting length, shank up to the collet nut."""
    radius, shank = cutter.radius, cutter.shank_diameter / 2
    flank = cutter.flank
    angle = np.linspace(-np.pi / 2, -np.radians(cutter.half_angle), 13)
    ball = np.stack([radius * np.cos(angle), radius + radius * np.sin(angle)], axis=1)
    profile: list[ArrayLike] = [ball]
    if flank is not None:
        profile.append([[flank.top_radius, flank.top_height]])
    profile.append([[cutter.widest_radius, max(cutter.usable_length, radius)]])
    top = max(cutter.stick_out, cutter.usable_length + 1)
    profile += [[[shank, max(cutter.usable_length, radius)]], [[shank, top]], [[0.0, top]]]
    return revolved(np.concatenate([np.asarray(p, float) for p in profile]))


def revolved(profile: FloatArray, pieces: int = ROUND) -> Triangles:
    """Turn a profile (n, 2: distance from the axis, height) about the z axis; every piece of it has its own normals."""
    angle = np.linspace(0, 2 * np.pi, pieces, endpoint=False)
    around = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    positions, normals, triangles = [], [], []
    base = 0
    for (r0, z0), (r1, z1) in pairwise(profile):
        direction = np.array([r1 - r0, z1 - z0])
        length = float(np.hypot(*direction))
        if length == 0:
            continue
        out = np.array([direction[1], -direction[0]]) / length
        for r, z in ((r0, z0), (r1, z1)):
            positions.append(np.column_stack([around * r, np.full(pieces, z)]))
            normals.append(np.column_stack([around * out[0], np.full(pieces, out[1])]))
        here = np.arange(pieces)
        after = (here + 1) % pieces
        low, low_after, high, high_after = base + here, base + after, base + pieces + here, base + pieces + after
        if r0 > 0:
            triangles.append(np.stack([low, low_after, high_after], axis=1))
        if r1 > 0:
            triangles.append(np.stack([low, high_after, high], axis=1))
        base += 2 * pieces
    return Triangles(
        np.concatenate(positions).astype(np.float32),
        np.concatenate(normals).astype(np.float32),
        np.concatenate(triangles).astype(np.int32),
    )


def legend_bar(legend: Legend, left: float, bottom: float, width: float, height: float, steps: int = 64) -> LegendBar:
    """The bar of a legend in a box of pixels (y upwards), high values at the top, with a tick line for every tick."""
    place = np.linspace(0, 1, steps + 1)
    y = bottom + place * height
    positions = np.stack([np.tile([left, left + width], steps + 1), np.repeat(y, 2)], axis=1).astype(np.float32)
    colours = np.repeat(legend.ramp.colours(place, 0, 1), 2, axis=0)
    k = 2 * np.arange(steps)
    triangles = np.concatenate([np.stack([k, k + 1, k + 3], axis=1), np.stack([k, k + 3, k + 2], axis=1)]).astype(np.int32)
    ticks, labels = [], []
    for tick in legend.ticks:
        level = bottom + float(legend.position(np.array([tick.value]))[0]) * height
        ticks += [[left + width, level], [left + width * 1.3, level]]
        labels.append((tick.label, left + width * 1.6, level))
    tick_lines = np.array(ticks, np.float32).reshape(-1, 2)
    return LegendBar(positions=positions, colours=colours, triangles=triangles, tick_lines=tick_lines, labels=tuple(labels))


def _arrow(start: FloatArray, direction: FloatArray, side: FloatArray, length: float, head: float) -> NDArray[np.float64]:
    """Shaft and two head strokes as pieces (3, 2, 3)."""
    tip = start + direction * length
    return np.array([[start, tip], [tip, tip - direction * head + side * head * 0.5], [tip, tip - direction * head - side * head * 0.5]])


def _letter(letter: str, middle: FloatArray, along: FloatArray, up: FloatArray, height: float) -> NDArray[np.float64]:
    """A letter of the stroke alphabet in space, about its middle, as pieces (n, 2, 3)."""
    strokes, width = lettering(letter, height)
    pieces = [chain(np.asarray(s, float)) for s in strokes]
    flat = np.concatenate(pieces) - (width / 2, height / 2)
    return middle + flat[..., :1] * along + flat[..., 1:] * up


def chain(points: FloatArray) -> NDArray[np.float64]:
    """The pieces (n, 2, d) of a polyline."""
    return np.stack([points[:-1], points[1:]], axis=1)
