"""Stages that check a path: the stock it meets, what the tool touches, its bite, feed, run time, and the simulated cut."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..ball.axis_region import AxisRegion
from ..ball.cutter_view import CutterView
from ..ball.exact_surface import ExactSurface
from ..ball.rest_ground import RestGround
from ..core.array_types import FloatArray
from ..core.cusp_formulas import spacing_on_flat
from ..core.path import CUT, LINK, Path
from ..core.stage_graph import Small, uses_all_threads
from ..job.bite_settings import BiteSettings
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from ..job.roughing import RoughingSettings
from ..job.run_log import Experience, LoggedRun, RunKind, experience_with
from ..job.stock import Stock
from ..motion.easing import Eased
from ..motion.easing import eased as eased_path
from ..motion.run_time import RunTime
from ..motion.run_time import run_time as timed
from ..options.hand_work import HandWork, Strip, hand_cells, hand_parts
from ..passes.line_spacing import LineSpacing
from ..passes.line_spacing import line_spacing as measured_spacing
from ..simulation.proof import LEAST_UPRIGHT, Proof, ProofSamples, ProvedGround, prove_steps, sample_ground
from ..simulation.proof import proof_samples as chosen_samples
from ..simulation.surface_samples import SampleGround
from ..surface.ground import Ground
from ..surface.side import Side
from ..tooling.bite import Bite, Engagement, bite_of, engagement_of, with_allowed_feed
from ..tooling.box_room import BesideBody, beside_body
from ..tooling.clearance import STEP, Contact, Obstacles
from ..tooling.clearance import contacts as touched
from ..tooling.clearance import contacts_at as touched_at
from ..tooling.free_height import FreeHeight, ToolOutline
from ..tooling.free_height import free_height as free_over
from ..tooling.free_height import tool_outline as outline_of
from ..tooling.lead_feeds import LeadFeeds, LeadWood, with_lead_feeds
from ..tooling.lead_feeds import wood_over_leads as wood_on_leads
from ..tooling.standing_stock import StockBox
from ..tooling.surroundings import StockBefore, StockGiven, may_still_stand, obstacles_of
from ..tooling.surroundings import standing_before as obstacles_for_all
from ..tooling.surroundings import stock_before as standing_before
from ..tooling.surroundings import stock_box as box_of


def stock_box(placed_stock: Stock, side: str) -> Small[StockBox]:
    """The stock in job mm."""
    return box_of(placed_stock, side)


def stock_given(
    stock_box: StockBox, roughing_settings: RoughingSettings, stock_body: Body | None, turned: NDArray[np.float64], left_by_larger: RestGround | None
) -> StockGiven:
    """What is known of the stock before the cutter comes."""
    triangles = None if stock_body is None else stock_body.moved(turned).triangles
    return StockGiven(stock_box, roughing_settings, triangles, None if left_by_larger is None else left_by_larger.surface)


def stock_before(stock_given: StockGiven, ground: Ground, region: AxisRegion) -> StockBefore:
    """Heights before the cutter comes."""
    return standing_before(stock_given, ground.heights, region)


def tool_outline(cutter: Cutter, machine: Machine) -> Small[ToolOutline]:
    """Ball, shank and nut as hops see them."""
    return outline_of(cutter, machine)


def still_standing(stock_given: StockGiven, stock_before: StockBefore) -> FloatArray:
    """Heights of all that may stand when the cutter comes."""
    return may_still_stand(stock_given, stock_before)


def free_height(still_standing: FloatArray, stock_before: StockBefore, tool_outline: ToolOutline, boxes_here: tuple[KeepOut, ...]) -> FreeHeight:
    """How low the tool may hop between lines."""
    return free_over(still_standing, stock_before.grid, tool_outline, boxes_here)


def beside_work(stock_before: StockBefore, tool_outline: ToolOutline, boxes_here: tuple[KeepOut, ...]) -> BesideBody:
    """Where the cutter may come down beside the body."""
    return beside_body(stock_before, tool_outline, boxes_here)


def contacts(route: Path, cutter: Cutter, machine: Machine, stock_before: StockBefore) -> tuple[Contact, ...]:
    """What the tool touches on its way."""
    return touched(route, cutter, machine, obstacles_of(stock_before, machine))


def obstacles_ahead(stock_given: StockGiven, heights: Side, machine_nut_diameter: float) -> Obstacles:
    """What stands round the cutters of a side, whichever of them comes first."""
    return obstacles_for_all(stock_given, heights.heights, heights.grid, machine_nut_diameter / 2)


def contacts_ahead(region: AxisRegion, tip_surface: CutterView, cutter: Cutter, machine: Machine, obstacles_ahead: Obstacles) -> tuple[Contact, ...]:
    """What the tool would touch wherever its axis may cut, before a line is laid."""
    grid = tip_surface.grid
    step = max(1, round(STEP / grid.cell))
    row, column = (number * step for number in np.nonzero(region.cutting[::step, ::step]))
    low = np.column_stack([grid.middles(row, column), tip_surface.tip[row, column]])
    return touched_at(low, cutter, machine, obstacles_ahead)


def engagement(route: Path, ball_radius: float, stock_before: StockBefore, tip_surface: CutterView) -> Engagement:
    """How the passes stand in the stock."""
    return engagement_of(route, ball_radius, stock_before.depth, tip_surface.grid, tip_surface.flank)


def asked_feed(feed: float | None, cutter_feed: float) -> Small[float]:
    """The feed on lines and links, mm/min: as asked for, else the cutter's own."""
    return feed if feed is not None else cutter_feed


def wood_over_leads(route: Path, free_height: FreeHeight) -> LeadWood:
    """How much wood may stand where leads run."""
    return wood_on_leads(route, free_height)


def fed_route(
    route: Path, asked_feed: float, wood_over_leads: LeadWood, cutter: Cutter, bite_settings: BiteSettings, machine_plunge_feed: float
) -> Path:
    """The route with the feed that was asked for, on leads as far as they may have it; moves in the air keep theirs."""
    fed = replace(route, feed=np.where((route.kind == CUT) | (route.kind == LINK), asked_feed, route.feed))
    return with_lead_feeds(fed, wood_over_leads, LeadFeeds(asked_feed, machine_plunge_feed, cutter, bite_settings))


def bite(engagement: Engagement, fed_route: Path, cutter: Cutter, bite_settings: BiteSettings) -> Bite:
    """What the cutter bites off at the feed that was asked for."""
    return bite_of(engagement, fed_route, cutter, bite_settings)


def eased(fed_route: Path, bite: Bite, bite_lower_feed: bool, machine: Machine, program_fusing_tolerance: float, experience: Experience) -> Eased:
    """The route with the feeds that the bite allows, eased where the control could not take the blocks."""
    return eased_path(with_allowed_feed(fed_route, bite) if bite_lower_feed else fed_route, machine, program_fusing_tolerance, experience)


def path(eased: Eased) -> Path:
    """The route with its feeds."""
    return eased.path


def line_spacing(route: Path, ball_radius: float, cusp: float) -> LineSpacing | None:
    """How far the pass lines lie apart; None where no line has a neighbour."""
    return measured_spacing(route.lines(), float(spacing_on_flat(ball_radius, cusp)))


def experience(run_log: tuple[LoggedRun, ...], machine_name: str, cutter: Cutter, bite_wood: str, cusp: float) -> Small[Experience]:
    """What logged runs of this machine, cutter and wood say."""
    return experience_with(run_log, RunKind(machine_name, cutter.name, cutter.diameter, bite_wood), cusp)


def run_time(path: Path, machine: Machine, program_fusing_tolerance: float, experience: Experience) -> RunTime:
    """How long the path takes."""
    return timed(path, machine, program_fusing_tolerance, experience)


def feet(proved_ground: ProvedGround, surface: ExactSurface) -> SampleGround:
    """The surface as the cutter can leave it, to be measured anywhere."""
    return sample_ground(proved_ground, surface.radius, surface.finder)


def proof_samples(proved_ground: ProvedGround, feet: SampleGround) -> ProofSamples:
    """Where the simulated cut is measured."""
    return chosen_samples(proved_ground.measured, feet)


@uses_all_threads
def proof(route: Path, proved_ground: ProvedGround, surface: ExactSurface, proof_samples: ProofSamples, cusp: float) -> Generator[float, None, Proof]:
    """The simulated cut."""
    return (yield from prove_steps(route, surface.radius, cusp, proved_ground, surface.finder, proof_samples, surface.flank))


def hand_work(
    proof: Proof,
    proved_ground: ProvedGround,
    tip_surface: CutterView,
    ground: Ground,
    fit_uncut_height: float,
    roughing_allowance: float,
    cusp: float,
) -> HandWork:
    """Planned ground that stands higher than tolerated after the cut: hollows that are too narrow, and what the cutter does not come to; and the
    strips beside them, where it does not rest but leaves less.

    What no move meets stands as roughing has left it, or as high as the ball itself would stand over a hollow. Ridges between passes are sanded
    anyway, there too.
    """
    uncut = np.where(ground.planned & (tip_surface.uncut > fit_uncut_height), tip_surface.uncut, 0.0)
    standing = np.where(np.isfinite(uncut), uncut, 0.0)
    unreached = proved_ground.unreached
    most = np.maximum(standing[unreached], roughing_allowance)
    measured = np.minimum(np.where(np.isnan(proof.left), most, proof.left), most)
    standing[unreached] = np.where(measured > fit_uncut_height + cusp, measured, 0.0)
    parts = hand_parts(standing, ground.heights, tip_surface.grid, fit_uncut_height)
    is_strip = ~hand_cells(standing, tip_surface.grid, fit_uncut_height)[unreached]
    rows, columns = (each[is_strip] for each in np.nonzero(unreached))
    upright = np.maximum(np.cos(np.radians(ground.slope_degrees[rows, columns])), LEAST_UPRIGHT)
    heights = measured[is_strip]
    strip = Strip(
        rows, columns, heights=heights, volumes=heights / upright * tip_surface.grid.cell_area, missed=ground.planned & ~proved_ground.reached
    )  # fmt: skip
    return HandWork(parts, strip)


STAGES = (
    stock_box,
    stock_given,
    stock_before,
    tool_outline,
    still_standing,
    free_height,
    beside_work,
    contacts,
    obstacles_ahead,
    contacts_ahead,
    engagement,
    asked_feed,
    wood_over_leads,
    fed_route,
    bite,
    eased,
    path,
    line_spacing,
    experience,
    run_time,
    feet,
    proof_samples,
    proof,
    hand_work,
)
