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


AT_ONCE = 256
"""Cells whose surroundings are looked at in one piece of memory: 26 MB for a ball of 32 mm on cells of 0.25 mm."""


class CrestMeter:
    """Measures the cusp between lines in plan on the grid's tip surface. Made once for a side and a cutter.

    tip: (rows, columns), -inf where the ball meets no body. feet: what is measured. reached: cells of it that the ball reaches. spacing: of lines
    on flat ground, mm.
    """

    def __init__(self, tip: FloatArray, feet: SampleGround, reached: Mask, cusp: float) -> None:
        known = tip > -np.inf
        self._grid, self._radius, self._cusp = feet.grid, feet.radius, cusp
        self._known = known
        self._tip = np.where(known, tip, float(tip[known].min()) if known.any() else 0.0)
        self._slope_x, self._slope_y = blurred_gradient(self._tip, TIP_BLUR / feet.grid.cell, feet.grid.cell)
        self._feet = feet
        self.spacing = float(spacing_on_flat(feet.radius, cusp))
        self._reached = reached
        self._counted = shrunk(reached, feet.grid.cell, BORDER_SPACINGS * self.spacing)
        self._measured = shrunk(reached, feet.grid.cell, UNMEASURED_BORDER * self.spacing)

    def swept(self, lines: list[FloatArray]) -> SweptBall:
        """What the ball sweeps along lines (m, 2) mm on the grid's tip surface."""
        flat = np.concatenate([*lines, np.zeros((0, 2))])
        return self._swept(lines, np.column_stack([flat, self._grid.sample(self._tip, flat)]))

    def swept_at(self, lines: list[FloatArray]) -> SweptBall:
        """What the ball sweeps along lines (m, 3) mm whose heights are known: in a crease between facets the tip surface rises from cell to cell."""
        return self._swept(lines, np.concatenate([*lines, np.zeros((0, 3))]))

    def _swept(self, lines: list[FloatArray], tips: FloatArray) -> SweptBall:
        """What the ball sweeps along lines whose tips are these, (n, 3) mm, one line's after the other's: they are lifted to its centre."""
        centres = tips
        centres[:, 2] += self._radius
        last = np.cumsum([len(line) for line in lines], dtype=np.intp) - 1
        starts = np.delete(np.arange(len(tips)), last)
        return SweptBall(centres[starts], centres[starts + 1], self._radius, suitable_bin_size(self.spacing, self._radius))

    def excess_steps(self, sweep: SweptBall, places: FloatArray) -> Generator[float, None, FloatArray]:
        """Cusp over the asked one that a sweep leaves at axis positions (n, 2), 0 where it is not to be measured; yields shares done."""
        out = np.zeros(len(places))
        if len(sweep) == 0 or len(places) == 0:
            return out
        contacts = self._contacts(places)
        measured = np.flatnonzero(self._measured[self._grid.nearest(contacts)])
        contacts = contacts[measured]
        yield 0.3
        points, normals, crown = self._feet.between_cells(contacts)
        del contacts
        entry = yield from sweep.entry_heights_steps(points, normals, crown)
        out[measured] = np.clip(entry, 0.0, self._radius) / self._cusp
        return out

    def border_excess_steps(self, sweep: SweptBall) -> Generator[float, None, tuple[Indices, Indices, FloatArray]]:
        """Rows and columns (n,) of the border which the proof reports separately, up to the very border of what the ball reaches, and the cusp over
        the asked one that a sweep leaves on each cell, (n,); yields shares done.
        """
        row, column = np.nonzero(self._reached & ~self._counted)
        if len(sweep) == 0 or len(row) == 0:
            return row, column, np.zeros(len(row))
        points, normals, crown = self._feet.at_cells(row, column)
        yield 0.2
        entry = yield from sweep.entry_heights_steps(points, normals, crown)
        return row, column, np.clip(entry, 0.0, self._radius) / self._cusp

    def lowest_over(self, row: Indices, column: Indices) -> FloatArray:
        """Axis positions (n, 2), middles of cells, from which the ball comes lowest over some cells: as its closing is defined.

        It is asked from the ground, not from the axis: where the axis stands in a crease the ball touches both flanks at once, and no slope of the
        tip surface tells where; nor do the normals of the ground, which are uncertain at the foot of a bevel and where facets meet.
        """
        cell = self._grid.cell
        reach = int(self._radius / cell)
        down, right = (part.ravel() for part in np.mgrid[-reach : reach + 1, -reach : reach + 1])
        under = (down * down + right * right) * cell * cell < self._radius**2
        down, right = down[under], right[under]
        bowl = self._radius - np.sqrt(self._radius**2 - (down * down + right * right) * cell * cell)
        tip = np.pad(np.where(self._known, self._tip, np.inf), reach, constant_values=np.inf)
        best = np.zeros(len(row), np.intp)
        for first in range(0, len(row), AT_ONCE):
            some = slice(first, first + AT_ONCE)
            best[some] = (tip[row[some, None] + reach + down, column[some, None] + reach + right] + bowl).argmin(axis=1)
        return self._grid.middles(row + down[best], column + right[best])

    def measures(self, places: FloatArray) -> Mask:
        """Whether the cusp is measured at axis positions (n, 2): not on the border of the ground, and not off it."""
        return self._measured[self._grid.nearest(self._contacts(places))]

    def counts(self, places: FloatArray) -> Mask:
        """Whether axis positions (n, 2) cut ground that the proof counts, off the border that it reports separately."""
        return self._counted[self._grid.nearest(self._contacts(places))]

    def _contacts(self, places: FloatArray) -> FloatArray:
        """Where the ball touches the body in plan, (n, 2), with its axis at places (n, 2)."""
        slope_x, slope_y = self._grid.sample(self._slope_x, places), self._grid.sample(self._slope_y, places)
        return places + np.column_stack(contact_offset(slope_x, slope_y, self._radius))
