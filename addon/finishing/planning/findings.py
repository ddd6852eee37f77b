"""Stages that gather what a plan has to tell its user."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..ball.axis_region import AxisRegion
from ..ball.cutter_view import CutterView
from ..ball.fit import Fit, LargestRadius
from ..core.array_types import FloatArray, Mask
from ..core.finding import Change, Finding
from ..core.grid import Grid
from ..core.masks import grown
from ..core.message import Message, word
from ..core.path import Path, entry_counts
from ..job.apart import apart_findings
from ..job.bite_settings import BiteSettings
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.dowels import DowelSettings, dowel_findings
from ..job.ground_settings import FitSettings
from ..job.keep_out import KeepOut, TurnedBox, keep_out_findings
from ..job.machine import Machine
from ..job.orientation import upward_axis
from ..job.request import MEASURED
from ..job.roughing import RoughingSettings
from ..job.run_log import Experience
from ..job.stock import Stock
from ..job.strays import Apart
from ..job.turning import stock_findings
from ..options.cutter_sets import SetTable
from ..options.fit_table import RackRow
from ..options.flats import Flat, MinutesOnFlats, flat_findings, left_flat_findings
from ..options.missing_cutter import MissingCutter
from ..options.opening_words import treated_opening_words
from ..options.side_order import side_order_findings, side_order_of
from ..reading.roughness import DEVIATIONS, ROUGH
from ..simulation.proof import Proof
from ..surface.ground import Ground
from ..surface.mesh_smoothing import SmoothedMesh
from ..surface.side import Side
from ..tooling.bite import Bite, bite_findings
from ..tooling.clearance import Contact, clearance_findings
from ..tooling.standing_stock import StockBox
from ..tooling.surroundings import StockBefore, StockGiven, unroughed
from ..tooling.true_cutter import taper_finding, true_cutter_words

SMALL_AREA = 1.0
"""mm2; less undercut than this is not worth a word."""

INSIDE_STEP = 1.0
"""mm between the points that stand for a body's inside."""

OF_A_FIRST_CUTTER = (
    "fit_findings", "missing_cutter_findings", "true_cutter_findings", "budget_findings", "gouge_findings", "rim_findings",
    "free_findings", "unroughed_findings", "load_findings", "stock_and_zero_findings", "dowels_findings",
    "keep_out_box_findings", "entry_findings", "lying_findings", "strays_findings", "open_border_findings", "thinned_findings", "rough_mesh_findings",
    "left_out_findings", "level_findings", "logged_findings", "measured_findings", "first_side_findings", "tab_findings",
)  # fmt: skip
"""The stages whose findings a plan tells, in this order."""

OF_A_SMALLER_CUTTER = (
    "fit_findings", "true_cutter_findings", "gouge_findings", "free_findings", "load_findings", "stock_and_zero_findings", "dowels_findings",
    "keep_out_box_findings", "entry_findings", "logged_findings",
)  # fmt: skip
"""The same for a cutter that takes what a larger one has left, whose plan has told the rest."""


def most_important_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that must be seen before the others."""
    return tuple(sorted(findings, key=lambda finding: not finding.must_see))


def fit_findings(
    judged_fit: Fit,
    cutter: Cutter,
    fit_settings: FitSettings,
    fit_table: tuple[RackRow, ...],
    largest_radius: LargestRadius | None,
    cutter_sets: SetTable | None,
) -> tuple[Finding, ...]:
    """What the cutter leaves, and what would fit."""
    left = {"diameter": cutter.diameter, "area": judged_fit.area, "tolerance": fit_settings.uncut_height, "worst": judged_fit.height}
    if judged_fit.fits:
        if judged_fit.area <= 0:
            return ()
        sentence = Message(
            "The {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} mm proud, {worst:.2f} mm at worst; "
            "Tolerated Area is {tolerated:g} mm².",
            tolerated=fit_settings.uncut_area,
            **left,
        )
        return (
            Finding(
                "hollows-left", sentence, Message("A smaller cutter reaches more of it."), judged_fit.place, changes=_best_set(cutter_sets, cutter)
            ),
        )
    remedy = Message("No cutter that was tried would fit. Skip the hollow, raise Tolerated Height or Tolerated Area, or take a smaller cutter.")
    radius = largest_radius.radius if largest_radius is not None else 0.0
    if radius:
        remedy = Message(
            "A cutter of {diameter:.1f} mm (R {radius:.2f}) would fit. "
            "Skip the hollow, raise Tolerated Height or Tolerated Area, or take a smaller cutter.",
            diameter=2 * radius,
            radius=radius,
        )
    if cutter.half_angle and radius >= cutter.radius:  # it is the flank that does not fit
        remedy = Message(
            "A straight cutter of up to {diameter:.1f} mm (R {radius:.2f}) would fit, or a slimmer taper.", diameter=2 * radius, radius=radius
        )
    if fit_table and not any(row.fits for row in fit_table):
        sentence = Message(
            "No cutter on the rack fits the whole of the planned surface: the {diameter:g} mm cutter leaves {area:.0f} mm² standing "
            "more than {tolerance:g} mm proud, {worst:.2f} mm at worst.",
            **left,
        )
        return (Finding("no-cutter-fits", sentence, remedy, judged_fit.place, must_see=True, changes=_best_set(cutter_sets, cutter)),)
    sentence = Message(
        "The cutter does not fit the whole of the planned surface: the {diameter:g} mm cutter leaves {area:.0f} mm² standing "
        "more than {tolerance:g} mm proud, {worst:.2f} mm at worst.",
        **left,
    )
    return (Finding("cutter-too-large", sentence, remedy, judged_fit.place, must_see=True, changes=_best_set(cutter_sets, cutter)),)


def _best_set(cutter_sets: SetTable | None, cutter: Cutter) -> tuple[Change, ...]:
    """The set that finishes soonest, in place of a cutter that leaves too much; nothing where it is that cutter alone, or no sets were weighed."""
    return () if cutter_sets is None or cutter_sets.best.cutters == (cutter,) else (Change("cutters", cutter_sets.best.name),)


def true_cutter_findings(cutter: Cutter, region: AxisRegion, ground: Ground) -> tuple[Finding, ...]:
    """What measuring the cutter has changed, and what is too steep for its taper."""
    found = []
    if cutter.measured_diameter or cutter.runout:
        found += true_cutter_words(cutter, float(region.slope_degrees[region.cutting].max(initial=0.0)))
    steep = float((ground.slope_degrees[ground.planned] > 90 - cutter.half_angle).sum()) * region.grid.cell_area if cutter.half_angle else 0.0
    if steep > SMALL_AREA:
        found.append(taper_finding(cutter, steep))
    return tuple(found)


def missing_cutter_findings(missing_cutter: MissingCutter | None) -> tuple[Finding, ...]:
    """What would be worth having on the rack."""
    if missing_cutter is None:
        return ()
    values = {"diameter": missing_cutter.diameter, "minutes": missing_cutter.minutes, "saved": missing_cutter.saved}
    sentence = Message(
        "A {diameter:g} mm cutter, which is not on the rack, would finish this side in about {minutes:.1f} minutes, {saved:.1f} fewer.", **values
    )
    if missing_cutter.followed_by is not None:
        sentence = Message(
            "A {diameter:g} mm cutter, which is not on the rack, would finish this side in about {minutes:.1f} minutes, {saved:.1f} fewer, with the "
            "{smaller:g} mm cutter after it.",
            smaller=missing_cutter.followed_by,
            **values,
        )
    return (Finding("missing-cutter", sentence, changes=(Change("rack", missing_cutter.diameter),)),)


def free_findings(contacts: tuple[Contact, ...], cutter: Cutter, roughing_settings: RoughingSettings, stock_body: Body | None) -> tuple[Finding, ...]:
    """Where the tool does not run free."""
    return tuple(clearance_findings(contacts, cutter, roughing_settings.channel if stock_body is None else None))


def unroughed_findings(
    stock_given: StockGiven,
    stock_before: StockBefore,
    still_standing: FloatArray,
    ground: Ground,
    tip_surface: CutterView,
    cutter: Cutter,
    ball_radius: float,
) -> tuple[Finding, ...]:
    """Hollows that the flat cutter of roughing does not come into, where more wood stands than a pass of this cutter is meant for: its radius."""
    found = unroughed(stock_given, stock_before, still_standing, ground.planned, tip_surface.grid, ball_radius)
    if found is None:
        return ()
    sentence = Message(
        "The flat cutter of {flat:g} mm that roughs does not come into all hollows: up to {height:.1f} mm of wood may stand on {area:.0f} mm² of the "
        "planned surface, more than the radius of the {diameter:g} mm cutter.",
        flat=stock_given.roughing.cutter_diameter,
        height=found.height,
        area=found.area,
        diameter=cutter.diameter,
    )
    remedy = Message("Rough them with a smaller flat cutter and set Roughing Cutter to it, or skip them.")
    return (Finding("unroughed", sentence, remedy, found.place, must_see=True),)


def load_findings(bite: Bite, bite_settings: BiteSettings, cutter_spindle_speed: float, machine: Machine) -> tuple[Finding, ...]:
    """Bite and spindle speed against their limits."""
    found = list(bite_findings(bite, bite_settings))
    if not machine.spindle_least <= cutter_spindle_speed <= machine.spindle_greatest:
        sentence = Message(
            "The cutter's spindle speed of {speed:.0f} 1/min lies outside the machine's {least:.0f} to {greatest:.0f} 1/min.",
            speed=cutter_spindle_speed,
            least=machine.spindle_least,
            greatest=machine.spindle_greatest,
        )
        remedy = Message("Set a speed that the machine can run and the cutter's maker allows.")
        found.append(Finding("spindle-speed", sentence, remedy, must_see=True))
    return tuple(found)


def entry_findings(path: Path) -> tuple[Finding, ...]:
    """Entries that may mark the finished surface."""
    counts = entry_counts(path)
    if not counts.straight:
        return ()
    total = counts.beside + counts.ramped + counts.straight
    sentence = Message(
        "{count} of {total} entries go straight down onto the surface, since there is no room for a ramp: they may leave a mark.",
        count=counts.straight,
        total=total,
    )
    return (Finding("straight-entries", sentence, Message("Look at these places when sanding, or skip such small pieces.")),)


def gouge_findings(proof: Proof, chord_tolerance: float) -> tuple[Finding, ...]:
    """Whether the simulated cut runs below the body."""
    if proof.worst_gouge <= chord_tolerance:
        return ()
    sentence = Message("The simulated cut goes {depth:.4f} mm below the body, more than {limit:g} mm.", depth=proof.worst_gouge, limit=chord_tolerance)
    remedy = Message("Set a finer Cell or a smaller Chord Tolerance.")
    return (Finding("gouge", sentence, remedy, proof.worst_gouge_place, must_see=True, changes=(Change("chord_tolerance", chord_tolerance / 2),)),)


def stock_and_zero_findings(placed_stock: Stock, side: str, path: Path) -> tuple[Finding, ...]:
    """What is wrong with stock and zeros."""
    return tuple(stock_findings(placed_stock, side, path))


def dowels_findings(
    dowels_settings: DowelSettings,
    placed_stock: Stock,
    side: str,
    path: Path,
    heights: Side,
    job_body: Body,
    cutter: Cutter,
    boxes_here: tuple[KeepOut, ...],
) -> tuple[Finding, ...]:
    """What is wrong with the dowels."""
    outline = points_of_body(heights.heights > -np.inf, heights.grid) if dowels_settings.count else np.zeros((0, 2))
    low = path.points[path.points[:, 2] <= job_body.high[2] + 1e-6, :2]
    return tuple(dowel_findings(dowels_settings, placed_stock, side, low, outline, cutter.widest_radius, boxes_here))


def keep_out_box_findings(
    path: Path, boxes_here: tuple[KeepOut, ...], reached_ground: Mask, unboxed_reached_ground: Mask, tip_surface: CutterView
) -> tuple[Finding, ...]:
    """Boxes that the cutter touches on its way, and what they keep it off."""
    found = keep_out_findings(path, tip_surface.radius, boxes_here, tip_surface.flank)
    lost = float((unboxed_reached_ground & ~reached_ground).sum()) * tip_surface.grid.cell_area
    if boxes_here and lost > SMALL_AREA:
        sentence = Message("Keep-out boxes keep the cutter off {area:.0f} mm² of the planned surface.", area=lost)
        remedy = Message("Move the clamps and finish that part in a run of its own, or leave it to hand work.")
        tabs = sum(isinstance(box, TurnedBox) for box in boxes_here)
        if tabs == len(boxes_here):
            sentence = Message("Tabs keep the cutter off {area:.0f} mm² of the planned surface.", area=lost)
            remedy = Message("Lower Tab Height, set Tab Level lower, or leave it to hand work.")
        elif tabs:
            sentence = Message("Keep-out boxes and tabs keep the cutter off {area:.0f} mm² of the planned surface.", area=lost)
        found.append(Finding("kept-out", sentence, remedy, must_see=True))
    return tuple(found)


def points_of_body(body: Mask, grid: Grid) -> FloatArray:
    """Points (n, 2) of a body's cells: its whole border, and inside so many that no dowel fits between them, one a mm or a cell."""
    shown = body & grown(~body, grid.cell, grid.cell)
    step = max(1, int(INSIDE_STEP / grid.cell))
    shown[::step, ::step] = body[::step, ::step]
    return grid.middles(*np.nonzero(shown))


def lying_findings(up: str, body_low: FloatArray, body_high: FloatArray) -> tuple[Finding, ...]:
    """That a body which stands on its edge is planned lying."""
    axis = upward_axis(up, body_high - body_low)
    if up != "auto" or axis == "z":
        return ()
    sentence = Message("The body stands on its edge and is planned lying, with its {axis} axis up.", axis=axis.upper())
    remedy = Message("With Face Up at Z (--up z) it is planned as it stands.")
    return (Finding("laid-flat", sentence, remedy, changes=(Change("up", "z"),)),)


def strays_findings(body_apart: Apart, turned: FloatArray) -> tuple[Finding, ...]:
    """What lies apart in the body, planned or left out."""
    return apart_findings(body_apart, turned)


def rough_mesh_findings(smoothed: SmoothedMesh) -> tuple[Finding, ...]:
    """That the mesh is rough, and what smoothing has done or would do."""
    if smoothed.allowed > 0:
        sentence = Message(
            "The mesh was smoothed: its points scatter by {roughness:.3f} mm and were moved by {moved:.3f} mm at most, {usual:.3f} mm usually; "
            "{allowed:.3f} mm were allowed.",
            roughness=smoothed.roughness,
            moved=smoothed.moved,
            usual=smoothed.usual,
            allowed=smoothed.allowed,
        )
        return (Finding("smoothed-mesh", sentence),)
    if smoothed.roughness < ROUGH:
        return ()
    sentence = Message(
        "The mesh is rough, as scans are: its points scatter by {roughness:.3f} mm, so that pass lines lie closer than the form asks for.",
        roughness=smoothed.roughness,
    )
    remedy = Message(
        "Set Smoothing to By Roughness (--smooth auto), which moves no point by more than {allowed:.2f} mm.", allowed=DEVIATIONS * smoothed.roughness
    )
    return (Finding("rough-mesh", sentence, remedy, changes=(Change("smooth", None),)),)


def left_out_findings(
    hidden_area: float, ground: Ground, region_wall_limit: float, flat_minutes: MinutesOnFlats, region_flat_margin: float
) -> tuple[Finding, ...]:
    """What no path goes over."""
    found = []
    if hidden_area > SMALL_AREA:
        sentence = Message("{area:.0f} mm² of the body are undercut: neither side can reach them.", area=hidden_area)
        found.append(Finding("undercut", sentence, Message("They are left out; finish them by hand.")))
    if ground.wall_area > SMALL_AREA:
        sentence = Message("{area:.0f} mm² are {limit:g} degrees or steeper and are left out.", area=ground.wall_area, limit=region_wall_limit)
        found.append(Finding("walls", sentence, Message("They are work for a flat cutter.")))
    found += left_flat_findings(ground.flats, flat_minutes, region_flat_margin)
    for opening in ground.openings:
        found.append(Finding("opening", treated_opening_words(opening), place=opening.place))
    return tuple(found)


def level_findings(flats: tuple[Flat, ...], flat_minutes: MinutesOnFlats) -> tuple[Finding, ...]:
    """Level ground that is planned."""
    return tuple(flat_findings(flats, flat_minutes))


def first_side_findings(side: str, job_triangles: FloatArray, stock_box: StockBox, stock_first_side: str) -> tuple[Finding, ...]:
    """Which side had better be cut first."""
    return side_order_findings(side_order_of(side, job_triangles, stock_box), stock_first_side) if side == stock_first_side else ()


def measured_findings(measured: tuple[str, ...]) -> tuple[Finding, ...]:
    """Which values come from a test coupon."""
    if not measured:
        return ()
    names = {
        "cutter": word("diameter of the cutter"), "zero": word("zero of Z"), "minutes": word("minutes of the run"), "cusp": word("cusp height"),
    }  # fmt: skip
    known = tuple(names[name] for name in MEASURED if name in measured)
    return (Finding("measured", Message("Measured on a test coupon: {known}.", known=known)),)


def logged_findings(experience: Experience) -> tuple[Finding, ...]:
    """What is taken over from logged runs of the same machine, cutter and wood."""
    if experience.time_factor is None:
        return ()
    sentence = Message(
        "Runs of this machine, cutter and wood that were logged: {runs}. Minutes are {factor:.3f} times the plain estimate, their median.",
        runs=experience.runs,
        factor=experience.time_factor,
    )
    found = [Finding("logged-minutes", sentence)]
    if experience.grit is not None:
        sentence = Message(
            "Runs of this machine, cutter and wood with about this cusp height that were logged with their grit: {runs}. Sanding starts with "
            "grit {grit}, their median.",
            runs=experience.grit_runs,
            grit=experience.grit,
        )
        found.append(Finding("logged-grit", sentence))
    if experience.remark:
        found.append(Finding("logged-remark", Message("The last remark in the log: {remark}", remark=experience.remark)))
    return tuple(found)


STAGES = (
    fit_findings, missing_cutter_findings, true_cutter_findings,
    free_findings, unroughed_findings, load_findings, gouge_findings, stock_and_zero_findings, dowels_findings, keep_out_box_findings, entry_findings,
    lying_findings, strays_findings, rough_mesh_findings, left_out_findings, level_findings, logged_findings, measured_findings, first_side_findings,
)  # fmt: skip
