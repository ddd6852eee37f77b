"""Messages: an English sentence with named places, and the values that belong there, so that every language can fill a sentence of its own."""

from __future__ import annotations

import numbers
from collections.abc import Callable
from dataclasses import dataclass

Translate = Callable[[str], str]
"""Gives the text that a language has for an English one, or the English one where it has none."""

WriteNumber = Callable[[str], str]
"""Writes an English number, such as "0.5" or "12%", the way a language does."""


@dataclass(frozen=True, init=False)
class Message:
    """A sentence, a few words or a number with its unit, ready to be shown in any language; `str` gives the English.

    template: English with named places, such as "The channel is {width:.1f} mm wide."; languages look it up, and may use the places in
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

    def rendered(self, translate: Translate, number: WriteNumber) -> str:
        """The message in a language. translate: looks templates up. number: writes its numbers.

        Raises KeyError when the language's template has a place that there is no value for.
        """
        template = translate(self.template)
        if not self.values:
            return template
        return template.format(**{name: _Shown(value, translate, number) for name, value in self.values})


class _Shown:
    """A value as a language shows it in its place: `str.format` asks it with the format that the template gives."""

    __slots__ = ("_number", "_translate", "_value")

    def __init__(self, value: object, translate: Translate, number: WriteNumber) -> None:
        self._value, self._translate, self._number = value, translate, number

    def __format__(self, form: str) -> str:
        if isinstance(self._value, Message):
            return self._value.rendered(self._translate, self._number)
        if isinstance(self._value, tuple):
            return ", ".join(format(_Shown(item, self._translate, self._number), form) for item in self._value)
        shown = format(self._value, form)
        return self._number(shown) if isinstance(self._value, numbers.Real) else shown


def _unchanged(text: str) -> str:
    return text


@dataclass(frozen=True)
class Language:
    """A language that pages and pictures are written in. code: as in BCP 47. say: gives a message in it."""

    code: str
    say: Callable[[Message], str]

    def said(self, words: Message | str) -> str:
        """A message in this language; text that somebody has given, such as a name, as it is."""
        return words if isinstance(words, str) else self.say(words)


ENGLISH = Language("en", str)
"""What the command line, records and programs are written in."""


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
