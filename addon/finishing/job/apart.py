"""Parts of a mesh that lie apart: a face that was left behind somewhere would make the stock and every map as large as the way to it.

Points of the triangles are put into boxes of some millimetres; boxes that touch, over corners too, hold one part. Triangles larger than a box fill
all boxes round them, so that what is one part is never torn.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.finding import Finding
from ..core.masks import joined_numbers
from ..core.message import Message
from ..core.triangles import twice_areas
from .body import Body
from .strays import Apart, Stray

APART = 4.0
"""mm between parts, at least: what lies nearer, such as an inlay or a plug, is meant to be there. Common practice, no source."""

SMALL_SHARE = 0.01
"""Surface of a part, as a share of the largest one's, below which it is a stray: nobody carves so little beside a body."""

MOST_BOXES = 150
"""Along the longest edge of the body, which bounds the memory; what a wider box does not part, a second look without the far parts does."""

TRIANGLES_AT_ONCE = 1 << 18

FORWARD = tuple(step for step in product((-1, 0, 1), repeat=3) if step > (0, 0, 0))
"""Half of the 26 neighbours of a box: the others are theirs."""


def without_strays(body: Body) -> Body:
    """The body without small parts that lie apart from it, which its `apart` tells of."""
    strays: list[Stray] = []
    while True:
        part = parts_of(body.triangles)
        count = int(part.max()) + 1
        if count == 1:
            break
        area = np.bincount(part, twice_areas(body.triangles), minlength=count)
        small = area < SMALL_SHARE * area.max()
        if not small.any():
            break
        strays += [_stray(body.triangles[part == number]) for number in np.flatnonzero(small)]
        kept = ~small[part]
        body = replace(body, triangles=body.triangles[kept], skip=body.skip[kept])
    return replace(body, apart=Apart(count, tuple(sorted(strays, key=lambda stray: -max(stray.size)))))


def apart_findings(apart: Apart, job_from_body: FloatArray) -> tuple[Finding, ...]:
    """What lies apart in a body. job_from_body: 4x4."""
    found = []
    if apart.strays:
        largest = apart.strays[0]
        sentence = Message(
            "Small parts lie apart from the body and are left out: {count} with {faces} faces. The largest measures {length:.1f} x {width:.1f} x "
            "{height:.1f} mm and lies at X {x:.1f}, Y {y:.1f}, Z {z:.1f} mm of the model.",
            count=len(apart.strays),
            faces=sum(stray.faces for stray in apart.strays),
            **dict(zip(("length", "width", "height", "x", "y", "z"), (*largest.size, *largest.middle), strict=True)),
        )
        x, y, z = (job_from_body @ np.array([*largest.middle, 1.0]))[:3].tolist()
        remedy = Message("Delete them where they were left behind; what belongs to the body must lie within {apart:g} mm of it.", apart=APART)
        found.append(Finding("strays", sentence, remedy, (x, y, z), must_see=True))
    if apart.parts > 1:
        sentence = Message("The body has {count} parts that lie apart from each other; all of them are planned, in one stock.", count=apart.parts)
        found.append(Finding("parts-apart", sentence, Message("Where only one of them is meant, plan it as an object of its own.")))
    return tuple(found)


def _stray(triangles: FloatArray) -> Stray:
    low, high = triangles.min(axis=(0, 1)), triangles.max(axis=(0, 1))
    (x, y, z), (length, width, height) = ((low + high) / 2).tolist(), (high - low).tolist()
    return Stray((x, y, z), (length, width, height), len(triangles))


def parts_of(triangles: FloatArray) -> NDArray[np.int64]:
    """Number (n,), from 0, of the part that each triangle (n, 3, 3) belongs to."""
    low = np.array([triangles[..., axis].min() for axis in range(3)])
    high = np.array([triangles[..., axis].max() for axis in range(3)])
    box = max(APART, float((high - low).max()) / MOST_BOXES)
    # One empty box all round, so that neighbours can be looked up without a thought for the border.
    shape = tuple(int(count) + 3 for count in (high - low) / box)
    taken = np.zeros(shape, bool)
    for corner in _boxes(triangles, low, box):
        for each in corner:
            taken[tuple(each.T)] = True
    _fill_large(taken, triangles, low, box)
    number = _numbered(taken)
    if int(number.max()) == 0:
        return np.zeros(len(triangles), np.int64)
    return np.concatenate([number[tuple(corner[0].T)] for corner in _boxes(triangles, low, box)])


def _boxes(triangles: FloatArray, low: FloatArray, box: float) -> Iterator[list[NDArray[np.int64]]]:
    """Box (m, 3) of the first, second and third corners of some triangles at a time."""
    for start in range(0, len(triangles), TRIANGLES_AT_ONCE):
        some = triangles[start : start + TRIANGLES_AT_ONCE]
        yield [((some[:, corner] - low) / box).astype(np.int64) + 1 for corner in range(3)]


def _fill_large(taken: Mask, triangles: FloatArray, low: FloatArray, box: float) -> None:
    """Take all boxes round every triangle that is larger than a box."""
    extent = np.maximum(np.maximum(triangles[:, 0], triangles[:, 1]), triangles[:, 2]) - np.minimum(
        np.minimum(triangles[:, 0], triangles[:, 1]), triangles[:, 2]
    )
    large = triangles[(extent > box).any(axis=1)]
    first, last = ((large.min(axis=1) - low) / box).astype(int) + 1, ((large.max(axis=1) - low) / box).astype(int) + 2
    for (a, b, c), (d, e, f) in zip(first.tolist(), last.tolist(), strict=True):
        taken[a:d, b:e, c:f] = True


def _numbered(taken: Mask) -> NDArray[np.int64]:
    """Number of the part of every box that is taken, from 0; -1 where it is not."""
    place = np.flatnonzero(taken)
    own = np.full(taken.size, -1)
    own[place] = np.arange(len(place))
    strides = np.array([taken.shape[1] * taken.shape[2], taken.shape[2], 1])
    pairs = []
    for step in FORWARD:
        other = own[place + int(strides @ np.array(step))]
        pairs.append(np.stack([np.arange(len(place)), other])[:, other >= 0])
    first, second = np.concatenate(pairs, axis=1)
    out = np.full(taken.size, -1)
    out[place] = joined_numbers(len(place), first, second)
    return out.reshape(taken.shape)
