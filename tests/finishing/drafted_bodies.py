"""Closed bodies with one drafted pocket, drawn by a seed, whose walls lean by exactly so many degrees and whose floors are known.

A body is a stack of rings round the pocket's middle, from there outwards: the floor, its foot, up the wall to its mouth, and so on to the
outline and down to the bottom. From a mouth the wall goes down square to the curve, so that its slope is the drawn one all round.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from addon.finishing.surface.steep_walls import SHALLOWEST

AROUND = 540
"""Points of a ring."""

DRAFTS = (0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0, 20.0)
DEPTHS = (2.0, 3.0, 5.0, 8.0, 12.0, 20.0)

LEAST = 0.9
"""mm that a floor lies below what is round it, or an island above it: beyond what counts as relief of the ground."""

Heights = Callable[[np.ndarray, np.ndarray], np.ndarray]

GROUNDS: tuple[tuple[str, Heights], ...] = (
    ("flat", lambda x, y: np.full(np.shape(x), 30.0)),
    ("arched", lambda x, y: 30 - ((x - 55) ** 2 / 900 + (y - 45) ** 2 / 700) / 2),
    ("tilted", lambda x, y: 30 - 0.06 * x + 0.03 * y),
)


@dataclass(frozen=True)
class Curve:
    """A rounded rectangle or an oval round (0, 0), half_length and half_width mm, corners of this radius (None: an oval), turned by an angle."""

    half_length: float
    half_width: float
    corner: float | None
    turn: float

    def points(self) -> tuple[np.ndarray, np.ndarray]:
        """Points and outward normals, (AROUND, 2) each, anticlockwise."""
        if self.corner is None:
            at = np.linspace(0, 2 * np.pi, AROUND, endpoint=False)
            points = np.stack([self.half_length * np.cos(at), self.half_width * np.sin(at)], axis=1)
            normals = np.stack([np.cos(at) / self.half_length, np.sin(at) / self.half_width], axis=1)
        else:
            points, normals = self._rounded(self.corner)
        normals /= np.linalg.norm(normals, axis=1)[:, None]
        c, s = np.cos(self.turn), np.sin(self.turn)
        turned = np.array([[c, s], [-s, c]])
        return points @ turned, normals @ turned

    def _rounded(self, corner: float) -> tuple[np.ndarray, np.ndarray]:
        """A rounded rectangle: on straight sides and arcs a point each at both ends, others between by length."""
        inner = np.array([self.half_length - corner, self.half_width - corner])
        points, normals = [], []
        count = AROUND // 8
        for quarter, signs in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
            at = (quarter + np.linspace(0, 1, count + 1)) * np.pi / 2
            arc = np.stack([np.cos(at), np.sin(at)], axis=1)
            points.append(inner * signs + corner * arc)
            normals.append(arc)
            end, ahead = points[-1][-1], inner * ((-1, 1), (-1, -1), (1, -1), (1, 1))[quarter] + corner * arc[-1]
            some = np.linspace(0, 1, AROUND // 4 - count + 1)[1:-1, None]
            points.append(end + some * (ahead - end))
            normals.append(np.broadcast_to(arc[-1], points[-1].shape))
        missing = AROUND - sum(map(len, points))
        assert missing == 0, missing
        return np.concatenate(points), np.concatenate(normals)


@dataclass(frozen=True)
class TrueFloor:
    """A floor as it is built. kind, inside: as an opening's floor. mouth: closed polygon (n, 2) round it and all that is cut into it, mm."""

    kind: str
    inside: int
    mouth: np.ndarray
    surface: Heights


@dataclass(frozen=True)
class DraftedBody:
    """triangles: (n, 3, 3) mm. top: the ground. floors: from the outermost. told: how it was drawn."""

    triangles: np.ndarray
    top: Heights
    floors: tuple[TrueFloor, ...]
    told: str


def drafted_body(
    seed: int, scale: float = 1.0, drafts: tuple[float, ...] = DRAFTS, depths: tuple[float, ...] = DEPTHS, parts: str | None = None
) -> DraftedBody:
    """A body of 120 x 100 mm with a pocket, plan and depths scaled; drafts in degrees from upright. parts: as a drawing's, None for any."""
    rng = np.random.default_rng(seed)
    while True:
        drawing = _drawn(rng, LEAST / scale, float(rng.choice(drafts)), float(rng.choice(depths)))
        if drawing is not None and parts is not None:
            drawing = replace(drawing, parts=parts)
        built = None if drawing is None else _built(drawing)
        if drawing is not None and built is not None:
            triangles, floors = built
            scaled = tuple(TrueFloor(f.kind, f.inside, f.mouth * scale, _scaled(f.surface, scale)) for f in floors)
            return DraftedBody(triangles * scale, _scaled(drawing.top, scale), scaled, f"seed {seed}: {drawing}")


def _scaled(surface: Heights, scale: float) -> Heights:
    return lambda x, y: scale * surface(x / scale, y / scale)


@dataclass(frozen=True)
class _Drawing:
    """What is drawn. slope: of the walls. parts: plain, recess, island or both. shelf: of the recess, its depth, width beyond the mouth and the slope
    of its wall. island: its height over the floor and its share of the mouth."""

    middle: np.ndarray
    ground: str
    top: Heights
    mouth: Curve
    slope: float
    depth: float
    level: str
    floor: Heights
    parts: str
    shelf: tuple[float, float, float]
    island: tuple[float, float]
    least: float


def _drawn(rng: np.random.Generator, least: float, draft: float, depth: float) -> _Drawing | None:
    """One drawing; None where its walls would meet. least: mm that a floor lies below what is round it."""
    length, width, turn, middle = rng.uniform(9, 34), rng.uniform(6, 24), rng.uniform(0, np.pi), np.array([60.0, 50.0])
    if rng.random() < 0.25:  # drawn in whole mm, so that mouths lie on centres of cells
        length, width, turn = float(round(length)), float(round(width)), float(rng.integers(2)) * np.pi / 2
    else:
        middle = middle + rng.uniform(-3, 3, 2)
    cx, cy = middle.tolist()
    slope, low, high = _slope(draft), min(length, width), max(length, width)
    corner = None if rng.random() < 0.35 else rng.uniform(2, 8)
    tightest = low**2 / high if corner is None else min(corner + 1, low)  # an oval's tightest radius; a corner may run out to half a mm
    if tightest < depth / slope + 1.5:
        return None
    ground, top = GROUNDS[int(rng.integers(len(GROUNDS)))]
    level = str(rng.choice(["level", "along the ground", "sloped", "arched"]))
    a, b = rng.uniform(-0.08, 0.08, 2)
    z = float(top(np.array(cx), np.array(cy))) - depth
    floor: Heights = {
        "level": lambda x, y: z + 0 * x,
        "along the ground": lambda x, y: top(x, y) - depth,
        "sloped": lambda x, y: z + a * (x - cx) + b * (y - cy),
        "arched": lambda x, y: z + ((x - cx) ** 2 + (y - cy) ** 2) / 500,
    }[level]
    shelf, leaning = float(rng.uniform(least, max(least, min(3.0, depth - least)))), min(draft, float(rng.choice([0, 5, 12, 20])))
    return _Drawing(
        middle=middle, ground=ground, top=top, mouth=Curve(length, width, corner, turn), slope=slope, depth=depth, level=level, floor=floor,
        parts=str(rng.choice(["plain", "plain", "recess", "island"])), shelf=(shelf, rng.uniform(2.5, 8), _slope(leaning)),
        island=(float(rng.uniform(least, max(least, depth - least))), rng.uniform(0.25, 0.4)), least=least,
    )  # fmt: skip


def _slope(draft: float) -> float:
    """Rise by run of a wall that leans by so many degrees."""
    return float(np.tan(np.radians(90 - draft))) if draft else 1e9


def _foot(points: np.ndarray, normals: np.ndarray, upper: Heights, lower: Heights, slope: float) -> np.ndarray:
    """The foot (n, 2) of a wall that goes down from a curve on the upper surface to the lower one, against the normals."""
    z, run = upper(*points.T), np.zeros(len(points))
    for _ in range(40):
        run = (z - lower(*(points - run[:, None] * normals).T)) / slope
    return points - run[:, None] * normals


class _Rings:
    """Rings of points from the middle outwards."""

    def __init__(self, middle: np.ndarray) -> None:
        self.middle = middle
        self.all: list[np.ndarray] = []

    def at(self, points: np.ndarray, surface: Heights) -> None:
        """One more ring."""
        self.all.append(np.column_stack([points, surface(*points.T)]))

    def to(self, points: np.ndarray, surface: Heights, count: int) -> None:
        """So many more, the last one of them at these points, all on one surface."""
        inner = self.all[-1][:, :2] if self.all else self.middle + 1e-3 * (points - self.middle)
        for share in np.linspace(0, 1, count + 1)[1:] if self.all else np.linspace(0, 1, count + 1):
            self.at(inner + share * (points - inner), surface)

    def closed(self) -> np.ndarray:
        """The triangles of the body that they make up."""
        first, last = self.all[0], self.all[-1]
        under = np.stack([np.broadcast_to(np.append(self.middle, 0.0), last.shape), np.roll(last, -1, axis=0), last], axis=1)
        cap = np.stack([np.broadcast_to(first.mean(axis=0), first.shape), first, np.roll(first, -1, axis=0)], axis=1)
        return np.concatenate([_surface(self.all), under, cap])


def _built(drawing: _Drawing) -> tuple[np.ndarray, tuple[TrueFloor, ...]] | None:
    """Triangles and floors; None where rings would cross, or a floor lie too little below what is round it."""
    rings, floors, mouth = _Rings(drawing.middle), [], drawing.mouth
    points, normals = mouth.points()
    edge = points = points + drawing.middle
    upper = drawing.top
    if drawing.parts in ("recess", "both"):
        depth, ledge, slope = drawing.shelf
        outer = Curve(mouth.half_length + ledge + 1, mouth.half_width + ledge + 1, None if mouth.corner is None else mouth.corner + ledge, mouth.turn)
        edge, outwards = outer.points()
        edge = edge + drawing.middle
        upper = _lowered(drawing.top, depth)
        shelf_foot = _foot(edge, outwards, drawing.top, upper, slope)
        floors.append(TrueFloor("recess", 0, edge, upper))
    foot = _foot(points, normals, upper, drawing.floor, drawing.slope)
    if (upper(*points.T) - drawing.floor(*points.T)).min() < drawing.least:
        return None
    floors.append(TrueFloor("floor", len(floors), points, drawing.floor))
    if drawing.parts in ("island", "both"):
        island = _island(drawing, rings, upper)
        if island is None:
            return None
        # One that stands up to the shelf lies beside the floor, one that stays below it stands in it.
        floors.insert(len(floors) - (drawing.parts == "both" and not island.inside), island)
    rings.to(foot, drawing.floor, 8)
    rings.at(points, upper)
    if drawing.parts in ("recess", "both"):
        rings.to(shelf_foot, upper, 4)
        rings.at(edge, drawing.top)
    outline = _on_the_outline(edge, drawing.middle)
    rings.to(outline, drawing.top, 12)
    rings.at(outline, lambda x, y: 0 * x)
    return None if (_plan_areas(_surface(rings.all)) < -1e-6).any() else (rings.closed(), tuple(floors))


def _lowered(surface: Heights, by: float) -> Heights:
    return lambda x, y: surface(x, y) - by


def _island(drawing: _Drawing, rings: _Rings, upper: Heights) -> TrueFloor | None:
    """An island in the middle, of the mouth's form; None where there is no room for it, or it is about as high as a shelf round it."""
    (rise, share), mouth = drawing.island, drawing.mouth
    low = min(mouth.half_length, mouth.half_width)
    if (rise + drawing.depth) / drawing.slope > 0.4 * low or low * share < 2 or rise + drawing.least > drawing.depth:
        return None
    points, normals = Curve(
        mouth.half_length * share, mouth.half_width * share, None if mouth.corner is None else 0.6 * low * share, mouth.turn
    ).points()
    surface = _lowered(drawing.floor, -rise)
    foot = _foot(points + drawing.middle, -normals, surface, drawing.floor, drawing.slope)
    rings.to(points + drawing.middle, surface, 4)
    rings.at(foot, drawing.floor)
    below = float(np.median(upper(*foot.T) - surface(*foot.T)))
    relief = drawing.least * SHALLOWEST / LEAST
    if drawing.parts == "both" and abs(below - relief) < 0.4 * relief:
        return None
    return TrueFloor("island", int(drawing.parts == "both" and below > relief), foot, surface)


def _on_the_outline(points: np.ndarray, middle: np.ndarray) -> np.ndarray:
    """Where rays from the middle through some points reach the outline of 120 x 100 mm."""
    along = (points - middle) / np.linalg.norm(points - middle, axis=1)[:, None]
    room = np.where(along > 0, np.array([120.0, 100.0]) - middle, middle)
    far = room / np.maximum(np.abs(along), 1e-12)
    return middle + along * far.min(axis=1)[:, None]


def _surface(rings: list[np.ndarray]) -> np.ndarray:
    out = []
    for inner, outer in zip(rings[:-1], rings[1:], strict=True):
        a, b = np.roll(inner, -1, axis=0), np.roll(outer, -1, axis=0)
        out += [np.stack([inner, outer, b], axis=1), np.stack([inner, b, a], axis=1)]
    return np.concatenate(out)


def _plan_areas(triangles: np.ndarray) -> np.ndarray:
    a, b = triangles[:, 1, :2] - triangles[:, 0, :2], triangles[:, 2, :2] - triangles[:, 0, :2]
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
