"""The Skip tool: switching it on and off, and its stroke."""

from __future__ import annotations

import bpy
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d

from ..finishing.core.errors import FinishingError
from ..scene.active import active_body
from ..scene.blender_data import present
from ..scene.properties import switch, with_properties
from ..scene.shown_marks import SHOWN_MARKS
from ..scene.skip_brush import SKIP_TOOL, Aim, Hit, SkipBrush
from ..scene.view_settings import view_of
from ..screen.language import for_report
from .conditions import BodyAction, Outcome, body_is_chosen
from .tools import turn_tool

TOOL_MODES = ("OBJECT", "EDIT_MESH", "PAINT_WEIGHT")
"""Modes that have the tool in their toolbar."""


class FINISHING_OT_paint_skip(BodyAction):
    """Paint skipped surface with the Skip tool: drag to mark it, with Ctrl to take marks back. Press again, or Enter in the view, to end"""

    bl_idname = "finishing.paint_skip"
    bl_label = "Paint Skip"
    bl_options = {"REGISTER"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Switch the tool on, from a mode without it in Object Mode; or off, back to the tool before it."""
        turn_tool(context, SKIP_TOOL, TOOL_MODES)
        return {"FINISHED"}


@with_properties
class FINISHING_OT_skip_stroke(bpy.types.Operator):
    """Mark the surface under the brush to be skipped, or take its marks back"""

    bl_idname = "finishing.skip_stroke"
    bl_label = "Mark Skip"
    bl_options = {"UNDO"}

    take_back: bool = switch(name="Take Back", description="Plan the surface under the brush again instead of skipping it", options={"SKIP_SAVE"})

    _brush: SkipBrush
    _aim: Aim
    _last: Hit | None = None

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a body, in a 3D view and a mode that has the tool."""
        if not body_is_chosen(cls, context):
            return False
        if context.region_data is None or context.mode not in TOOL_MODES:
            cls.poll_message_set("Use this in a 3D view")
            return False
        if not active_body(context).visible_get():
            cls.poll_message_set("The body is hidden: show it first")
            return False
        return True

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> Outcome:
        """The mouse is pressed: the stroke begins, on the body or beside it."""
        body_object = active_body(context)
        try:
            self._brush, self._aim, self._last = SkipBrush(context, body_object), Aim(context, body_object), None
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        SHOWN_MARKS.hold(body_object.session_uid)
        self._move(context, event)
        present(context.window_manager).modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> Outcome:
        """The stroke follows the mouse; it is written when the mouse is let go, and forgotten with ESC or the right button."""
        if event.type in ("MOUSEMOVE", "INBETWEEN_MOUSEMOVE"):
            self._move(context, event)
        elif event.type in ("ESC", "RIGHTMOUSE"):
            return self._end(written=False)
        elif event.type == "LEFTMOUSE" and event.value == "RELEASE":
            return self._end(written=True)
        return {"RUNNING_MODAL"}

    def cancel(self, _context: bpy.types.Context) -> None:
        """Blender ends the operator itself."""
        self._end(written=False)

    def _move(self, context: bpy.types.Context, event: bpy.types.Event) -> None:
        """Mark what lies between the last place of the mouse on the body and this one."""
        region, view, mouse = present(context.region), present(context.region_data), (event.mouse_region_x, event.mouse_region_y)
        hit = self._aim.at(context, region_2d_to_origin_3d(region, view, mouse), region_2d_to_vector_3d(region, view, mouse))
        if hit is not None and self._brush.dab(self._last, hit, view_of(context).brush_radius_mm, skip=not self.take_back):
            self._brush.show()
        self._last = hit
        region.tag_redraw()

    def _end(self, *, written: bool) -> Outcome:
        """Write the marks, or show again what there was."""
        SHOWN_MARKS.hold(None)
        changed = bool((self._brush.marked != self._brush.before).any())
        try:
            if written and changed:
                self._brush.write()
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            written = False
        if not written:
            self._brush.marked[:] = self._brush.before
            self._brush.show()
        return {"FINISHED"} if written and changed else {"CANCELLED"}


CLASSES = (FINISHING_OT_paint_skip, FINISHING_OT_skip_stroke)
