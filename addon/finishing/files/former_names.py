"""Names that settings had in earlier versions: settings files and plans of then are still read."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from ..job.stock import SIDES

FORMER_KEYS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "": {
            "start": "lines_from",
            "start_angle": "line_angle",
            "direction": "cutting_way",
            "rest": "remaining",
            "rest_overlap": "overlap_with_larger",
        },
        "machine": {"junction_deviation": "corner_rounding"},
        "roughing": {"step_down": "terrace_height", "slot_width": "channel_width"},
        "region": {"lowest_depth": "deepest_tip"},
        "bite": {"greatest_bend": "tip_bend_limit"},
        "stock": {"body_lift": "height_in_stock"},
        "figures": {"start": "lines_from"},
    }
)
"""Group of settings ("" for those that stand in none): its keys as they were called, and as they are called now."""

FORMER_WORDS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {"cutting_way": {"both": "to and fro", "climb": "climb only", "conventional": "conventional only"}}
)
"""Key: the words that could be chosen for it, and what they are now."""


def with_present_names(record: dict[str, Any]) -> dict[str, Any]:
    """A record as it was read, a whole plan or settings alone, with every setting under the name that it has now.

    A key that stands there under both names keeps both, and is refused as unknown where settings are looked through.
    """
    if "settings" not in record:
        return _renamed_settings(record)
    renamed = dict(record)
    if isinstance(renamed["settings"], dict):
        renamed["settings"] = _with_sided_boxes(_renamed_settings(renamed["settings"]))
    if isinstance(renamed.get("figures"), dict):
        renamed["figures"] = _renamed(renamed["figures"], FORMER_KEYS["figures"])
    return renamed


def _with_sided_boxes(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings as a plan wrote them, with a side for every keep-out box: before boxes had one, the same numbers held from either side's zero."""
    boxes = settings.get("keep_out")
    if not isinstance(boxes, list):
        return settings
    sided = [each for box in boxes for each in ([box | {"side": side} for side in SIDES] if isinstance(box, dict) and "side" not in box else [box])]
    return settings | {"keep_out": sided}


def _renamed_settings(settings: dict[str, Any]) -> dict[str, Any]:
    """Settings with their present names, those of their groups too."""
    renamed = {key: _present_word(key, value) for key, value in _renamed(settings, FORMER_KEYS[""]).items()}
    return {key: _renamed(value, FORMER_KEYS[key]) if key in FORMER_KEYS and isinstance(value, dict) else value for key, value in renamed.items()}


def _renamed(values: dict[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    return {names.get(key, key) if names.get(key) not in values else key: value for key, value in values.items()}


def _present_word(key: str, value: Any) -> Any:
    words = FORMER_WORDS.get(key, {})
    return words.get(value, value) if isinstance(value, str) else value
