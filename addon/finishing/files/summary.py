"""A plan in a few lines of text."""

from __future__ import annotations

import numpy as np

from ..core.path import CUT, LIFT
from ..job.cautions import CAUTIONS
from ..job.wood import wood_named
from ..options.sanding import sanding_after
from ..planning.result import Plan


def summary(plan: Plan) -> str:
    """What the command line prints: size, rack table, choice, passes, time, proof and findings."""
    request = plan.request
    size = " x ".join(f"{value:.1f}" for value in request.body.size)
    lines = [f"{request.body.name}, {request.side} side: {size} mm, {len(request.body.triangles)} triangles"]
    lines.append(f"Planned ground {plan.ground.planned_area / 100:.0f} cm2, cell {request.cell:g} mm")
    if plan.rack:
        lines += ["", f"{'cutter mm':>10} {'fits':>5} {'hollow R mm':>12} {'uncut mm2':>10} {'uncut mm':>9} {'least m':>8} {'least min':>10}"]
        for row in plan.rack:
            hollow = "none" if row.hollow_radius is None else f"{row.hollow_radius:.2f}"
            fits = "yes" if row.fits else "no"
            lines.append(
                f"{row.cutter.diameter:>10g} {fits:>5} {hollow:>12} {row.uncut_area:>10.1f} {row.uncut_height:>9.3f} "
                f"{row.least_length / 1000:>8.1f} {row.minutes:>10.1f}"
            )
    if plan.largest is not None:
        place = "" if plan.largest.place is None else " (stopped at x {:.1f}, y {:.1f})".format(*plan.largest.place[:2])
        more = "at least " if plan.largest.is_bound else ""
        lines.append(f"Largest radius that fits: {more}{plan.largest.radius:.2f} mm{place}")
    proof, cut = plan.proof, plan.path.length_of(CUT)
    percentiles, (low, high) = dict(proof.cusp_percentiles), plan.run_time.range_minutes
    lines += [
        "",
        f"Cutter {plan.cutter.name}, cusp {request.cusp:g} mm, start {plan.start}",
        f"{plan.path.line_count} pass lines, {cut / 1000:.2f} m of cuts ({cut / plan.least_length:.3f} x the least possible "
        f"{plan.least_length / 1000:.2f} m), {int((plan.path.kind == LIFT).sum())} lifts",
        f"Run time {plan.run_time.minutes:.1f} minutes, between {low:.1f} and {high:.1f} ({plan.run_time.reason[:-1].lower()})",
        f"Simulated cusp: half of the ground <= {percentiles[50.0]:.4f}, 99.9 % <= {percentiles[99.9]:.4f}, all <= {percentiles[100.0]:.4f} mm",
        f"Simulated gouge: at most {proof.worst_gouge:.4f} mm",
        str(sanding_after(request.cusp, plan.ground.planned_area).words),
    ]
    if len(plan.bite.chip):
        bite, wood = plan.bite, wood_named(request.bite.wood)
        lines.append(
            f"Bite in {wood.name}: at most {bite.engagement.depth.max():.1f} mm deep, chips of {np.median(bite.chip):.3f} mm, "
            f"{bite.chip.max():.3f} at most ({wood.least_chip:g} to {wood.greatest_chip:g} mm in full cuts), the tip bends by "
            f"{bite.bend.max():.4f} mm at most"
        )
    if plan.budget is not None:
        lines.append(str(plan.budget.words))
    if plan.findings:
        lines.append("")
        lines += [f"- {finding.words}" for finding in plan.findings]
    lines += ["", CAUTIONS[-1]]
    return "\n".join(lines)
