"""Lengths that are stored in mm and shown in the unit of the scene.

Every length is a pair of properties: `<name>_mm`, the value that is stored and that presets save, and `<name>`, which is
shown and typed in the scene's unit. So a cutter of 16 mm stays one, whatever the scene's scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
from bpy.props import FloatProperty

from .mesh_reading import millimetres_per_unit
from .text_context import CONTEXT

STORED = "_mm"
"""How the name of a property ends that holds a length in mm."""

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
    """The two properties of a length by their names: the one that is stored and the one that is seen."""
    kept = FloatProperty(
        name=f"{entry.label} (mm)",
        description=entry.tooltip,
        default=entry.default,
        min=entry.least,
        max=entry.greatest,
        precision=6,
        options={"HIDDEN"},
    )
    return {stored: kept, stored.removesuffix(STORED): _shown(stored, entry)}


def _shown(stored: str, entry: Length) -> object:
    """The property of a pair that is seen: its value is the stored one in Blender units."""

    def read(group: bpy.types.PropertyGroup) -> float:
        return float(getattr(group, stored)) / scale_for(group)

    def write(group: bpy.types.PropertyGroup, value: float) -> None:
        millimetres = round(value * scale_for(group), DECIMALS_KEPT)
        setattr(group, stored, min(max(millimetres, entry.least), entry.greatest))

    return FloatProperty(
        name=entry.label,
        description=entry.tooltip,
        subtype="DISTANCE",
        unit="LENGTH",
        precision=entry.decimals,
        get=read,
        set=write,
        translation_context=CONTEXT,
        options={"SKIP_SAVE"},
    )


def scale_for(group: bpy.types.PropertyGroup) -> float:
    """Millimetres for one Blender unit in the scene that a property group belongs to, or in the scene at hand."""
    owner = group.id_data
    scene = owner if isinstance(owner, bpy.types.Scene) else bpy.context.scene
    return millimetres_per_unit(scene) if scene is not None else 1000.0
