"""Runs of differing lengths, held against plain loops."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.core.ragged import run_owners, run_places, run_ranges, short_run_ranges

RUNS = st.lists(st.tuples(st.integers(-50, 50), st.integers(0, 9)), max_size=30)


@given(RUNS)
def test_every_entry_knows_its_run_and_its_place(runs: list[tuple[int, int]]) -> None:
    first, counts = (np.array([run[k] for run in runs], int) for k in (0, 1))
    assert run_owners(counts).tolist() == [number for number, (_, count) in enumerate(runs) for _ in range(count)]
    assert run_places(counts).tolist() == [place for _, count in runs for place in range(count)]
    assert (
        run_ranges(first, counts).tolist()
        == short_run_ranges(first, counts).tolist()
        == [begin + place for begin, count in runs for place in range(count)]
    )
