"""Costs of moves between lines for tests: every lift takes the same time up and down."""

from __future__ import annotations

import numpy as np

from addon.finishing.motion.move_costs import LiftCosts


def even_lifts(seconds: float) -> LiftCosts:
    """Lifts that take so many seconds up and down wherever they are."""
    return LiftCosts(seconds, lambda moves: np.full(len(moves), seconds))
