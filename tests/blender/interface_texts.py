"""Gathers every text of the interface that can be translated, from the registered classes and from the source."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import bpy
import message_templates

HOME = Path(__file__).parents[2] / "addon"
PARTS = ("actions", "overlay", "scene", "screen")
MARKED = {"poll_message_set"}
"""Calls whose first text is shown to the user."""

LAID_OUT = {"label", "menu", "operator", "operator_menu_enum", "prop", "prop_search"}
"""Calls of a layout whose `text` Blender translates."""

BLENDERS_OWN = "Unique name used in the code and scripting"
"""How a description begins that Blender gives to what has none."""


def interface_texts() -> set[str]:
    """All texts that the interface shows."""
    found = (*_texts_of_classes(), *_texts_of_source())
    return {text for text in found if any(letter.isalpha() for letter in text)} | message_templates.to_translate()


def _texts_of_classes() -> Iterator[str]:
    """Labels and tooltips of panels, operators, menus and properties that are registered."""
    kinds = (bpy.types.Panel, bpy.types.Operator, bpy.types.Menu, bpy.types.PropertyGroup, bpy.types.GizmoGroup, bpy.types.WorkSpaceTool)
    for cls in (cls for kind in kinds for cls in _subclasses(kind)):
        if issubclass(cls, bpy.types.WorkSpaceTool):
            if cls.__module__.startswith("addon."):
                yield from (text for text in (getattr(cls, "bl_label", ""), getattr(cls, "bl_description", "")) if text)
            continue
        if not f"{cls.__module__}.".startswith("addon.") or not getattr(cls, "is_registered", False):
            continue
        label = getattr(cls, "bl_label", "")
        if label:
            yield label
        properties = cls.bl_rna.properties
        if issubclass(cls, bpy.types.Operator):
            yield (cls.__doc__ or "").strip()
            group, action = cls.bl_idname.split(".")
            properties = getattr(getattr(bpy.ops, group), action).get_rna_type().properties
        for prop in properties:
            if prop.identifier not in getattr(cls, "__annotations__", {}) or prop.is_hidden:
                continue
            if prop.type in {"POINTER", "COLLECTION"} and prop.name == prop.identifier:
                continue  # never shown itself
            yield from (text for text in (prop.name, prop.description) if text != prop.identifier and not text.startswith(BLENDERS_OWN))
            if prop.type == "ENUM":
                for item in prop.enum_items:
                    yield from (item.name, item.description)


def _subclasses(kind: type) -> Iterator[type]:
    """All classes below a type of Blender's, those first that come directly below it."""
    for cls in kind.__subclasses__():
        yield cls
        yield from _subclasses(cls)


def _texts_of_source() -> Iterator[str]:
    """Texts given to labels, buttons and messages of greyed-out actions."""
    for part in PARTS:
        for file in sorted((HOME / part).glob("*.py")):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.Call):
                    continue
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                if called in MARKED and node.args:
                    yield from _written_out(node.args[0], file)
                if called == "report" and not (isinstance(node.args[1], ast.Call) and getattr(node.args[1].func, "id", "") == "for_report"):
                    raise ValueError(f"{file.name}:{node.lineno}: this report is not a message in the user's language")
                if called in LAID_OUT and not _untranslated(node):
                    for keyword in node.keywords:
                        if keyword.arg == "text":
                            yield from _written_out(keyword.value, file)


def _untranslated(node: ast.Call) -> bool:
    return any(keyword.arg == "translate" for keyword in node.keywords)


def _written_out(node: ast.expr, file: Path) -> Iterator[str]:
    """The plain texts of an expression: a constant, or both branches of a choice.

    Raises ValueError for anything else, whose texts could not be gathered: such a text must be a message, or be marked as translate=False.
    """
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _written_out(node.body, file)
        yield from _written_out(node.orelse, file)
    else:
        raise ValueError(f"{file.name}:{node.lineno}: the text is not written out: {ast.unparse(node)}")
