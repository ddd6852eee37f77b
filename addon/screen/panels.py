"""The panels of the sidebar tab, in the order of the work. They read settings and results that are there; they compute nothing."""

from __future__ import annotations

import bpy

from ..finishing.cautions import CAUTIONS
from ..finishing.path import CUT
from ..finishing.result import Plan
from ..scene.results import STORE

TAB = "Body Finishing"


class _Panel:
    """What all panels of the tab share."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = TAB

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return context.object is not None and context.object.type == "MESH"


OUT_OF_DATE = {"shape": "The body has changed since it was planned", "settings": "A setting has changed since it was planned"}


def _state_of(context: bpy.types.Context) -> str:
    """Whether the active body is planned, and what has changed since."""
    results = STORE.find(context.object)
    return "none" if results is None else results.state(context.scene, context.object)


def _plan_of(context: bpy.types.Context) -> Plan | None:
    results = STORE.find(context.object)
    return None if results is None else results.plan


class FINISHING_UL_cutters(bpy.types.UIList):
    """The rack."""

    def draw_item(self, _context, layout, _data, item, _icon, _active, _property, _index=0, _flags=0) -> None:  # noqa: ANN001
        row = layout.row(align=True)
        row.prop(item, "name", text="", emboss=False)
        row.prop(item, "diameter", text="", emboss=False)


class FINISHING_PT_body(_Panel, bpy.types.Panel):
    """Body and side."""

    bl_label = "Body and Side"
    bl_idname = "FINISHING_PT_body"

    @classmethod
    def poll(cls, _context: bpy.types.Context) -> bool:
        return True

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        body = context.object
        if body is None or body.type != "MESH":
            layout.label(text="Select a body (a mesh object)", icon="INFO")
            return
        scale = context.scene.unit_settings.scale_length * 1000.0
        size = [value * scale for value in body.dimensions]
        layout.label(text="{}: {:.1f} x {:.1f} x {:.1f} mm".format(body.name, *size))
        machine = context.scene.finishing.machine
        if max(size[:2]) > max(machine.bed_x_mm, machine.bed_y_mm) or max(size) < 5.0:
            layout.label(text="That is no size for this machine: check the scene's units", icon="INFO")
        layout.row().prop(body.finishing, "side", expand=True)
        layout.operator("finishing.survey", icon="VIEWZOOM")
        # Here as well as beside its settings, so that it is in sight whatever is unfolded.
        row = layout.row()
        row.scale_y = 1.3
        row.operator("finishing.plan", icon="PLAY")
        state = _state_of(context)
        if state in OUT_OF_DATE:
            layout.label(text=OUT_OF_DATE[state], icon="INFO")


class FINISHING_PT_maps(_Panel, bpy.types.Panel):
    """Maps."""

    bl_label = "Maps"
    bl_idname = "FINISHING_PT_maps"

    def draw_header(self, context: bpy.types.Context) -> None:
        self.layout.prop(context.window_manager.finishing_view, "show", text="")

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        view = context.window_manager.finishing_view
        layout.active = view.show
        layout.prop(view, "surface_map")
        layout.prop(view, "opacity")
        layout.prop(view, "lines_by")


class FINISHING_PT_drawn(_Panel, bpy.types.Panel):
    """What is drawn beside the map."""

    bl_label = "Drawn"
    bl_idname = "FINISHING_PT_drawn"
    bl_parent_id = "FINISHING_PT_maps"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        view = context.window_manager.finishing_view
        column = self.layout.column()
        column.active = view.show
        for name in ("show_lines", "show_links", "show_lifts", "show_skip", "show_stock", "show_zero", "show_legend", "show_readout"):
            column.prop(view, name)


class FINISHING_PT_skip(_Panel, bpy.types.Panel):
    """Skip."""

    bl_label = "Skip"
    bl_idname = "FINISHING_PT_skip"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        body = context.object.finishing
        column = layout.column(align=True)
        column.operator("finishing.paint_skip", icon="BRUSH_DATA")
        column.operator("finishing.skip_selected", icon="RESTRICT_SELECT_OFF")
        column.operator("finishing.clear_skip", icon="X")
        layout.use_property_split = True
        layout.use_property_decorate = False
        layout.prop(body, "skip_margin")
        layout.prop(body, "wall_limit")
        layout.prop(body, "openings")


class FINISHING_PT_rack(_Panel, bpy.types.Panel):
    """Rack and fit."""

    bl_label = "Rack and Fit"
    bl_idname = "FINISHING_PT_rack"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        rack = context.scene.finishing
        if len(rack.cutters) == 0:
            layout.label(text="The built-in rack is used")
            layout.operator("finishing.rack", text="Make It My Own").change = "fill"
        else:
            row = layout.row()
            row.template_list("FINISHING_UL_cutters", "", rack, "cutters", rack, "active_cutter", rows=4)
            column = row.column(align=True)
            for change, icon in (("add", "ADD"), ("remove", "REMOVE"), ("duplicate", "DUPLICATE"), ("up", "TRIA_UP"), ("down", "TRIA_DOWN")):
                column.operator("finishing.rack", text="", icon=icon).change = change
            if rack.active_cutter < len(rack.cutters):
                self._cutter(layout, rack.cutters[rack.active_cutter])
        self._table(context, layout)

    def _cutter(self, layout: bpy.types.UILayout, item: bpy.types.PropertyGroup) -> None:
        column = layout.column()
        column.use_property_split = True
        column.use_property_decorate = False
        for name in ("diameter", "flutes", "usable_length", "shank_diameter", "stick_out", "feed", "spindle_speed"):
            column.prop(item, name)

    def _table(self, context: bpy.types.Context, layout: bpy.types.UILayout) -> None:
        results = STORE.find(context.object)
        rows = ()
        if results is not None:
            rows = results.survey.rack if results.survey is not None else results.plan.rack if results.plan is not None else ()
        if not rows:
            return
        box = layout.column(align=True)
        head = box.row()
        for text in ("Cutter", "Fits", "Left mm²", "Least min"):
            head.label(text=text)
        for entry in rows:
            row = box.row()
            row.operator("finishing.show_fit", text=f"{entry.cutter.diameter:g}", emboss=True).cutter = entry.cutter.name
            row.label(text="yes" if entry.fits else "no")
            row.label(text=f"{entry.uncut_area:.0f}")
            row.label(text=f"{entry.minutes:.1f}")


class FINISHING_PT_passes(_Panel, bpy.types.Panel):
    """Passes."""

    bl_label = "Passes"
    bl_idname = "FINISHING_PT_passes"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        body = context.object.finishing
        layout.prop_search(body, "cutter_name", context.scene.finishing, "cutters", text="Cutter")
        layout.prop(body, "cusp")
        layout.prop(body, "spacing")
        layout.prop(body, "start")
        layout.prop(body, "direction")
        layout.prop(body, "cell")
        row = layout.row()
        row.scale_y = 1.4
        row.operator("finishing.plan", icon="PLAY")


class FINISHING_PT_time(_Panel, bpy.types.Panel):
    """Time."""

    bl_label = "Time"
    bl_idname = "FINISHING_PT_time"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        plan = _plan_of(context)
        if plan is None:
            layout.label(text="Not planned yet")
        else:
            column = layout.column(align=True)
            column.label(text=f"{plan.run_time.minutes:.1f} minutes, within about {plan.run_time.uncertainty:.0%}")
            column.label(text=f"{plan.path.line_count} lines, {plan.path.length_of(CUT) / 1000:.1f} m")
            column.label(text=f"Cusp at most {plan.proof.worst_cusp:.3f} mm, gouge {plan.proof.worst_gouge:.4f} mm")
        layout.use_property_split = True
        layout.use_property_decorate = False
        body = context.object.finishing
        column = layout.column(heading="Time Budget")
        column.prop(body, "use_budget", text="")
        sub = column.column()
        sub.active = body.use_budget
        sub.prop(body, "budget_minutes")


class FINISHING_PT_machine(_Panel, bpy.types.Panel):
    """Machine."""

    bl_label = "Machine"
    bl_idname = "FINISHING_PT_machine"
    bl_parent_id = "FINISHING_PT_time"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        machine = context.scene.finishing.machine
        for name in (
            "name", "speed_x", "speed_y", "speed_z", "acceleration_x", "acceleration_y", "acceleration_z", "junction_deviation",
            "air_feed", "plunge_feed", "safe_height", "bed_x", "bed_y", "travel_z", "time_factor",
        ):  # fmt: skip
            layout.prop(machine, name)


class FINISHING_PT_stock(_Panel, bpy.types.Panel):
    """Stock, zeros and dowels."""

    bl_label = "Stock and Zero"
    bl_idname = "FINISHING_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        if context.object is None:
            return
        body = context.object.finishing
        for use, name in (
            ("use_stock_length", "stock_length"), ("use_stock_width", "stock_width"),
            ("use_stock_thickness", "stock_thickness"), ("use_body_lift", "body_lift"),
        ):  # fmt: skip
            row = layout.row(align=True)
            row.prop(body, use)
            sub = row.row()
            sub.active = getattr(body, use)
            sub.prop(body, name, text="")
        sub = layout.column()
        sub.active = not (body.use_stock_length and body.use_stock_width)
        sub.prop(body, "stock_margin")
        for name in ("first_side", "turn_axis", "xy_zero", "z_zero", "into_spoilboard"):
            layout.prop(body, name)
        layout.prop(body, "dowel_count")
        sub = layout.column()
        sub.active = body.dowel_count != "0"
        for name in ("dowel_diameter", "dowel_depth"):
            sub.prop(body, name)


class FINISHING_PT_findings(_Panel, bpy.types.Panel):
    """Findings."""

    bl_label = "Findings"
    bl_idname = "FINISHING_PT_findings"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        plan = _plan_of(context)
        if plan is None:
            layout.label(text="Not planned yet")
            return
        if not plan.findings:
            layout.label(text="Nothing to tell")
        width = max(24, int(context.region.width / (7 * context.preferences.system.ui_scale)))
        for finding in plan.findings:
            _paragraph(layout, f"{finding.sentence} {finding.remedy}".strip(), width, "INFO" if finding.must_see else "DOT")


class FINISHING_PT_export(_Panel, bpy.types.Panel):
    """Export."""

    bl_label = "Export"
    bl_idname = "FINISHING_PT_export"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        state = _state_of(context)
        if state in OUT_OF_DATE:
            layout.label(text=OUT_OF_DATE[state], icon="INFO")
        layout.operator("finishing.export", icon="EXPORT")
        results = STORE.find(context.object)
        if results is not None and results.plan is not None:
            both = len(results.job()) == 2
            layout.label(text="Both sides will be written" if both else f"The {results.plan.request.side} side will be written")
        layout.operator("finishing.keep_lines", icon="OUTLINER_OB_MESH")
        layout.operator("finishing.read_plan", icon="IMPORT")
        width = max(24, int(context.region.width / (7 * context.preferences.system.ui_scale)))
        _paragraph(layout, CAUTIONS[0], width, "NONE")
        _paragraph(layout, CAUTIONS[-1], width, "NONE")


def _paragraph(layout: bpy.types.UILayout, text: str, width: int, icon: str) -> None:
    """A sentence over as many lines as it needs."""
    column = layout.column(align=True)
    column.scale_y = 0.8
    line = ""
    for word in text.split():
        if line and len(line) + 1 + len(word) > width:
            column.label(text=line, icon=icon)
            line, icon = word, "BLANK1" if icon not in ("NONE",) else "NONE"
        else:
            line = f"{line} {word}".strip()
    column.label(text=line, icon=icon)


CLASSES = (
    FINISHING_UL_cutters, FINISHING_PT_body, FINISHING_PT_maps, FINISHING_PT_drawn, FINISHING_PT_skip, FINISHING_PT_rack, FINISHING_PT_passes,
    FINISHING_PT_time, FINISHING_PT_machine, FINISHING_PT_stock, FINISHING_PT_findings, FINISHING_PT_export,
)  # fmt: skip
