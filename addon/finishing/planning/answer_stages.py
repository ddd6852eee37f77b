"""Stages that answer questions about a side: least length, what ground costs, flats, the fit table, suggestions, maps to look at."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, fields, replace

import numpy as np

from ..ball.axis_region import AxisRegion
from ..ball.cutter_view import CutterView
from ..ball.fit import Fit, LargestRadius
from ..core.array_types import FloatArray, Mask
from ..core.coarse_cells import coarsened
from ..core.stage_graph import Small, uses_all_threads
from ..job.cutter import Cutter
from ..job.flank import Flank
from ..job.ground_settings import FitSettings, RegionSettings
from ..job.machine import Machine
from ..job.request import TriedSet
from ..job.roughing import RoughingSettings
from ..job.wood import hurried_feed
from ..options.budget_ladder import Ladder, coarsest_cusp
from ..options.cutter_sets import SetCosts, SetTable, Weighing, all_sets, weighed_sets
from ..options.fit_table import RackRow
from ..options.fit_table import fit_row as row_of
from ..options.fit_table import largest_radius as widest
from ..options.flats import Flat, MinutesOnFlats, flats_of, minutes_on_flats
from ..options.ground_costs import GroundCost, cost_of, skip_costs
from ..options.missing_cutter import MissingCutter
from ..options.missing_cutter import missing_cutter as missing_of
from ..options.reach import Reach, reach_of
from ..options.suggestions import Suggestion, suggestions_for
from ..passes.pass_ground import PassGround
from ..surface.curvature_maps import SurfaceMaps
from ..surface.ground import Ground
from ..surface.side import Side
from ..tooling.clearance import Contact
from .budget import STEEP_BAND


@dataclass(frozen=True)
class ShownMaps:
    """Maps of the body as they are shown, on the plan's grid, (rows, columns). heights: -inf outside; maps: nan outside."""

    heights: FloatArray
    maps: SurfaceMaps


def shown_maps(heights: Side, maps: SurfaceMaps, tip_surface: CutterView) -> ShownMaps:
    """Heights and maps with the rim of the plan's grid round them."""
    rim = tip_surface.rim
    wide = {item.name: np.pad(getattr(maps, item.name), rim, constant_values=np.nan) for item in fields(maps)}
    return ShownMaps(np.pad(heights.heights, rim, constant_values=-np.inf), replace(maps, **wide))


def least_length(laid_pass_ground: PassGround, region: AxisRegion) -> float:
    """The bound L_min on the length of all passes, mm."""
    return laid_pass_ground.least_length_over(region)


def ground_costs(
    laid_pass_ground: PassGround, unskipped_region: AxisRegion, region: AxisRegion, ground: Ground, region_wall_limit: float
) -> tuple[GroundCost, ...]:
    """What skipped pieces, the overrun, and ground just below the wall limit cost, on the metric's cells."""
    metric = laid_pass_ground.metric
    grid, density = metric.grid, metric.line_density()
    factor = round(grid.cell / region.grid.cell)

    def coarse(mask: Mask) -> Mask:
        return coarsened(mask.astype(np.float32), factor) >= 0.5

    cutting, body = coarse(region.cutting), coarse(ground.heights > -np.inf)
    steep = coarse(region.slope_degrees >= region_wall_limit - STEEP_BAND)
    return (
        *skip_costs(density, grid, coarse(unskipped_region.cutting), cutting),
        cost_of("overrun", density, grid, cutting & ~body),
        cost_of("steep", density, grid, cutting & steep),
    )


def flats(ground: Ground, tip_surface: CutterView) -> tuple[Flat, ...]:
    """Level ground that is planned."""
    return flats_of(ground, tip_surface.grid)


def flat_minutes(ball_radius: float, cusp: float, asked_feed: float) -> MinutesOnFlats:
    """What flat ground costs."""
    return minutes_on_flats(ball_radius, cusp, asked_feed)


def fit_row(
    cutter: Cutter,
    judged_fit: Fit,
    hollows: FloatArray,
    ground: Ground,
    tip_surface: CutterView,
    pass_ground: PassGround | None,
    cusp: float,
    asked_feed: float,
) -> RackRow:
    """One cutter's row of the fit table."""
    rim = tip_surface.rim
    radii = hollows[ground.planned[rim:-rim, rim:-rim]]
    return row_of(cutter, judged_fit, radii, pass_ground.least_length if pass_ground is not None else 0.0, cusp, asked_feed)


def reach(
    cutter: Cutter,
    tip_surface: CutterView,
    ground: Ground,
    region: AxisRegion,
    pass_ground: PassGround | None,
    machine: Machine,
    asked_feed: float,
    fit_uncut_height: float,
) -> Reach:
    """What a cutter reaches, and how long its passes take there."""
    return reach_of(cutter, tip_surface, ground, region, pass_ground, machine, asked_feed, fit_uncut_height)


def fit_table(each_cutter_fit_row: tuple[RackRow, ...], each_cutter_contacts_ahead: tuple[tuple[Contact, ...], ...]) -> tuple[RackRow, ...]:
    """What every cutter of the rack would do, the smallest first."""
    return tuple(replace(row, contacts=found) for row, found in zip(each_cutter_fit_row, each_cutter_contacts_ahead, strict=True))


def set_costs(
    cell: float, overlap_with_larger: float, fit_uncut_area: float, machine_tool_change_minutes: float, cutter_in_spindle: Cutter | None
) -> Small[SetCosts]:
    """What sets of cutters are weighed by, on the cells of the fit table."""
    change = machine_tool_change_minutes
    return SetCosts(cell=cell, overlap=overlap_with_larger, hand_work=fit_uncut_area, change_minutes=change, in_spindle=cutter_in_spindle)


def named_set(cutter: Cutter | None, following_cutters: tuple[Cutter, ...], meet_budget: bool) -> Small[tuple[Cutter, ...]]:
    """The set that the side is planned with, where it need not be the one that finishes soonest; else none."""
    return (cutter, *following_cutters) if cutter is not None and (following_cutters or meet_budget) else ()


def weighed_cutter_sets(
    each_cutter_reach: tuple[Reach, ...], fit_table: tuple[RackRow, ...], table_set_costs: SetCosts, named_set: tuple[Cutter, ...]
) -> SetTable | None:
    """Which one to three cutters of the rack finish the side soonest, by what is known before a line is laid; None where no fit table is wanted."""
    return weighed_sets(each_cutter_reach, fit_table, table_set_costs, named_set) if fit_table else None


def cutter_sets(weighed_cutter_sets: SetTable | None, tried_sets: tuple[TriedSet, ...]) -> SetTable | None:
    """The same, with what was tried."""
    return None if weighed_cutter_sets is None else weighed_cutter_sets.with_tried(tried_sets)


def cutter_reaches(each_cutter_reach: tuple[Reach, ...]) -> tuple[Reach, ...]:
    """What every cutter of the rack reaches, the smallest first."""
    return each_cutter_reach


def budget_ladders(
    cutter_reaches: tuple[Reach, ...],
    hurried_cutter_reaches: tuple[Reach, ...],
    fit_table: tuple[RackRow, ...],
    table_set_costs: SetCosts,
    roughing_settings: RoughingSettings,
    feed: float | None,
    machine: Machine,
    bite_wood: str,
) -> tuple[Ladder, ...]:
    """What every set of the rack's cutters takes as its orders grow less fine."""
    own, hurried = (Weighing(reaches, fit_table, table_set_costs) for reaches in (cutter_reaches, hurried_cutter_reaches))
    found = []
    for chosen, made in all_sets(own, fit_table):
        quick = hurried.weighed(chosen)
        feeds = tuple(feed if feed is not None and k == 0 else cutter.feed for k, cutter in enumerate(made.cutters))
        found.append(
            Ladder(
                cutters=made.cutters,
                own_feeds=feeds,
                greatest_feeds=tuple(max(one, hurried_feed(cutter, bite_wood, machine)) for one, cutter in zip(feeds, made.cutters, strict=True)),
                own_minutes=made.run_minutes,
                hurried_minutes=quick.run_minutes if quick is not None else made.run_minutes,
                change_minutes=table_set_costs.change_minutes * made.changes,
                coarsest=coarsest_cusp(made.cutters[0], roughing_settings),
                enough=made.enough,
            )
        )
    return tuple(found)


def missing_cutter(
    each_cutter_reach: tuple[Reach, ...],
    fit_table: tuple[RackRow, ...],
    cutter_sets: SetTable | None,
    largest_radius: LargestRadius | None,
    table_set_costs: SetCosts,
) -> MissingCutter | None:
    """The cutter that is not on the rack and would save most minutes; None where none would, or where it was not asked for."""
    if cutter_sets is None or largest_radius is None:
        return None
    return missing_of(each_cutter_reach, fit_table, table_set_costs, cutter_sets, largest_radius.radius)


@uses_all_threads
def largest_radius(
    each_cutter_ball_radius: tuple[float, ...],
    each_cutter_flank: tuple[Flank | None, ...],
    each_cutter_judged_fit: tuple[Fit, ...],
    table_heights: Side,
    table_skipped_cells: Mask,
    region_settings: RegionSettings,
    fit_settings: FitSettings,
    stock_face: float | None,
) -> Generator[float, None, LargestRadius | None]:
    """The largest radius that fits the planned ground at all, of a straight cutter; None where no fit table is wanted."""
    if not each_cutter_judged_fit:
        return None
    # Where a taper does not fit, a straight cutter of the same radius still may.
    each = zip(each_cutter_ball_radius, each_cutter_judged_fit, each_cutter_flank, strict=True)
    tried = {radius: fit.fits for radius, fit, flank in each if flank is None or fit.fits}
    return (yield from widest(tried, table_heights, table_skipped_cells, region_settings, fit_settings, stock_face))


def suggestions(heights: Side, ground: Ground, tip_surface: CutterView, region_wall_limit: float) -> tuple[Suggestion, ...]:
    """Ground that may better be skipped."""
    rim = tip_surface.rim
    slope = ground.slope_degrees[rim:-rim, rim:-rim]
    return suggestions_for(heights.heights, slope, heights.opening_labels, heights.openings, heights.grid, region_wall_limit)


STAGES = (
    shown_maps,
    least_length,
    ground_costs,
    flats,
    flat_minutes,
    fit_row,
    reach,
    fit_table,
    set_costs,
    named_set,
    weighed_cutter_sets,
    cutter_sets,
    cutter_reaches,
    budget_ladders,
    missing_cutter,
    largest_radius,
    suggestions,
)
