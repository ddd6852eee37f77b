"""Lines along creases and valleys narrower than the cutter, where the ball touches both sides at once.

There the tip surface has a kink; only a cutter that runs exactly along it leaves what the ball leaves at best.
"""

from __future__ import annotations

import numpy as np

from ..core.grid import FloatArray, Grid
from ..core.masks import Mask, centre_lines, chains, grown
from ..core.polyline import smoothed

SHARP, BLUNT = 2, 4
"""Reaches in cells at which the bend of the tip surface is measured: a kink shows the same turn at both."""


def kinks(tip: FloatArray, grid: Grid, least_turn: float) -> Mask:
    """Cells where the slope of the tip surface jumps up by at least `least_turn` within a cell or two, (rows, columns).

    least_turn: change of slope (mm per mm). A smooth hollow turns twice as much over twice the reach; a kink does not.
    """
    known = tip > -np.inf
    low = float(tip[known].min()) if known.any() else 0.0
    surface = np.where(known, tip, low).astype(np.float32)
    found = np.zeros(tip.shape, bool)
    for dr, dc in ((0, 1), (1, 0), (1, 1), (1, -1)):
        length = grid.cell * np.hypot(dr, dc)
        sharp = _turn(surface, dr * SHARP, dc * SHARP) / (SHARP * length)
        if not (sharp >= least_turn).any():
            continue
        blunt = _turn(surface, dr * BLUNT, dc * BLUNT) / (BLUNT * length)
        found |= (sharp >= least_turn) & (blunt < 1.5 * sharp)
    return found & known


def _turn(surface: FloatArray, dr: int, dc: int) -> FloatArray:
    """surface(x + v) + surface(x - v) - 2 surface(x); 0 where it leaves the grid."""
    rows, columns = surface.shape
    out = np.zeros_like(surface)
    r, c = abs(dr), abs(dc)
    if rows <= 2 * r or columns <= 2 * c:
        return out
    here = (slice(r, rows - r), slice(c, columns - c))
    ahead = (slice(r + dr, rows - r + dr), slice(c + dc, columns - c + dc))
    behind = (slice(r - dr, rows - r - dr), slice(c - dc, columns - c - dc))
    out[here] = surface[ahead] + surface[behind] - 2 * surface[here]
    return out


def valley_lines(tip: FloatArray, grid: Grid, kinked: Mask, cutting: Mask, shortest: float) -> list[FloatArray]:
    """One line (n, 2) along every chain of kinked cells on which passes may run, moved onto the kink itself.

    shortest: lines shorter than this (mm) are left out.
    """
    wanted = kinked & cutting
    if not wanted.any():
        return []
    thin = centre_lines(grown(wanted, grid.cell, grid.cell) & cutting)
    found = []
    for chain in chains(thin):
        if len(chain) * grid.cell < shortest:
            continue
        line = np.stack([grid.left + grid.cell * chain[:, 1], grid.front + grid.cell * chain[:, 0]], axis=1)
        found.append(_on_the_kink(smoothed(line, rounds=8), tip, grid))
    return found


def _on_the_kink(line: FloatArray, tip: FloatArray, grid: Grid) -> FloatArray:
    """Move the points of a line sideways to where the slopes from either side meet, by no more than a cell or two."""
    ahead = np.gradient(line, axis=0)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1), 1e-12)[:, None]
    across = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    near, far = 2.5 * grid.cell, 5.0 * grid.cell

    def height(offset: float) -> FloatArray:
        return grid.sample(tip, line + offset * across)

    left_near, left_far, right_near, right_far = height(near), height(far), height(-near), height(-far)
    left_slope = (left_far - left_near) / (far - near)
    right_slope = (right_near - right_far) / (far - near)
    # Left: left_near + left_slope (t - near); right: right_near + right_slope (t + near).
    turn = left_slope - right_slope
    with np.errstate(invalid="ignore", divide="ignore"):
        offset = (right_near + right_slope * near - left_near + left_slope * near) / turn
    good = np.isfinite(offset) & (np.abs(offset) <= near) & (turn > 0.02)
    offset = np.where(good, offset, 0.0)
    return smoothed(line + offset[:, None] * across, rounds=2)
