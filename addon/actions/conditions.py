"""When an action can be used, and the sentence on its greyed button when it cannot."""

from __future__ import annotations

import bpy

from ..scene.results import STORE


def body_is_chosen(cls: type[bpy.types.Operator], context: bpy.types.Context) -> bool:
    """Whether the active object can be a body; says why not on the greyed button."""
    if context.object is None:
        cls.poll_message_set("Select the body first: there is no active object")
        return False
    if context.object.type != "MESH":
        cls.poll_message_set("Select the body first: the active object is no mesh")
        return False
    return True


def plan_is_there(cls: type[bpy.types.Operator], context: bpy.types.Context) -> bool:
    """Whether the active body has a plan; says why not on the greyed button."""
    results = STORE.find(context.object)
    if results is None or results.plan is None:
        cls.poll_message_set("Plan the active body first")
        return False
    return True


def survey_is_there(cls: type[bpy.types.Operator], context: bpy.types.Context) -> bool:
    """Whether the active body has been measured; says why not on the greyed button."""
    results = STORE.find(context.object)
    if results is None or results.survey is None:
        cls.poll_message_set("Measure the active body first: nothing is suggested yet")
        return False
    return True


def object_mode_is_on(cls: type[bpy.types.Operator], context: bpy.types.Context) -> bool:
    """Whether Blender is in Object Mode; says why not on the greyed button."""
    if context.mode != "OBJECT":
        cls.poll_message_set("Go to Object Mode first")
        return False
    return True
