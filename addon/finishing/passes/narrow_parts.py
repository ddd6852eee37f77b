"""Parts of the planned ground that are long and narrow: ledges, creases, strips between an opening and the border.

Straight lines would cross them from side to side, a few millimetres each with a turn or a hop after every one; lines along them are few and long.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import Mask
from ..core.masks import connected_parts, distance_to

MOST_LINES = 8.0
"""Spacings across the widest place of a narrow part. Lines along a part turn once round it, lines across it once at every spacing of its length:
below this, and at the length asked for, there are three times as many of the latter."""

LEAST_STRETCH = 3.0
"""Length over width from which a part is a strip, where its length is its area over its width."""


def narrow_parts(inside: Mask, cell: float, spacing: float) -> Mask:
    """Cells of the parts of planned cells (rows, columns) that are long and narrow. Parts hang together by nothing else that is planned.

    cell, spacing: mm; spacing of pass lines on flat ground.
    """
    limit = MOST_LINES * spacing / 2
    deep = distance_to(~inside, cell, limit + 2 * cell)
    parts = connected_parts(inside)
    count = int(parts.max()) + 1
    widest = np.zeros(count)
    np.maximum.at(widest, parts.ravel(), deep.ravel())
    area = np.bincount(parts.ravel(), minlength=count) * cell * cell
    narrow = (widest <= limit) & (area >= LEAST_STRETCH * (2 * widest) ** 2)
    narrow[0] = False
    return narrow[parts]
