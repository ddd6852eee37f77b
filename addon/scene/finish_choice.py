"""How fine the ground is left, said in three ways: by name, by cusp height, by the spacing of the lines on flat ground."""

from __future__ import annotations

import bpy

from ..finishing.core.cusp_formulas import cusp_on_flat, spacing_on_flat
from ..finishing.job.request import PLAN
from .blender_data import present
from .length_properties import scale_in
from .rack_settings import shop_of

FINISHES = {"coarse": 0.1, "normal": 0.05, "fine": 0.02}
"""Cusp heights in mm of the finishes that have names; common practice, no source: sanding takes 0.05 mm off with grit 100 to 150."""

FINISH_NAMES = (*FINISHES, "cusp", "spacing")
"""What the finish may be said by, in the order of the list."""

SAME_CUSP = 1e-5
"""mm by which a stored cusp height may miss that of a named finish: Blender keeps floats in single precision."""


class FinishSettings(bpy.types.PropertyGroup):
    """What of a body's settings this is about, for the type checker: it is never registered."""

    cusp_mm: float
    fixed_spacing_mm: float
    last_radius_mm: float
    use_fixed_spacing: bool
    own_cusp: bool
    cutter_name: str


CUSP = PLAN.limits("cusp")
"""The spacing that is typed is kept to the same cusp heights."""

LEAST_SPACING = 0.01
"""mm."""

GREATEST_SPACING_SHARE = 1.9
"""Of the radius: at twice the radius neighbouring passes would no longer meet on flat ground."""

GREATEST_CUSP_SHARE = 0.999
"""Of the radius: at the radius itself the spacing has its greatest value, twice the radius."""


def _cutter_radius(settings: FinishSettings) -> float:
    """Radius in mm of the cutter that the spacing is meant for: the chosen one, else the last one planned with."""
    for item in shop_of(present(bpy.context.scene)).cutters:
        if item.name == settings.cutter_name:
            return item.diameter_mm / 2
    return settings.last_radius_mm


def read_spacing(settings: FinishSettings) -> float:
    """Distance of the lines on flat ground, in Blender units."""
    radius = _cutter_radius(settings)
    return float(spacing_on_flat(radius, min(settings.cusp_mm, GREATEST_CUSP_SHARE * radius))) / scale_in(bpy.context.scene)


def read_spacing_in_millimetres(settings: FinishSettings) -> float:
    """The same in mm."""
    return read_spacing(settings) * scale_in(bpy.context.scene)


def write_spacing(settings: FinishSettings, value: float) -> None:
    """Set the cusp height by it, in Blender units."""
    write_spacing_in_millimetres(settings, value * scale_in(bpy.context.scene))


def write_spacing_in_millimetres(settings: FinishSettings, value: float) -> None:
    """Set the cusp height by it, in mm."""
    radius = _cutter_radius(settings)
    spacing = min(max(value, LEAST_SPACING), GREATEST_SPACING_SHARE * radius)
    settings.cusp_mm = min(max(float(cusp_on_flat(radius, spacing)), CUSP.least), CUSP.greatest)


def read_finish(settings: FinishSettings) -> int:
    """Number of what `finish` shows: the spacing where it is kept, a named finish where the cusp height is its own, else the cusp height."""
    if settings.use_fixed_spacing:
        return FINISH_NAMES.index("spacing")
    named = next((name for name, cusp in FINISHES.items() if abs(settings.cusp_mm - cusp) < SAME_CUSP), "cusp")
    return FINISH_NAMES.index("cusp" if settings.own_cusp else named)


def write_finish(settings: FinishSettings, chosen: int) -> None:
    """Set what a named finish means, or what is typed from now on."""
    name = FINISH_NAMES[chosen]
    settings.use_fixed_spacing, settings.own_cusp = name == "spacing", name == "cusp"
    if name == "spacing":
        radius = _cutter_radius(settings)
        settings.fixed_spacing_mm = float(spacing_on_flat(radius, min(settings.cusp_mm, GREATEST_CUSP_SHARE * radius)))
    elif name in FINISHES:
        settings.cusp_mm = FINISHES[name]
