"""Lines along creases and valleys narrower than the cutter, where the ball touches both sides at once.

There the tip surface has a kink; only a cutter that runs exactly along it leaves what the ball leaves at best.
"""

from __future__ import annotations

import numpy as np

from ..core.array_types import FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import centre_lines, chains, grown
from ..core.polyline import smoothed
from ..core.upright import Upright

NARROW, WIDE = 2, 4
"""Cells to both sides over which the turn of the slope is measured: a kink shows the same turn at both, a smooth hollow twice as much at
the wider one."""

SMOOTH_GROWTH = 1.5
"""Turn at WIDE over turn at NARROW from which ground counts as smooth: half-way between a kink's 1 and a smooth hollow's 2."""

FLANKS = ((2.5, 5.0), (1.25, 2.5))
"""Cells beside a kink between which the slope of either flank is taken, first beyond the staircase of the thinned line, then, from where that
leads, just beyond the rounding that the grid gives a kink: flanks are seldom straight for long. A point is moved by the lesser at most."""

LEAST_TURN = 0.02
"""mm per mm; where the flanks meet at less, the place where they do is uncertain, and a point stays where it is."""

CHAIN_ROUNDS, KINK_ROUNDS = 8, 2
"""Rounds of smoothing of the chain of cells, whose staircase must not tilt the direction across it, and of the line on the kink."""


def kinks(tip: FloatArray, grid: Grid, least_turn: float) -> Mask:
    """Cells where the slope of the tip surface jumps up by at least `least_turn` within a cell or two, (rows, columns).

    least_turn: change of slope (mm per mm). A smooth hollow turns twice as much over twice the distance; a kink does not. Within WIDE cells
    of the grid's border that cannot be seen, and a hollow counts as a kink; the rim round a body keeps lines away from there.
    """
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0
    surface = np.where(known, tip, low).astype(np.float32)
    found = np.zeros(tip.shape, bool)
    for rows, columns in ((0, 1), (1, 0), (1, 1), (1, -1)):
        length = grid.cell * np.hypot(rows, columns)
        narrow = _second_difference(surface, rows * NARROW, columns * NARROW) / (NARROW * length)
        if not (narrow >= least_turn).any():
            continue
        wide = _second_difference(surface, rows * WIDE, columns * WIDE) / (WIDE * length)
        found |= (narrow >= least_turn) & (wide < SMOOTH_GROWTH * narrow)
    return found & known


def _second_difference(surface: FloatArray, down: int, right: int) -> FloatArray:
    """surface(x + v) + surface(x - v) - 2 surface(x) for the step v = (down, right) in cells; 0 where it leaves the grid."""
    rows, columns = surface.shape
    out = np.zeros_like(surface)
    r, c = abs(down), abs(right)
    if rows <= 2 * r or columns <= 2 * c:
        return out
    here = (slice(r, rows - r), slice(c, columns - c))
    ahead = (slice(r + down, rows - r + down), slice(c + right, columns - c + right))
    behind = (slice(r - down, rows - r - down), slice(c - right, columns - c - right))
    out[here] = surface[ahead] + surface[behind] - 2 * surface[here]
    return out


def valley_lines(tip: FloatArray, grid: Grid, kinked: Mask, cutting: Mask, shortest: float) -> list[FloatArray]:
    """One line (n, 2) along every chain of kinked cells on which passes may run, moved onto the kink itself.

    shortest: lines shorter than this (mm) are left out.
    """
    wanted = kinked & cutting
    if not wanted.any():
        return []
    upright = Upright.of(cutting)
    thin = centre_lines(upright.turned(grown(wanted, grid.cell, grid.cell) & cutting))
    found = []
    for chain in (upright.given(cells) for cells in chains(thin)):
        if len(chain) * grid.cell < shortest:
            continue
        line = smoothed(grid.middles(*chain.T), CHAIN_ROUNDS)
        for near, far in FLANKS:
            line = _on_the_kink(line, tip, grid, near * grid.cell, far * grid.cell)
        found.append(line)
    return found


def _on_the_kink(line: FloatArray, tip: FloatArray, grid: Grid, near: float, far: float) -> FloatArray:
    """Move the points of a line sideways to where the flanks of the kink, drawn on as straight lines from `near` to `far` mm, meet."""
    ahead = np.gradient(line, axis=0)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1), 1e-12)[:, None]
    across = np.column_stack([-ahead[:, 1], ahead[:, 0]])

    def height(offset: float) -> FloatArray:
        """Tip heights (n,) beside the line, mm to the left of it."""
        return grid.sample(tip, line + offset * across)

    left_near, left_far, right_near, right_far = height(near), height(far), height(-near), height(-far)
    left_slope = (left_far - left_near) / (far - near)
    right_slope = (right_near - right_far) / (far - near)
    # Left: left_near + left_slope (t - near); right: right_near + right_slope (t + near).
    turn = left_slope - right_slope
    with np.errstate(invalid="ignore", divide="ignore"):
        offset = (right_near + right_slope * near - left_near + left_slope * near) / turn
    good = np.isfinite(offset) & (np.abs(offset) <= near) & (turn > LEAST_TURN)
    offset = np.where(good, offset, 0.0)
    return smoothed(line + offset[:, None] * across, KINK_ROUNDS)
