"""The blocks of a path's program: the straight moves that a control sees, fused as programs write them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import Mask
from ..core.fusing import FUSING_TOLERANCE, fused
from ..core.path import CUT, ENTRY, LINK, Path

WRITTEN_DECIMALS = 4
"""Decimals of a mm in programs: on short blocks the rounding makes small turns that a control sees."""


def block_rows(path: Path, tolerance: float = FUSING_TOLERANCE) -> NDArray[np.intp]:
    """Rows of a path at which the blocks of its program end, (m,), from the first row, where the motion starts, to the last.

    Moves on the surface of one kind, line and feed are fused within the tolerance (mm); entries and moves in the air are written as they are.
    """
    return fused(path.points, tolerance, _written_in_any_case(path)) if len(path) else np.zeros(0, np.intp)


def _written_in_any_case(path: Path) -> Mask:
    """Rows (n,) that no fusing leaves out."""
    on_surface = (path.kind == CUT) | (path.kind == LINK)
    goes_on = (np.diff(path.kind.astype(int)) == 0) & (np.diff(path.line) == 0)
    goes_on &= (np.diff(path.feed) == 0) | (path.kind[1:] == ENTRY)
    return ~on_surface | np.append(~goes_on, True)
