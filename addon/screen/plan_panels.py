"""Passes, time, playing the run."""

from __future__ import annotations

import bpy

from ..finishing.core.message import Message, word
from ..finishing.core.path import CUT
from ..finishing.job.wood import wood_named
from .language import in_users_language
from .panel_parts import TabPanel, optional, paragraph, plan_of, results_of, split, words_wide


class FINISHING_PT_passes(TabPanel, bpy.types.Panel):
    """Passes."""

    bl_label = "Passes"
    bl_idname = "FINISHING_PT_passes"

    def draw(self, context: bpy.types.Context) -> None:
        layout = split(self.layout)
        body = context.object.finishing
        layout.prop_search(body, "cutter_name", context.scene.finishing, "cutters", text="Cutter")
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


class FINISHING_PT_bite(TabPanel, bpy.types.Panel):
    """Wood, and what roughing leaves."""

    bl_label = "Wood and Roughing"
    bl_idname = "FINISHING_PT_bite"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = split(self.layout)
        body = context.object.finishing
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
        plan = plan_of(context)
        if plan is not None and len(plan.bite.chip):
            bite, wood = plan.bite, wood_named(plan.request.bite.wood)
            words = Message(
                "Bite at most {depth:.1f} mm deep, chips {chip:.3f} mm ({least:g} to {greatest:g} for {wood}), bend {bend:.3f} mm",
                depth=bite.engagement.depth.max(),
                chip=bite.chip.max(),
                least=wood.least_chip,
                greatest=wood.greatest_chip,
                wood=word(wood.name),
                bend=bite.bend.max(),
            )
            paragraph(layout, in_users_language(words), words_wide(context), "DOT")
        caution = Message("Suggestions only: the cutter maker's limits and the machine's manual come first")
        paragraph(layout, in_users_language(caution), words_wide(context), "INFO")


class FINISHING_PT_time(TabPanel, bpy.types.Panel):
    """Time."""

    bl_label = "Time"
    bl_idname = "FINISHING_PT_time"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        results, plan = results_of(context), plan_of(context)
        width = words_wide(context)
        if plan is None:
            layout.label(text="Not planned yet")
        else:
            column = layout.column(align=True)
            for figures in (
                Message("{minutes:.1f} minutes, within about {share:.0%}", minutes=plan.run_time.minutes, share=plan.run_time.uncertainty),
                Message("{lines} lines, {length:.1f} m", lines=plan.path.line_count, length=plan.path.length_of(CUT) / 1000),
                Message("Cusp {cusp:.3f} mm, gouge {gouge:.4f} mm at most", cusp=plan.proof.worst_cusp, gouge=plan.proof.worst_gouge),
            ):
                column.label(text=in_users_language(figures), translate=False)
            if len(results.plans) > 1:
                for number, each in enumerate(results.plans):
                    figures = Message(
                        "{number}. {diameter:g} mm: {minutes:.1f} min",
                        number=number + 1,
                        diameter=each.cutter.diameter,
                        minutes=each.run_time.minutes,
                    )
                    text = in_users_language(figures)
                    column.operator("finishing.show_plan", text=text, depress=number == results.shown, translate=False).number = number
                change = plan.request.machine.tool_change_minutes * (len(results.plans) - 1)
                whole = sum(each.run_time.minutes for each in results.plans) + change
                column.label(text=in_users_language(Message("All: {minutes:.1f} minutes with tool changes", minutes=whole)), translate=False)
            layout.operator("finishing.measured_run", icon="TIME")
        split(layout)
        body = context.object.finishing
        optional(layout, body, "use_budget", "budget_minutes")
        if plan is not None and plan.budget is not None:
            paragraph(layout, in_users_language(plan.budget.words), width, "TIME")
            for measure in plan.budget.measures[:4]:
                paragraph(layout, in_users_language(measure.sentence), width - 2, "DOT")
        if results is not None and results.rack:
            layout.prop(context.window_manager.finishing_view, "show_trade_off")


class FINISHING_UL_elsewhere(bpy.types.UIList):
    """Work made elsewhere."""

    def draw_item(self, _context, layout, _data, item, _icon, _active, _property, _index=0, _flags=0) -> None:  # noqa: ANN001
        row = layout.split(factor=0.6, align=True)
        row.prop(item, "name", text="", emboss=False)
        row.prop(item, "minutes", text="", emboss=False)


class FINISHING_PT_elsewhere(TabPanel, bpy.types.Panel):
    """Work on the side that is made elsewhere."""

    bl_label = "Work Made Elsewhere"
    bl_idname = "FINISHING_PT_elsewhere"
    bl_parent_id = "FINISHING_PT_time"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout, body = self.layout, context.object.finishing
        row = layout.row()
        row.template_list("FINISHING_UL_elsewhere", "", body, "elsewhere", body, "active_elsewhere", rows=3)
        list_buttons(row.column(align=True), "elsewhere")
        if body.active_elsewhere < len(body.elsewhere):
            column = split(layout.column())
            for name in ("cutter", "minutes", "side", "place", "stick_out", "z_zero"):
                column.prop(body.elsewhere[body.active_elsewhere], name)


def list_buttons(column: bpy.types.UILayout, rows: str) -> None:
    """Add, remove and move the rows of a list."""
    for change, icon in (("add", "ADD"), ("remove", "REMOVE"), ("up", "TRIA_UP"), ("down", "TRIA_DOWN")):
        button = column.operator("finishing.list", text="", icon=icon)
        button.rows, button.change = rows, change


class FINISHING_PT_run(TabPanel, bpy.types.Panel):
    """Playing the run."""

    bl_label = "Run"
    bl_idname = "FINISHING_PT_run"
    bl_parent_id = "FINISHING_PT_time"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = split(self.layout)
        view, plan = context.window_manager.finishing_view, plan_of(context)
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
    FINISHING_PT_passes, FINISHING_PT_bite, FINISHING_PT_time, FINISHING_UL_elsewhere, FINISHING_PT_elsewhere, FINISHING_PT_run,
)  # fmt: skip
