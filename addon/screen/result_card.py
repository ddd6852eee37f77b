"""What the result card says of a plan, and what comes next: messages made of what is kept, nothing is worked out."""

from __future__ import annotations

from collections.abc import Sequence

from ..finishing.core.cusp_formulas import cusp_on_flat
from ..finishing.core.message import Message
from ..finishing.job.cutter import Cutter
from ..finishing.job.cutter_names import shares_diameter, size_words
from ..finishing.options.trade_off import expected_minutes
from ..finishing.planning.result import Plan
from ..finishing.planning.smaller_cutters import total_minutes
from ..scene.body_settings import FinishingBody
from ..scene.finish_choice import GREATEST_SPACING_SHARE
from ..scene.results import BodyResults


def minutes_of(plans: Sequence[Plan]) -> float:
    """Minutes of a side's plans with the tool changes between them."""
    return total_minutes(tuple(plans))


def meets_budget(plans: Sequence[Plan]) -> bool:
    """Whether a side keeps to its time budget; true without one."""
    budget = plans[0].budget
    return budget is None or minutes_of(plans) <= budget.for_finishing


def minutes_words(plans: Sequence[Plan]) -> Message:
    """Minutes of a side, against what its budget leaves for finishing where there is one."""
    minutes, budget = minutes_of(plans), plans[0].budget
    top = plans[0].request.side == "top"
    if budget is None:
        return Message("Top: {minutes:.1f} min", minutes=minutes) if top else Message("Back: {minutes:.1f} min", minutes=minutes)
    values = {"minutes": minutes, "budget": max(budget.for_finishing, 0.0)}
    return Message("Top: {minutes:.1f} of {budget:.1f} min", **values) if top else Message("Back: {minutes:.1f} of {budget:.1f} min", **values)


def cutters_words(plans: Sequence[Plan]) -> Message:
    """The cutters of a side in their running order."""
    rack = plans[0].request.rack
    diameters = [plan.cutter.diameter for plan in plans]
    if len(diameters) == 1:
        return Message("Cutter {size}", size=size_words(plans[0].cutter, rack))
    if any(shares_diameter(plan.cutter, rack) for plan in plans):
        return Message("Cutters {cutters}", cutters=tuple(size_words(plan.cutter, rack) for plan in plans))
    if len(diameters) == 2:
        return Message("Cutters {first:g} and {second:g} mm", first=diameters[0], second=diameters[1])
    return Message("Cutters {first:g}, {second:g} and {third:g} mm", first=diameters[0], second=diameters[1], third=diameters[2])


def cusp_words(plan: Plan) -> Message:
    """What stands between the lines and along the borders."""
    border = dict(plan.proof.border_percentiles)[100.0]
    return Message("Cusp {cusp:.3f} mm, borders {border:.3f}", cusp=plan.proof.worst_cusp, border=border)


def left_words(plans: Sequence[Plan]) -> Message:
    """What the last cutter of a side leaves."""
    last = plans[-1]
    if last.fit.area <= 0:
        return Message("Nothing uncut above {height:g} mm", height=last.request.fit.uncut_height)
    return Message("Uncut: {area:.0f} mm², up to {height:.2f} mm", area=last.fit.area, height=last.fit.height)


def expected_words(results: BodyResults, settings: FinishingBody, rack: Sequence[Cutter]) -> Message | None:
    """Minutes to expect as the dials stand now, from the least length of the plan that is there; None where its rack knows no such cutter."""
    plan = results.plans[0]
    name = settings.cutter_name or plan.cutter.name
    row = next((row for row in results.rack if row.cutter.name == name), None)
    cutter = next((cutter for cutter in rack if cutter.name == name), None)
    if row is None or cutter is None:
        return None
    cusp = settings.cusp_mm
    if settings.use_fixed_spacing:
        cusp = float(cusp_on_flat(cutter.radius, min(settings.fixed_spacing_mm, GREATEST_SPACING_SHARE * cutter.radius)))
    feed = settings.feed if settings.use_feed else cutter.feed
    return Message("As set now: about {minutes:.1f} min", minutes=expected_minutes(row, cusp, feed, plan.overhead))


def missing_map_words(results: BodyResults, name: str, fit_cutter: str) -> Message | None:
    """Why a chosen map is not there; None where it is, and where none is chosen."""
    plan = results.plan
    if name in ("uncut", "cusp", "finished") and plan is None:
        return Message("Plan first: this map shows what the plan leaves")
    if name == "finished" and results.finish is None:
        return Message("Press Show Finished Surface: it makes this map")
    known = {cutter.name for cutter in results.fit_maps} | ({"", plan.cutter.name} if plan is not None else set())
    if name == "fit" and fit_cutter not in known:
        return Message("Press a cutter's diameter under Cutters, More")
    return None


def next_step(results: BodyResults, state: str) -> Message:
    """What to do next. state: as BodyResults.state says it."""
    if state == "shape":
        return Message("The body has changed: plan again")
    if state == "settings":
        return Message("A setting has changed: plan again")
    if len({plan.request.side for plan in results.job()}) > 1:
        return Message("Next: export both sides")
    if results.plans[0].request.side == "top":
        return Message("Next: export, or plan the back too")
    return Message("Next: export, or plan the top too")
