"""A plan in a few lines of text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from ..core.cusp_formulas import spacing_on_flat
from ..core.path import CUT, LIFT, entry_counts
from ..job.cautions import CAUTIONS
from ..job.cutter import taper_words
from ..job.cutter_names import name_on_rack
from ..job.wood import wood_named
from ..options.fit_table import RackRow
from ..planning.program_words import program_words
from ..planning.result import Plan
from ..planning.standing_words import standing_words
from .plan_programs import finishing_program
from .setting_labels import keys_named
from .tab_tables import tab_lines

TABLE_NAME, TABLE_SET = 10, 14
"""Letters of the first columns of the tables of cutters and sets; where names of cutters are longer, those count."""


def summary(plan: Plan) -> str:
    """What the command line prints: size, rack table, choice, passes, time, proof and findings."""
    lines = [*_body(plan), *_rack_table(plan.rack), *_largest(plan), *_sets(plan), "", *_passes(plan), *_bite(plan), *tab_lines(plan)]
    if plan.budget is not None:
        lines.append(str(plan.budget.words))
    if plan.findings:
        lines.append("")
        lines += [f"- {finding.words}" for finding in plan.findings]
        keys = keys_named(str(finding.words) for finding in plan.findings)
        lines += [keys] if keys else []
    return "\n".join([*lines, "", CAUTIONS[-1]])


def sanding_text(plans: Sequence[Plan]) -> str:
    """The one advice for sanding of every side, a line for all of it and one for each kind of ground."""
    lines = []
    for plan in plans:
        if plan.request.remaining is None:
            lines.append(f"{plan.request.side.capitalize()} side. {plan.sanding.words}")
            lines += [f"  {words}" for words in plan.sanding.area_words]
    return "\n".join(lines)


def _body(plan: Plan) -> list[str]:
    """Name, side, size and planned ground."""
    request = plan.request
    size = " x ".join(f"{value:.1f}" for value in plan.body.size)
    return [
        f"{request.body.name}, {request.side} side: {size} mm, {len(request.body.triangles)} triangles",
        f"Planned surface {plan.ground.planned_area / 100:.0f} cm², cell {request.cell:g} mm",
    ]


def _rack_table(rack: Sequence[RackRow]) -> list[str]:
    """What every cutter of the rack would do, a line each, under an empty line; nothing without a rack."""
    if not rack:
        return []
    names = [name_on_rack(row.cutter, [each.cutter for each in rack]) for row in rack]
    width = max(TABLE_NAME, *map(len, names))
    lines = ["", f"{'cutter mm':>{width}} {'fits':>5} {'hollow R mm':>12} {'uncut mm²':>10} {'uncut mm':>9} {'at least, m':>12} {'at least, min':>14}"]
    for name, row in zip(names, rack, strict=True):
        hollow = "none" if row.hollow_radius is None else f"{row.hollow_radius:.2f}"
        fits = "yes" if row.fits else "no"
        lines.append(
            f"{name:>{width}} {fits:>5} {hollow:>12} {row.uncut_area:>10.1f} {row.uncut_height:>9.3f} "
            f"{row.least_length / 1000:>12.1f} {row.minutes:>14.1f}"
        )
    return lines


def _sets(plan: Plan) -> list[str]:
    """The sets of cutters worth a look, a line each, the best first and marked; then the cutters that would touch something on their way."""
    if plan.sets is None:
        return []
    width = max(TABLE_SET, *(len(row.name) for row in plan.sets.rows))
    lines = ["", f"{'cutters mm':>{width}} {'minutes':>10} {'changes':>8} {'uncut mm²':>9} {'uncut mm':>8}"]
    for number, row in enumerate(plan.sets.rows):
        mark = "  soonest" if number == 0 else "" if row.enough else "  leaves too much"
        lines.append(f"{row.name:>{width}} {row.minutes_words!s:>10} {row.changes:>8} {row.left_area:>9.1f} {row.left_height:>8.3f}{mark}")
    return [*lines, *(str(words) for words in plan.sets.kept_out_words)]


def _largest(plan: Plan) -> list[str]:
    """The largest radius that fits, where it was looked for."""
    if plan.largest is None:
        return []
    place = "" if plan.largest.place is None else " (stopped at x {:.1f}, y {:.1f})".format(*plan.largest.place[:2])
    bound = "at least " if plan.largest.is_bound else ""
    return [f"Largest cutter that fits: {bound}{2 * plan.largest.radius:.1f} mm (R {plan.largest.radius:.2f}){place}"]


def _passes(plan: Plan) -> list[str]:
    """Cutter and where lines are laid from, lengths, run time, simulated cut and sanding."""
    request, proof, path, run = plan.request, plan.proof, plan.path, plan.run_time
    cut = path.length_of(CUT)
    low, high = run.range_minutes
    return [
        f"Cutter {plan.cutter.name}{_as_measured(plan)}, cusp {request.cusp:.4g} mm, pass lines {plan.start}",
        *_spacing(plan),
        f"{path.line_count} pass lines, {cut / 1000:.2f} m ({cut / plan.least_length:.3f} x the least possible "
        f"{plan.least_length / 1000:.2f} m), {int((path.kind == LIFT).sum())} lifts",
        "Entries: {beside} beside the work, {ramped} on ramps, {straight} straight down".format(**asdict(entry_counts(path))),
        f"Run time {run.minutes:.1f} minutes, between {low:.1f} and {high:.1f} ({str(run.reason)[:-1].lower()})",
        *_program(plan),
        *(str(words) for words in standing_words(proof)),
        f"Simulated gouge: at most {proof.worst_gouge:.4f} mm",
    ]


def _as_measured(plan: Plan) -> str:
    """What the cutter cuts, where that is not its name's diameter, and its taper."""
    cutter = plan.cutter
    measured = "" if cutter.cutting_diameter == cutter.diameter else f" (cuts {cutter.cutting_diameter:g} mm, as measured)"
    taper = taper_words(cutter)
    return measured if taper is None else f"{measured} (taper {taper})"


def _program(plan: Plan) -> list[str]:
    """How heavy the program is for a control, and what that costs."""
    return [str(words) for words in program_words(plan, len(finishing_program(plan, "mm")))]


def _spacing(plan: Plan) -> list[str]:
    """The spacing that the cusp height means on flat ground, and those that the lines have."""
    flat = float(spacing_on_flat(plan.cutter.radius, plan.request.cusp))
    words = f"Spacing on a flat surface {flat:.2f} mm"
    if plan.line_spacing is None:
        return [words]
    own = plan.line_spacing
    return [f"{words}; between the lines {own.least:.2f} at least, usually {own.usual:.2f}, {own.greatest:.2f} at most"]


def _bite(plan: Plan) -> list[str]:
    """The bite at the feed, where anything is cut."""
    bite, wood = plan.bite, wood_named(plan.request.bite.wood)
    usual = bite.usual_chip
    if usual is None:
        return []
    return [
        f"Bite in {wood.name}: at most {bite.engagement.depth.max():.1f} mm deep, chips of {usual:.3f} mm, "
        f"{bite.chip.max():.3f} at most ({wood.least_chip:g} to {wood.greatest_chip:g} mm in full cuts), the tip bends by "
        f"{bite.bend.max():.4f} mm at most"
    ]
