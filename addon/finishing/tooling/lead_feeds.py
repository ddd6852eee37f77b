"""Feeds on leads: those of the lines, as far as the way down and the wood that may stand there allow it.

The plunge feed limits how fast the cutter comes down (`motion/leads.py`). Besides, a lead may run through wood that no pass has taken yet: it is
driven as the bite allows in a slot as deep as that, but never slower than the plunge feed, at which the cutter comes straight down into as much.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.path import Path
from ..job.bite_settings import BiteSettings
from ..job.cutter import Cutter
from ..motion.leads import lead_feeds, lead_rows
from .bite import feed_in_slot
from .free_height import FreeHeight


@dataclass(frozen=True)
class LeadWood:
    """row: rows (k,) of a path whose moves run along leads. depth: the most wood that may stand over either end of each of those moves, (k,) mm
    upright: on slopes more than its thickness.
    """

    row: NDArray[np.intp]
    depth: FloatArray


@dataclass(frozen=True)
class LeadFeeds:
    """What leads may be driven at. feed: of lines, mm/min; plunge_feed: the greatest speed downwards, mm/min."""

    feed: float
    plunge_feed: float
    cutter: Cutter
    bite: BiteSettings

    def along(self, points: FloatArray, depth: FloatArray) -> FloatArray:
        """Feeds (k,) of straight moves (k, 2, 3) through wood of depths (k,) mm."""
        bitten = np.maximum(feed_in_slot(depth, self.feed, self.cutter, self.bite), min(self.feed, self.plunge_feed))
        return lead_feeds(points[:, 1] - points[:, 0], bitten, self.plunge_feed)


def depth_of_wood(points: FloatArray, standing: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """Depths (k,) of wood that may stand over either end of moves (k, 2, 3) of the tip, mm. standing: least tip heights (n,) at places (n, 2) at
    which the cutter meets nothing.
    """
    ends = points.reshape(-1, 3)
    over = np.maximum(standing(ends[:, :2]) - ends[:, 2], 0.0)
    return np.asarray(over.reshape(-1, 2).max(axis=1))


def wood_over_leads(path: Path, free: FreeHeight) -> LeadWood:
    """What may stand over the leads of a path."""
    row = lead_rows(path)
    moves = np.stack([path.points[row - 1], path.points[row]], axis=1)
    return LeadWood(row, depth_of_wood(moves, lambda places: free.over(np.stack([places, places], axis=1))))


def with_lead_feeds(path: Path, wood: LeadWood, feeds: LeadFeeds) -> Path:
    """The path with the feeds that its leads may have."""
    feed = path.feed.copy()
    feed[wood.row] = feeds.along(np.stack([path.points[wood.row - 1], path.points[wood.row]], axis=1), wood.depth)
    return replace(path, feed=feed)
