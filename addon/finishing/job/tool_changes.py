"""How often the tool is changed when cutters run one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from .cutter import Cutter


def tool_changes(cutters: Sequence[Cutter], in_spindle: Cutter | None = None) -> int:
    """Changes of tool, wherever a cutter is another one than that before it. in_spindle: what is in the spindle before the first of them; None where
    that is not known: then the first costs no change.
    """
    return sum(before not in (None, after) for before, after in pairwise((in_spindle, *cutters)))
