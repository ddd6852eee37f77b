"""What a plan has to tell its user, gathered from its results."""

from __future__ import annotations

import numpy as np

from ..core.finding import Finding
from ..core.grid import FloatArray, Grid
from ..core.masks import Mask, grown
from ..core.message import Message, word
from ..job.dowels import dowel_findings
from ..job.keep_out import keep_out_findings
from ..job.turning import stock_findings
from ..options.flats import flat_findings
from ..options.grain import grain_findings
from ..tooling.bite import bite_findings
from ..tooling.clearance import clearance_findings
from .budget import budget_findings
from .result import Plan

SMALL_AREA = 1.0
"""mm2; less undercut than this is not worth a word."""


def findings_of(plan: Plan) -> tuple[Finding, ...]:
    """All findings of a plan, those that must be seen first."""
    if plan.request.rest is not None:  # the larger cutter's plan has told the rest
        found = [*_fit(plan), *_gouge(plan), *_free(plan), *_bite(plan), *_stock(plan)]
        return tuple(sorted(found, key=lambda finding: not finding.must_see))
    found = [
        *_fit(plan), *budget_findings(plan), *_gouge(plan), *_free(plan), *_bite(plan), *_stock(plan),
        *grain_findings(plan.grain), *_left_out(plan), *flat_findings(plan.flats),
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda finding: not finding.must_see))


def _fit(plan: Plan) -> list[Finding]:
    fit, settings = plan.fit, plan.request.fit
    left = {"diameter": plan.cutter.diameter, "area": fit.area, "tolerance": settings.uncut_height, "worst": fit.height}
    if fit.fits:
        if fit.area <= 0:
            return []
        sentence = Message(
            "The {diameter:g} mm cutter leaves {area:.0f} mm² standing more than {tolerance:g} mm proud, {worst:.2f} mm at worst; "
            "you tolerate {tolerated:g} mm².",
            tolerated=settings.uncut_area,
            **left,
        )
        return [Finding("hollows-left", sentence, Message("A smaller cutter reaches more of it."), fit.place)]
    remedy = Message("No radius that was tried would fit. Skip the hollow, tolerate more, or take a smaller cutter.")
    if plan.largest is not None and plan.largest.radius:
        remedy = Message("A radius of {radius:.2f} mm would fit. Skip the hollow, tolerate more, or take a smaller cutter.", radius=plan.largest.radius)
    if plan.rack and not any(row.fits for row in plan.rack):
        sentence = Message(
            "No cutter on the rack fits the whole of the planned ground: the {diameter:g} mm cutter leaves {area:.0f} mm² standing "
            "more than {tolerance:g} mm proud, {worst:.2f} mm at worst.",
            **left,
        )
        return [Finding("no-cutter-fits", sentence, remedy, fit.place, must_see=True)]
    sentence = Message(
        "The cutter does not fit the whole of the planned ground: the {diameter:g} mm cutter leaves {area:.0f} mm² standing "
        "more than {tolerance:g} mm proud, {worst:.2f} mm at worst.",
        **left,
    )
    return [Finding("cutter-too-large", sentence, remedy, fit.place, must_see=True)]


def _free(plan: Plan) -> list[Finding]:
    return clearance_findings(plan.contacts, plan.cutter, plan.request.roughing.slot)


def _bite(plan: Plan) -> list[Finding]:
    """Bite and spindle speed against their limits."""
    machine, cutter = plan.request.machine, plan.cutter
    found = bite_findings(plan.bite, plan.request.bite)
    if not machine.spindle_least <= cutter.spindle_speed <= machine.spindle_greatest:
        sentence = Message(
            "The cutter's spindle speed of {speed:.0f} 1/min lies outside the machine's {least:.0f} to {greatest:.0f} 1/min.",
            speed=cutter.spindle_speed,
            least=machine.spindle_least,
            greatest=machine.spindle_greatest,
        )
        remedy = Message("Set a speed that the machine can run and the cutter's maker allows.")
        found.append(Finding("spindle-speed", sentence, remedy, must_see=True))
    return found


def _gouge(plan: Plan) -> list[Finding]:
    limit = plan.request.chord_tolerance
    if plan.proof.worst_gouge <= limit:
        return []
    sentence = Message("The simulated cut goes {depth:.4f} mm below the body, more than {limit:g} mm.", depth=plan.proof.worst_gouge, limit=limit)
    remedy = Message("Use a finer cell or a smaller chord tolerance.")
    return [Finding("gouge", sentence, remedy, plan.proof.worst_gouge_place, must_see=True)]


def _stock(plan: Plan) -> list[Finding]:
    request, side = plan.request, plan.request.side
    found = stock_findings(plan.stock, side, plan.body, plan.path)
    outline = points_of_body(plan.heights > -np.inf, plan.grid) if request.dowels.count else np.zeros((0, 2))
    low = plan.path.points[plan.path.points[:, 2] <= plan.body.high[2] + 1e-6, :2]
    found += dowel_findings(request.dowels, plan.stock, side, low, outline, plan.cutter.radius, request.keep_out)
    return found + keep_out_findings(plan.path, plan.cutter.radius, request.keep_out)


def points_of_body(body: Mask, grid: Grid) -> FloatArray:
    """Points (n, 2) of a body's cells: its whole border, and inside so many that no dowel fits between them, one a mm or a cell."""
    shown = body & grown(~body, grid.cell, grid.cell)
    step = max(1, int(INSIDE_STEP / grid.cell))
    shown[::step, ::step] = body[::step, ::step]
    return grid.middles(*np.nonzero(shown))


INSIDE_STEP = 1.0
"""mm between the points that stand for a body's inside."""


def _left_out(plan: Plan) -> list[Finding]:
    ground, found = plan.ground, []
    if plan.hidden_area > SMALL_AREA:
        sentence = Message("{area:.0f} mm² of the body are undercut: neither side can reach them.", area=plan.hidden_area)
        found.append(Finding("undercut", sentence, Message("They are left out; finish them by hand.")))
    if ground.wall_area > SMALL_AREA:
        sentence = Message(
            "{area:.0f} mm² are {limit:g} degrees or steeper and are left out.", area=ground.wall_area, limit=plan.request.region.wall_limit
        )
        found.append(Finding("walls", sentence, Message("They are work for a flat cutter.")))
    for opening in ground.openings:
        treated = {"skip": Message("left out"), "bridge": Message("bridged"), "follow": Message("followed")}[opening.treatment]
        size = {"number": opening.number, "width": opening.width, "treated": treated}
        sentence = Message("Opening {number}, a through hole {width:.1f} mm wide, is {treated}.", **size)
        if opening.depth is not None:
            sentence = Message(
                "Opening {number}, a {kind} {width:.1f} mm wide and {depth:.1f} mm deep, is {treated}.",
                kind=word(opening.kind),
                depth=opening.depth,
                **size,
            )
        found.append(Finding("opening", sentence, place=opening.place))
    return found
