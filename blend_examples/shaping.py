"""Shared by the scripts beside it: from outlines and height functions to a closed, well-shaped mesh in a small .blend file.

A body is a plan outline with a height function for its top and one for its back, and openings with upright walls. Both
sides are triangulated with points as dense as their curvature asks, and joined by walls.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import bpy
import numpy as np
from mathutils import Vector
from mathutils.geometry import delaunay_2d_cdt

Heights = Callable[[np.ndarray, np.ndarray], np.ndarray]


@dataclass
class Opening:
    """An opening with upright walls. outline: (n, 2) mm; floor: height of its floor in mm, None goes through.

    An open slot shares a stretch of vertices with the body's outline; it always has a floor.
    """

    outline: np.ndarray
    floor: float | None


@dataclass
class Shape:
    """A body in mm. outline: (n, 2), anticlockwise. top, back: heights over x, y. creases: polylines (n, 2) kept as edges.

    facet: greatest distance in mm between facets and surface. finest, coarsest: point distances in mm; the coarsest is a
    power of two times the finest.
    """

    outline: np.ndarray
    top: Heights
    back: Heights
    openings: list[Opening] = field(default_factory=list)
    creases: list[np.ndarray] = field(default_factory=list)
    facet: float = 0.0028
    finest: float = 0.45
    coarsest: float = 3.6
    back_facet: float = 0.02


def closed_curve(points: list[tuple[float, float]], step: float = 1.0) -> np.ndarray:
    """A smooth closed curve (n, 2) through points, by a periodic cubic spline, with points about `step` mm apart."""
    knots = np.array(points, float)
    n = len(knots)
    chord = np.linalg.norm(np.roll(knots, -1, axis=0) - knots, axis=1)
    # Slopes of the periodic spline over chord lengths: one linear system for both coordinates.
    before = np.roll(chord, 1)
    system = np.zeros((n, n))
    for i in range(n):
        system[i, i - 1] = chord[i]
        system[i, i] = 2 * (chord[i] + before[i])
        system[i, (i + 1) % n] = before[i]
    rise = (np.roll(knots, -1, axis=0) - knots) / chord[:, None]
    slope = np.linalg.solve(system, 3 * (chord[:, None] * np.roll(rise, 1, axis=0) + before[:, None] * rise))
    pieces = []
    for i in range(n):
        t = np.linspace(0, 1, 60, endpoint=False)[:, None]
        a, b, length = knots[i], knots[(i + 1) % n], chord[i]
        pieces.append(
            (2 * t**3 - 3 * t**2 + 1) * a + (t**3 - 2 * t**2 + t) * length * slope[i]
            + (3 * t**2 - 2 * t**3) * b + (t**3 - t**2) * length * slope[(i + 1) % n]
        )  # fmt: skip
    curve = np.concatenate(pieces)
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(np.vstack([curve, curve[:1]]), axis=0), axis=1))])
    wanted = np.linspace(0, along[-1], int(along[-1] / step), endpoint=False)
    ring = np.vstack([curve, curve[:1]])
    return np.stack([np.interp(wanted, along, ring[:, k]) for k in (0, 1)], axis=1)


def rounded_rectangle(x0: float, y0: float, x1: float, y1: float, corner: float, step: float = 0.8) -> np.ndarray:
    """A rectangle (n, 2) with rounded corners, anticlockwise."""
    pieces = []
    for cx, cy, turn in (
        (x1 - corner, y0 + corner, -90),
        (x1 - corner, y1 - corner, 0),
        (x0 + corner, y1 - corner, 90),
        (x0 + corner, y0 + corner, 180),
    ):
        angle = np.radians(np.linspace(turn, turn + 90, max(4, int(corner * 1.6 / step))))
        pieces.append(np.stack([cx + corner * np.cos(angle), cy + corner * np.sin(angle)], axis=1))
    corners = np.concatenate(pieces)
    out = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        count = max(1, int(np.linalg.norm(b - a) / (2.5 * step)))
        out.append(a + (b - a) * np.linspace(0, 1, count, endpoint=False)[:, None])
    return np.concatenate(out)


def circle(x: float, y: float, diameter: float, count: int = 36) -> np.ndarray:
    """A circle (n, 2), anticlockwise."""
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack([x + diameter / 2 * np.cos(angle), y + diameter / 2 * np.sin(angle)], axis=1)


class CurveDistance:
    """Distances in mm to a closed curve (n, 2), exact to its chords near it; `most` where it is as far or farther.

    A coarse lattice remembers the nearest vertex, so that each point looks at a few chords only.
    """

    LATTICE = 3.0
    CHORDS = 14

    def __init__(self, curve: np.ndarray, most: float = 60.0) -> None:
        self.start, self.way = curve, np.roll(curve, -1, axis=0) - curve
        self.square = (self.way**2).sum(axis=1)
        self.most = most
        self.low = curve.min(axis=0) - 20
        size = np.ceil((curve.max(axis=0) + 20 - self.low) / self.LATTICE).astype(int) + 1
        x, y = np.meshgrid(*(self.low[k] + self.LATTICE * np.arange(size[k]) for k in (0, 1)))
        flat = np.stack([x.ravel(), y.ravel()], axis=1)
        self.nearest = np.concatenate([((part[:, None] - curve) ** 2).sum(axis=2).argmin(axis=1) for part in np.array_split(flat, 40)]).reshape(x.shape)

    def __call__(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        flat = np.stack([np.ravel(x), np.ravel(y)], axis=1)
        column, row = np.clip(np.rint((flat - self.low) / self.LATTICE).astype(int), 0, np.array(self.nearest.shape[::-1]) - 1).T
        vertex = self.nearest[row, column]
        best = np.full(len(flat), self.most**2)
        for step in range(-self.CHORDS, self.CHORDS + 1):
            chord = (vertex + step) % len(self.start)
            off, way = flat - self.start[chord], self.way[chord]
            share = np.clip((off * way).sum(axis=1) / self.square[chord], 0, 1)
            np.minimum(best, ((off - share[:, None] * way) ** 2).sum(axis=1), out=best)
        return np.sqrt(best).reshape(np.shape(x))


def inside(points: np.ndarray, curve: np.ndarray) -> np.ndarray:
    """Whether points (n, 2) lie inside a closed curve (m, 2)."""
    x, y = points[:, 0], points[:, 1]
    result = np.zeros(len(points), bool)
    for (ax, ay), (bx, by) in zip(curve, np.roll(curve, -1, axis=0), strict=True):
        crosses = (ay > y) != (by > y)
        if crosses.any():
            result ^= crosses & (x < ax + (bx - ax) * (y - ay) / np.where(by != ay, by - ay, 1))
    return result


def open_slot(outline: np.ndarray, x: float, y0: float, y1: float) -> tuple[np.ndarray, np.ndarray]:
    """A slot that enters a body from its right side (greatest x) as far as x, between y0 and y1.

    Returns the outline with vertices where the slot's sides cross it, and the slot's own outline (n, 2).
    """

    def crossing(curve: np.ndarray, y: float) -> np.ndarray:
        best = None
        for i, (a, b) in enumerate(zip(curve, np.roll(curve, -1, axis=0), strict=True)):
            if (a[1] > y) != (b[1] > y) and a[0] > x and (best is None or a[0] < best[1][0]):
                best = (i, a + (b - a) * (y - a[1]) / (b[1] - a[1]))
        if best is None:
            raise ValueError("the slot's side does not cross the outline")
        return np.insert(curve, best[0] + 1, best[1], axis=0)

    with_corners = crossing(crossing(outline, y0), y1)
    right = with_corners[:, 0] > x
    mouth = with_corners[right & (with_corners[:, 1] >= y0 - 1e-9) & (with_corners[:, 1] <= y1 + 1e-9)]
    mouth = mouth[mouth[:, 0] < mouth[:, 0].min() + 30]
    mouth = mouth[np.argsort(mouth[:, 1])]
    sides = [np.stack([np.linspace(x, mouth[0, 0], 20, endpoint=False), np.full(20, y0)], axis=1), mouth,
             np.stack([np.linspace(mouth[-1, 0], x, 21)[1:], np.full(20, y1)], axis=1),
             np.stack([np.full(19, x), np.linspace(y1, y0, 20, endpoint=False)[1:]], axis=1)]  # fmt: skip
    return with_corners, np.concatenate(sides)


def bevel(distance: np.ndarray, width: float, degrees: float, radius: float) -> np.ndarray:
    """How far an edge lies below the flat at a distance from the outline: a slanted plane that an arc leads into the flat."""
    angle = np.radians(degrees)
    reach = width + radius * np.sin(angle)
    inward = np.clip(reach - distance, 0, None)
    on_arc = np.minimum(inward, radius * np.sin(angle))
    drop = radius - np.sqrt(radius**2 - on_arc**2)
    return drop + np.maximum(inward - radius * np.sin(angle), 0) * np.tan(angle)


def _lattice(shape: Shape, heights: Heights, facet: float) -> np.ndarray:
    """Interior points (n, 2) as dense as the curvature of the heights asks, kept off all outlines."""
    low, high = shape.outline.min(axis=0), shape.outline.max(axis=0)
    e = 0.25
    x, y = np.meshgrid(np.arange(low[0], high[0], shape.finest), np.arange(low[1], high[1], shape.finest))
    z = heights(x, y)
    east, west, north, south = heights(x + e, y), heights(x - e, y), heights(x, y + e), heights(x, y - e)
    mixed = heights(x + e, y + e) - heights(x + e, y - e) - heights(x - e, y + e) + heights(x - e, y - e)
    xx, yy, xy = (east - 2 * z + west) / e**2, (north - 2 * z + south) / e**2, mixed / (4 * e**2)
    bend = np.abs((xx + yy) / 2) + np.hypot((xx - yy) / 2, xy)
    wanted = np.sqrt(8 * facet / np.maximum(bend, 1e-9))
    keep = np.zeros(x.shape, bool)
    step = 1
    level = shape.finest
    while True:
        coarse = np.zeros(x.shape, bool)
        coarse[::step, ::step] = True
        keep |= coarse & ((wanted < 2 * level) if level < shape.coarsest else True)
        if level >= shape.coarsest:
            break
        step, level = 2 * step, 2 * level
    points = np.stack([x[keep], y[keep]], axis=1)
    own = np.clip(wanted[keep], shape.finest, 1.2)
    points_inside = inside(points, shape.outline)
    points, own = points[points_inside], own[points_inside]
    for curve in (shape.outline, *(o.outline for o in shape.openings)):
        away = CurveDistance(curve)(points[:, 0], points[:, 1])
        points, own = points[away > 0.6 * own], own[away > 0.6 * own]
    for line in shape.creases:
        way = line[-1] - line[0]
        share = np.clip(((points - line[0]) @ way) / (way @ way), 0, 1)
        away = np.linalg.norm(points - line[0] - share[:, None] * way, axis=1)
        points = points[away > 0.3]
    return points


def _triangulated(points: np.ndarray, curves: list[np.ndarray], lines: list[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Constrained Delaunay triangulation: vertices (n, 2) and triangles (m, 3), anticlockwise."""
    vertices = [*curves, *lines, points]
    edges: list[tuple[int, int]] = []
    first = 0
    for curve in curves:
        n = len(curve)
        edges += [(first + i, first + (i + 1) % n) for i in range(n)]
        first += n
    for line in lines:
        edges += [(first + i, first + i + 1) for i in range(len(line) - 1)]
        first += len(line)
    result = delaunay_2d_cdt([Vector(v) for v in np.concatenate(vertices)], edges, [], 0, 1e-7)
    return np.array([tuple(v) for v in result[0]]), np.array([tuple(f) for f in result[2]])


def make_mesh(shape: Shape) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (n, 3) in mm and triangles (m, 3) of the closed body, facing outwards."""
    # Blender's vectors are single precision: with corners that it can hold exactly, walls and both sides meet without a gap.
    shape = replace(shape, outline=_single(shape.outline), openings=[Opening(_single(o.outline), o.floor) for o in shape.openings])
    curves = [shape.outline, *(o.outline for o in shape.openings)]
    top_xy, top_faces = _triangulated(_lattice(shape, shape.top, shape.facet), curves, shape.creases)
    through = [shape.outline, *(o.outline for o in shape.openings if o.floor is None)]
    plain = Shape(shape.outline, shape.back, shape.back, [o for o in shape.openings if o.floor is None],
                  finest=shape.finest, coarsest=shape.coarsest)  # fmt: skip
    back_xy, back_faces = _triangulated(_lattice(plain, shape.back, shape.back_facet), through, [])
    triangles: list[np.ndarray] = []

    def keep(xy: np.ndarray, faces: np.ndarray, wanted: np.ndarray, heights: np.ndarray, up: bool) -> None:
        corners = np.concatenate([xy, heights[:, None]], axis=1)[faces[wanted]]
        triangles.append(corners if up else corners[:, ::-1])

    middle = top_xy[top_faces].mean(axis=1)
    ground = inside(middle, shape.outline)
    for opening in shape.openings:
        within = inside(middle, opening.outline)
        ground &= ~within
        if opening.floor is not None:
            keep(top_xy, top_faces, within, np.full(len(top_xy), opening.floor), True)
    keep(top_xy, top_faces, ground, shape.top(top_xy[:, 0], top_xy[:, 1]), True)
    middle = back_xy[back_faces].mean(axis=1)
    solid = inside(middle, shape.outline)
    for opening in shape.openings:
        if opening.floor is None:
            solid &= ~inside(middle, opening.outline)
    keep(back_xy, back_faces, solid, shape.back(back_xy[:, 0], back_xy[:, 1]), False)
    triangles += _walls(shape)
    corners = np.concatenate(triangles)
    vertices, faces = np.unique(np.round(corners.reshape(-1, 3), 4), axis=0, return_inverse=True)
    return vertices, faces.reshape(-1, 3)


def _single(points: np.ndarray) -> np.ndarray:
    """Points rounded to what single precision holds."""
    return points.astype(np.float32).astype(float)


def _walls(shape: Shape) -> list[np.ndarray]:
    """Upright walls of the outline and of all openings, with every corner height that a neighbour has."""
    edge_floor: dict[tuple[tuple[float, float], tuple[float, float]], float] = {}
    corner_heights: dict[tuple[float, float], set[float]] = {}
    outer = [tuple(v) for v in shape.outline.tolist()]
    outer_edges = set(zip(outer, outer[1:] + outer[:1], strict=True))
    walls: list[np.ndarray] = []
    loops: list[tuple[list[tuple[float, float]], float | None, bool]] = []
    for opening in shape.openings:
        loop = [tuple(v) for v in opening.outline.tolist()]
        for edge in zip(loop, loop[1:] + loop[:1], strict=True):
            if edge in outer_edges and opening.floor is not None:
                edge_floor[edge] = opening.floor
                for corner in edge:
                    corner_heights.setdefault(corner, set()).add(opening.floor)
        loops.append((loop, opening.floor, True))
    loops.append((outer, None, False))

    for loop, floor, is_opening in loops:
        tops = shape.top(*np.array(loop).T)
        lows = shape.back(*np.array(loop).T) if floor is None else np.full(len(loop), floor)
        for i, a in enumerate(loop):
            k = (i + 1) % len(loop)
            b = loop[k]
            if is_opening and (a, b) in edge_floor:
                continue  # open to the outside
            high_a, high_b = tops[i], tops[k]
            if not is_opening and (a, b) in edge_floor:
                high_a = high_b = edge_floor[a, b]

            def between(corner: tuple[float, float], low: float, high: float) -> list[float]:
                return sorted(z for z in corner_heights.get(corner, ()) if low + 1e-6 < z < high - 1e-6)

            ring = [(*a, lows[i]), (*b, lows[k])]
            ring += [(*b, z) for z in between(b, lows[k], high_b)] + [(*b, high_b), (*a, high_a)]
            ring += [(*a, z) for z in reversed(between(a, lows[i], high_a))]
            fan = [(ring[0], ring[n], ring[n + 1]) for n in range(1, len(ring) - 1)]
            if len(ring) > 4 and len(between(a, lows[i], high_a)):
                fan = [(ring[1], ring[n], ring[(n + 1) % len(ring)]) for n in range(2, len(ring))]
            corners = np.array(fan)
            walls.append(corners[:, ::-1] if is_opening else corners)
    return walls


def save(path: Path, name: str, vertices: np.ndarray, faces: np.ndarray, skipped: np.ndarray | None = None) -> None:
    """Write a .blend file with one mesh object in a millimetre scene (one unit is one millimetre)."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    scene = bpy.context.scene
    scene.unit_settings.system = "METRIC"
    scene.unit_settings.scale_length = 0.001
    scene.unit_settings.length_unit = "MILLIMETERS"
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(vertices.tolist(), [], faces.tolist())
    if skipped is not None:
        attribute = mesh.attributes.new("finish_skip", "BOOLEAN", "FACE")
        attribute.data.foreach_set("value", skipped.astype(bool))
    mesh.update()
    body = bpy.data.objects.new(name, mesh)
    scene.collection.objects.link(body)
    bpy.context.view_layer.objects.active = body
    body.select_set(True)
    bpy.ops.wm.save_as_mainfile(filepath=str(path), compress=True, check_existing=False)


def save_ply(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    """Write the same mesh as a binary PLY file in mm, for machines without Blender."""
    head = (
        f"ply\nformat binary_little_endian 1.0\ncomment in millimetres\nelement vertex {len(vertices)}\nproperty float x\nproperty float y\n"
        f"property float z\nelement face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    rows = np.empty(len(faces), np.dtype([("count", "u1"), ("corners", "<i4", 3)]))
    rows["count"], rows["corners"] = 3, faces
    path.write_bytes(head.encode("ascii") + vertices.astype("<f4").tobytes() + rows.tobytes())


COARSER = {"facet": 4.0, "finest": 2.0, "coarsest": 2.0}
"""How much coarser the body is that comes along with the extension, so that the zip stays small."""

WITH_EXTENSION = Path(__file__).parent.parent / "addon" / "examples"
"""Where the extension opens its examples from."""


def save_for_extension(script: str, shape: Shape) -> None:
    """Write the coarser mesh that the extension opens: places (n, 3) in mm and corners (m, 3) of triangles."""
    coarser = {name: getattr(shape, name) * factor for name, factor in COARSER.items()}
    vertices, faces = make_mesh(replace(shape, **coarser))
    target = (WITH_EXTENSION / Path(script).stem).with_suffix(".npz")
    np.savez_compressed(target, places=vertices.astype(np.float32), corners=faces.astype(np.int32))


def output_path(script: str) -> Path:
    """Where a script writes: its first argument, or beside it under its own name."""
    return Path(sys.argv[1]) if len(sys.argv) > 1 else Path(script).with_suffix(".blend")
