"""Blender's properties as attributes that have types: the one way in which the extension declares and reads them.

A property group or an operator writes

    @with_properties
    class Example(bpy.types.PropertyGroup):
        feed: float = number(name="Feed", default=3500.0)

For the type checker `feed` is a number; for Blender it is the annotation that holds a FloatProperty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import Any, ParamSpec, Protocol, TypeVar, cast

import bpy
from bpy.props import (
    BoolProperty,
    CollectionProperty,
    EnumProperty,
    FloatProperty,
    FloatVectorProperty,
    IntProperty,
    PointerProperty,
    StringProperty,
    _PropertyDeferred,
)

from ..finishing.job.setting_kinds import Number
from .length_properties import Length, length_pair
from .text_context import CONTEXT

Arguments = ParamSpec("Arguments")
Value = TypeVar("Value")
Row = TypeVar("Row", covariant=True)
Group = TypeVar("Group", bound=bpy.types.PropertyGroup)
Declaring = TypeVar("Declaring", bound=type)


class Rows(Protocol[Row]):
    """A list of property groups, as Blender keeps it."""

    def __len__(self) -> int:
        """How many rows there are."""
        ...

    def __iter__(self) -> Iterator[Row]:
        """Row after row."""
        ...

    def __getitem__(self, number: int, /) -> Row:
        """One row, from 0."""
        ...

    def add(self) -> Row:
        """Append a row."""
        ...

    def remove(self, index: int, /) -> None:
        """Take a row away."""
        ...

    def move(self, src_index: int, dst_index: int, /) -> None:
        """Move a row."""
        ...

    def clear(self) -> None:
        """Take all rows away."""
        ...


def _valued(make: Callable[Arguments, object], _kind: type[Value]) -> Callable[Arguments, Value]:
    """A function of bpy.props that, for the type checker, returns the value that its property will have. Its texts have a context of their own."""
    return cast(Callable[Arguments, Value], partial(cast("Callable[..., object]", make), translation_context=CONTEXT))


switch = _valued(BoolProperty, bool)
number = _valued(FloatProperty, float)
whole_number = _valued(IntProperty, int)
text_line = _valued(StringProperty, str)
choice = _valued(EnumProperty, str)
triple = _valued(FloatVectorProperty, tuple[float, float, float])


def length(label: str, tooltip: str, default: float, *, within: Number, decimals: int = 3) -> float:
    """A length in mm; its name must end with _mm, and the same name without it shows it in the scene's unit (see length_properties).

    within: its limits, as the settings' table has them.
    """
    return cast(float, Length(label, tooltip, default, least=within.least, greatest=within.greatest, decimals=decimals))


def limits(within: Number) -> dict[str, Any]:
    """The limits of a number, as the settings' table has them, for `number` and `whole_number`."""
    return {"min": within.least, "max": within.greatest}


def object_choice(name: str, description: str, poll: Callable[[Group, bpy.types.Object], bool]) -> bpy.types.Object | None:
    """An object of the file, None while none is chosen. poll: whether an object is offered."""
    return cast(
        "bpy.types.Object | None", PointerProperty(name=name, description=description, type=bpy.types.Object, poll=poll, translation_context=CONTEXT)
    )


def rows(kind: type[Group]) -> Rows[Group]:
    """A list of property groups."""
    return cast(Rows[Group], CollectionProperty(type=kind))


def record(kind: type[Group]) -> Group:
    """One property group within another."""
    return cast(Group, PointerProperty(type=kind))


def with_properties(declaring: Declaring) -> Declaring:
    """Class decorator: what the class body gives its annotated names as values becomes Blender's properties, in their order."""
    found: dict[str, object] = {}
    for name, annotation in declaring.__dict__.get("__annotations__", {}).items():
        declared = declaring.__dict__.get(name)
        if isinstance(declared, Length):
            found |= length_pair(name, declared)
        elif isinstance(declared, _PropertyDeferred):
            found[name] = declared
        else:
            found[name] = annotation
            continue
        delattr(declaring, name)
    declaring.__annotations__ = found
    return declaring


def attach(owner: type[bpy.types.bpy_struct], name: str, kind: type[bpy.types.PropertyGroup]) -> None:
    """Hang a property group on all of Blender's data of one type."""
    setattr(owner, name, PointerProperty(type=kind))


def detach(owner: type[bpy.types.bpy_struct], name: str) -> None:
    """Take a property group away from all data of a type."""
    delattr(owner, name)


def attached(owner: bpy.types.bpy_struct, name: str, _kind: type[Group]) -> Group:
    """The property group that hangs on one of Blender's objects, scenes or window managers."""
    return cast(Group, getattr(owner, name))
