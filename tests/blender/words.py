"""Prints every word that a user meets, each in a line with where it stands: labels, keys, options, choices, columns, pictures, sentences.

Gathered from the code and from Blender's registered classes, so that none is missing; for reading all of them once as a maker would.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import bpy

ROOT = Path(__file__).parents[2]
sys.path += [str(ROOT), str(ROOT / "tests" / "finishing"), str(ROOT / "tests" / "blender")]

import interface_texts as screen_texts  # noqa: E402
import message_templates  # noqa: E402

import addon  # noqa: E402
import build  # noqa: E402
from addon.command_options import command_parser  # noqa: E402
from addon.finishing.core.path import KINDS  # noqa: E402
from addon.finishing.files.former_names import FORMER_KEYS  # noqa: E402
from addon.finishing.files.job_files import PATH_FILES  # noqa: E402
from addon.finishing.files.path_csv import header  # noqa: E402
from addon.finishing.files.run_list_csv import RUN_LIST_HEADER  # noqa: E402
from addon.finishing.files.written_unit import written_unit  # noqa: E402
from addon.finishing.job.request import PLAN  # noqa: E402
from addon.finishing.job.setting_kinds import Record, has_record, record_in  # noqa: E402
from addon.finishing.pictures.plan_maps import PLAN_MAPS  # noqa: E402
from addon.finishing.planning.comparison import HEADER  # noqa: E402
from addon.finishing.planning.stage_words import STEPS  # noqa: E402
from addon.screen.translations import ALL_GERMAN  # noqa: E402


def german(text: str) -> str:
    """What German shows for a text; nothing where it is the same."""
    found = ALL_GERMAN.get(text, "")
    return "" if found == text else f"  |  {found}"


def panels() -> Iterator[str]:
    """Panels, menus and buttons, with their names."""
    for kind in (bpy.types.Panel, bpy.types.Menu, bpy.types.Operator):
        for cls in _own(kind):
            yield f"{kind.__name__}: {cls.bl_label}{german(cls.bl_label)}"


def properties() -> Iterator[str]:
    """What can be set in Blender: label, choices, tooltip."""
    for kind in (bpy.types.PropertyGroup, bpy.types.Operator):
        for cls in _own(kind):
            shown = cls.bl_rna.properties
            if kind is bpy.types.Operator:
                group, action = cls.bl_idname.split(".")
                shown = getattr(getattr(bpy.ops, group), action).get_rna_type().properties
            for prop in shown:
                if prop.identifier in getattr(cls, "__annotations__", {}) and not prop.identifier.endswith("_mm"):
                    yield f"{cls.__name__}.{prop.identifier}: {prop.name}{german(prop.name)}  --  {prop.description}"
                    for item in prop.enum_items if prop.type == "ENUM" else ():
                        yield f"    {item.identifier}: {item.name}{german(item.name)}  --  {item.description}"


def _own(kind: type) -> list[type]:
    return [cls for cls in screen_texts._subclasses(kind) if f"{cls.__module__}.".startswith("addon.") and getattr(cls, "is_registered", False)]


def commands() -> Iterator[str]:
    """Commands and options, with their help."""
    yield from (line for line in (build.__doc__ or "").splitlines() if line.startswith("python build.py"))
    parser = command_parser("build.py")
    for choices in (action for action in parser._actions if isinstance(action, argparse._SubParsersAction)):
        for name, command in choices.choices.items():
            yield f"{name}: {command.description or ''}"
            for action in command._actions:
                yield f"    {' '.join(action.option_strings) or action.dest} {action.metavar or action.choices or ''}: {action.help}"


def settings(record: Record = PLAN, group: str = "") -> Iterator[str]:
    """Keys of settings, with their kinds and meanings."""
    for item in record.settings:
        yield f"{group}{item.name} ({item.kind.words()}): {item.meaning}{german(item.name.replace('_', ' '))}"
        if has_record(item.kind):
            yield from settings(record_in(item.kind), f"{group}{item.name}.")


def former() -> Iterator[str]:
    """Keys that settings files of before may hold."""
    for group, names in FORMER_KEYS.items():
        yield from (f"{group + '.' if group else ''}{old} -> {now}" for old, now in names.items())


def files() -> Iterator[str]:
    """Columns of tables, kinds of moves, endings of files."""
    yield f"path CSV: {', '.join(header(written_unit('mm')))}"
    yield f"kinds of moves: {', '.join(KINDS)}"
    yield f"run list: {', '.join(RUN_LIST_HEADER)}"
    yield f"comparison: {', '.join(HEADER)}"
    yield f"files of a path: {', '.join(each.ending for each in PATH_FILES)}"


def pictures() -> Iterator[str]:
    """Names and titles of pictures."""
    yield from (f"{item.name}: {item.title}" for item in PLAN_MAPS)


def steps() -> Iterator[str]:
    """Steps of a plan, as the progress names them."""
    yield from (f"{words}{german(str(words))}" for words, _ in STEPS)


def finding_keys() -> Iterator[str]:
    """Keys of findings, which --despite takes and plan.json holds."""
    source = "\n".join(path.read_text(encoding="utf-8") for path in sorted((ROOT / "addon" / "finishing").rglob("*.py")))
    yield ", ".join(sorted(set(re.findall(r'Finding\(\s*"([a-z-]+)"', source))))


def presets() -> Iterator[str]:
    """Presets that come along."""
    for path in sorted((ROOT / "addon" / "presets").rglob("*.py")):
        yield f"{path.parent.name}: {bpy.path.display_name(path.name)}"


def sentences() -> Iterator[str]:
    """Every sentence that a plan, the command or the panel can say."""
    yield from (f"{text}{german(text)}" for text in sorted(message_templates.templates()))


def other_texts() -> Iterator[str]:
    """What panels show besides: buttons, notes, values of lists."""
    yield from (f"{text}{german(text)}" for text in sorted(set(screen_texts._texts_of_source())))


SECTIONS = (
    ("Panels, menus, buttons", panels), ("What can be set in Blender", properties), ("Other texts of panels", other_texts), ("Commands", commands),
    ("Keys of settings", settings), ("Former keys, still read", former), ("Files", files), ("Pictures", pictures), ("Steps of a plan", steps),
    ("Keys of findings", finding_keys), ("Presets", presets), ("Sentences", sentences),
)  # fmt: skip


def main() -> None:
    """Print all sections."""
    addon.register()
    try:
        for title, lines in SECTIONS:
            print(f"\n== {title}")
            print("\n".join(lines()))
    finally:
        addon.unregister()


if __name__ == "__main__":
    main()
    sys.stdout.flush()
    os._exit(0)  # Blender as a module may wait for ever at the end of a Python that has looked at its operators
