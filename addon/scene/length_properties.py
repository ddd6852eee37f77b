"""Lengths that are stored in mm and shown in the unit of the scene.

Every length is a pair of properties: `<name>_mm`, the value that is stored and that presets save, and `<name>`, which is
shown and typed in the scene's unit. So a cutter of 16 mm stays one, whatever the scene's scale.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import bpy
from bpy.props import FloatProperty

from .mesh_reading import millimetres_per_unit


@dataclass(frozen=True)
class Length:
    """A length property. default, least, greatest in mm; decimals: how many are shown."""

    label: str
    tooltip: str
    default: float
    least: float = 0.0
    greatest: float = 10000.0
    decimals: int = 3


def lengths(**entries: Length) -> Callable[[type], type]:
    """Class decorator for a PropertyGroup: adds the pair of properties of every entry, in their order."""

    def decorate(group: type) -> type:
        own = dict(group.__dict__.get("__annotations__", {}))
        for name, entry in entries.items():
            own[stored_name(name)] = FloatProperty(
                name=f"{entry.label} (mm)", description=entry.tooltip, default=entry.default, min=entry.least,
                max=entry.greatest, precision=6, options={"HIDDEN"},
            )  # fmt: skip
            own[name] = _shown(stored_name(name), entry)
        group.__annotations__ = own
        group.length_names = tuple(entries)
        return group

    return decorate


def stored_name(name: str) -> str:
    """Name of the property that holds a length in mm."""
    return f"{name}_mm"


def _shown(stored: str, entry: Length) -> object:
    """The property of a pair that is seen: its value is the stored one in Blender units."""

    def read(group: bpy.types.PropertyGroup) -> float:
        return getattr(group, stored) / scale_for(group)

    def write(group: bpy.types.PropertyGroup, value: float) -> None:
        # Blender keeps floats in single precision: a typed 0.05 mm must not come back as 0.0500000007.
        millimetres = round(value * scale_for(group), 5)
        setattr(group, stored, min(max(millimetres, entry.least), entry.greatest))

    return FloatProperty(
        name=entry.label, description=entry.tooltip, subtype="DISTANCE", unit="LENGTH", precision=entry.decimals,
        get=read, set=write, options={"SKIP_SAVE"},
    )  # fmt: skip


def scale_for(group: bpy.types.PropertyGroup) -> float:
    """Millimetres for one Blender unit in the scene that a property group belongs to, or in the scene at hand."""
    owner = group.id_data
    scene = owner if isinstance(owner, bpy.types.Scene) else bpy.context.scene
    return millimetres_per_unit(scene) if scene is not None else 1000.0
