"""Stages of one cutter over one side: planned ground, tip surface, where its axis may stand, and how it fits."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np

from ..ball.axis_region import AxisRegion, axis_region, reachable_ground
from ..ball.cutter_view import CutterView, cutter_view_steps, padded_ground, rim_cells
from ..ball.exact_surface import ExactSurface, exact_surface
from ..ball.exact_tip import TipFinder
from ..ball.fit import Fit, FitGround, fit_steps
from ..ball.flank_tip import FlankTip
from ..ball.rest_ground import RestGround, rest_ground
from ..core.array_types import FloatArray, Mask
from ..core.errors import NothingToPlan
from ..core.masks import grown
from ..core.stage_graph import Small, uses_all_threads
from ..job.cutter import Cutter
from ..job.flank import Flank
from ..job.ground_settings import FitSettings, RegionSettings
from ..job.keep_out import KeepOut
from ..job.request import Remaining
from ..passes.pass_ground import VALLEY_FRACTION
from ..simulation.proof import ProvedGround
from ..surface.ground import Ground
from ..surface.side import Side, side_ground
from ..surface.smooth_form import SmoothForm, with_form
from ..tooling.box_room import beside_boxes
from ..tooling.free_height import ToolOutline


def ball_radius(cutter: Cutter) -> Small[float]:
    """The ball's radius, mm."""
    return cutter.radius


def flank(cutter: Cutter) -> Small[Flank | None]:
    """The flank of a tapered cutter; None for a straight one."""
    return cutter.flank


def triangle_tree(job_triangles: FloatArray) -> TipFinder:
    """The triangles sorted so that those a ball may touch are found quickly."""
    return TipFinder(job_triangles, upward_only=False)


def left_by_larger(
    remaining: Remaining | None, larger_tip_surface: CutterView | None, larger_ground: Ground | None, region_skip_margin: float, fit_uncut_height: float
) -> RestGround | None:
    """What a larger cutter leaves for this one; None for the first cutter of a side. Raises NothingToPlan where it leaves nothing."""
    if remaining is None or larger_tip_surface is None or larger_ground is None:
        return None
    found = rest_ground(larger_tip_surface, larger_ground, fit_uncut_height, region_skip_margin, remaining.overlap)
    if not found.wanted.any():
        raise NothingToPlan(
            "The {diameter:g} mm cutter reaches all of the planned surface: leave the smaller one out.", diameter=remaining.larger.diameter
        )
    return found


def ground(
    heights: Side,
    skipped_cells: Mask,
    left_by_larger: RestGround | None,
    region_settings: RegionSettings,
    ball_radius: float,
    stock_face: float | None,
) -> Ground:
    """The planned ground, on the side's grid with a rim of the ball's radius round it."""
    wanted = None if left_by_larger is None else left_by_larger.wanted
    own = side_ground(heights, skipped_cells, region_settings, 2 * ball_radius, wanted, stock_face)
    return padded_ground(own, rim_cells(ball_radius, heights.grid))


@uses_all_threads
def tip_surface(heights: Side, unskipped_ground: Ground, ball_radius: float, flank: Flank | None) -> Generator[float, None, CutterView]:
    """The cutter rolled over the planned surface. Skipped ground is rolled over like any other."""
    return (yield from cutter_view_steps(unskipped_ground.heights, heights.grid, ball_radius, flank))


@uses_all_threads
def form_surface(
    tip_surface: CutterView, unskipped_ground: Ground, heights: Side, form: SmoothForm, ball_radius: float, flank: Flank | None
) -> Generator[float, None, CutterView]:
    """The cutter rolled over the smooth form that the mesh stands for: what pass lines are laid on. The tip surface itself where the mesh is fine."""
    if not form.shows:
        return tip_surface
    surface = with_form(unskipped_ground.heights, heights.heights, form, tip_surface.rim)
    return (yield from cutter_view_steps(surface, heights.grid, ball_radius, flank))


def barred_by_boxes(tip_surface: CutterView, tool_outline: ToolOutline, boxes_here: tuple[KeepOut, ...]) -> Mask | None:
    """Axis positions that keep-out boxes bar; None without boxes."""
    return beside_boxes(tip_surface.tip, tip_surface.grid, tool_outline, boxes_here) if boxes_here else None


def region(
    tip_surface: CutterView, ground: Ground, heights: Side, region_wall_limit: float, region_overrun: float | None, barred_by_boxes: Mask | None
) -> AxisRegion:
    """Where the cutter's axis may stand: not where a flank keeps its ball off the surface."""
    barred = barred_by_boxes
    if tip_surface.held is not None:
        barred = tip_surface.held if barred is None else barred | tip_surface.held
    found = axis_region(tip_surface.tip, ground, tip_surface.grid, tip_surface.radius, region_wall_limit, region_overrun, barred)
    return found.along_outline(heights.outline.padded(tip_surface.rim))


def reached_ground(tip_surface: CutterView, ground: Ground, region: AxisRegion, cusp: float) -> Mask:
    """Planned ground on which the ball can rest, without creases that no ball of this size reaches: what stays there is uncut height, no cusp."""
    crease = tip_surface.uncut > VALLEY_FRACTION * cusp
    planned = ground.planned & ~grown(crease, tip_surface.grid.cell, CREASE_MARGIN) if crease.any() else ground.planned
    return reachable_ground(planned, tip_surface.closing, region, tip_surface.radius)


CREASE_MARGIN = 1.0
"""mm beside a crease in which the ball touches both of its sides, so that the closing there is no ground to measure a cusp on."""


def proved_ground(
    tip_surface: CutterView, ground: Ground, reached_ground: Mask, fit_uncut_height: float, left_by_larger: RestGround | None
) -> ProvedGround:
    """What a cut is held against. Of the ground round what a larger cutter leaves, it has cut what this one does not reach."""
    wanted, done = ground.planned, None
    if left_by_larger is not None:
        done = np.pad(~left_by_larger.left, tip_surface.rim, constant_values=True)
        surface = np.pad(left_by_larger.surface, tip_surface.rim, constant_values=-np.inf)
        wanted = wanted & (surface - np.where(wanted, ground.heights, 0) > fit_uncut_height)
    return ProvedGround(
        tip_surface.grid,
        tip_surface.closing,
        ground.heights,
        planned=reached_ground,
        tolerance=fit_uncut_height,
        wanted=wanted,
        finished=done,
    )


def floor(unskipped_ground: Ground, tip_surface: CutterView, region: AxisRegion, job_triangles: FloatArray, region_deepest_tip: float | None) -> float:
    """Lowest z that the tip may have, mm: as low as finishing the ground takes it, and never below the body's lowest point.

    Where the ground falls towards an outline that is its lowest place, the tip comes to stand beside the outline and below it.
    """
    standing = unskipped_ground.heights[unskipped_ground.heights > -np.inf]
    if region_deepest_tip is not None:
        return float(standing.max()) - region_deepest_tip
    tips = tip_surface.tip[region.cutting]
    # Between its cells the tip surface lies lower than at them, on a slope of 45 degrees by a cell's width from one side to the other.
    wanted = float(tips.min()) - tip_surface.grid.cell if len(tips) else np.inf
    return max(min(float(standing.min()), wanted), float(job_triangles[:, :, 2].min()))


def flank_tip(job_triangles: FloatArray, unskipped_ground: Ground, flank: Flank | None) -> FlankTip | None:
    """What a flank adds to the ball's exact tip heights, over bridges too; None for a straight cutter."""
    return None if flank is None else FlankTip(np.concatenate([job_triangles, unskipped_ground.bridges.reshape(-1, 3, 3)]), flank)


def surface(triangle_tree: TipFinder, unskipped_ground: Ground, tip_surface: CutterView, floor: float, flank_tip: FlankTip | None) -> ExactSurface:
    """The exact tip surface, with the bridges over openings."""
    finder = triangle_tree.with_more(unskipped_ground.bridges) if len(unskipped_ground.bridges) else triangle_tree
    return exact_surface(finder, tip_surface.grid, unskipped_ground.heights, tip_surface.tip, tip_surface.radius, floor, flank_tip)


@uses_all_threads
def fit(tip_surface: CutterView, ground: Ground, fit_settings: FitSettings) -> Generator[float, None, Fit]:
    """How the cutter fits the planned ground."""
    own = FitGround(tip_surface.grid, ground.heights, ground.planned)
    return (yield from fit_steps(tip_surface.closing, own, tip_surface.radius, fit_settings, flank=tip_surface.flank))


def judged_fit(table_fit: Fit) -> Fit:
    """The verdict on the cutter: on the cells of the fit table, so that a plan and the table that it was chosen from say the same."""
    return table_fit


STAGES = (
    ball_radius,
    flank,
    triangle_tree,
    left_by_larger,
    ground,
    tip_surface,
    form_surface,
    barred_by_boxes,
    region,
    reached_ground,
    proved_ground,
    floor,
    flank_tip,
    surface,
    fit,
    judged_fit,
)
