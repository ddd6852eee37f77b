"""Which way a body's face looks. Many files have Y up: their body stands on its edge, and is turned so that it lies on the bed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

UPS = ("auto", "x", "y", "z")
"""Axis of the body that looks up on the machine; "auto" keeps z but for a body that stands on its edge."""

STANDING_RATIO = 2.0
"""A body stands on its edge when it is this many times as high as it is thin: plates, seats and bodies of instruments are far wider than
thick, while a block of about equal sides may lie as it does."""

TURNS = {
    "x": ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0)),
    "y": ((1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)),
    "z": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
}
"""Quarter turns, without mirror, that bring an axis up; y by a quarter turn about x, x by one about y. They are exact."""


def upward_axis(up: str, size: NDArray[np.float64]) -> str:
    """The axis that looks up, "x", "y" or "z", for a body of this extent (3,). up: one of UPS."""
    if up != "auto":
        return up
    # y before x where both are alike: that is how most files that do not have Z up are written.
    thin = "y" if size[1] <= size[0] else "x"
    return thin if size[2] >= STANDING_RATIO * min(size[:2]) else "z"


def laid_matrix(up: str, size: NDArray[np.float64]) -> NDArray[np.float64]:
    """The 4x4 turn that lays a body of this extent (3,) with its face up."""
    matrix = np.eye(4)
    matrix[:3, :3] = TURNS[upward_axis(up, size)]
    return matrix


def laid_corners(laid: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest corner, (3,) each, of a body between two corners once it is turned."""
    corners = np.array([low, high]) @ laid[:3, :3].T
    return corners.min(axis=0), corners.max(axis=0)
