"""Pictures of the surface as it will be cut, under a low lamp: a whole side, and a strip in true scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray, Single
from ..core.grid import Grid
from ..core.masks import shrunk
from ..core.message import ENGLISH, Language, Message
from ..core.stepping import finished
from ..job.cutter import cutter_words
from ..planning.finished_ground import FINE_CELL, FinishedGround, across_the_lines, finished_ground_steps
from ..planning.result import Plan
from ..simulation.finished_surface import Roughness, profile_roughness
from .canvas import Canvas
from .map_view import MapView
from .palette import PAPER
from .plan_pictures import body_words
from .raking_light import RakingLight, lit
from .sheet import MARGIN, Words, map_sheet
from .surface_pictures import draw_scale_bar

WOOD_DARK, WOOD_LIGHT = (0.09, 0.06, 0.04), (0.99, 0.94, 0.86)
"""Colours of wood in the dark and in full light."""

STRIP_LENGTH, STRIP_WIDTH = 170.0, 22.0
"""mm of a strip: as long as the bench sheet's page lets it be in true scale."""

NO_SLANT, LEAST_PROFILE = 1e-9, 50
"""Sine below which a line runs along an axis, and the fewest cells of a profile that says something."""


@dataclass(frozen=True)
class Strip:
    """A strip of a finished side in true scale. png: one pixel for every cell of FINE_CELL mm. length, width: mm. low: its lower left corner, job
    mm. roughness: over planned ground without its border along a line through the strip's middle towards the lamp, None where there is none of it.
    """

    png: bytes
    length: float
    width: float
    low: tuple[float, float]
    light: RakingLight
    roughness: Roughness | None


def light_for(plans: Sequence[Plan], from_degrees: float | None = None, heights_times: float = 1.0) -> RakingLight:
    """A low lamp from a direction in degrees from X; None: across the pass lines."""
    return RakingLight(across_the_lines(plans) if from_degrees is None else from_degrees, heights_times=heights_times)


def light_words(light: RakingLight) -> Message:
    """Where the lamp stands, and by how much heights are enlarged."""
    values = {"above": light.above_degrees, "from_degrees": light.from_degrees}
    if light.heights_times == 1:
        return Message("lamp {above:g} degrees above, from {from_degrees:.0f} degrees; heights true", **values)
    return Message(
        "lamp {above:g} degrees above, from {from_degrees:.0f} degrees; heights enlarged {times:g} times", times=light.heights_times, **values
    )


def finished_picture(plans: Sequence[Plan], light: RakingLight, language: Language = ENGLISH) -> bytes:
    """The picture of a whole side after its plans, as PNG bytes; one pixel shows what stands at its middle."""
    first = plans[0]
    low, high = first.body.low[:2], first.body.high[:2]
    each = (Message("{cutter}, cusp {cusp:g} mm", cutter=cutter_words(plan.cutter), cusp=plan.request.cusp) for plan in plans)
    note = Message("{body}; {light}", body=body_words(first), light=light_words(light))
    words = Words(Message("Finished surface"), note, Message("{cutters}", cutters=tuple(each)), language)
    sheet = map_sheet(words, float(high[0] - low[0]), float(high[1] - low[1]))
    canvas = Canvas(sheet.width, sheet.height, PAPER)
    sheet.draw_words(canvas)
    view = MapView.fitted(first.grid, first.heights, (MARGIN, sheet.map_top, sheet.width - MARGIN, sheet.map_bottom))
    if view is not None:
        # Cells are pixels, so that no cusp is averaged away; where a pixel is wider than the cusps are, only a strip shows them true.
        cell = 1 / view.scale
        rows, columns = view.rows.stop - view.rows.start, view.columns.stop - view.columns.start
        grid = Grid(left=view.left + cell / 2, front=view.top - (rows - 0.5) * cell, cell=cell, rows=rows, columns=columns)
        ground = finished(finished_ground_steps(plans, grid))
        cover = np.isfinite(ground.heights)[::-1].astype(np.float32)
        canvas.blend(view.rows, view.columns, _wood(ground, light), cover)
        draw_scale_bar(canvas, view, sheet)
    return canvas.png()


def finished_strip(plans: Sequence[Plan], light: RakingLight, middle: tuple[float, float] | None = None) -> Strip:
    """A strip of a finished side round a place in job mm (None: the middle of the planned ground's longest row), one pixel a cell."""
    first = plans[0]
    low, high = first.body.low, first.body.high
    x, y = middle if middle is not None else _middle_of_ground(first)
    length = min(STRIP_LENGTH, float(high[0] - low[0]))
    width = min(STRIP_WIDTH, float(high[1] - low[1]))
    left = float(np.clip(x - length / 2, low[0], high[0] - length))
    front = float(np.clip(y - width / 2, low[1], high[1] - width))
    columns, rows = round(length / FINE_CELL), round(width / FINE_CELL)
    grid = Grid(left=left + FINE_CELL / 2, front=front + FINE_CELL / 2, cell=FINE_CELL, rows=rows, columns=columns)
    ground = finished(finished_ground_steps(plans, grid))
    canvas = Canvas(columns, rows, PAPER)
    canvas.blend(slice(0, rows), slice(0, columns), _wood(ground, light), np.isfinite(ground.heights)[::-1].astype(np.float32))
    return Strip(png=canvas.png(), length=length, width=width, low=(left, front), light=light, roughness=_roughness(first, ground, light))


def _wood(ground: FinishedGround, light: RakingLight) -> Single:
    """Colours (rows, columns, 3) of a lit surface, the topmost row first, as pictures have it."""
    bright = lit(ground.heights, ground.grid.cell, light)[::-1, :, None]
    dark, full = np.array(WOOD_DARK, np.float32), np.array(WOOD_LIGHT, np.float32)
    return np.asarray(dark + (full - dark) * bright, np.float32)


def _middle_of_ground(plan: Plan) -> tuple[float, float]:
    """Where most planned ground lies in one row: the middle of it."""
    planned = plan.ground.planned
    row = int(planned.sum(axis=1).argmax())
    columns = np.flatnonzero(planned[row])
    column = float(columns.mean()) if len(columns) else planned.shape[1] / 2
    return plan.grid.left + plan.grid.cell * column, plan.grid.front + plan.grid.cell * row


def _roughness(plan: Plan, ground: FinishedGround, light: RakingLight) -> Roughness | None:
    """Of what stands over the body, along its normal, on a line through the strip's middle towards the lamp, as far as planned ground reaches there
    without the border that the proof reports separately.
    """
    grid = ground.grid
    known = np.isfinite(ground.body)
    rise_y, rise_x = np.gradient(np.where(known, ground.body, 0.0), grid.cell)
    over: FloatArray = np.where(known, ground.heights, 0.0) - np.where(known, ground.body, 0.0)
    over /= np.sqrt(1 + rise_x**2 + rise_y**2)
    turn = np.radians(light.from_degrees)
    middle_row, middle_column = (grid.rows - 1) / 2, (grid.columns - 1) / 2
    half = int(min(middle_row / max(abs(np.sin(turn)), NO_SLANT), middle_column / max(abs(np.cos(turn)), NO_SLANT)) - 1)
    along = np.arange(-half, half + 1)
    row, column = middle_row + along * np.sin(turn), middle_column + along * np.cos(turn)
    inner = shrunk(plan.ground.planned, plan.grid.cell, plan.proof.border_width)
    places = np.column_stack([grid.left + grid.cell * column, grid.front + grid.cell * row])
    inside = known[np.rint(row).astype(np.intp), np.rint(column).astype(np.intp)] & inner[plan.grid.nearest(places)]
    off = np.flatnonzero(~inside)
    before, after = off[off <= half], off[off >= half]
    whole = slice(int(before[-1]) + 1 if len(before) else 0, int(after[0]) if len(after) else len(along))
    if whole.stop - whole.start < LEAST_PROFILE:
        return None
    return profile_roughness(grid.at(over, row[whole], column[whole]))
