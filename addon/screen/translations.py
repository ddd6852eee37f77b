"""Hands the texts in other languages to Blender."""

from __future__ import annotations

import bpy

from .german import GERMAN

CONTEXTS = ("*", "Operator")
"""Blender looks labels of operators up in a context of their own."""

LOCALES = {"de_DE": GERMAN, "de": GERMAN}
"""By Blender's codes of languages, which differ between its versions."""


def register() -> None:
    """Let Blender know the texts."""
    tables = {locale: {(context, text): shown for text, shown in texts.items() for context in CONTEXTS} for locale, texts in LOCALES.items()}
    bpy.app.translations.register(__package__, tables)


def unregister() -> None:
    """Take the texts back."""
    bpy.app.translations.unregister(__package__)
