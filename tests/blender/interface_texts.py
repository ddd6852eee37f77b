"""Gathers every text of the interface that can be translated, from the registered classes and from the source."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import bpy

from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.pictures.legend import TITLES
from addon.overlay.legend_drawing import KEY_WORDS, NOTES
from addon.screen.outcome_panels import COMPARED
from addon.screen.panel_parts import OUT_OF_DATE
from addon.screen.sentences import FRAGMENTS, SENTENCES
from addon.screen.shop_panels import FIT_HEAD

HOME = Path(__file__).parents[2] / "addon"
PARTS = ("actions", "overlay", "scene", "screen")
MARKED = {"translated", "pgettext_iface", "pgettext_rpt", "pgettext_tip", "poll_message_set"}
"""Calls whose first text is shown to the user."""


BLENDERS_OWN = "Unique name used in the code and scripting"
"""How a description begins that Blender gives to what has none."""


def interface_texts() -> set[str]:
    """All texts that the interface shows."""
    found = (*_texts_of_classes(), *_texts_of_source(), *_texts_of_tables())
    return {text for text in found if any(letter.isalpha() for letter in text)}


def _texts_of_tables() -> Iterator[str]:
    """Texts that panels, legend and readout take from tables."""
    yield from (*TITLES, *KEY_WORDS, *NOTES.values(), *(title for title, _ in COMPARED), *OUT_OF_DATE.values(), *FIT_HEAD)
    yield from (CAUTIONS[0], CAUTIONS[-1], *SENTENCES, *FRAGMENTS)


def _texts_of_classes() -> Iterator[str]:
    """Labels and tooltips of panels, operators, menus and properties that are registered."""
    kinds = (bpy.types.Panel, bpy.types.Operator, bpy.types.Menu, bpy.types.PropertyGroup, bpy.types.GizmoGroup)
    for cls in (cls for kind in kinds for cls in _subclasses(kind)):
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
    """Texts given to labels and to the calls that translate."""
    for part in PARTS:
        for file in sorted((HOME / part).glob("*.py")):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.Call):
                    continue
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                if called in MARKED and node.args:
                    yield from _constants(node.args[0])
                if called in {"label", "operator", "prop", "prop_search"} and not _untranslated(node):
                    for keyword in node.keywords:
                        if keyword.arg == "text":
                            yield from _constants(keyword.value)


def _untranslated(node: ast.Call) -> bool:
    return any(keyword.arg == "translate" for keyword in node.keywords)


def _constants(node: ast.expr) -> Iterator[str]:
    """The plain texts of an expression: a constant, or both branches of a choice."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from _constants(node.body)
        yield from _constants(node.orelse)
