"""Measuring refuses what planning refuses, before anything large is made."""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable, Generator

import pytest
from shapes import block

from addon.finishing.core.errors import BadBody, FinishingError, TooLarge
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.planning.survey import fit_map_steps, survey_steps

Work = Callable[[Request, ResultStore], Generator[object, None, object]]

CUTTER = Cutter("Round-nose 16", 16.0)

MOST_BYTES = 50_000_000
"""A grid of two metres in cells of a quarter of a mm would have 64 million cells."""


def rolled(request: Request, store: ResultStore) -> Generator[object, None, object]:
    return fit_map_steps(request, CUTTER, store)


@pytest.mark.parametrize("work", [side_plans, survey_steps, rolled])
@pytest.mark.parametrize(
    "size, machine, error",
    [(2000.0, Machine(), BadBody), (2000.0, Machine(bed_x=3000.0, bed_y=3000.0, travel_z=2000.0), TooLarge), (1.0, Machine(), BadBody)],
)
def test_impossible_sizes(work: Work, size: float, machine: Machine, error: type[FinishingError]) -> None:
    body = make_body("cube", block(lambda x, y: size + 0 * x, size, size, size / 4))
    request = Request(body, cutter=CUTTER, machine=machine, cell=0.25)
    tracemalloc.start()
    try:
        with pytest.raises(error):
            finished(work(request, ResultStore()))
        assert tracemalloc.get_traced_memory()[1] < MOST_BYTES
    finally:
        tracemalloc.stop()
