"""The ground continued over an opening, as if the opening were not there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import Double, FloatArray, Mask
from ..core.grid import Grid
from ..core.masks import grown

WALL_CELLS = 1.5
"""Cells beside an opening that its wall may cover where it does not fall straight down: no ground to be measured."""

BRIDGE_RING = 2.5
"""mm; width of the ring round an opening, wall included, through which the ground is continued."""

DEGREES = ((1, 1), (3, 4), (6, 12))
"""Terms of a level, a plane and a quadratic, and the cells of the ring from which on they are well enough known."""

ROUNDS = 12
"""Times that the ring is weighed anew: then the weights of clear cases move by less than a hundredth of a millimetre."""

NO_DEVIATION = 1e-3
"""mm; smaller deviations weigh as much as this one: heights are known no better."""

WELL_CONTINUED = 0.005
"""mm: half of the ring lies as close as this to a lid of the right degree; over an opening it is then off by a few times as much."""

ENOUGH = 2000
"""Cells of a ring that a datum is measured on; of more, every second, third ... is taken."""


@dataclass(frozen=True)
class Lid:
    """A quadratic over the plan. x, y: its middle, mm; reach: mm for one unit of its terms; weights: (6,) mm."""

    x: float
    y: float
    reach: float
    weights: Double

    def at(self, x: FloatArray, y: FloatArray) -> Double:
        """Heights over places, mm, in the shape of x and y."""
        across, along = (x - self.x) / self.reach, (y - self.y) / self.reach
        level, slope_x, slope_y, bend_x, twist, bend_y = self.weights
        return np.asarray(level + across * (slope_x + bend_x * across) + along * (slope_y + bend_y * along + twist * across), np.float64)


@dataclass(frozen=True)
class Ring:
    """Ground round an opening. x, y, z: (cells,) mm."""

    x: Double
    y: Double
    z: Double

    def bridge(self) -> Lid:
        """The lid to run over: the quadratic that lies closest to all of the ring (least squares), so that it meets it everywhere."""
        most = max(count for count, cells in DEGREES if len(self.z) >= cells)
        middle, terms = self._middle(), self._all_terms()
        return self._lid(middle, np.linalg.lstsq(terms[:, :most], self.z, rcond=None)[0])

    def datum(self) -> Lid:
        """The lid that depths are measured from: level where half of the ring is level, or a plane, or a quadratic.

        A carved corner or a rounded edge beside the opening counts little: the deviations' sum is least, not that of their squares.
        """
        step = -(-len(self.z) // ENOUGH)
        terms, z, weights = self._all_terms()[::step], self.z[::step], np.zeros(1)
        for count, cells in DEGREES:
            if len(z) >= cells:
                weights = _least_deviations(terms[:, :count], z)
                if np.median(np.abs(z - terms[:, :count] @ weights)) <= WELL_CONTINUED:
                    break
        return self._lid(self._middle(), weights)

    def _middle(self) -> tuple[float, float, float]:
        """Middle of the ring and half of its greater extent."""
        reach = max(float(np.ptp(self.x)), float(np.ptp(self.y)), 1.0) / 2
        return float(self.x.min() + self.x.max()) / 2, float(self.y.min() + self.y.max()) / 2, reach

    def _all_terms(self) -> Double:
        x, y, reach = self._middle()
        return _terms((self.x - x) / reach, (self.y - y) / reach)

    @staticmethod
    def _lid(middle: tuple[float, float, float], weights: FloatArray) -> Lid:
        return Lid(*middle, weights=np.concatenate([weights, np.zeros(6 - len(weights))]))


def ring_round(inside: Mask, heights: FloatArray, ground: Mask, grid: Grid) -> Ring:
    """The ring round some cells, by the ground some of which lies right beside them.

    inside, heights, ground: (rows, columns) on a grid that holds the cells and BRIDGE_RING round them.
    """
    near = grown(inside, grid.cell, max(BRIDGE_RING, (WALL_CELLS + 1) * grid.cell)) & ground
    ring = near & ~grown(inside, grid.cell, WALL_CELLS * grid.cell)
    row, column = np.nonzero(ring if ring.any() else near)
    x, y = np.asarray(grid.left + grid.cell * column, np.float64), np.asarray(grid.front + grid.cell * row, np.float64)
    return Ring(x, y, heights[row, column].astype(np.float64))


def _least_deviations(terms: Double, z: Double) -> Double:
    """Weights of the terms that leave the least sum of deviations.

    By least squares, each deviation weighed anew by the inverse of its size (E. J. Schlossmacher 1973, J. Am. Stat. Assoc. 68:857).
    """
    weight = np.ones(len(z))
    for _ in range(ROUNDS):
        # The terms lie between -1 and 1, so that the normal equations are precise enough, and a tenth of the work.
        weighed = terms * weight[:, None]
        found = np.linalg.lstsq(np.einsum("ki,kj->ij", weighed, terms), np.einsum("ki,k->i", weighed, z), rcond=None)[0]
        weight = 1 / np.maximum(np.abs(z - np.einsum("ki,i->k", terms, found)), NO_DEVIATION)
    return np.asarray(found, np.float64)


def _terms(x: FloatArray, y: FloatArray) -> Double:
    """The six terms of a quadratic, the plane's three first."""
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
