"""The settings of a plan explained key by key, and as a JSON Schema, from the tables that check them."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator
from dataclasses import MISSING, fields
from typing import Any

from ..job.cutter import Cutter
from ..job.keep_out import KeepOut
from ..job.other_operations import OtherOperation
from ..job.request import PLAN, Remaining, Request
from ..job.setting_kinds import Record, record_in
from .plan_record import GROUPED_SETTINGS

WIDTH = 110
"""Characters of a line."""

AXES = """\
A settings file is JSON: {"cusp": 0.05, "machine": {"speed_z": 1200}}. Keys that it does not name keep their value; a whole plan.json is one, too.
Lengths are in mm, feeds in mm/min, angles in degrees.

Body axes are those of the model: X and Y lie flat, Z looks up out of the top. Angles are counted from X towards Y.
Job axes are those of the machine, for each side on its own: X to the right and Y away from you as you stand before it, Z up. Their origin is \
the lower left corner of the stock (stock.xy_zero) on the spoilboard or the stock's top (stock.z_zero). The back is the body turned over about \
stock.turn_axis.
"""


def settings_text() -> str:
    """All settings with kind, limits, default and meaning, for a terminal."""
    parts = ["\n".join("\n".join(textwrap.wrap(line, WIDTH)) for line in AXES.splitlines())]
    for title, record, defaults in _records():
        parts.append("\n".join([title, *_lines(record, defaults)]))
    return "\n\n".join(parts) + "\n"


def settings_schema() -> dict[str, Any]:
    """A settings file in JSON Schema, draft 2020-12 (json-schema.org)."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Settings of a plan", **PLAN.schema()}


def _records() -> Iterator[tuple[str, Record, dict[str, Any]]]:
    """A title, the settings of a record and their defaults: first the plan's own, then those of the records in it."""
    request = {item.name: item.default for item in fields(Request)}
    yield "Keys of the file", PLAN, request
    makers: dict[str, type] = {
        **GROUPED_SETTINGS,
        "cutter": Cutter,
        "keep_out": KeepOut,
        "elsewhere": OtherOperation,
        "remaining": Remaining,
    }
    for setting in PLAN.settings:
        if setting.name in makers:
            record = record_in(setting.kind)
            yield f"Keys of {setting.name}: {setting.meaning}", record, {item.name: item.default for item in fields(makers[setting.name])}


def _lines(record: Record, defaults: dict[str, Any]) -> Iterator[str]:
    """A line for each setting, with lines behind it where one is not enough."""
    for setting in record.settings:
        words = setting.kind.words()
        default = defaults.get(setting.name, MISSING)
        if not isinstance(default, bool | int | float | str) and default is not None:
            shown = "" if setting.name not in record.needed else " Must be given."
        else:
            shown = f" Default: {json.dumps(default)}."
        text = f"{setting.meaning} ({words}).{shown}"
        yield from textwrap.wrap(text, WIDTH, initial_indent=f"  {setting.name:<20} ", subsequent_indent=" " * 23)
