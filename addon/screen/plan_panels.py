"""Passes, time, playing the run."""

from __future__ import annotations

import bpy

from ..finishing.job.wood import wood_named
from ..finishing.planning.smaller_cutters import total_minutes
from ..scene.active import active_settings, active_shop, plan_of, results_of
from ..scene.blender_data import present
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from .panel_parts import RowList, TabPanel, letters_per_line, list_buttons, optional, paragraph, split, translated
from .sentences import in_users_language

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
        layout.prop(body, "smaller_cutters")
        if body.smaller_cutters:
            layout.prop(body, "rest_overlap")
        column = layout.column(align=True)
        column.prop(body, "cusp")
        column.prop(body, "spacing")
        layout.prop(body, "start")
        optional(layout, body, "use_start_angle", "start_angle")
        optional(layout, body, "use_grain", "grain_angle")
        if body.use_grain:
            layout.prop(body, "grain_share")
        layout.prop(body, "direction")
        optional(layout, body, "use_feed", "feed")
        layout.prop(body, "cell")
        row = layout.row()
        row.scale_y = 1.4
        row.operator("finishing.plan", icon="PLAY")


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
        if words:
            paragraph(layout, words, letters_per_line(context), "DOT")
        paragraph(
            layout, translated("Suggestions only: the cutter maker's limits and the machine's manual come first"), letters_per_line(context), "INFO"
        )


def _bite_words(results: BodyResults | None) -> str:
    """The worst of the bite of the plan that is looked at; "" without one."""
    if results is None or results.plan is None or results.shown_figures is None or results.shown_figures.bite is None:
        return ""
    bite, wood = results.shown_figures.bite, wood_named(results.plan.request.bite.wood)
    return translated("Bite at most {:.1f} mm deep, chips {:.3f} mm ({:g} to {:g} for {}), bend {:.3f} mm").format(
        bite.deepest, bite.thickest_chip, wood.least_chip, wood.greatest_chip, in_users_language(wood.name), bite.greatest_bend
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
        optional(layout, active_settings(context), "use_budget", "budget_minutes")
        width = letters_per_line(context)
        if plan is not None and plan.budget is not None:
            paragraph(layout, in_users_language(plan.budget.words), width, "TIME")
            for measure in plan.budget.measures[:MEASURES_SHOWN]:
                paragraph(layout, in_users_language(measure.sentence), width - 2, "DOT")
        if results is not None and results.rack:
            layout.prop(view_of(context), "show_trade_off")


def _draw_times(column: bpy.types.UILayout, results: BodyResults) -> None:
    """Lines about the plan that is looked at, and a button for the plan of every cutter when there are several."""
    plan, figures = present(results.plan), present(results.shown_figures)
    for text in (
        translated("{:.1f} minutes, within about {:.0%}").format(plan.run_time.minutes, plan.run_time.uncertainty),
        translated("{} lines, {:.1f} m").format(figures.line_count, figures.cut_metres),
        translated("Cusp {:.3f} mm, gouge {:.4f} mm at most").format(plan.proof.worst_cusp, plan.proof.worst_gouge),
    ):
        column.label(text=text, translate=False)
    if len(results.plans) == 1:
        return
    for number, each in enumerate(results.plans):
        text = translated("{}. {:g} mm: {:.1f} min").format(number + 1, each.cutter.diameter, each.run_time.minutes)
        present(column.operator("finishing.show_plan", text=text, depress=number == results.shown, translate=False)).number = number
    whole = total_minutes(results.plans, plan.request.machine.tool_change_minutes)
    column.label(text=translated("All: {:.1f} minutes with tool changes").format(whole), translate=False)


class FINISHING_UL_elsewhere(RowList):
    """Other operations of the job."""

    def draw_row(self, layout: bpy.types.UILayout, item: bpy.types.PropertyGroup) -> None:
        """Draw name and minutes."""
        row = layout.split(factor=0.6, align=True)
        row.prop(item, "name", text="", emboss=False)
        row.prop(item, "minutes", text="", emboss=False)


class FINISHING_PT_elsewhere(TabPanel):
    """Work on the side that is made elsewhere."""

    bl_label = "Work Made Elsewhere"
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
        layout.label(text=translated("{}:{:02d} of {:.1f} minutes").format(minutes, seconds, plan.run_time.minutes), translate=False)


CLASSES = (
    FINISHING_PT_passes,
    FINISHING_PT_bite,
    FINISHING_PT_time,
    FINISHING_UL_elsewhere,
    FINISHING_PT_elsewhere,
    FINISHING_PT_run,
)
