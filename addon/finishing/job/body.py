"""The body to be finished, as triangles in mm, and the checks it must pass."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.errors import BadBody
from ..core.triangles import twice_areas
from .strays import NOTHING_APART, Apart
from .thinned import Thinned

LEAST_AREA_SHARE = 1e-12
"""Twice a face's area over the square of the body's extent, below which it is a line or a point: a millionth of the extent in both
directions, a few steps of single precision."""

LEAST_EXTENT = 1e-9
"""mm; a body no larger than this counts as this large, so that a single point has no face with any area."""


@dataclass(frozen=True)
class Body:
    """A body's surface in mm, z up, in its own (world) axes or, once turned, in job axes.

    triangles: (n, 3, 3) float64, corner points, anticlockwise seen from outside.
    skip: (n,) bool, faces that the user has marked to be left out. apart: what lay apart from the rest. thinned: what was
    done to a mesh of too many triangles, None where it is as it was given.
    """

    name: str
    triangles: NDArray[np.float64]
    skip: NDArray[np.bool_]
    apart: Apart = NOTHING_APART
    thinned: Thinned | None = None

    @cached_property
    def low(self) -> NDArray[np.float64]:
        """Least x, y, z, (3,) mm."""
        return np.array([self.triangles[..., axis].min() for axis in range(3)])

    @cached_property
    def high(self) -> NDArray[np.float64]:
        """Greatest x, y, z, (3,) mm."""
        return np.array([self.triangles[..., axis].max() for axis in range(3)])

    @property
    def size(self) -> NDArray[np.float64]:
        """Extent in x, y, z, (3,) mm."""
        return self.high - self.low

    def without_skip(self) -> Body:
        """The body with no face marked to be skipped."""
        return replace(self, skip=np.zeros(len(self.skip), bool))

    def moved(self, matrix: FloatArray) -> Body:
        """The body after a 4x4 turn and shift (no mirror: the triangles keep their sense)."""
        return replace(self, triangles=np.asarray(self.triangles @ matrix[:3, :3].T + matrix[:3, 3], np.float64))


def make_body(name: str, triangles: NDArray[np.floating], skip: NDArray[np.bool_] | None = None) -> Body:
    """Check raw triangles (n, 3, 3) in mm and make a body of them, without faces that have no area.

    Raises BadBody when there are no triangles, when coordinates are not finite, or when no face has any area.
    """
    corners = np.ascontiguousarray(triangles, dtype=np.float64)
    if corners.ndim != 3 or corners.shape[1:] != (3, 3) or len(corners) == 0:
        raise BadBody("'{body}' has no faces: choose a mesh with a surface.", body=name)
    if not np.isfinite(corners).all():
        raise BadBody("'{body}' has coordinates that are not numbers: clean the mesh and try again.", body=name)
    marked = np.zeros(len(corners), bool) if skip is None else np.asarray(skip, bool)
    if marked.shape != (len(corners),):
        raise BadBody(
            "'{body}' has {marks} skip marks for {faces} faces: there must be one for each; mark the faces again.",
            body=name,
            marks=len(marked),
            faces=len(corners),
        )
    extent = max(float(np.ptp(corners[..., axis])) for axis in range(3))
    real = twice_areas(corners) > LEAST_AREA_SHARE * max(extent, LEAST_EXTENT) ** 2
    if not real.any():
        raise BadBody("'{body}' has no face with any area: check the mesh and its scale.", body=name)
    return Body(name, corners, marked) if real.all() else Body(name, corners[real], marked[real])
