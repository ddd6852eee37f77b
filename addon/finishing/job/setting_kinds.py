"""Kinds of values that settings hold: what they allow, the complaint about what they do not, and their JSON Schema."""

from __future__ import annotations

import math
import numbers
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, is_dataclass
from typing import Any, Protocol, TypeGuard

from ..core.errors import BadRequest
from ..core.message import Message, setting_name, word

LONGEST_TEXT = 200
"""Characters of a name: it has to fit into a panel, a file's name and a comment of a program."""

LONGEST_SHOWN = 40
"""Characters of a wrong value that a complaint repeats."""


class Kind(Protocol):
    """What a setting may hold."""

    def complaint(self, label: Message, value: object) -> Message | None:
        """One sentence, without its full stop, about a value that is not allowed; None where it is.

        label: the setting's name, which begins the sentence.
        """
        ...

    def words(self) -> str:
        """The kind in a few English words, for the documentation."""
        ...

    def schema(self) -> dict[str, Any]:
        """The kind in JSON Schema (draft 2020-12)."""
        ...


@dataclass(frozen=True)
class Number:
    """A number between two limits, both allowed. unit: "" for a plain number. whole: without decimals."""

    least: float
    greatest: float
    unit: str = ""
    whole: bool = False

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        wanted = numbers.Integral if self.whole else numbers.Real
        if isinstance(value, bool) or not isinstance(value, wanted):
            if self.whole:
                return Message("{label} must be a whole number, not {given}", label=label, given=shown(value))
            return Message("{label} must be a number, not {given}", label=label, given=shown(value))
        if self.least <= value <= self.greatest:  # type: ignore[operator]
            return None
        limits = {"least": self.least, "greatest": self.greatest, "given": shown(value)}
        if self.unit:
            return Message("{label} must lie between {least:.10g} and {greatest:.10g} {unit}, not at {given}", label=label, unit=self.unit, **limits)
        return Message("{label} must lie between {least:.10g} and {greatest:.10g}, not at {given}", label=label, **limits)

    def words(self) -> str:
        """See Kind."""
        return f"{'whole number' if self.whole else 'number'}, {self.least:.10g} to {self.greatest:.10g}{' ' * bool(self.unit)}{self.unit}"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "integer" if self.whole else "number", "minimum": self.least, "maximum": self.greatest}


@dataclass(frozen=True)
class YesNo:
    """true or false, and nothing that only passes for them."""

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        return None if isinstance(value, bool) else Message("{label} must be true or false, not {given}", label=label, given=shown(value))

    def words(self) -> str:
        """See Kind."""
        return "true or false"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "boolean"}


@dataclass(frozen=True)
class Choice:
    """One of several words or whole numbers."""

    choices: tuple[str, ...] | tuple[int, ...]

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        if not isinstance(value, bool) and isinstance(value, (str, int)) and value in self.choices:
            return None
        return Message("{label} must be one of {choices}, not {given}", label=label, choices=self.choices, given=shown(value))

    def words(self) -> str:
        """See Kind."""
        return "one of " + ", ".join(str(choice) for choice in self.choices)

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"enum": list(self.choices)}


@dataclass(frozen=True)
class Text:
    """A line of text that can be printed."""

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        if isinstance(value, str) and len(value) <= LONGEST_TEXT and value.isprintable():
            return None
        return Message("{label} must be a line of at most {most} characters, not {given}", label=label, most=LONGEST_TEXT, given=shown(value))

    def words(self) -> str:
        """See Kind."""
        return "text"

    def schema(self) -> dict[str, Any]:
        """See Kind: that text can be printed is more than a schema can say."""
        return {"type": "string", "maxLength": LONGEST_TEXT}


@dataclass(frozen=True)
class Row:
    """A few values in a fixed order, such as a place."""

    kinds: tuple[Kind, ...]

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        if not is_list(value) or len(value) != len(self.kinds):
            return Message("{label} must be a list of {count} values, not {given}", label=label, count=len(self.kinds), given=shown(value))
        return next((said for kind, item in zip(self.kinds, value, strict=True) if (said := kind.complaint(label, item)) is not None), None)

    def words(self) -> str:
        """See Kind."""
        first = self.kinds[0].words()
        same = all(kind.words() == first for kind in self.kinds)
        return f"list of {len(self.kinds)}: " + (f"each {first}" if same else "; ".join(kind.words() for kind in self.kinds))

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        count = len(self.kinds)
        return {"type": "array", "prefixItems": [kind.schema() for kind in self.kinds], "minItems": count, "maxItems": count}


@dataclass(frozen=True)
class Several:
    """Any number of values of one kind, up to a greatest number."""

    kind: Kind
    most: int

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        if not is_list(value) or len(value) > self.most:
            return Message("{label} must be a list of at most {most} values, not {given}", label=label, most=self.most, given=shown(value))
        return next((said for item in value if (said := self.kind.complaint(label, item)) is not None), None)

    def words(self) -> str:
        """See Kind."""
        return f"list of at most {self.most}: each {self.kind.words()}"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "array", "items": self.kind.schema(), "maxItems": self.most}


@dataclass(frozen=True)
class OrNothing:
    """A value of a kind, or nothing. nothing: what null stands for, in a few English words."""

    kind: Kind
    nothing: str

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        return None if value is None else self.kind.complaint(label, value)

    def words(self) -> str:
        """See Kind."""
        return f"{self.kind.words()}; null: {self.nothing}"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"anyOf": [{"type": "null"}, self.kind.schema()]}


@dataclass(frozen=True)
class OrCalled:
    """A record, or what one of a list is called: a name or a measure of it. called: what that is, in a few English words.

    Only files hold the second: whoever reads them looks it up before a record of settings is made.
    """

    kind: Kind
    measure: Number
    called: str

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        if isinstance(value, str) and len(value) <= LONGEST_TEXT:
            return None
        called = isinstance(value, numbers.Real) and not isinstance(value, bool)
        return (self.measure if called else self.kind).complaint(label, value)

    def words(self) -> str:
        """See Kind."""
        return f"{self.kind.words()}, or {self.called}"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"anyOf": [self.kind.schema(), self.measure.schema(), {"type": "string", "maxLength": LONGEST_TEXT}]}


@dataclass(frozen=True)
class AnyObject:
    """An object, whatever its keys."""

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        return None if isinstance(value, Mapping) else Message("{label} must be an object with keys, not {given}", label=label, given=shown(value))

    def words(self) -> str:
        """See Kind."""
        return "object"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"type": "object"}


@dataclass(frozen=True)
class OneOf:
    """An object with exactly one of several keys. kinds: (key, kind) pairs."""

    kinds: tuple[tuple[str, Kind], ...]

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind."""
        names = tuple(name for name, _ in self.kinds)
        if not isinstance(value, Mapping) or len(value) != 1 or next(iter(value)) not in names:
            return Message("{label} must be an object with one of the keys {choices}, not {given}", label=label, choices=names, given=shown(value))
        ((key, item),) = value.items()
        return dict(self.kinds)[key].complaint(label, item)

    def words(self) -> str:
        """See Kind."""
        return "object with one of the keys " + ", ".join(name for name, _ in self.kinds)

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        return {"oneOf": [Record("", (Setting(name, kind, ""),), needed=(name,)).schema() for name, kind in self.kinds]}


@dataclass(frozen=True)
class Setting:
    """One setting. name: its key. meaning: one English sentence without a full stop, for the documentation."""

    name: str
    kind: Kind
    meaning: str


@dataclass(frozen=True)
class Record:
    """A record of settings. title: what complaints call it. needed: keys that a record of its own must have.

    partial: whether a file may name some of its keys and leave the others as they are.
    """

    title: str
    settings: tuple[Setting, ...]
    needed: tuple[str, ...] = ()
    partial: bool = True

    def complaint(self, label: Message, value: object) -> Message | None:
        """See Kind. A record that is already made has been looked at when it was made."""
        if is_dataclass(value):
            return None
        if not isinstance(value, Mapping):
            return Message("{label} must be an object with keys, not {given}", label=label, given=shown(value))
        known = {setting.name: setting for setting in self.settings}
        label = word(self.title) if self.title else label
        for key in value:
            if key not in known:
                return Message("{label} has an unknown key {given}", label=label, given=shown(key))
        for key in self.needed:
            if key not in value:
                return Message("{label} lacks the key '{key}'", label=label, key=key)
        return next((said for key, item in value.items() if (said := known[key].kind.complaint(self._label(key), item)) is not None), None)

    def complaint_about(self, values: Mapping[str, object]) -> Message | None:
        """One sentence about the first of a made record's values that is not allowed."""
        return next(
            (said for item in self.settings if (said := item.kind.complaint(self._label(item.name), values[item.name])) is not None),
            None,
        )

    def limits(self, name: str) -> Number:
        """What a setting that is a number may be. Raises TypeError for one that is not."""
        kind = _innermost(next(item.kind for item in self.settings if item.name == name))
        if not isinstance(kind, Number):
            raise TypeError(f"{name} is not a number")
        return kind

    def _label(self, name: str) -> Message:
        if not self.title:
            return Message("The {setting}", setting=setting_name(name))
        return Message("{record}: {setting}", record=word(self.title), setting=setting_name(name))

    def words(self) -> str:
        """See Kind."""
        return "object, its keys below"

    def schema(self) -> dict[str, Any]:
        """See Kind."""
        properties = {item.name: item.kind.schema() | {"description": item.meaning} for item in self.settings}
        return {"type": "object", "properties": properties, "required": list(self.needed), "additionalProperties": False}


def has_record(kind: Kind) -> bool:
    """Whether a kind is a record, or made of records."""
    return isinstance(_innermost(kind), Record)


def record_in(kind: Kind) -> Record:
    """The record that a kind is made of. Raises TypeError when it is made of none."""
    found = _innermost(kind)
    if not isinstance(found, Record):
        raise TypeError("this kind is made of no record")
    return found


def _innermost(kind: Kind) -> Kind:
    while isinstance(kind, OrNothing | Several | OrCalled):
        kind = kind.kind
    return kind


def is_list(value: object) -> TypeGuard[Sequence[object]]:
    """Whether a value is a list of JSON, or the tuple that stands for one in a record."""
    return isinstance(value, (list, tuple))


def shown(value: object) -> Message:
    """A wrong value as a complaint repeats it: short, and in one line."""
    if value is None:
        return Message("nothing")
    if isinstance(value, bool):
        return Message("true" if value else "false")
    if isinstance(value, numbers.Integral) and abs(int(value)) >= 10**LONGEST_SHOWN:
        return Message("a number of more than {count} digits", count=LONGEST_SHOWN)
    if isinstance(value, float) and not math.isfinite(value):
        return Message("a number that is not finite")
    if isinstance(value, numbers.Real):
        return Message("{number}", number=value)
    if isinstance(value, Mapping):
        return Message("an object")
    if is_list(value):
        return Message("a list of {count}", count=len(value))
    text = "".join(letter if letter.isprintable() else "?" for letter in str(value))
    return Message("'{text}'", text=text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "...")


def require(record: Record, values: object) -> None:
    """Look at a record as it is made. values: its dataclass. Raises BadRequest for the first value that is not allowed."""
    said = record.complaint_about(vars(values))
    if said is not None:
        raise BadRequest("{complaint}.", complaint=said)
