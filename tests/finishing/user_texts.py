"""Every text that a user can meet, each with where it stands, gathered from the source without Blender."""

from __future__ import annotations

import argparse
import ast
import re
from collections.abc import Iterator
from pathlib import Path

from message_templates import HOME

from addon.command_options import command_parser
from addon.finishing.job.request import PLAN
from addon.finishing.job.setting_kinds import Record, has_record, record_in

PRINTED = (
    "batch.py", "command.py", "command_coupon.py", "finishing/files/bench_sheet.py", "finishing/files/coupon_back.py",
    "finishing/files/coupon_files.py",
    "finishing/files/run_log_csv.py", "finishing/files/settings_guide.py", "finishing/files/side_drawing.py", "finishing/files/summary.py",
    "finishing/files/timing_program.py", "finishing/motion/run_time.py", "finishing/planning/comparison.py", "finishing/planning/run_list.py",
    "finishing/planning/following.py", "finishing/pictures/charts.py", "finishing/pictures/finished_picture.py", "finishing/pictures/plan_maps.py",
    "finishing/pictures/plan_pictures.py",
)  # fmt: skip
"""Modules that print or write sentences of their own."""

PAGES = ("README.md", "addon/guide/guide.html")
"""Pages for users."""


def user_texts() -> Iterator[tuple[str, str]]:
    """(place, text) of everything: texts of panels and messages, settings, options, printed lines, pages."""
    for file in sorted((HOME / "screen").glob("german*.py")):
        # Tests hold that every text of the interface and every message has its row in one of these tables.
        yield from ((f"{file.name}:{key.lineno}", key.value) for key in _keys(file))
    yield from _meanings(PLAN)
    yield from _helps()
    for name in PRINTED:
        yield from _literals(HOME / name)
    for name in PAGES:
        text = (HOME.parent / name).read_text(encoding="utf-8")
        paragraphs = re.split(r"\n\s*\n|</p>|</li>|\n(?=\d+\. |- |\| )", re.sub(r"\]\([^)]*\)|<(?!/p>|/li>)[a-z/!][^>]*>", " ", text))
        yield from ((name, " ".join(paragraph.split())) for paragraph in paragraphs)


def _keys(file: Path) -> Iterator[ast.Constant]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Dict):
            yield from (key for key in node.keys if isinstance(key, ast.Constant))


def _meanings(record: Record) -> Iterator[tuple[str, str]]:
    for item in record.settings:
        yield f"setting {item.name}", f"{item.name.replace('_', ' ')}: {item.meaning}"
        if has_record(item.kind):
            yield from _meanings(record_in(item.kind))


def _helps() -> Iterator[tuple[str, str]]:
    for choices in (action for action in command_parser("build.py")._actions if isinstance(action, argparse._SubParsersAction)):
        for name, command in choices.choices.items():
            yield f"command {name}", command.description or ""
            for action in command._actions:
                yield f"option {name} {' '.join(action.option_strings)}", action.help or ""


def _literals(file: Path) -> Iterator[tuple[str, str]]:
    """Texts with a space in them, other than docstrings; places of f-strings as names in braces."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    within = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        place = f"{file.name}:{getattr(node, 'lineno', 0)}"
        if isinstance(node, ast.JoinedStr):
            yield place, "".join(part.value if isinstance(part, ast.Constant) else _braces(part) for part in node.values)  # type: ignore[attr-defined]
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value and id(node) not in docstrings | within:
            yield place, node.value


def _braces(part: ast.expr) -> str:
    return "{" + ast.unparse(part.value).rsplit(".", 1)[-1] + "}" if isinstance(part, ast.FormattedValue) else ""
