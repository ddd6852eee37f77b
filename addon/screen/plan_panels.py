"""Passes, time, playing the run."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message, word
from ..finishing.job.cautions import CAUTIONS
from ..finishing.job.wood import wood_named
from ..finishing.planning.budget import BudgetAnswer
from ..finishing.planning.result import Plan
from ..finishing.planning.smaller_cutters import total_minutes
from ..finishing.planning.standing_words import short_border_words
from ..scene.active import active_settings, active_shop, plan_of, results_of
from ..scene.blender_data import present
from ..scene.body_settings import FinishingBody
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from .language import in_users_language
from .panel_parts import RowList, TabPanel, apply_button, letters_per_line, list_buttons, optional, paragraph, split

MEASURES_SHOWN = 4
"""Measures against a missed time budget that are listed, the best ones first."""


class FINISHING_PT_passes(TabPanel):
    """Passes."""

    bl_label = "Passes"
    bl_idname = "FINISHING_PT_passes"

    def draw(self, context: bpy.types.Context) -> None:
        """Cutter, cusp height, start and feed."""
        layout = split(present(self.layout))
        body = active_settings(context)
        layout.prop_search(body, "cutter_name", active_shop(context), "cutters", text="Cutter")
        if body.cutter_name:
            layout.prop(body, "following_cutters")
        layout.prop(body, "smaller_cutters")
        if body.smaller_cutters:
            layout.prop(body, "rest_overlap")
        _draw_fineness(layout, body)
        layout.prop(body, "start")
        optional(layout, body, "use_start_angle", "start_angle")
        optional(layout, body, "use_grain", "grain_angle")
        if body.use_grain:
            layout.prop(body, "grain_share")
        layout.prop(body, "direction")
        layout.prop(body, "ramp_angle")
        layout.prop(body, "rim_pass")
        plan = plan_of(context)
        if plan is not None:
            words = Message("Rims: {length:.1f} m, about {minutes:.1f} minutes", length=plan.rim.length / 1000, minutes=plan.rim.minutes)
            layout.label(text=in_users_language(words), translate=False)
        optional(layout, body, "use_feed", "feed")
        layout.prop(body, "cell")
        row = layout.row()
        row.scale_y = 1.4
        row.operator("finishing.plan", icon="PLAY")


def _draw_fineness(layout: bpy.types.UILayout, body: FinishingBody) -> None:
    """Cusp height, or spacing in its place; or the minutes that say both."""
    ordered = body.use_budget and body.meet_budget
    if ordered:
        layout.label(text="The time budget says how fine", icon="TIME")
    column = layout.column(align=True)
    column.active = not ordered
    if body.use_fixed_spacing:
        column.prop(body, "fixed_spacing")
    else:
        column.prop(body, "cusp")
        column.prop(body, "spacing")
    column.prop(body, "use_fixed_spacing")


class FINISHING_PT_bite(TabPanel):
    """Wood, and what roughing leaves."""

    bl_label = "Wood and Roughing"
    bl_idname = "FINISHING_PT_bite"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """Wood, what roughing leaves, and the worst bite of the plan."""
        layout = split(present(self.layout))
        body = active_settings(context)
        layout.prop(body, "wood")
        layout.prop(body, "greatest_bend")
        layout.prop(body, "lower_feed")
        layout.prop(body, "stock_object")
        column = layout.column()
        column.active = body.stock_object is None
        column.prop(body, "allowance")
        column.prop(body, "roughing_diameter")
        optional(column, body, "use_step_down", "step_down")
        optional(column, body, "use_slot_width", "slot_width")
        words = _bite_words(results_of(context))
        if words is not None:
            paragraph(layout, in_users_language(words), letters_per_line(context), "DOT")
        paragraph(layout, in_users_language(word(CAUTIONS[-1])), letters_per_line(context), "INFO")


def _bite_words(results: BodyResults | None) -> Message | None:
    """The worst of the bite of the plan that is looked at; None without one."""
    if results is None or results.plan is None or results.shown_figures is None or results.shown_figures.bite is None:
        return None
    bite, wood = results.shown_figures.bite, wood_named(results.plan.request.bite.wood)
    return Message(
        "Bite at most {depth:.1f} mm deep, chips {chip:.3f} mm ({least:g} to {greatest:g} for {wood}), bend {bend:.3f} mm",
        depth=bite.deepest,
        chip=bite.thickest_chip,
        least=wood.least_chip,
        greatest=wood.greatest_chip,
        wood=word(wood.name),
        bend=bite.greatest_bend,
    )


class FINISHING_PT_time(TabPanel):
    """Time."""

    bl_label = "Time"
    bl_idname = "FINISHING_PT_time"

    def draw(self, context: bpy.types.Context) -> None:
        """Show run time, cuts and proof of the plan, the plans of its cutters, and the answer to the time budget."""
        layout, results, plan = present(self.layout), results_of(context), plan_of(context)
        if results is None or plan is None:
            layout.label(text="Not planned yet")
        else:
            _draw_times(layout.column(align=True), results)
            layout.operator("finishing.measured_run", icon="TIME")
        split(layout)
        body = active_settings(context)
        optional(layout, body, "use_budget", "budget_minutes")
        if body.use_budget:
            layout.prop(body, "meet_budget")
        if plan is not None and plan.budget is not None:
            _draw_budget(layout, plan.budget, letters_per_line(context))
        if results is not None and results.rack:
            layout.prop(view_of(context), "show_trade_off")


def _draw_budget(layout: bpy.types.UILayout, budget: BudgetAnswer, width: int) -> None:
    """The answer to the time budget and the best measures, each with a button that applies it."""
    paragraph(layout, in_users_language(budget.words), width, "TIME")
    if budget.changes:
        apply_button(layout, "budget")
    for number, measure in enumerate(budget.measures[:MEASURES_SHOWN]):
        paragraph(layout, in_users_language(measure.sentence), width - 2, "DOT")
        apply_button(layout, "measure", number)


def _draw_times(column: bpy.types.UILayout, results: BodyResults) -> None:
    """Lines about the plan that is looked at, and a button for the plan of every cutter when there are several."""
    plan, figures = present(results.plan), present(results.shown_figures)
    for words in (
        Message("{minutes:.1f} minutes, within about {share:.0%}", minutes=plan.run_time.minutes, share=plan.run_time.uncertainty),
        Message("{lines} lines, {length:.1f} m", lines=figures.line_count, length=figures.cut_metres),
        *_spacing_words(plan),
        Message("Cusp {cusp:.3f} mm, gouge {gouge:.4f} mm at most", cusp=plan.proof.worst_cusp, gouge=plan.proof.worst_gouge),
        short_border_words(plan.proof),
    ):
        column.label(text=in_users_language(words), translate=False)
    if len(results.plans) == 1:
        return
    for number, each in enumerate(results.plans):
        minutes = each.run_time.minutes
        words = Message("{number}. {diameter:g} mm: {minutes:.1f} min", number=number + 1, diameter=each.cutter.diameter, minutes=minutes)
        text = in_users_language(words)
        present(column.operator("finishing.show_plan", text=text, depress=number == results.shown, translate=False)).number = number
    whole = total_minutes(results.plans, plan.request.machine.tool_change_minutes)
    column.label(text=in_users_language(Message("All: {minutes:.1f} minutes with tool changes", minutes=whole)), translate=False)


def _spacing_words(plan: Plan) -> tuple[Message, ...]:
    """How far the lines of a plan lie apart; nothing where no line has a neighbour."""
    own = plan.line_spacing
    if own is None:
        return ()
    return (Message("Spacing {usual:.2f} mm, {least:.2f} to {greatest:.2f}", usual=own.usual, least=own.least, greatest=own.greatest),)


class FINISHING_PT_sanding(TabPanel):
    """Sanding."""

    bl_label = "Sanding"
    bl_idname = "FINISHING_PT_sanding"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active body is planned."""
        return plan_of(context) is not None

    def draw(self, context: bpy.types.Context) -> None:
        """The one advice for the side: in all, then ground by ground, with buttons that turn the view to hand work."""
        layout, plan = present(self.layout), present(plan_of(context))
        width = letters_per_line(context)
        paragraph(layout, in_users_language(plan.sanding.words), width, "BRUSHES_ALL")
        for area in plan.sanding.areas:
            row = layout.row()
            paragraph(row, in_users_language(area.words), width - (6 if area.place else 1), "DOT")
            if area.place is not None:
                present(row.operator("finishing.look_at", text="", icon="VIEWZOOM", emboss=False)).place = area.place


class FINISHING_UL_elsewhere(RowList):
    """Other operations of the job."""

    def draw_row(self, layout: bpy.types.UILayout, item: bpy.types.PropertyGroup) -> None:
        """Draw name and minutes."""
        row = layout.split(factor=0.6, align=True)
        row.prop(item, "name", text="", emboss=False)
        row.prop(item, "minutes", text="", emboss=False)


class FINISHING_PT_elsewhere(TabPanel):
    """Other operations on the side."""

    bl_label = "Other Operations"
    bl_idname = "FINISHING_PT_elsewhere"
    bl_parent_id = "FINISHING_PT_time"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """The list of other operations, and the values of the active one."""
        layout, body = present(self.layout), active_settings(context)
        row = layout.row()
        row.template_list("FINISHING_UL_elsewhere", "", body, "elsewhere", body, "active_elsewhere", rows=3)
        list_buttons(row.column(align=True), "elsewhere")
        if body.active_elsewhere < len(body.elsewhere):
            column = split(layout.column())
            for name in ("cutter", "minutes", "side", "place", "stick_out", "z_zero"):
                column.prop(body.elsewhere[body.active_elsewhere], name)


class FINISHING_PT_run(TabPanel):
    """Playing the run."""

    bl_label = "Run"
    bl_idname = "FINISHING_PT_run"
    bl_parent_id = "FINISHING_PT_time"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """Play, and the elapsed time."""
        layout = split(present(self.layout))
        view, plan = view_of(context), plan_of(context)
        if plan is None:
            layout.label(text="Not planned yet")
            return
        layout.prop(view, "show_cutter")
        row = layout.row(align=True)
        row.operator("finishing.play", text="Stop" if view.playing else "Play", icon="PAUSE" if view.playing else "PLAY")
        layout.prop(view, "played_share", slider=True)
        layout.prop(view, "play_speed")
        minutes, seconds = divmod(int(view.playhead), 60)
        played = Message("{minutes}:{seconds:02d} of {total:.1f} minutes", minutes=minutes, seconds=seconds, total=plan.run_time.minutes)
        layout.label(text=in_users_language(played), translate=False)


CLASSES = (
    FINISHING_PT_passes,
    FINISHING_PT_bite,
    FINISHING_PT_time,
    FINISHING_PT_sanding,
    FINISHING_UL_elsewhere,
    FINISHING_PT_elsewhere,
    FINISHING_PT_run,
)
