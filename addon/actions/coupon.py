"""The test coupon: writing its files, and taking back what was measured on it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.files.coupon_back import Found, lesson_of
from ..finishing.files.coupon_files import coupon_files
from ..finishing.files.plan_record import read_record_file
from ..finishing.files.writing import write_all
from ..finishing.options.coupon import COUPON, CouponSettings
from ..finishing.planning.coupon_plan import PLAIN_HOLLOW, coupon_of, cusps_to_try, hollow_of
from ..scene.active import active_plan, active_settings, active_shop
from ..scene.blender_data import present
from ..scene.properties import limits, number, switch, text_line, whole_number, with_properties
from ..scene.rack_settings import fill_rack
from ..scene.request_building import scene_rack
from ..screen.language import for_report, users_language
from .conditions import BodyAction, Outcome, PlanAction


@with_properties
class FINISHING_OT_write_coupon(PlanAction):
    """Write a test coupon for the plan's cutter: program, sheet with boxes to fill in, and the record that its measurements are held against"""

    bl_idname = "finishing.write_coupon"
    bl_label = "Write Test Coupon"
    bl_options = {"REGISTER"}

    directory: str = text_line(name="Folder", description="Folder that the coupon is written into", subtype="DIR_PATH")
    length: float = number(name="Length (mm)", description="Length of the scrap in mm", default=100.0, **limits(COUPON.limits("length")))
    width: float = number(name="Width (mm)", description="Width of the scrap in mm", default=60.0, **limits(COUPON.limits("width")))
    thickness: float = number(name="Thickness (mm)", description="Thickness of the scrap in mm", default=20.0, **limits(COUPON.limits("thickness")))
    replace: bool = switch(name="Replace Files", description="Replace files of the same names", default=False)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the folder."""
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Write the files."""
        plan = active_plan(context)
        cutter = plan.cutter
        hollow = next((hollow_of(row) for row in plan.rack if row.cutter == cutter), PLAIN_HOLLOW * cutter.radius)
        try:
            request = replace(plan.request, cutter=cutter)
            settings = CouponSettings(
                self.length,
                self.width,
                self.thickness,
                cusps=cusps_to_try(request.cusp, cutter),
                hollow_radius=hollow,
            )
            coupon = coupon_of(request, settings)
            folder = Path(bpy.path.abspath(self.directory or "//"))
            written = write_all(folder, coupon_files(coupon, request, language=users_language()), replace=self.replace)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        self.report({"INFO"}, for_report(Message("{count} files of the coupon written to {folder}", count=len(written), folder=str(folder))))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_take_coupon(BodyAction):
    """Take back what was measured on a test coupon: diameter of the cutter, zero of Z, minutes, cusp height"""

    bl_idname = "finishing.take_coupon"
    bl_label = "Enter Coupon"
    bl_options = {"REGISTER", "UNDO"}

    filepath: str = text_line(name="File", description="The coupon.json that was written with the coupon", subtype="FILE_PATH")
    filter_glob: str = text_line(default="*.json", options={"HIDDEN"})
    groove: float = number(name="Groove (mm)", description="Width of the groove at the top in mm, 0 where it was not measured", default=0.0, min=0.0)
    step: float = number(
        name="Step (mm)", description="Step from the top down to the fine flat field in mm, 0 where it was not measured", default=0.0, min=0.0
    )
    seconds: float = number(name="Seconds", description="Time of the fine flat field in seconds, 0 where it was not measured", default=0.0, min=0.0)
    field: int = whole_number(name="Column", description="The coarsest column that is fine enough, 0 where none was chosen", default=0, min=0, max=3)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the file; the measurements stand beside it."""
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Put what was measured on rack, machine and body."""
        try:
            groove, step, seconds = (round(value, 4) or None for value in (self.groove, self.step, self.seconds))
            found = Found(groove=groove, step=step, seconds=seconds, field=self.field or None)
            lesson = lesson_of(read_record_file(Path(bpy.path.abspath(self.filepath))), found)
            at_hand = {cutter.name for cutter in scene_rack(present(context.scene))}
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        settings, shop, body = lesson.settings["settings"], active_shop(context), active_settings(context)
        scene = present(context.scene)
        if found.groove is not None:
            name = settings["cutter"]["name"]
            if name not in at_hand:
                self.report(
                    {"ERROR"}, for_report(Message("The rack has no cutter '{cutter}', which the coupon was cut with: add it first", cutter=name))
                )
                return {"CANCELLED"}
            fill_rack(scene)  # the built-in rack has no rows that could hold what was measured
        for item in shop.cutters:
            if found.groove is not None and item.name == settings["cutter"]["name"]:
                item.measured_diameter_mm, item.runout_mm = settings["cutter"]["measured_diameter"], settings["cutter"]["runout"]
        if found.seconds is not None:
            shop.machine.time_factor = settings["machine"]["time_factor"]
        if found.field is not None:
            body.cusp_mm, body.use_fixed_spacing = settings["cusp"], False
        body.measured = ", ".join(settings["measured"])
        for words in lesson.words:
            self.report({"INFO"}, for_report(words))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_write_coupon, FINISHING_OT_take_coupon)
