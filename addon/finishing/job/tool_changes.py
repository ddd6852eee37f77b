"""How often the tool is changed when tools run one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeVar

Tool = TypeVar("Tool")


def tool_changes(tools: Sequence[Tool], in_spindle: Tool | None = None) -> int:
    """Changes of tool, wherever one is another than that before it: cutters, or what they are called. in_spindle: what is in the spindle before the
    first of them; None where that is not known: then the first costs no change.
    """
    return sum(before not in (None, after) for before, after in pairwise((in_spindle, *tools)))
