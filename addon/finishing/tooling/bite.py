"""The bite along the passes: how deep and wide the cutter is in the stock, the chips it makes, and how far it bends.

Depth is that of the stock above the finished surface at the contact, along the normal. Width follows from where earlier passes lie: the
section that a pass takes is the ball's segment at that depth without what neighbouring passes have taken before.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..core.array_types import FloatArray
from ..core.finding import Change, Finding
from ..core.grid import Grid
from ..core.message import Message, word
from ..core.path import CUT, LINK, NO_LENGTH, Path, places_along
from ..core.place import place_of
from ..job.bite_settings import BiteSettings
from ..job.cutter import Cutter
from ..job.flank import Flank
from ..job.wood import DERATING, Wood, wood_named
from .beam import cutter_bend

SAMPLE = 0.5
"""mm between the places of a pass that are looked at: no wider than the cells, so that a pass leaves no cell out."""

CELL = 0.5
"""mm, cells that remember which pass came first."""

NO_DEPTH = 1e-9
"""mm, in place of a depth, a width or a chip of nothing where something is divided by it."""

NO_BEND = 1e-12
"""mm, in place of no bend, which is much smaller than any other length, where something is divided by it."""

LEAST_CHIP = 0.0005
"""mm; a thinner one is dust of ground that was cut before, and would be told as 0.000."""

ROUNDING = 1e-9
"""Share of the feed; a limit that is missed by less is kept."""

LEAST_FEED = 1.0
"""mm/min; a feed that is lowered becomes a whole number, and never 0."""


@dataclass(frozen=True)
class Engagement:
    """How the cutter stands in the stock along the passes, at places SAMPLE mm apart at most.

    points: (n, 3) tip, mm. row: (n,) row of the path whose move holds the place. depth: (n,) mm. section: (n,) mm2, area of stock that
    the pass takes across its direction.
    """

    points: FloatArray
    row: NDArray[np.intp]
    depth: FloatArray
    section: FloatArray

    @property
    def width(self) -> FloatArray:
        """Width of a layer as deep as the cutter that has the same section, (n,) mm."""
        return self.section / np.maximum(self.depth, NO_DEPTH)


@dataclass(frozen=True)
class Bite:
    """What the engagement means at the feed that was asked for. All (n,), place by place as in `engagement`.

    feed: mm/min. chip: mm, thickness of the chip that a tooth takes. greatest_chip: what the wood bears at that depth. bend: mm, of the cutter's tip.
    allowed: share of the feed that keeps both within limits, 1 where nothing need change.
    """

    engagement: Engagement
    feed: FloatArray
    chip: FloatArray
    greatest_chip: FloatArray
    bend: FloatArray
    allowed: FloatArray

    @property
    def usual_chip(self) -> float | None:
        """The median of the chips that are any, mm: over ground that was cut before there are none. None where nothing is cut."""
        chips = self.chip[self.chip >= LEAST_CHIP]
        return float(np.median(chips)) if len(chips) else None


def effective_diameter(radius: float, depth: ArrayLike, flank: Flank | None = None) -> NDArray[np.float64]:
    """Diameter of the cut of a ball at some depth: 2 sqrt(2 R a - a^2), the whole diameter from depth R; that of a flank where it is. All mm."""
    if flank is not None:
        return 2 * flank.half_width(depth)
    a = np.clip(np.asarray(depth, float), 0, radius)
    return 2 * np.sqrt(2 * radius * a - a * a)


def section_area(
    radius: float, depth: ArrayLike, left: ArrayLike = np.inf, right: ArrayLike = np.inf, flank: Flank | None = None
) -> NDArray[np.float64]:
    """Section in mm2 that a pass takes out of an even layer, beside earlier passes at distances to its left and right.

    radius, depth, left, right: mm, inf where there is no earlier pass. At u mm across from the pass's own tip stands the lower of the
    layer, a, and the neighbour's ball, R - sqrt(R^2 - (u - d)^2) at a distance d; what lies above the pass's own ball R - sqrt(R^2 - u^2)
    is taken. The two balls cross half-way, at the crest d/2, where the section ends. Closed form, by the integral of
    a ball's height; a tapered cutter's is convex too, and does the same.
    """
    profile = _Profile(radius, flank)
    depth, left, right = np.broadcast_arrays(*(np.asarray(v, float) for v in (depth, left, right)))
    # Where both neighbours' balls are equally high; to the right of it the right one's is lower.
    with np.errstate(invalid="ignore"):
        middle = np.where(np.isinf(left) & np.isinf(right), 0.0, (right - left) / 2)
    return _one_side(profile, depth, middle, right) + _one_side(profile, depth, -middle, left)


@dataclass(frozen=True)
class _Profile:
    """The half section of a cutter: a ball of a radius in mm, with its flank if it is tapered."""

    radius: float
    flank: Flank | None

    def area(self, across: FloatArray) -> FloatArray:
        """Area between tip and profile to `across` mm beside it, mm2."""
        return _ball_area(self.radius, across) if self.flank is None else self.flank.area_under(across)


def _one_side(profile: _Profile, depth: FloatArray, start: FloatArray, distance: FloatArray) -> FloatArray:
    """Section from `start` (mm, towards the neighbour counted positive) to the crest before an earlier pass at a distance."""
    chord = effective_diameter(profile.radius, depth, profile.flank) / 2
    low = np.clip(start, -chord, chord)
    high = np.maximum(np.minimum(distance / 2, chord), low)
    # As far as the layer is whole, and from there on the neighbour's ball.
    whole = np.clip(distance - chord, low, high)
    far = np.where(np.isinf(distance), 0.0, distance)
    neighbour = np.where(np.isinf(distance), 0.0, profile.area(high - far) - profile.area(whole - far))
    return depth * (whole - low) + neighbour - (profile.area(high) - profile.area(low))


def _ball_area(radius: float, across: FloatArray) -> FloatArray:
    """Area under the ball from its tip to `across` mm beside it: the integral of R - sqrt(R^2 - u^2), negative on the other side."""
    u = np.clip(across, -radius, radius)
    return radius * u - (u * np.sqrt(radius**2 - u * u) + radius**2 * np.arcsin(u / radius)) / 2


def engagement_of(path: Path, radius: float, depth_at: FloatArray, grid: Grid, flank: Flank | None = None) -> Engagement:
    """Follow the passes in running order. radius: of the ball, mm. depth_at: (rows, columns) on `grid`, depth of the stock for a tip there, mm."""
    places = places_along(path, (CUT, LINK), SAMPLE)
    points, row = places.points, places.row
    if len(points) == 0:
        return Engagement(points, row, np.zeros(0), np.zeros(0))
    depth = np.maximum(grid.sample(depth_at, points), 0.0)
    widest = float(effective_diameter(radius, depth.max(), flank))
    move = path.points[row] - path.points[row - 1]
    direction = move[:, :2] / np.maximum(np.linalg.norm(move[:, :2], axis=1), NO_LENGTH)[:, None]
    lengths = path.lengths()
    travelled = np.cumsum(lengths)[row - 1] + places.share * lengths[row]
    left, right = distances_to_earlier(points, direction, travelled, widest)
    return Engagement(points, row, depth, np.maximum(section_area(radius, depth, left, right, flank), 0.0))


def distances_to_earlier(points: FloatArray, direction: FloatArray, travelled: FloatArray, widest: float) -> tuple[FloatArray, FloatArray]:
    """Distance in mm to the nearest earlier pass to the left and to the right of every place, (n,) each, inf beyond `widest`.

    points: (n, 2 or more) in running order; direction: (n, 2) unit vectors of the pass there; travelled: (n,) mm along the path.

    Derivation. Of many passes over one cell only the first has taken stock there, so cells of CELL mm that keep the number of the first
    place in them tell all that is needed. From each place one walks straight across the pass in steps of half a cell until a cell was first
    visited earlier. (Where a pass runs from cell to cell over their corners one may slip through: one place in some thousands finds the
    pass behind it.) The cutter's own trail is earlier too, and lies across where the pass bends: to have come back from a place s mm away,
    the cutter must have travelled s mm at least, and what it has travelled less than that (and two samples, by which places are known) is
    its own trail. All places walk one step at once; those that have met a pass stop.
    """
    low = points[:, :2].min(axis=0) - widest - 2 * CELL
    columns, rows = (np.ceil((points[:, :2].max(axis=0) + widest + 2 * CELL - low) / CELL).astype(int) + 1).tolist()
    first = np.full(rows * columns, len(points), np.int64)

    def cell_of(places: FloatArray) -> NDArray[np.intp]:
        at = np.rint((places - low) / CELL).astype(np.intp)
        return at[:, 1] * columns + at[:, 0]

    order = np.arange(len(points))
    # The last one written wins: write backwards, so that the first visit stays.
    first[cell_of(points[::-1, :2])] = order[::-1]
    out = []
    for turn in (1.0, -1.0):
        across = turn * np.column_stack([-direction[:, 1], direction[:, 0]])
        found = np.full(len(points), np.inf)
        walking = order
        for distance in np.arange(CELL / 2, widest + CELL, CELL / 2):
            if len(walking) == 0:
                break
            seen = first[cell_of(points[walking, :2] + distance * across[walking])]
            earlier = seen < walking
            earlier[earlier] = travelled[walking[earlier]] - travelled[seen[earlier]] > distance + 2 * SAMPLE
            mine = walking[earlier]
            apart = points[seen[earlier], :2] - points[mine, :2]
            found[mine] = np.abs((apart * across[mine]).sum(axis=1))
            walking = walking[~earlier]
        out.append(found)
    return out[0], out[1]


def bite_of(engagement: Engagement, path: Path, cutter: Cutter, settings: BiteSettings) -> Bite:
    """Chips and bend at the path's own feeds."""
    wood = wood_named(settings.wood)
    feed = path.feed[engagement.row]
    depth = engagement.depth
    per_tooth = feed / (cutter.spindle_speed * cutter.flutes)
    chip = per_tooth * thinning(effective_diameter(cutter.radius, depth, cutter.flank), engagement.width)
    greatest = greatest_chip(wood, depth / cutter.cutting_diameter)
    force = wood.cutting_pressure * chip * edge_length(cutter.radius, depth, cutter.flank)
    bend = cutter_bend(force, cutter)
    allowed = np.minimum(1.0, np.minimum(greatest / np.maximum(chip, NO_DEPTH), settings.tip_bend_limit / np.maximum(bend, NO_BEND)))
    return Bite(engagement=engagement, feed=feed, chip=chip, greatest_chip=greatest, bend=bend, allowed=allowed)


def feed_in_slot(depth: FloatArray, feed: float, cutter: Cutter, settings: BiteSettings) -> FloatArray:
    """The feed (n,) mm/min, of those asked for, that chips and bend allow where no earlier pass lies beside the cutter. depth: (n,) mm of wood."""
    section = section_area(cutter.radius, depth, flank=cutter.flank)
    places, row = np.zeros((len(depth), 3)), np.arange(len(depth))
    asked = Path(places, np.full(len(depth), CUT, np.uint8), np.ones(len(depth), np.int32), np.full(len(depth), feed))
    allowed = bite_of(Engagement(places, row, depth, np.maximum(section, 0.0)), asked, cutter, settings).allowed
    return _lowered(np.full(len(depth), feed), allowed)


def thinning(diameter: ArrayLike, width: ArrayLike) -> NDArray[np.float64]:
    """Thickness of a chip over the feed per tooth: sqrt(D w - w^2) / (D/2) below half the diameter, else 1. All mm."""
    d = np.maximum(np.asarray(diameter, float), NO_DEPTH)
    w = np.clip(np.asarray(width, float), 0, d / 2)
    return np.sqrt(d * w - w * w) / (d / 2)


def greatest_chip(wood: Wood, depth_over_diameter: ArrayLike) -> NDArray[np.float64]:
    """Chip load in mm per tooth that a wood bears at a depth, straight between the depths of the charts."""
    depths, shares = np.array(DERATING).T
    return wood.greatest_chip * np.interp(np.asarray(depth_over_diameter, float), depths, shares)


def edge_length(radius: float, depth: ArrayLike, flank: Flank | None = None) -> NDArray[np.float64]:
    """Length of cutting edge in the stock at a depth: the ball's arc, and the flank above its equator, or where a taper begins. mm."""
    a = np.asarray(depth, float)
    if flank is not None:
        arc = radius * np.arccos(1 - np.clip(a, 0, flank.foot_height) / radius)
        slanted = (np.clip(a, flank.foot_height, flank.top_height) - flank.foot_height) / np.cos(np.radians(flank.half_angle))
        return arc + slanted + np.maximum(a - flank.top_height, 0)
    return radius * np.arccos(1 - np.clip(a, 0, radius) / radius) + np.maximum(a - radius, 0)


def with_allowed_feed(path: Path, bite: Bite) -> Path:
    """The path with the feed of every move lowered to what its bite allows."""
    share = np.ones(len(path))
    np.minimum.at(share, bite.engagement.row, bite.allowed)
    return replace(path, feed=_lowered(path.feed, share))


def _lowered(feed: NDArray[np.float64], share: FloatArray) -> NDArray[np.float64]:
    """Feeds (n,) mm/min lowered to a share of each, in whole numbers."""
    return np.where(share < 1, np.maximum(np.floor(feed * np.asarray(share, np.float64)), LEAST_FEED), feed)


def bite_findings(bite: Bite, settings: BiteSettings) -> list[Finding]:
    """What is to be said of the bite."""
    engagement = bite.engagement
    over = bite.allowed < 1 - ROUNDING
    if not over.any():
        return []
    worst = int(bite.allowed.argmin())
    place = place_of(engagement.points[worst])
    feed = float(bite.feed[worst])
    at_worst = {"share": over.mean(), "depth": engagement.depth[worst], "width": engagement.width[worst], "feed": feed}
    sentence = Message(
        "The bite is too large over {share:.1%} of the pass lines: at worst it is {depth:.1f} mm deep and {width:.1f} mm wide, which bends the "
        "tip by {bend:.3f} mm at {feed:.0f} mm/min, more than {limit:g} mm.",
        bend=bite.bend[worst],
        limit=settings.tip_bend_limit,
        **at_worst,
    )
    if bite.chip[worst] / bite.greatest_chip[worst] >= bite.bend[worst] / settings.tip_bend_limit:
        sentence = Message(
            "The bite is too large over {share:.1%} of the pass lines: at worst it is {depth:.1f} mm deep and {width:.1f} mm wide, with chips of "
            "{chip:.2f} mm at {feed:.0f} mm/min, more than the {greatest:.2f} mm that {wood} takes.",
            chip=bite.chip[worst],
            greatest=bite.greatest_chip[worst],
            wood=word(settings.wood),
            **at_worst,
        )
    lowest = max(feed * float(bite.allowed[worst]), LEAST_FEED)
    if settings.lower_feed:
        remedy = Message("The feed is lowered there, to {feed:.0f} mm/min at the worst place.", feed=lowest)
        return [Finding("bite", sentence, remedy, place)]
    remedy = Message("Lower the feed there to {feed:.0f} mm/min, rough closer, or take a stiffer cutter.", feed=lowest)
    return [Finding("bite", sentence, remedy, place, must_see=True, changes=(Change("bite.lower_feed", True),))]
