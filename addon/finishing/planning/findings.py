"""What a plan has to tell its user, gathered from its results."""

from __future__ import annotations

import numpy as np

from ..core.finding import Finding
from ..core.grid import FloatArray, Grid
from ..core.masks import Mask, grown
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
    if fit.fits:
        if fit.area <= 0:
            return []
        return [Finding(
            "hollows-left",
            f"The {plan.cutter.diameter:g} mm cutter leaves {fit.area:.0f} mm2 higher than {settings.uncut_height:g} mm, "
            f"{fit.height:.2f} mm at most; you tolerate {settings.uncut_area:g} mm2.",
            "A smaller cutter reaches more of it.", fit.place,
        )]  # fmt: skip
    radius = plan.largest.radius if plan.largest is not None else None
    would_do = f"A radius of {radius:.2f} mm would do." if radius else "No radius that was tried would do."
    nothing = bool(plan.rack) and not any(row.fits for row in plan.rack)
    which = "No cutter on the rack fits the whole planned ground" if nothing else "The cutter does not fit the whole planned ground"
    return [Finding(
        "no-cutter-fits" if nothing else "cutter-too-large",
        f"{which}: the {plan.cutter.diameter:g} mm one leaves {fit.area:.0f} mm2 higher than {settings.uncut_height:g} mm, "
        f"up to {fit.height:.2f} mm.",
        would_do + " Skip the hollow, tolerate more, or take a smaller cutter.", fit.place, must_see=True,
    )]  # fmt: skip


def _free(plan: Plan) -> list[Finding]:
    return clearance_findings(plan.contacts, plan.cutter, plan.request.roughing.slot)


def _bite(plan: Plan) -> list[Finding]:
    """Bite and spindle speed against their limits."""
    machine, cutter = plan.request.machine, plan.cutter
    found = bite_findings(plan.bite, plan.request.bite)
    if not machine.spindle_least <= cutter.spindle_speed <= machine.spindle_greatest:
        found.append(Finding(
            "spindle-speed", f"The cutter's spindle speed of {cutter.spindle_speed:.0f} 1/min lies outside the machine's "
            f"{machine.spindle_least:.0f} to {machine.spindle_greatest:.0f}.",
            "Set a speed that the machine has and the cutter's maker allows.", must_see=True,
        ))  # fmt: skip
    return found


def _gouge(plan: Plan) -> list[Finding]:
    limit = plan.request.chord_tolerance
    if plan.proof.worst_gouge <= limit:
        return []
    return [Finding(
        "gouge", f"The simulated cut runs {plan.proof.worst_gouge:.4f} mm below the body, more than {limit:g} mm.",
        "Use a finer cell or a smaller chord tolerance.", plan.proof.worst_gouge_place, must_see=True,
    )]  # fmt: skip


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
        found.append(Finding(
            "undercut", f"{plan.hidden_area:.0f} mm2 of the body are undercut: neither side can reach them.",
            "They are left out; finish them by hand.",
        ))  # fmt: skip
    if ground.wall_area > SMALL_AREA:
        found.append(Finding(
            "walls", f"{ground.wall_area:.0f} mm2 are as steep as {plan.request.region.wall_limit:g} degrees or steeper and left out.",
            "They are work for a flat cutter.",
        ))  # fmt: skip
    for opening in ground.openings:
        treated = {"skip": "left out", "bridge": "bridged", "follow": "followed"}[opening.treatment]
        depth = "through" if opening.depth is None else f"{opening.depth:.1f} mm deep"
        found.append(Finding(
            "opening", f"Opening {opening.number}, a {opening.kind} {opening.width:.1f} mm wide and {depth}, is {treated}.",
            place=opening.place,
        ))  # fmt: skip
    return found
