"""Finish and passes, wood and roughing, time."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message, word
from ..finishing.job.cautions import CAUTIONS
from ..finishing.job.wood import wood_named
from ..finishing.planning.budget import BudgetAnswer
from ..scene.active import active_settings, plan_of, results_of
from ..scene.blender_data import present
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from .language import in_users_language, interface_word
from .panel_parts import MorePanel, RowList, TabPanel, apply_button, beside, letters_per_line, list_buttons, optional, paragraph, value

MEASURES_SHOWN = 4
"""Measures against a missed time budget that are listed, the best ones first."""


class FINISHING_PT_passes(TabPanel):
    """Finish: how fine the pass lines leave the surface."""

    bl_label = "Finish"
    bl_idname = "FINISHING_PT_passes"
    bl_order = 2

    def draw(self, context: bpy.types.Context) -> None:
        """Coarse, normal or fine, or the cusp height or the spacing itself."""
        layout, body = present(self.layout), active_settings(context)
        column = layout.column(align=True)
        if body.use_budget and body.meet_budget:
            paragraph(column, in_users_language(Message("The time budget says how fine")), letters_per_line(context), "TIME")
            column = layout.column(align=True)
            column.active = False
        value(column, context, body, "finish")
        if body.use_fixed_spacing:
            value(column, context, body, "fixed_spacing")
        else:
            value(column, context, body, "cusp")
            value(column, context, body, "spacing")


class FINISHING_PT_passes_more(MorePanel):
    """How pass lines are laid."""

    bl_idname = "FINISHING_PT_passes_more"
    bl_parent_id = "FINISHING_PT_passes"

    def draw(self, context: bpy.types.Context) -> None:
        """Where lines are laid from, angle, grain, cutting way, rims and feed."""
        layout, body = present(self.layout), active_settings(context)
        value(layout, context, body, "lines_from")
        optional(layout, context, body, "use_line_angle", "line_angle")
        optional(layout, context, body, "use_grain", "grain_angle")
        if body.use_grain:
            value(layout, context, body, "grain_share")
        for name in ("cutting_way", "ramp_angle", "rim_pass"):
            value(layout, context, body, name)
        plan = plan_of(context)
        if plan is not None:
            words = Message("Rims: {length:.1f} m, about {minutes:.1f} minutes", length=plan.rim.length / 1000, minutes=plan.rim.minutes)
            layout.label(text=in_users_language(words), translate=False)
        optional(layout, context, body, "use_feed", "feed")


class FINISHING_PT_accuracy(TabPanel):
    """How exactly pass lines follow the body."""

    bl_label = "Accuracy"
    bl_idname = "FINISHING_PT_accuracy"
    bl_parent_id = "FINISHING_PT_passes_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """Cell and chord tolerance."""
        layout, body = present(self.layout), active_settings(context)
        for name in ("cell", "chord_tolerance"):
            value(layout, context, body, name)


class FINISHING_PT_bite(TabPanel):
    """Wood, and what roughing leaves."""

    bl_label = "Wood and Roughing"
    bl_idname = "FINISHING_PT_bite"
    bl_parent_id = "FINISHING_PT_body_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """Wood, what roughing leaves, and the worst bite of the plan."""
        layout, body = present(self.layout), active_settings(context)
        value(layout, context, body, "wood")
        value(layout, context, body, "tip_bend_limit")
        layout.prop(body, "lower_feed")
        value(layout, context, body, "stock_object")
        column = layout.column()
        column.active = body.stock_object is None
        value(column, context, body, "allowance")
        value(column, context, body, "roughing_diameter")
        optional(column, context, body, "use_terrace_height", "terrace_height")
        optional(column, context, body, "use_channel_width", "channel_width")
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
    bl_order = 4

    def draw(self, context: bpy.types.Context) -> None:
        """The minutes that the side may take."""
        layout, body = present(self.layout), active_settings(context)
        optional(layout, context, body, "use_budget", "budget_minutes")
        if body.use_budget:
            layout.prop(body, "meet_budget")


class FINISHING_PT_time_more(MorePanel):
    """What would meet the budget, and what the machine has really taken."""

    bl_idname = "FINISHING_PT_time_more"
    bl_parent_id = "FINISHING_PT_time"

    def draw(self, context: bpy.types.Context) -> None:
        """The answer to the time budget, the chart of minutes, and a measured run."""
        layout, results, plan = present(self.layout), results_of(context), plan_of(context)
        layout.operator("finishing.measured_run", icon="TIME")
        layout.operator("finishing.log_run", icon="TEXT")
        row = beside(layout, context, [interface_word("Write Test Coupon"), interface_word("Enter Coupon")], icon=True)
        row.operator("finishing.write_coupon", icon="FILE_TICK")
        row.operator("finishing.take_coupon", icon="IMPORT")
        if active_settings(context).measured:
            layout.prop(active_settings(context), "measured")
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
    bl_parent_id = "FINISHING_PT_time_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """The list of other operations, and the values of the active one."""
        layout, body = present(self.layout), active_settings(context)
        row = layout.row()
        row.template_list("FINISHING_UL_elsewhere", "", body, "elsewhere", body, "active_elsewhere", rows=3)
        list_buttons(row.column(align=True), "elsewhere")
        if body.active_elsewhere < len(body.elsewhere):
            for name in ("cutter", "minutes", "side", "place", "stick_out", "z_zero"):
                value(layout, context, body.elsewhere[body.active_elsewhere], name)


CLASSES = (
    FINISHING_PT_passes,
    FINISHING_PT_passes_more,
    FINISHING_PT_accuracy,
    FINISHING_PT_bite,
    FINISHING_PT_time,
    FINISHING_PT_time_more,
    FINISHING_UL_elsewhere,
    FINISHING_PT_elsewhere,
)
