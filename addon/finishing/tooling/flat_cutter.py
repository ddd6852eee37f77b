"""What a flat cutter leaves: a disc rolled over heights, and along the underside of where it goes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..ball.disc_dilation import disc_dilation
from ..core.array_types import FloatArray


def flat_closing(heights: FloatArray, radius: float, cell: float, settle: Callable[[FloatArray], FloatArray]) -> FloatArray:
    """What a flat cutter of this radius leaves above heights (-inf outside) when its own height is settled by a rule.

    settle: from the lowest height at which the cutter touches nothing to the height it is driven to, no lower.
    """
    rim = int(np.ceil(radius / cell)) + 1
    touching = disc_dilation(np.pad(heights, rim, constant_values=-np.inf), radius, cell)
    driven = np.where(touching > -np.inf, settle(np.where(touching > -np.inf, touching, 0.0)), -np.inf)
    # Every disc that covers a cell of the heights meets them there: how low the other discs go shows nowhere in the result.
    standing = -disc_dilation(-driven, radius, cell)[rim:-rim, rim:-rim]
    return np.where(heights > -np.inf, np.maximum(standing, heights), -np.inf).astype(np.float32)
