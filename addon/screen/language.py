"""Messages in the user's language: templates looked up in Blender's translations, numbers written as the language writes them."""

from __future__ import annotations

from collections.abc import Callable

from bpy.app.translations import pgettext_iface, pgettext_rpt

from ..finishing.core.message import Language, Message
from ..scene.text_context import CONTEXT
from .translations import LOCALES, NUMBER


def in_users_language(message: Message) -> str:
    """A message for panels, menus and the view; in English where the user's language has no words for it."""
    return _rendered(message, pgettext_iface)


def for_report(message: Message) -> str:
    """A message for an operator's report, which users may have in another language than panels."""
    return _rendered(message, pgettext_rpt)


def users_language() -> Language:
    """The language that files for people are written in: that of the panels, where the extension speaks it, else English.

    It may be used in any thread: words are looked up in our own table, since Blender translates in its main thread alone.
    """
    shown = pgettext_iface(NUMBER, CONTEXT)
    locale, table = next(((locale, table) for locale, table in LOCALES.items() if table[NUMBER] == shown), ("en", {}))
    return Language(locale.split("_")[0], lambda message: _rendered(message, lambda text, _context: table.get(text, text)))


def interface_word(text: str) -> str:
    """A label of the extension as panels show it, for measuring it and writing it oneself."""
    return pgettext_iface(text, CONTEXT)


def _rendered(message: Message, look_up: Callable[[str, str], str]) -> str:
    example = look_up(NUMBER, CONTEXT)
    mark, sign = example[1], example[3:]

    def translate(template: str) -> str:
        return look_up(template, CONTEXT)

    def number(shown: str) -> str:
        return shown.replace(".", mark).replace("%", sign)

    return message.rendered(translate, number)
