"""Presets of racks and machines, read as data.

Blender writes a preset as lines of Python and runs them when it is chosen. A preset may come from anybody, so nothing is run here: a file is
taken apart, must be such lines and nothing else, and its values are checked before one of them is set.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..finishing.core.errors import BadFile, FinishingError
from ..finishing.core.message import Message
from ..finishing.job.machine import Machine
from ..finishing.reading.faults import printable
from .former_properties import FORMER_MACHINE
from .program_properties import program_of
from .rack_settings import PROPERTIES, FinishingShop, cutters_of_text, machine_of, put_on_rack, set_record

MOST_BYTES = 100_000
"""A preset is shorter than this: a rack of three hundred cutters has some 50,000 bytes."""

SHOP = "bpy.context.scene.finishing"
MACHINE_DEFINES = (f"machine = {SHOP}.machine", f"program = {SHOP}.program")
RACK_DEFINES = (f"rack = {SHOP}",)
"""The names that the lines of a preset use, as Blender writes them at its head."""

MACHINE_VALUES = tuple(PROPERTIES[Machine].values())
"""What a preset of a machine holds: lengths in mm, whatever the scene's unit."""

PROGRAM_VALUES = ("fusing_tolerance_mm", "spindle_start", "first_rise", "cancel_words", "path_mode")
"""What such a preset holds of its control besides."""

RACK_VALUES = ("as_text",)
"""What a preset of a rack holds: all of its cutters as one text."""

Plain = str | int | float | bool
Values = dict[str, dict[str, Any]]
"""Plain values, whose kinds the records check."""


def apply_machine_preset(path: Path, shop: FinishingShop) -> None:
    """Set the machine and what programs say to its control, or raise BadFile and set nothing."""
    values = preset_values(path, MACHINE_DEFINES, {"machine": MACHINE_VALUES, "program": PROGRAM_VALUES})
    given, told = values["machine"], values["program"]
    try:
        machine = replace(machine_of(shop.machine), **{field: given[held] for field, held in PROPERTIES[Machine].items() if held in given})
        program = replace(program_of(shop.program), **{held.removesuffix("_mm"): value for held, value in told.items()})
    except FinishingError as error:
        raise _unusable(path, error.message) from error
    set_record(shop.machine, machine)
    for name in PROGRAM_VALUES:
        setattr(shop.program, name, getattr(program, name.removesuffix("_mm")))


def apply_rack_preset(path: Path, shop: FinishingShop) -> None:
    """Put the cutters of a preset on the rack in place of those on it, or raise BadFile and change nothing."""
    text = preset_values(path, RACK_DEFINES, {"rack": RACK_VALUES})["rack"].get("as_text")
    try:
        cutters = cutters_of_text(text) if isinstance(text, str) else []
    except FinishingError as error:
        raise _unusable(path, error.message) from error
    if not cutters:
        raise _unusable(path, Message("it holds no cutters"))
    put_on_rack(shop, cutters)


def preset_values(path: Path, defines: tuple[str, ...], known: Mapping[str, tuple[str, ...]]) -> Values:
    """The values that a preset sets, by the name at its head and the property. Raises BadFile for a file with anything else in it.

    defines: the lines that may stand at its head. known: which properties may be set on which name.
    """
    values: Values = {name: {} for name in known}
    for statement in _statements(path):
        line = ast.unparse(statement)
        if line == "import bpy" or line in defines:
            continue
        match statement:
            case ast.Assign(targets=[ast.Attribute(value=ast.Name(id=name), attr=written)], value=given):
                attribute = FORMER_MACHINE.get(written, written)
                if attribute not in known.get(name, ()):
                    raise _foreign(path, statement)
                values[name][attribute] = _plain(path, statement, given)
            case _:
                raise _foreign(path, statement)
    return values


def _statements(path: Path) -> list[ast.stmt]:
    """The statements of a file, none of which is run."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _unusable(path, Message("it is larger than any preset"))
        return ast.parse(path.read_bytes()).body
    except OSError as error:
        raise _unusable(path, Message("{error}", error=error.strerror or str(error))) from error
    except (SyntaxError, ValueError, RecursionError, MemoryError) as error:
        if isinstance(error, FinishingError):
            raise
        raise _unusable(path, Message("it is not made of the lines of a preset")) from None


def _plain(path: Path, statement: ast.stmt, given: ast.expr) -> Plain:
    """A text, a number, True or False; nothing is worked out."""
    match given:
        case ast.Constant(value=str() | int() | float() as value):  # True and False are whole numbers to Python
            return value
        case ast.UnaryOp(op=ast.USub(), operand=ast.Constant(value=int() | float() as value)):
            return -value
    raise _foreign(path, statement)


def _foreign(path: Path, statement: ast.stmt) -> BadFile:
    return _unusable(path, Message("line {line} is not one of a preset, and nothing of it was run", line=statement.lineno))


def _unusable(path: Path, why: Message) -> BadFile:
    return BadFile("The preset '{file}' cannot be used: {why}. Choose another one, or save it anew.", file=printable(path.name), why=why)
