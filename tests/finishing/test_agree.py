"""The comparison of plans between Pythons finds what differs, and asks for plans of every body from every start."""

from __future__ import annotations

import runpy
from pathlib import Path

import numpy as np

AGREE = runpy.run_path(str(Path(__file__).parents[1] / "bench" / "agree.py"))


def test_what_differs_is_named() -> None:
    rows = np.arange(12.0).reshape(2, 6)
    near, far = rows + AGREE["LIMIT"] / 2, rows.copy()
    far[1, 0] += 2 * AGREE["LIMIT"]
    assert AGREE["differences"]({"a": rows, "b": rows}, {"a": near, "b": rows}) == []
    said = AGREE["differences"]({"a": rows, "b": rows, "c": rows}, {"a": far, "b": rows[:1]})
    assert said == ["c: only one of them has it", "a: 2e-06 mm apart", "b: 2 rows and 1"]


def test_every_body_is_planned_from_every_start() -> None:
    wanted = AGREE["requests"]()
    assert len(wanted) == 4 * 11
    assert {request.lines_from for request in wanted.values()} == {"best", "edge", "middle", "border"}
