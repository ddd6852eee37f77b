"""When an action can be used, the sentence on its greyed button when it cannot, and how it can end."""

from __future__ import annotations

from typing import Literal

import bpy

from ..scene.active import plan_of, results_of

Outcome = set[Literal["RUNNING_MODAL", "CANCELLED", "FINISHED", "PASS_THROUGH", "INTERFACE"]]
"""What Blender's calls of an action return."""


def body_is_chosen(cls: type[bpy.types.Operator], context: bpy.types.Context) -> bool:
    """Whether the active object can be a body; says why not on the greyed button."""
    if context.object is None:
        cls.poll_message_set("Select the body first: there is no active object")
        return False
    if context.object.type != "MESH":
        cls.poll_message_set("Select the body first: the active object is not a mesh")
        return False
    return True


def object_mode_is_on(cls: type[bpy.types.Operator], context: bpy.types.Context) -> bool:
    """Whether Blender is in Object Mode; says why not on the greyed button."""
    if context.mode != "OBJECT":
        cls.poll_message_set("Go to Object Mode first")
        return False
    return True


class BodyAction(bpy.types.Operator):
    """An action on the active body."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active object can be a body."""
        return body_is_chosen(cls, context)


class PlanAction(bpy.types.Operator):
    """An action on the plan of the active body."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active body has a plan."""
        if plan_of(context) is None:
            cls.poll_message_set("Plan the active body first")
            return False
        return True


class SurveyAction(bpy.types.Operator):
    """An action on what has been measured of the active body."""

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether the active body has been measured."""
        results = results_of(context)
        if results is None or results.survey is None:
            cls.poll_message_set("Measure the active body first: nothing is suggested yet")
            return False
        return True
