"""The body to be finished, as triangles in mm, and the checks it must pass."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadBody
from ..core.message import Message

LEAST_AREA_SHARE = 1e-12
"""Twice a face's area over the square of the body's extent, below which it is a line or a point: a millionth of the extent in both
directions, a few steps of single precision."""

LEAST_EXTENT = 1e-9
"""mm; a body no larger than this counts as this large, so that a single point has no face with any area."""

PLAUSIBLE_SHARE, PLAUSIBLE_BED = 0.2, 600.0
"""A guess at the unit must make the body at least this share of the bed long, of 600 mm on a larger bed: bodies of instruments, plates and
seats are 120 mm long and more."""

SCALES = (0.001, 0.1, 25.4, 10.0, 1000.0)
"""Mistakes of unit that a guess tries: mm for m, cm, inch, and the other way round; by the likelier first."""


@dataclass(frozen=True)
class Body:
    """A body's surface in mm, z up, in its own (world) axes or, once turned, in job axes.

    triangles: (n, 3, 3) float64, corner points, anticlockwise seen from outside.
    skip: (n,) bool, faces that the user has marked to be left out.
    """

    name: str
    triangles: NDArray[np.float64]
    skip: NDArray[np.bool_]

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

    def moved(self, matrix: NDArray[np.float64]) -> Body:
        """The body after a 4x4 turn and shift (no mirror: the triangles keep their sense)."""
        return replace(self, triangles=self.triangles @ matrix[:3, :3].T + matrix[:3, 3])


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
            "'{body}' has {marks} skip marks for {faces} faces: there must be one for each.", body=name, marks=len(marked), faces=len(corners)
        )
    twice_area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    extent = float(np.ptp(corners.reshape(-1, 3), axis=0).max())
    real = twice_area > LEAST_AREA_SHARE * max(extent, LEAST_EXTENT) ** 2
    if not real.any():
        raise BadBody("'{body}' has no face with any area: check the mesh and its scale.", body=name)
    return Body(name, corners[real], marked[real])


def check_size(body: Body, bed_x: float, bed_y: float, travel_z: float, cutter_diameter: float) -> None:
    """Refuse a body that cannot lie on the bed or is smaller than the cutter, and guess the unit that was meant.

    Raises BadBody.
    """
    size = body.size
    length, width = float(max(size[:2])), float(min(size[:2]))
    bed_long, bed_short = max(bed_x, bed_y), min(bed_x, bed_y)
    measured = {"body": body.name, "length": size[0], "width": size[1], "height": size[2]}
    if length > bed_long or width > bed_short or size[2] > travel_z:
        raise BadBody(
            "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, more than the machine's {bed_x:g} x {bed_y:g} x {travel_z:g} mm. {hint}",
            bed_x=bed_x,
            bed_y=bed_y,
            travel_z=travel_z,
            hint=_unit_hint(length, bed_long),
            **measured,
        )
    if length < cutter_diameter:
        raise BadBody(
            "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, less than the cutter's diameter of {diameter:g} mm. {hint}",
            diameter=cutter_diameter,
            hint=_unit_hint(length, bed_long),
            **measured,
        )


def _unit_hint(length: float, bed: float) -> Message:
    """A guess at the unit that would make a body of a plausible size of it, as a sentence."""
    for scale in SCALES:
        if PLAUSIBLE_SHARE * min(bed, PLAUSIBLE_BED) <= length * scale <= bed:
            if scale < 1:
                return Message("{times:g} times smaller it would fit: check the unit of the file or the scene.", times=1 / scale)
            return Message("{times:g} times larger it would fit: check the unit of the file or the scene.", times=scale)
    return Message("Check the unit of the file or the scene.")
