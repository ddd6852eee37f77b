"""Measures the cusp between lines in plan, before any line has its exact heights: a simulated cut on the grid's tip surface."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..ball.contact import contact_offset
from ..core.array_types import FloatArray, Indices, Mask
from ..core.cusp_formulas import spacing_on_flat
from ..core.filters import blurred_gradient
from ..core.masks import shrunk
from ..simulation.proof import BORDER_SPACINGS
from ..simulation.surface_samples import SampleGround
from ..simulation.swept_ball import SweptBall, suitable_bin_size

UNMEASURED_BORDER = BORDER_SPACINGS / 2
"""Flat-ground spacings along the border in which nothing is measured: less than the border that the proof reports separately, so that a crest
anywhere on counted ground is looked at from both sides."""

TIP_BLUR = 0.3
"""mm; standard deviation of the blur of the tip surface whose slope shows where the ball touches: single facets and cells would move the contact."""


class CrestMeter:
    """Measures the cusp between lines in plan on the grid's tip surface. Made once for a side and a cutter.

    tip: (rows, columns), -inf where the ball meets no body. feet: what is measured. reached: cells of it that the ball reaches. spacing: of lines
    on flat ground, mm.
    """

    def __init__(self, tip: FloatArray, feet: SampleGround, reached: Mask, cusp: float) -> None:
        known = tip > -np.inf
        self._grid, self._radius, self._cusp = feet.grid, feet.radius, cusp
        self._tip = np.where(known, tip, float(tip[known].min()) if known.any() else 0.0)
        self._slope_x, self._slope_y = blurred_gradient(self._tip, TIP_BLUR / feet.grid.cell, feet.grid.cell)
        self._feet = feet
        self.spacing = float(spacing_on_flat(feet.radius, cusp))
        self._reached = reached
        self._counted = shrunk(reached, feet.grid.cell, BORDER_SPACINGS * self.spacing)
        self._measured = shrunk(reached, feet.grid.cell, UNMEASURED_BORDER * self.spacing)

    def swept(self, lines: list[FloatArray]) -> SweptBall:
        """What the ball sweeps along lines (m, 2) mm."""
        flat = np.concatenate([*lines, np.zeros((0, 2))])
        centres = np.column_stack([flat, self._grid.sample(self._tip, flat) + self._radius])
        last = np.cumsum([len(line) for line in lines], dtype=np.intp) - 1
        starts = np.delete(np.arange(len(flat)), last)
        return SweptBall(centres[starts], centres[starts + 1], self._radius, suitable_bin_size(self.spacing, self._radius))

    def excess_steps(self, sweep: SweptBall, places: FloatArray, to_border: bool = False) -> Generator[float, None, FloatArray]:
        """Cusp over the asked one that a sweep leaves at axis positions (n, 2), 0 where it is not to be measured; yields shares done.

        to_border: measure up to the very border of what the ball reaches, where a pass along it is run.
        """
        out = np.zeros(len(places))
        if len(sweep) == 0 or len(places) == 0:
            return out
        contacts = self._contacts(places)
        measured = np.flatnonzero((self._reached if to_border else self._measured)[self._grid.nearest(contacts)])
        yield 0.3
        points, normals, crown = self._feet.between_cells(contacts[measured])
        entry = yield from sweep.entry_heights_steps(points, normals, crown)
        out[measured] = np.clip(entry, 0.0, self._radius) / self._cusp
        return out

    def measures(self, places: FloatArray) -> Mask:
        """Whether the cusp is measured at axis positions (n, 2): not on the border of the ground, and not off it."""
        return self._measured[self._grid.nearest(self._contacts(places))]

    def counts(self, places: FloatArray) -> Mask:
        """Whether axis positions (n, 2) cut ground that the proof counts, off the border that it reports separately."""
        return self._counted[self._grid.nearest(self._contacts(places))]

    def above_border(self, places: FloatArray) -> Indices:
        """Numbers of the axis positions (n, 2) that cut the border which the proof reports separately, the nearest one for every cell of it: the
        ball touches an edge from many.
        """
        contacts = self._contacts(places)
        cell = self._grid.nearest(contacts)
        found = np.flatnonzero(self._reached[cell] & ~self._counted[cell])
        nearest = found[np.argsort(np.hypot(*(places - contacts)[found].T), kind="stable")]
        _, first = np.unique(np.ravel_multi_index(cell, self._reached.shape)[nearest], return_index=True)
        return np.sort(nearest[first])

    def _contacts(self, places: FloatArray) -> FloatArray:
        """Where the ball touches the body in plan, (n, 2), with its axis at places (n, 2)."""
        slope_x, slope_y = self._grid.sample(self._slope_x, places), self._grid.sample(self._slope_y, places)
        return places + np.column_stack(contact_offset(slope_x, slope_y, self._radius))
