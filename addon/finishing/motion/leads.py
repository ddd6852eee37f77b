"""Leads: how the cutter comes down to the beginning of a run of lines, and leaves its end, without a mark on the finished surface.

Where a line ends at the border of the work, the cutter comes down beside the work and runs in level. Elsewhere it comes down a little above the
surface and runs in on a ramp of a few degrees: straight on or on an arc that touches the line where there is room for one, else over the line
itself, which is cut later. Straight down onto the surface is the last choice. A lead out is a lead in run backwards.

The plunge feed is for a ball that comes straight down: its middle does not cut. On a lead it limits the speed downwards alone: one that falls at an
angle a is driven at the feed of the lines or at plunge feed / sin a, whichever is less. What bites off too much there is slowed down later.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..core.array_types import FloatArray, Indices, Mask
from ..core.path import ENTRY, EXIT, NO_LENGTH, Path
from ..core.polyline import at_distances, is_closed, travelled
from ..passes.lifting import lifted_lines
from .links import heading, stays_on

LEAD_LENGTH = 10.0
"""mm of a ramp: at 3 degrees it begins half a mm above the surface, which is about what roughing leaves."""

SHORTEST_TRACK = 1.0
"""mm; a line that is shorter is not run to and fro for a ramp: the machine would only shake."""

ARC_RADII = (np.inf, 20.0, -20.0, 10.0, -10.0, 5.0, -5.0)
"""mm, of the arcs that a ramp may follow, tried in this order: straight on first, then the gentlest. Negative ones turn right."""

ARC_STEP = 0.5
"""mm between the points of an arc, whose chords lie within 0.007 mm of it at the least radius; a ramp shapes no surface."""

BESIDE_STEP = 0.5
"""mm between the places beside the work that are looked at."""

BESIDE_DROP = 0.5
"""mm that the surface lies lower under a place beside the work: the cutter touches nothing of the body there, and comes down clear of it."""

MORE_WOOD = 1.0
"""mm of wood that a ramp beyond a line's end may have over it more than the end itself: what roughing leaves differs by less on one slope, while
stock that still stands beside a narrow channel is higher by far. A ramp over the line itself is always there instead.
"""

LEVEL = 1e-6
"""mm; a surface that rises by less on the way is level."""


@dataclass(frozen=True)
class LeadSettings:
    """ramp_angle: degrees between ramp and surface. chord_tolerance: of arcs on the surface, mm. radius: of the ball, mm."""

    ramp_angle: float
    chord_tolerance: float
    radius: float


@dataclass(frozen=True)
class LeadRoom:
    """What stands where leads may go. free: least tip heights (k,) at places (k, 2) at which the cutter meets nothing that may stand. beside:
    whether places lie beside the body, with nothing there that the cutter must not touch, (k,). known: whether it is known what stands.
    """

    free: Callable[[FloatArray], FloatArray]
    beside: Callable[[FloatArray], Mask]
    known: bool = True

    def takes(self, track: FloatArray) -> bool:
        """Whether no more wood stands over a track (k, 3) of tips than over its first point, but for MORE_WOOD."""
        wood = np.maximum(self.free(track[:, :2]) - track[:, 2], 0.0)
        return not self.known or bool(wood.max() <= wood[0] + MORE_WOOD)


Surface = Callable[[FloatArray], Generator[float, None, FloatArray]]
"""Exact tip heights (k,) of points (k, 2), in steps."""


def leads_steps(
    ends: Sequence[FloatArray],
    surface: Surface,
    estimate: Callable[[FloatArray], FloatArray],
    allowed: Callable[[FloatArray], Mask],
    room: LeadRoom,
    settings: LeadSettings,
) -> Generator[float, None, list[FloatArray]]:
    """The leads (k, 3) of some ends of lines, each from its far end to the line's own end; that point alone where no lead fits.

    ends: lines (n, 3) that begin with the end in question. surface, estimate: tip heights, exact in steps and cheap. allowed: where moves on the
    surface may go.
    """
    leads = yield from _beside_the_work(ends, surface, room, settings.radius)
    waiting = [number for number, lead in enumerate(leads) if lead is None]
    arcs = {number: arc for number in waiting if (arc := _arc(ends[number], allowed)) is not None}
    lifted = yield from lifted_lines(list(arcs.values()), surface, estimate, settings.chord_tolerance, settings.radius) if arcs else _nothing()
    tracks = {number: track for number, track in zip(arcs, lifted, strict=True) if room.takes(track)}
    rise = float(np.tan(np.radians(settings.ramp_angle)))
    done: list[FloatArray] = []
    for number, (end, lead) in enumerate(zip(ends, leads, strict=True)):
        if lead is None:
            lead = _raised(tracks[number], rise)[::-1] if number in tracks else ramp_over(end, settings.ramp_angle)
        done.append(lead)
    return done


def lead_feeds(moves: FloatArray, feed: ArrayLike, plunge_feed: float) -> FloatArray:
    """Feeds (n,) mm/min of moves (n, 3) along leads, in their running order: those of lines, (n,) or one for all, but no faster downwards than the
    plunge feed.
    """
    down = np.maximum(-moves[:, 2], NO_LENGTH)
    return np.minimum(feed, np.maximum(np.floor(plunge_feed * np.linalg.norm(moves, axis=1) / down), plunge_feed))


def lead_rows(path: Path) -> Indices:
    """Rows of a path whose moves run along leads: the ways in and out that are not straight up or down."""
    across = np.hypot(*np.diff(path.points[:, :2], axis=0).T) > NO_LENGTH
    return np.flatnonzero(across & ((path.kind[1:] == ENTRY) | (path.kind[1:] == EXIT))) + 1


def ramp_over(line: FloatArray, angle: float) -> FloatArray:
    """A ramp (n, 3) of an angle in degrees over a line (m, 3) itself, down to its beginning; that point alone where the line is too short."""
    track = _own_track(line)
    return line[:1] if track is None else _raised(track, float(np.tan(np.radians(angle))))[::-1]


def _nothing() -> Generator[float, None, list[FloatArray]]:
    yield 1.0
    return []


def _raised(track: FloatArray, rise: float) -> FloatArray:
    """A track (n, 3) on the surface lifted by a share of the way along it; its first point stays."""
    out = track.copy()
    out[:, 2] += rise * travelled(track)
    return out


def _beside_the_work(ends: Sequence[FloatArray], surface: Surface, room: LeadRoom, radius: float) -> Generator[float, None, list[FloatArray | None]]:
    """Level leads from places beside the work, straight on beyond the ends of open lines; None where there is no such place.

    Such a place lies beside the body, and the surface under it has fallen below the line's end and never rose above it on the way. No more wood
    may stand over it than over the line's end: beyond a narrow channel the stock still stands. The cutter takes the one with the least, the nearest
    of those.
    """
    open_ends = [number for number, end in enumerate(ends) if not is_closed(end) and np.any(heading(end[0] - end[1]))]
    found: list[FloatArray | None] = [None] * len(ends)
    if not open_ends:
        return found
    distances = np.arange(BESIDE_STEP, radius + 2 * BESIDE_STEP, BESIDE_STEP)
    first = np.array([ends[number][0] for number in open_ends])
    outward = np.array([heading(ends[number][0] - ends[number][1]) for number in open_ends])
    places = first[:, None, :2] + distances[:, None] * outward[:, None]
    heights = (yield from surface(places.reshape(-1, 2))).reshape(places.shape[:2])
    below = first[:, 2:] - heights
    off = room.beside(places.reshape(-1, 2)).reshape(places.shape[:2])
    beside = off & (below >= BESIDE_DROP) & (np.minimum.accumulate(below, axis=1) >= -LEVEL)
    over_ends = np.maximum(room.free(first[:, :2]), first[:, 2])
    for row in np.flatnonzero(beside.any(axis=1)).tolist():
        possible = np.flatnonzero(beside[row])
        wood = np.maximum(room.free(places[row, possible]), first[row, 2])
        if wood.min() > over_ends[row] + MORE_WOOD:
            continue
        best = possible[int(wood.argmin())]
        found[open_ends[row]] = np.array([[*places[row, best], first[row, 2]], first[row]])
    return found


def _arc(end: FloatArray, allowed: Callable[[FloatArray], Mask]) -> FloatArray | None:
    """A way (n, 2) in plan straight on beyond the end of an open line, or on an arc that touches it, on ground where moves may go."""
    outward = heading(end[0] - end[1])
    if is_closed(end) or not outward.any():
        return None
    along = np.linspace(0.0, LEAD_LENGTH, round(LEAD_LENGTH / ARC_STEP) + 1)
    left = np.array([-outward[1], outward[0]])
    for radius in ARC_RADII:
        if np.isinf(radius):
            ahead, aside = along, np.zeros(len(along))
        else:
            ahead, aside = abs(radius) * np.sin(along / abs(radius)), radius * (1 - np.cos(along / radius))
        way = end[0, :2] + ahead[:, None] * outward + aside[:, None] * left
        if stays_on(way, allowed):
            return way
    return None


def _own_track(end: FloatArray) -> FloatArray | None:
    """A track (n, 3) over the line itself, as long as a ramp: along an open line, to and fro on a short one, and round a closed one, where the
    ramp ends in the direction of the run. None for a line that is too short.
    """
    line = end[::-1] if is_closed(end) else end
    length = travelled(line)[-1]
    if length < SHORTEST_TRACK:
        return None
    times = int(np.ceil(LEAD_LENGTH / length))
    legs = [line if leg % 2 == 0 or is_closed(line) else line[::-1] for leg in range(times)]
    track = np.concatenate([legs[0], *(leg[1:] for leg in legs[1:])])
    along = travelled(track)
    inner = track[along < LEAD_LENGTH]
    last = at_distances(track, along, np.array([min(LEAD_LENGTH, along[-1])]))
    return np.concatenate([inner, last]) if along[len(inner) - 1] < LEAD_LENGTH else inner
