"""Blender's own data with the types that it has wherever the extension runs.

Blender's types call nearly everything optional, since a script can run without a window, a scene or an active object. Panels and
actions run only where their poll has found what they need; here that is said once, so that the type checker knows it too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar, cast

import bpy
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from bmesh.types import BMesh

Part = TypeVar("Part")
Item = TypeVar("Item", covariant=True)


Number = TypeVar("Number", bound=np.generic)


class Collected(Protocol):
    """A collection of Blender's that is read into an array at once."""

    def __len__(self) -> int:
        """How many items there are."""
        ...

    def foreach_get(self, attr: str, seq: NDArray[np.generic], /) -> None:
        """Copy one value of every item."""
        ...


class Named(Protocol[Item]):
    """A collection of Blender's whose items are found by their names."""

    def __contains__(self, name: str, /) -> bool:
        """Whether there is an item of this name."""
        ...

    def __getitem__(self, name: str, /) -> Item:
        """The item of this name."""
        ...


def present(part: Part | None) -> Part:
    """A part of Blender's data that its types call optional. Raises RuntimeError when it is missing after all."""
    if part is None:
        raise RuntimeError("Blender has no scene, object or region here: this needs one.")
    return part


def find_named(collection: Named[Part], name: str) -> Part | None:
    """The item of a collection with this name, None when there is none."""
    if name not in collection:
        return None
    return collection[name]


def object_with(uid: int) -> bpy.types.Object | None:
    """The object with a session_uid, None when it is gone."""
    return next((candidate for candidate in bpy.data.objects if candidate.session_uid == uid), None)


def mesh_of(body_object: bpy.types.Object) -> bpy.types.Mesh:
    """The mesh of an object. Raises TypeError when it is not a mesh object."""
    mesh = body_object.data
    if not isinstance(mesh, bpy.types.Mesh):
        raise TypeError(f"{body_object.name!r} is not a mesh.")
    return mesh


def edited_mesh(mesh: bpy.types.Mesh) -> BMesh:
    """The mesh of an object in Edit Mode as it is edited."""
    import bmesh  # bpy must be there first where it is a package of its own

    return bmesh.from_edit_mesh(mesh)


def world_matrix(body_object: bpy.types.Object) -> NDArray[np.float64]:
    """From the object's own axes to the world, (4, 4)."""
    return np.array(body_object.matrix_world, dtype=np.float64)


def attribute_data(attribute: bpy.types.Attribute) -> bpy.types.bpy_prop_collection[bpy.types.FloatAttributeValue]:
    """The values of an attribute of a mesh, whatever their type; none in Edit Mode. Only the subtypes of Attribute declare them."""
    return cast("bpy.types.FloatAttribute", attribute).data


def values_of(items: Collected, name: str, kind: type[Number], width: int = 1) -> NDArray[Number]:
    """One value of every item of a collection, flat, (width * items,). width: numbers that one value has."""
    values = np.empty(len(items) * width, kind)
    items.foreach_get(name, values)
    return values


def set_value(owner: bpy.types.bpy_struct, name: str, value: str) -> None:
    """Set a choice of Blender's own whose values its types list too narrowly, as the length units of a scene, which depend on its system."""
    setattr(owner, name, value)
