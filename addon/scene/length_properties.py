"""Lengths that are stored in mm and shown in the unit of the scene.

Every length is three properties: `<name>_mm`, the value that is stored and that presets save; `<name>`, which is shown and typed in
the scene's unit; and `<name>_in_millimetres`, which panels show where that unit is neither millimetres nor inches. So a cutter of 16 mm
stays one, whatever the scene's scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
from bpy.props import FloatProperty

from .mesh_reading import millimetres_per_unit
from .text_context import CONTEXT

STORED = "_mm"
"""How the name of a property ends that holds a length in mm."""

PLAIN = "_in_millimetres"
"""How the name of a property ends that shows a length in mm in every scene."""

METRE = 1000.0
"""mm from which Blender shows a length in m."""

DECIMALS_KEPT = 5
"""Blender keeps floats in single precision: a typed 0.05 mm must not come back as 0.0500000007."""


@dataclass(frozen=True)
class Length:
    """A length property. default, least, greatest in mm; decimals: how many are shown."""

    label: str
    tooltip: str
    default: float
    least: float = 0.0
    greatest: float = 10000.0
    decimals: int = 3


def stored_name(name: str) -> str:
    """Name of the property that holds a length in mm."""
    return f"{name}{STORED}"


def length_pair(stored: str, entry: Length) -> dict[str, object]:
    """The properties of a length by their names: the one that is stored and the two that are seen."""
    kept = FloatProperty(
        name=f"{entry.label} (mm)",
        description=entry.tooltip,
        default=entry.default,
        min=entry.least,
        max=entry.greatest,
        precision=entry.decimals,
        options={"HIDDEN"},
    )
    name = stored.removesuffix(STORED)
    return {stored: kept, name: _seen(stored, entry, plain=False), f"{name}{PLAIN}": _seen(stored, entry, plain=True)}


def _seen(stored: str, entry: Length, *, plain: bool) -> object:
    """A property that is seen: its value is the stored one in Blender units, or, plainly, in mm, whatever a Blender unit is."""

    def scale(group: bpy.types.PropertyGroup) -> float:
        return 1.0 if plain else scale_for(group)

    def read(group: bpy.types.PropertyGroup) -> float:
        return float(getattr(group, stored)) / scale(group)

    def write(group: bpy.types.PropertyGroup, value: float) -> None:
        millimetres = round(value * scale(group), DECIMALS_KEPT)
        setattr(group, stored, min(max(millimetres, entry.least), entry.greatest))

    # Blender shows lengths of cameras in mm in every scene, and takes them in mm.
    return FloatProperty(
        name=entry.label,
        description=entry.tooltip,
        subtype="DISTANCE_CAMERA" if plain else "DISTANCE",
        unit="CAMERA" if plain else "LENGTH",
        precision=entry.decimals,
        get=read,
        set=write,
        translation_context=CONTEXT,
        options={"SKIP_SAVE"},
    )


def seen_name(group: bpy.types.PropertyGroup, name: str, scene: bpy.types.Scene) -> str:
    """Name of the property that panels show for `name`: of a length the one in the scene's unit where that is mm or inches, else the one in mm.

    From a metre on Blender would show that one in m: then the stored one, which has no unit of Blender's.
    """
    plain = f"{name}{PLAIN}"
    if plain not in group.bl_rna.properties or shows_small_lengths(scene):
        return name
    return stored_name(name) if abs(getattr(group, stored_name(name), 0.0)) >= METRE else plain


def shows_small_lengths(scene: bpy.types.Scene) -> bool:
    """Whether a scene shows lengths in millimetres or inches."""
    return scene.unit_settings.length_unit in {"MILLIMETERS", "INCHES"}


def scale_for(group: bpy.types.PropertyGroup) -> float:
    """Millimetres for one Blender unit in the scene that a property group belongs to, or in the scene at hand."""
    owner = group.id_data
    return scale_in(owner if isinstance(owner, bpy.types.Scene) else bpy.context.scene)


def scale_in(scene: bpy.types.Scene | None) -> float:
    """Millimetres for one Blender unit in a scene; without one a unit is a metre."""
    return millimetres_per_unit(scene) if scene is not None else 1000.0
