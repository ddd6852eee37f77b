"""Stock and zero, findings, comparing, export."""

from __future__ import annotations

from collections.abc import Callable
from itertools import islice

import bpy

from ..finishing.core.finding import Finding
from ..finishing.core.message import Message, word
from ..finishing.job.cautions import CAUTIONS
from ..finishing.planning.comparison import PlanFigures
from ..scene.active import active_body, active_settings, plan_of, results_of
from ..scene.blender_data import present
from ..scene.export_settings import export_folder, export_settings, files_of
from ..scene.kept_plans import kept_figures
from ..scene.setup_tool import setup_tool_is_on
from .language import in_users_language, interface_word
from .panel_parts import MorePanel, RowList, TabPanel, apply_button, beside, field, letters_per_line, list_buttons, optional, paragraph, value


class FINISHING_PT_stock(TabPanel):
    """Stock and zeros."""

    bl_label = "Stock and Zero"
    bl_idname = "FINISHING_PT_stock"
    bl_parent_id = "FINISHING_PT_body_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """Handles in the view, size of the stock, and zeros."""
        layout, body = present(self.layout), active_settings(context)
        moving = setup_tool_is_on(context)
        layout.operator(
            "finishing.move_in_view",
            text="End" if moving else "Move Stock and Zero",
            icon="CHECKMARK" if moving else "EMPTY_ARROWS",
            depress=moving,
        )
        for use, name in (
            ("use_stock_length", "stock_length"),
            ("use_stock_width", "stock_width"),
            ("use_stock_thickness", "stock_thickness"),
            ("use_height_in_stock", "height_in_stock"),
        ):
            optional(layout, context, body, use, name)
        sub = layout.column()
        sub.active = not (body.use_stock_length and body.use_stock_width)
        value(sub, context, body, "stock_margin")
        for name in ("first_side", "turn_axis", "xy_zero", "z_zero", "into_spoilboard"):
            value(layout, context, body, name)


class FINISHING_PT_dowels(TabPanel):
    """Dowel holes that the turned stock lands on."""

    bl_label = "Dowels"
    bl_idname = "FINISHING_PT_dowels"
    bl_parent_id = "FINISHING_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """How many there are, their size, and how they are drilled."""
        layout, body = present(self.layout), active_settings(context)
        value(layout, context, body, "dowel_count")
        column = layout.column()
        column.active = body.dowel_count != "0"
        for name in ("dowel_diameter", "dowel_depth", "dowel_clearance", "dowel_peck", "dowel_feed", "dowel_spindle_speed"):
            value(column, context, body, name)
        if len(body.dowel_places) == int(body.dowel_count):
            for place in body.dowel_places:
                row = column.row(align=True)
                for name in ("x", "y"):
                    field(row, context, place, name, letter=name.upper())
            if body.dowel_places:
                column.operator("finishing.place_dowels", icon="LOOP_BACK")


class FINISHING_PT_tabs(TabPanel):
    """Tabs that hold the body in its stock."""

    bl_label = "Tabs"
    bl_idname = "FINISHING_PT_tabs"
    bl_parent_id = "FINISHING_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """How many there are, and their size."""
        layout, body = present(self.layout), active_settings(context)
        value(layout, context, body, "tabs")
        column = layout.column()
        column.active = body.tabs != "off"
        if body.tabs == "given":
            value(column, context, body, "tab_count")
        for name in ("tab_width", "tab_height"):
            value(column, context, body, name)
        optional(column, context, body, "use_tab_level", "tab_level")
        if body.tab_places:
            column.operator("finishing.place_tabs", icon="LOOP_BACK")


class FINISHING_UL_names(RowList):
    """Rows that show their names."""

    bl_idname = "FINISHING_UL_names"

    def draw_row(self, layout: bpy.types.UILayout, item: bpy.types.PropertyGroup) -> None:
        """Draw the name, and a mark where this row is the chosen one."""
        row = layout.row()
        row.prop(item, "name", text="", emboss=False)
        if getattr(item, "chosen", False):
            row.label(text="", icon="CHECKMARK")


class FINISHING_PT_keep_out(TabPanel):
    """Boxes that the cutter must stay out of."""

    bl_label = "Keep-Out Boxes"
    bl_idname = "FINISHING_PT_keep_out"
    bl_parent_id = "FINISHING_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """The list of boxes, and the corners of the active one."""
        layout, body = present(self.layout), active_settings(context)
        row = layout.row()
        row.template_list("FINISHING_UL_names", "keep_out", body, "keep_out", body, "active_keep_out", rows=3)
        list_buttons(row.column(align=True), "keep_out")
        if body.active_keep_out < len(body.keep_out):
            column = layout.column()
            for name in ("low", "high", "side"):
                column.prop(body.keep_out[body.active_keep_out], name)


class FINISHING_PT_findings(TabPanel):
    """Findings."""

    bl_label = "Findings"
    bl_idname = "FINISHING_PT_findings"
    bl_parent_id = "FINISHING_PT_result_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """All findings but those about openings."""
        layout = present(self.layout)
        plan = plan_of(context)
        if plan is None:
            layout.label(text="Not planned yet")
            return
        if not plan.findings:
            layout.label(text="No findings")
        width = letters_per_line(context)
        for number, finding in enumerate(plan.findings):
            if finding.key != "opening":
                draw_finding(layout, finding, width)
                if finding.changes:
                    apply_button(layout, "finding", number)


class FINISHING_PT_openings(TabPanel):
    """What becomes of pockets, holes and slots."""

    bl_label = "Openings"
    bl_idname = "FINISHING_PT_openings"
    bl_parent_id = "FINISHING_PT_findings"
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the plan says anything about openings."""
        plan = plan_of(context)
        return plan is not None and any(finding.key == "opening" for finding in plan.findings)

    def draw(self, context: bpy.types.Context) -> None:
        """What becomes of each opening."""
        plan = plan_of(context)
        for finding in plan.findings if plan is not None else ():
            if finding.key == "opening":
                draw_finding(present(self.layout), finding, letters_per_line(context))


def draw_finding(layout: bpy.types.UILayout, finding: Finding, width: int) -> None:
    """A finding in its own lines, with a button that turns the view to its place."""
    row = layout.row()
    paragraph(
        row,
        in_users_language(finding.words),
        width - (6 if finding.place else 1),
        "ERROR" if finding.must_see else "DOT",
    )
    if finding.place is not None:
        present(row.operator("finishing.look_at", text="", icon="VIEWZOOM", emboss=False)).place = finding.place


COMPARED: tuple[tuple[Message, Callable[[PlanFigures], Message]], ...] = (
    (Message("Cutter"), lambda f: Message("{value:g} mm", value=f.diameter)),
    (Message("Cusp"), lambda f: Message("{value:g} mm", value=f.cusp)),
    (Message("Minutes"), lambda f: Message("{value:.1f}", value=f.minutes)),
    (Message("Pass Lines"), lambda f: Message("{value:.1f} m", value=f.length)),
    (Message("To Sand"), lambda f: Message("{value:.1f} cm³", value=f.sanding_volume)),
    (Message("Start Grit"), lambda f: Message("{value}", value=f.start_grit or "–")),
    (Message("Uncut"), lambda f: Message("{value:.0f} mm²", value=f.uncut_area)),
)
"""Rows of the table of kept plans."""

SIDE_BY_SIDE = 3
"""Plans that the sidebar's width has room for."""


class FINISHING_PT_compare(TabPanel):
    """Plans side by side."""

    bl_label = "Compare"
    bl_idname = "FINISHING_PT_compare"
    bl_parent_id = "FINISHING_PT_result_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """The kept plans, the first of them side by side."""
        layout, body = present(self.layout), active_settings(context)
        layout.operator("finishing.keep_plan", icon="ADD")
        if len(body.kept_plans) == 0:
            return
        row = layout.row()
        row.template_list("FINISHING_UL_names", "kept", body, "kept_plans", body, "active_kept", rows=3)
        list_buttons(row.column(align=True), "kept_plans", can_add=False)
        figures = [kept_figures(item.text) for item in islice(body.kept_plans, SIDE_BY_SIDE)]
        table = layout.box().column(align=True)
        head = table.row()
        head.label(text="")
        for number in range(len(figures)):
            head.label(text=in_users_language(Message("Plan {number}", number=number + 1)), translate=False)
        for title, form in COMPARED:
            row = table.row()
            row.label(text=in_users_language(title), translate=False)
            for each in figures:
                row.label(text="?" if each is None else in_users_language(form(each)), translate=False)
        layout.operator("finishing.choose_plan", icon="CHECKMARK")


WRITTEN_SIDES = {
    ("top",): Message("The top side will be written"),
    ("back",): Message("The back side will be written"),
    ("back", "top"): Message("Both sides will be written"),
}
"""By the sides that are planned, in the order of the alphabet."""


class FINISHING_PT_export(TabPanel):
    """Export."""

    bl_label = "Export"
    bl_idname = "FINISHING_PT_export"
    bl_order = 6

    def draw(self, context: bpy.types.Context) -> None:
        """What will be written and where, the button that writes, and what was written last."""
        layout, body_object = present(self.layout), active_body(context)
        kept, chosen = files_of(body_object), export_settings(present(context.scene))
        layout.prop(kept, "folder", text="", placeholder=export_folder(body_object).name)
        layout.prop(chosen, "programs")
        layout.operator("finishing.export", icon="EXPORT")
        results = results_of(context)
        if results is not None and results.plan is not None:
            words = WRITTEN_SIDES[tuple(sorted({plan.request.side for plan in results.job()}))]
            layout.label(text=in_users_language(words), translate=False)
        if kept.written:
            paragraph(layout, in_users_language(Message("Written to {folder}", folder=kept.written)), letters_per_line(context), "CHECKMARK")
            row = beside(layout, context, [interface_word("Open Folder"), interface_word("Open Bench Sheet")])
            present(row.operator("wm.path_open", text="Open Folder")).filepath = kept.written
            if kept.bench_sheet:
                present(row.operator("wm.path_open", text="Open Bench Sheet")).filepath = kept.bench_sheet


class FINISHING_PT_export_more(MorePanel):
    """Lines as an object, and plans that were written."""

    bl_idname = "FINISHING_PT_export_more"
    bl_parent_id = "FINISHING_PT_export"

    def draw(self, context: bpy.types.Context) -> None:
        """How files are written, and buttons that keep and read."""
        layout, chosen = present(self.layout), export_settings(present(context.scene))
        value(layout, context, chosen, "unit")
        layout.prop(chosen, "pictures")
        value(layout, context, chosen, "split_minutes")
        present(layout.operator("finishing.export", text="Export Otherwise", icon="EXPORT")).ask = True
        layout.operator("finishing.keep_lines", icon="OUTLINER_OB_MESH")
        layout.operator("finishing.read_plan", icon="IMPORT")


class FINISHING_PT_cautions(TabPanel):
    """Cautions."""

    bl_label = "Cautions"
    bl_idname = "FINISHING_PT_cautions"
    bl_parent_id = "FINISHING_PT_export_more"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        """All cautions, as they stand in programs and on the bench sheet."""
        layout = present(self.layout)
        for caution in CAUTIONS:
            paragraph(layout, in_users_language(word(caution)), letters_per_line(context), "DOT")


CLASSES = (
    FINISHING_UL_names,
    FINISHING_PT_stock,
    FINISHING_PT_dowels,
    FINISHING_PT_tabs,
    FINISHING_PT_keep_out,
    FINISHING_PT_findings,
    FINISHING_PT_openings,
    FINISHING_PT_compare,
    FINISHING_PT_export,
    FINISHING_PT_export_more,
    FINISHING_PT_cautions,
)
