"""The result: planning and its progress, the card of what came out, the map, playing the run."""

from __future__ import annotations

from collections.abc import Sequence

import bpy

from ..finishing.core.errors import BadRequest
from ..finishing.core.message import Message
from ..finishing.planning.hazards import read_first
from ..finishing.planning.result import Plan
from ..finishing.planning.stage_words import step_words
from ..finishing.planning.standing_words import short_border_words
from ..scene.active import active_settings, plan_of, results_of, state_of
from ..scene.background import WORK
from ..scene.blender_data import present
from ..scene.request_building import scene_rack
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from .language import in_users_language, interface_word
from .panel_parts import MorePanel, TabPanel, beside, letters_per_line, paragraph, value
from .result_card import cusp_words, cutters_words, expected_words, left_words, meets_budget, minutes_of, minutes_words, missing_map_words, next_step

DRAWN = (
    "show_lines",
    "show_links",
    "show_lifts",
    "show_skip",
    "show_stock",
    "show_zero",
    "show_findings",
    "show_legend",
    "legend_folded",
    "show_readout",
    "readout_folded",
    "show_trade_off",
    "chart_folded",
)
"""What can be drawn beside the map, and hidden."""


WARNINGS_SHOWN = 3
"""Findings that must be seen and stand on the card of a side; all of them stand under Findings."""


class FINISHING_PT_result(TabPanel):
    """Planning, how far it is, and what came out."""

    bl_label = "Result"
    bl_idname = "FINISHING_PT_result"
    bl_order = 5

    def draw(self, context: bpy.types.Context) -> None:
        """The buttons that plan or the progress of the work, the card, and the map."""
        layout, results = present(self.layout), results_of(context)
        if WORK.worker is not None:
            _draw_progress(layout)
        else:
            row = beside(layout, context, [interface_word("Plan Finishing"), interface_word("Plan Both Sides")])
            row.scale_y = 1.3
            row.operator("finishing.plan")
            row.operator("finishing.plan_both")
        if results is None or results.newest is None:
            return
        if results.plans:
            _draw_card(layout, context, results)
        view = view_of(context)
        column = layout.column(align=True)
        column.active = view.show
        value(column, context, view, "surface_map")
        why = missing_map_words(results, view.surface_map, view.fit_cutter)
        if why is not None:
            paragraph(column, in_users_language(why), letters_per_line(context), "INFO")
        if results.plans:
            row = layout.row(align=True)
            row.operator("finishing.play", text="", icon="PAUSE" if view.playing else "PLAY")
            row.prop(view, "played_share", text="", slider=True)
            row.prop(view, "play_speed", text="")
            row.operator("finishing.show_finished", text="", icon="LIGHT")
        if view.surface_map == "finished":
            for name in ("light_from", "heights_times", "divider"):
                value(column, context, view, name)


def _draw_progress(layout: bpy.types.UILayout) -> None:
    """How far the work is, by its stage, and a button that stops it."""
    worker = present(WORK.worker)
    words = Message("{stage}, {share:.0%}", stage=step_words(worker.stage), share=worker.share)
    row = layout.row(align=True)
    row.scale_y = 1.3
    row.progress(factor=worker.share, text=in_users_language(words), translate=False)
    row.operator("finishing.cancel", text="", icon="X")


def _draw_card(layout: bpy.types.UILayout, context: bpy.types.Context, results: BodyResults) -> None:
    """Both sides as far as they are planned, the findings that must be seen, and what comes next."""
    card = layout.box().column(align=True)
    _draw_side(card, context, results.plans)
    if len(results.plans) > 1:
        row = card.row(align=True)
        for number, plan in enumerate(results.plans):
            words = Message("{diameter:g} mm: {minutes:.1f}", diameter=plan.cutter.diameter, minutes=plan.run_time.minutes)
            text = in_users_language(words)
            present(row.operator("finishing.show_plan", text=text, depress=number == results.shown, translate=False)).number = number
    if len(results.job()) > len(results.plans):
        others = results.other_side
        words = minutes_words(others)
        card.label(text=in_users_language(words), icon="CHECKMARK" if meets_budget(others) else "ERROR", translate=False)
    state = state_of(context)
    expected = _expected(context, results) if state == "settings" else None
    if expected is not None:
        card.label(text=in_users_language(expected), icon="TIME", translate=False)
    width = letters_per_line(context) - 4
    paragraph(card, in_users_language(next_step(results, state)), width, "FORWARD" if state == "current" else "FILE_REFRESH")


def _expected(context: bpy.types.Context, results: BodyResults) -> Message | None:
    """What the changed settings would give; None where it is not known, or while a cutter of the rack is entered only in part."""
    try:
        return expected_words(results, active_settings(context), scene_rack(present(context.scene)))
    except BadRequest:
        return None


def _draw_side(card: bpy.types.UILayout, context: bpy.types.Context, plans: Sequence[Plan]) -> None:
    """One side: minutes, cutters, cusps, what is left, and its warnings."""
    card.label(text=in_users_language(minutes_words(plans)), icon="CHECKMARK" if meets_budget(plans) else "ERROR", translate=False)
    lines = card.column(align=True)
    lines.scale_y = 0.8
    for words in (cutters_words(plans), cusp_words(plans[0]), left_words(plans)):
        lines.label(text=in_users_language(words), icon="BLANK1", translate=False)
    for finding in [finding for plan in plans for finding in read_first(plan)][:WARNINGS_SHOWN]:
        row = card.row()
        paragraph(row, in_users_language(finding.sentence), letters_per_line(context) - (10 if finding.place else 4), "ERROR")
        if finding.place is not None:
            present(row.operator("finishing.look_at", text="", icon="VIEWZOOM", emboss=False)).place = finding.place


class FINISHING_PT_result_more(MorePanel):
    """Figures of the plan, and what can be done with it."""

    bl_idname = "FINISHING_PT_result_more"
    bl_parent_id = "FINISHING_PT_result"

    def draw(self, context: bpy.types.Context) -> None:
        """Lines, length, spacing and proof of the plan that is looked at."""
        layout, results = present(self.layout), results_of(context)
        if results is None or results.plan is None:
            layout.label(text="Not planned yet")
            return
        row = layout.row(align=True)
        row.operator("finishing.show_finished", icon="LIGHT")
        present(row.operator("finishing.show_finished", text="", icon="ZOOM_SELECTED")).where = "view"
        row.operator("finishing.set_left", text="", icon="MOD_MIRROR")
        _draw_times(layout.column(align=True), results, letters_per_line(context))


def _draw_times(column: bpy.types.UILayout, results: BodyResults, width: int) -> None:
    """Lines about the plan that is looked at."""
    plan, figures = present(results.plan), present(results.shown_figures)
    for words in (
        Message("{minutes:.1f} minutes, within about {share:.0%}", minutes=plan.run_time.minutes, share=plan.run_time.uncertainty),
        Message("{lines} pass lines, {length:.1f} m", lines=figures.line_count, length=figures.cut_metres),
        *_spacing_words(plan),
        Message("Cusp {cusp:.3f} mm, gouge {gouge:.4f} mm at most", cusp=plan.proof.worst_cusp, gouge=plan.proof.worst_gouge),
        short_border_words(plan.proof),
    ):
        paragraph(column, in_users_language(words), width)
    if len(results.plans) > 1:
        words = Message("All: {minutes:.1f} minutes with tool changes", minutes=minutes_of(results.plans))
        paragraph(column, in_users_language(words), width)


def _spacing_words(plan: Plan) -> tuple[Message, ...]:
    """How far the lines of a plan lie apart; nothing where no line has a neighbour."""
    own = plan.line_spacing
    if own is None:
        return ()
    return (Message("Spacing {usual:.2f} mm, {least:.2f} to {greatest:.2f}", usual=own.usual, least=own.least, greatest=own.greatest),)


class FINISHING_PT_drawn(TabPanel):
    """What is drawn beside the map."""

    bl_label = "What Is Drawn"
    bl_idname = "FINISHING_PT_drawn"
    bl_parent_id = "FINISHING_PT_result_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header(self, context: bpy.types.Context) -> None:
        """A box that hides all that is drawn."""
        present(self.layout).prop(view_of(context), "show", text="")

    def draw(self, context: bpy.types.Context) -> None:
        """Choose what is drawn beside the map."""
        view = view_of(context)
        column = present(self.layout).column()
        column.active = view.show
        for name in ("lines_by", "opacity", "line_opacity", "line_width", "lines_at"):
            value(column, context, view, name)
        for name in DRAWN:
            column.prop(view, name)


class FINISHING_PT_run(TabPanel):
    """How far the run is played."""

    bl_label = "Run"
    bl_idname = "FINISHING_PT_run"
    bl_parent_id = "FINISHING_PT_result_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """The cutter at its place, and the elapsed time; what plays the run stands under Result."""
        layout = present(self.layout)
        view, plan = view_of(context), plan_of(context)
        if plan is None:
            layout.label(text="Not planned yet")
            return
        layout.prop(view, "show_cutter")
        minutes, seconds = divmod(int(view.playhead), 60)
        played = Message("{minutes}:{seconds:02d} of {total:.1f} minutes", minutes=minutes, seconds=seconds, total=plan.run_time.minutes)
        layout.label(text=in_users_language(played), translate=False)


class FINISHING_PT_sanding(TabPanel):
    """Sanding."""

    bl_label = "Sanding"
    bl_idname = "FINISHING_PT_sanding"
    bl_parent_id = "FINISHING_PT_result_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """The one advice for the side: in all, then ground by ground, with buttons that turn the view to hand work."""
        layout, plan = present(self.layout), plan_of(context)
        if plan is None:
            layout.label(text="Not planned yet")
            return
        width = letters_per_line(context)
        paragraph(layout, in_users_language(plan.sanding.words), width)
        for area in plan.sanding.areas:
            row = layout.row()
            paragraph(row, in_users_language(area.words), width - (6 if area.place else 1), "DOT")
            if area.place is not None:
                present(row.operator("finishing.look_at", text="", icon="VIEWZOOM", emboss=False)).place = area.place


CLASSES = (FINISHING_PT_result, FINISHING_PT_result_more, FINISHING_PT_sanding, FINISHING_PT_drawn, FINISHING_PT_run)
