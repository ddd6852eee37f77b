"""Takes hold of stock, zero, dowels, tabs, keep-out boxes and grain in the view, while the tool Move Stock and Zero is active."""

from __future__ import annotations

from collections.abc import Sequence

import bpy
import numpy as np
from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d

from ..finishing.core.array_types import Double
from ..finishing.core.message import Message
from ..scene.active import results_of
from ..scene.blender_data import present
from ..scene.body_settings import settings_of
from ..scene.job_setup import JobSetup, job_setup
from ..scene.redrawing import redraw_views
from ..scene.setup_drag import Drag
from ..scene.setup_handles import Before, handles_of, noted, put_back
from ..scene.setup_tool import setup_tool_is_on
from ..scene.view_settings import view_of
from ..screen.language import in_users_language
from .mouse_following import GizmoOutcome
from .setup_places import HANDLES

LETTERS = {"BACK_SPACE": "<", "TAB": ">", "NUMPAD_PERIOD": ".", "NUMPAD_MINUS": "-"}
"""Keys that are told by their names, beside figures; "<" and ">" as Drag.key takes them."""


class FINISHING_GT_setup(bpy.types.Gizmo):
    """All handles of the active body: which one is hit is found on the screen, where they are drawn."""

    bl_idname = "FINISHING_GT_setup"

    _drag: Drag | None = None
    _setup: JobSetup | None = None
    _before: Before | None = None

    def test_select(self, context: bpy.types.Context, location: Sequence[int] | None) -> int:
        """Whether the mouse is on a handle; the one that it is on says what it is."""
        return HANDLES.point(context, location)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> GizmoOutcome:
        """The mouse is pressed on a handle."""
        body_object, results = context.object, results_of(context)
        setup = None if body_object is None or results is None else job_setup(results, body_object)
        handle = None if setup is None else next((each for each in handles_of(setup) if each.name == HANDLES.hot), None)
        if body_object is None or setup is None or handle is None:
            return {"CANCELLED"}
        self._setup, self._before = setup, noted(settings_of(body_object))
        self._drag = Drag(handle, ((setup.low + setup.high) / 2)[:2])
        self._follow(context, event)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event, _tweak: object) -> GizmoOutcome:
        """The handle follows the mouse, in steps with Ctrl, slowly with Shift; figures type its value."""
        if self._drag is None:
            return {"CANCELLED"}
        letter = LETTERS.get(event.type, event.unicode)
        if event.type == "MOUSEMOVE" or event.type.endswith(("CTRL", "SHIFT")):
            self._follow(context, event)
        elif event.value == "PRESS" and letter:
            self._take(context, self._drag.key(letter))
        return {"RUNNING_MODAL"}

    def exit(self, context: bpy.types.Context, cancel: bool | None) -> None:
        """The mouse is let go: the drag is one step to undo; with ESC or the right button all is as it was."""
        drag, before, body_object = self._drag, self._before, context.object
        self._drag = self._setup = self._before = HANDLES.values = None
        if drag is None or before is None or body_object is None:
            return
        if cancel:
            put_back(settings_of(body_object), before)
        elif noted(settings_of(body_object)) != before:
            bpy.ops.ed.undo_push(message=in_users_language(Message("Move Stock and Zero")))
        redraw_views()

    def draw(self, context: bpy.types.Context) -> None:
        """Nothing: handles are drawn in pixels, with what they say."""

    def _follow(self, context: bpy.types.Context, event: bpy.types.Event) -> None:
        setup, drag = present(self._setup), present(self._drag)
        origin, way = ray_in_job(context, setup.world_from_job, (event.mouse_region_x, event.mouse_region_y))
        self._take(context, drag.move(origin, way, snap=event.ctrl, precise=event.shift))

    def _take(self, context: bpy.types.Context, values: tuple[float, ...]) -> None:
        """Give the settings the values; those of one handle alone, whatever the last ones were."""
        body, drag = settings_of(present(context.object)), present(self._drag)
        HANDLES.values = values
        if values == drag.handle.values:
            put_back(body, present(self._before))
        else:
            drag.handle.take(body, values)
        redraw_views()


def ray_in_job(context: bpy.types.Context, world_from_job: Double, place: tuple[float, float]) -> tuple[Double, Double]:
    """The ray under a place of the region: origin (3,) and way (3,) in job mm."""
    region, view = present(context.region), present(context.region_data)
    back = np.linalg.inv(world_from_job)
    origin = back @ np.append(np.array(region_2d_to_origin_3d(region, view, place)), 1.0)
    return origin[:3], back[:3, :3] @ np.array(region_2d_to_vector_3d(region, view, place))


class FINISHING_GGT_setup(bpy.types.GizmoGroup):
    """Handles on stock, zero, dowels, tabs, keep-out boxes and grain."""

    bl_idname = "FINISHING_GGT_setup"
    bl_label = "Finishing Stock and Zero"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the tool is on, and there is a body."""
        is_body = context.object is not None and context.object.type == "MESH"
        return is_body and setup_tool_is_on(context) and view_of(context).show

    def setup(self, context: bpy.types.Context) -> None:
        """Put the one gizmo in."""
        self.gizmos.new(FINISHING_GT_setup.bl_idname)


CLASSES = (FINISHING_GT_setup, FINISHING_GGT_setup)
