"""Hands the texts in other languages to Blender."""

from __future__ import annotations

import bpy

from ..scene.text_context import CONTEXT
from .german import GERMAN
from .german_actions import GERMAN_ACTIONS
from .german_errors import GERMAN_ERRORS
from .german_findings import GERMAN_FINDINGS
from .german_flats import GERMAN_FLATS
from .german_measured import GERMAN_MEASURED
from .german_mesh_files import GERMAN_MESH_FILES
from .german_presets import GERMAN_PRESETS
from .german_programs import GERMAN_PROGRAMS
from .german_screen import GERMAN_SCREEN
from .german_settings import GERMAN_SETTINGS
from .german_sheet import GERMAN_SHEET
from .german_tabs import GERMAN_TABS
from .german_tools import GERMAN_TOOLS
from .german_words import GERMAN_WORDS

NUMBER = "0.5%"
"""A number for languages to show their decimal mark and their per cent sign by."""

CONTEXTS = ("*", "Operator", CONTEXT)
"""Blender looks labels of operators up in a context of their own; messages have one of theirs."""

TABLES = (
    GERMAN,
    GERMAN_SETTINGS,
    GERMAN_ACTIONS,
    GERMAN_SCREEN,
    GERMAN_FINDINGS,
    GERMAN_ERRORS,
    GERMAN_MESH_FILES,
    GERMAN_FLATS,
    GERMAN_MEASURED,
    GERMAN_PRESETS,
    GERMAN_PROGRAMS,
    GERMAN_TABS,
    GERMAN_TOOLS,
    GERMAN_SHEET,
    GERMAN_WORDS,
)

ALL_GERMAN = {text: shown for table in TABLES for text, shown in table.items()} | {NUMBER: "0,5\N{NO-BREAK SPACE}%"}
"""Text: what is shown for it. Decimals have a comma, and the per cent sign stands apart (DIN 5008)."""

LOCALES = {"de_DE": ALL_GERMAN, "de": ALL_GERMAN}
"""By Blender's codes of languages, which differ between its versions."""


def register() -> None:
    """Let Blender know the texts."""
    tables = {locale: {(context, text): shown for text, shown in texts.items() for context in CONTEXTS} for locale, texts in LOCALES.items()}
    bpy.app.translations.register(__package__, tables)


def unregister() -> None:
    """Take the texts back."""
    bpy.app.translations.unregister(__package__)
