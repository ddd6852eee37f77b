"""What belongs to the active object and its scene, as panels and actions ask for it once their poll has found a body."""

from __future__ import annotations

import bpy

from ..finishing.planning.result import Plan
from .blender_data import present
from .body_settings import FinishingBody, settings_of
from .rack_settings import FinishingShop, shop_of
from .results import STORE, BodyResults


def active_body(context: bpy.types.Context) -> bpy.types.Object:
    """The active object. Raises RuntimeError when there is none."""
    return present(context.object)


def active_settings(context: bpy.types.Context) -> FinishingBody:
    """The settings of the active object. Raises RuntimeError when there is none."""
    return settings_of(active_body(context))


def active_shop(context: bpy.types.Context) -> FinishingShop:
    """Rack and machine of the scene."""
    return shop_of(present(context.scene))


def results_of(context: bpy.types.Context) -> BodyResults | None:
    """What has been worked out for the active object, None when nothing has."""
    return STORE.find(context.object)


def plan_of(context: bpy.types.Context) -> Plan | None:
    """The plan of the active object that is looked at."""
    results = results_of(context)
    return None if results is None else results.plan


def state_of(context: bpy.types.Context) -> str:
    """Whether the active object is planned, and what has changed since, as BodyResults.state says it."""
    results = results_of(context)
    return "none" if results is None else results.state(present(context.scene), active_body(context))


def active_results(context: bpy.types.Context) -> BodyResults:
    """What has been worked out for the active object. Raises RuntimeError when nothing has."""
    return present(results_of(context))


def active_plan(context: bpy.types.Context) -> Plan:
    """The plan of the active object that is looked at. Raises RuntimeError when there is none."""
    return present(plan_of(context))
