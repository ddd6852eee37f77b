"""Messages: an English sentence with named places, and the values that belong there, so that every language can fill a sentence of its own."""

from __future__ import annotations

import numbers
import string
from collections.abc import Callable
from dataclasses import dataclass

Translate = Callable[[str], str]
"""Gives the text that a language has for an English one, or the English one where it has none."""


@dataclass(frozen=True, init=False)
class Message:
    """A sentence, a few words or a number with its unit, ready to be shown in any language; `str` gives the English.

    template: English with named places, such as "The slot is {width:.1f} mm wide."; languages look it up, and may use the places in
    another order. values: (name, value) pairs. A value that is a message is translated itself; text (a name that the user has given, a
    file, a key of a settings file) is shown as it is; a tuple is listed with commas between.
    """

    template: str
    values: tuple[tuple[str, object], ...]

    def __init__(self, template: str, /, **values: object) -> None:
        object.__setattr__(self, "template", template)
        object.__setattr__(self, "values", tuple(values.items()))

    def __str__(self) -> str:
        return self.rendered(_unchanged, _unchanged)

    def rendered(self, translate: Translate, number: Callable[[str], str]) -> str:
        """The message in a language. translate: looks templates up. number: writes an English number, such as "0.5" or "12%", its way.

        Raises KeyError when the language's template has a place that there is no value for.
        """
        template = translate(self.template)
        if not self.values:
            return template
        return _Filler(translate, number).vformat(template, (), dict(self.values))


class _Filler(string.Formatter):
    """Fills the places of a template in one language."""

    def __init__(self, translate: Translate, number: Callable[[str], str]) -> None:
        self._translate, self._number = translate, number

    def format_field(self, value: object, format_spec: str) -> str:
        """One value in its place."""
        if isinstance(value, Message):
            return value.rendered(self._translate, self._number)
        if isinstance(value, tuple):
            return ", ".join(self.format_field(item, format_spec) for item in value)
        shown = format(value, format_spec)
        return self._number(shown) if isinstance(value, numbers.Real) else shown


def _unchanged(text: str) -> str:
    return text


def word(text: str) -> Message:
    """A word out of a table of words that languages know, such as a kind of wood or the name of a stage."""
    return Message(text)


def setting_name(name: str) -> Message:
    """The name of a setting, as it is called in records and settings files, in words."""
    return word(name.replace("_", " "))


def in_a_row(first: Message, *others: Message | None) -> Message:
    """Several sentences, one after the other, as one message."""
    sentences = {f"sentence_{number}": sentence for number, sentence in enumerate((first, *others)) if sentence is not None}
    return Message(" ".join(f"{{{name}}}" for name in sentences), **sentences)


def message_record(message: Message) -> dict[str, object]:
    """A message as plain values for JSON: its template, and its values by name."""
    return {"template": message.template, "values": {name: _plain(value) for name, value in message.values}}


def _plain(value: object) -> object:
    if isinstance(value, Message):
        return message_record(value)
    return [_plain(item) for item in value] if isinstance(value, tuple) else value
