"""Gathers the template of every message and every error from the source, so that none can be shown without a translation."""

from __future__ import annotations

import ast
import random
import string
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from addon.finishing.core import errors
from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.job.request import PLAN
from addon.finishing.job.setting_kinds import has_record, record_in
from addon.finishing.job.wood import WOODS

HOME = Path(__file__).parents[2] / "addon"

MADE_BY_CODE = {"addon/finishing/core/message.py", "addon/finishing/core/errors.py"}
"""Where templates are handed on or put together by rule."""

SHOWN = {"Message", *(kind.__name__ for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, errors.FinishingError))}
"""What is called with a template."""

OPENING_KINDS = ("pocket", "slot")
"""Kinds of openings that are named by a word of their own; a hole has sentences of its own."""

UNITS = {"mm", "mm²", "cm³", "m", "min", "R", "X", "Y", "Z", "x"}
"""Words that are the same in every language."""


@dataclass(frozen=True)
class Found:
    """A call with a template. text: None where it is not written out. place: file and line."""

    text: str | None
    place: str


def calls_with_templates() -> Iterator[Found]:
    """Every message and error of the extension's source."""
    for file in sorted(HOME.rglob("*.py")):
        name = file.relative_to(HOME.parent).as_posix()
        if name in MADE_BY_CODE:
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in SHOWN:
                yield from (Found(text, f"{name}:{node.lineno}") for text in _texts(node.args[0] if node.args else None))


def _texts(node: ast.expr | None) -> Iterator[str | None]:
    """The texts that an argument may be: a text that is written out, or a choice between some; None for anything else."""
    if isinstance(node, ast.IfExp):
        yield from _texts(node.body)
        yield from _texts(node.orelse)
    else:
        yield node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def templates() -> set[str]:
    """All templates of messages and errors."""
    return {found.text for found in calls_with_templates() if found.text is not None}


def words() -> set[str]:
    """Words that stand within messages, out of the tables that they come from: settings by their names, woods, kinds of openings, cautions."""
    records = [PLAN, *(record_in(setting.kind) for setting in PLAN.settings if has_record(setting.kind))]
    settings = {setting.name for record in records for setting in record.settings}
    titles = {record.title for record in records if record.title}
    return {*titles, *(name.replace("_", " ") for name in settings), *(wood.name for wood in WOODS), *OPENING_KINDS, *CAUTIONS}


def to_translate() -> set[str]:
    """Templates and words that a language needs a text of its own for."""
    return {text for text in templates() | words() if needs_words(text)}


def needs_words(template: str) -> bool:
    """Whether anything but places, numbers, units and signs that all languages share stands in a template; quotation marks differ."""
    outside = " ".join(literal for literal, *_ in string.Formatter().parse(template))
    if "'" in outside:
        return True
    return any(any(letter.isalpha() for letter in each) and each.strip(":,.()") not in UNITS for each in outside.replace("/", " ").split())


def places(template: str) -> dict[str, str]:
    """Names of a template's places and the formats of their values; names within formats have places too."""
    found: dict[str, str] = {}
    for _, name, form, _ in string.Formatter().parse(template):
        if name is not None:
            found[name] = form or ""
            found |= places(form or "")
    return found


def names_in_formats(template: str) -> set[str]:
    """Names of the places that stand within a format, such as a number of decimals."""
    return {name for form in places(template).values() for name in places(form)}


def some_values(template: str, rng: random.Random) -> dict[str, object]:
    """A value at random for every place of a template, of a kind that its format can write."""
    within = names_in_formats(template)
    values: dict[str, object] = {}
    for name, form in places(template).items():
        if name in within or form.endswith("d"):
            values[name] = rng.randrange(7)
        elif form:
            values[name] = rng.uniform(0.1, 99.9)
        else:
            values[name] = rng.choice([rng.randrange(100), rng.uniform(0.1, 99.9), f"name {rng.randrange(100)}"])
    return values
