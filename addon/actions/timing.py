"""The timing test: writing its program, and taking the stopwatch times that it gives."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.files.program_writer import PROGRAM_ENDING
from ..finishing.files.timing_program import timing_program
from ..finishing.files.writing import write_all
from ..finishing.job.machine import CORNER_SPEED, EXACT_STOP, OVERLAP
from ..finishing.motion.timing_fit import fitted_machine
from ..finishing.motion.timing_test import pattern_seconds, room_needed, timing_patterns
from ..scene.active import active_shop
from ..scene.blender_data import present
from ..scene.properties import choice, number, switch, text_line, with_properties
from ..scene.rack_settings import machine_of, set_record
from ..screen.language import for_report
from .conditions import Outcome

CORNERS: Mapping[str, Message] = MappingProxyType(
    {OVERLAP: Message("overlap"), CORNER_SPEED: Message("corner speed"), EXACT_STOP: Message("exact stop")}
)
"""The kinds of corner as they are told."""


@with_properties
class FINISHING_OT_timing_program(bpy.types.Operator):
    """Write the program of the timing test: moves in the air with the spindle off, under three minutes, whose times show what the machine can do"""

    bl_idname = "finishing.timing_program"
    bl_label = "Write Timing Test"
    bl_options = {"REGISTER"}

    directory: str = text_line(name="Folder", description="Folder to write into", subtype="DIR_PATH")
    unit: str = choice(
        name="Unit",
        description="Unit of the lengths in the program",
        items=(("mm", "Millimetres", "Lengths in mm"), ("in", "Inches", "Lengths in inches")),
    )
    replace: bool = switch(name="Replace Files", description="Replace files of the same names", default=False)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the folder."""
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Write it, and tell what room it needs and how long it takes."""
        try:
            folder = Path(bpy.path.abspath(self.directory or "//"))
            (written,) = write_all(folder, {f"timing-test{PROGRAM_ENDING}": timing_program(self.unit)}, replace=self.replace)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        patterns = timing_patterns()
        x, y, z = room_needed(patterns)
        done = Message(
            "{file} written: it needs {x:.0f} x {y:.0f} x {z:.0f} mm of free room and about {seconds:.0f} s; time each of its five patterns",
            file=written,
            x=x,
            y=y,
            z=z,
            seconds=float(pattern_seconds(patterns, machine_of(active_shop(context).machine)).sum()),
        )
        self.report({"INFO"}, for_report(done))
        return {"FINISHED"}


@with_properties
class FINISHING_OT_timing_times(bpy.types.Operator):
    """Enter the five stopwatch times of the timing test: speeds, accelerations, corners and blocks ahead of the machine are set by them"""

    bl_idname = "finishing.timing_times"
    bl_label = "Enter Times of the Timing Test"
    bl_options = {"REGISTER", "UNDO"}

    first: float = number(name="Pattern 1 (s)", description="Seconds that the first pattern took", default=0.0, min=0.0, max=6000.0)
    second: float = number(name="Pattern 2 (s)", description="Seconds that the second pattern took", default=0.0, min=0.0, max=6000.0)
    third: float = number(name="Pattern 3 (s)", description="Seconds that the third pattern took", default=0.0, min=0.0, max=6000.0)
    fourth: float = number(name="Pattern 4 (s)", description="Seconds that the fourth pattern took", default=0.0, min=0.0, max=6000.0)
    fifth: float = number(name="Pattern 5 (s)", description="Seconds that the fifth pattern took", default=0.0, min=0.0, max=6000.0)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the scene may be changed."""
        if not present(context.scene).is_editable:
            cls.poll_message_set("The scene is linked from another file: change its machine there")
            return False
        return True

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Ask for the times."""
        return present(context.window_manager).invoke_props_dialog(self)

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Set the machine, unless the times fit none."""
        machine = active_shop(context).machine
        try:
            fit = fitted_machine((self.first, self.second, self.third, self.fourth, self.fifth), machine_of(machine))
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        worst = {"worst": 100 * max(abs(miss) for miss in fit.misses)}
        if not fit.believed:
            told = Message("The times do not fit any machine well (off by {worst:.1f} %): time the patterns again, with the feed at 100 %", **worst)
            self.report({"ERROR"}, for_report(told))
            return {"CANCELLED"}
        set_record(machine, fit.machine)
        found = fit.machine
        told = Message(
            "Speeds {sx:.0f}, {sy:.0f}, {sz:.0f} mm/min, accelerations {ax:.0f}, {ay:.0f}, {az:.0f} mm/s², corners: {corners}, {blocks} blocks ahead; "
            "all times fit to {worst:.1f} %. Plan again to see it",
            sx=found.speed_x,
            sy=found.speed_y,
            sz=found.speed_z,
            ax=found.acceleration_x,
            ay=found.acceleration_y,
            az=found.acceleration_z,
            corners=CORNERS[found.corners],
            blocks=found.blocks_ahead,
            **worst,
        )
        self.report({"INFO"}, for_report(told))
        return {"FINISHED"}


CLASSES = (FINISHING_OT_timing_program, FINISHING_OT_timing_times)
