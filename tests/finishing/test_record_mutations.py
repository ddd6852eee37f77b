"""plan.json, path CSVs and settings files that chance has damaged: read, or refused with one sentence, within bounds of time and memory."""

from __future__ import annotations

import json
import math
import tracemalloc
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from damage import damaged
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_jobs import arched_body, two_sides

from addon.finishing.core.errors import BadFile
from addon.finishing.files.path_csv import path_csv, read_csv
from addon.finishing.files.plan_record import plan_record, read_record, record_bytes, settings_record, with_settings
from addon.finishing.files.read_back import changes_since, read_written
from addon.finishing.job.request import Request
from addon.finishing.planning.comparison import comparison_text, figures_from

MOST_MEMORY = 20e6
"""Bytes of numpy and Python together that may be taken at any moment while one damaged file of some kilobytes is read."""

FEW = settings(max_examples=400, deadline=20_000, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module", autouse=True)
def bounded_memory() -> Iterator[None]:
    """Every byte that is asked for is counted, at its peak: numpy tells tracemalloc of its arrays."""
    two_sides()
    arched_body()
    tracemalloc.start()
    try:
        yield
        assert tracemalloc.get_traced_memory()[1] < MOST_MEMORY
    finally:
        tracemalloc.stop()


@cache
def csv_of_a_plan() -> bytes:
    """The first rows of a path."""
    return b"\r\n".join(path_csv(two_sides()[0].path).split(b"\r\n")[:30]) + b"\r\n"


@cache
def record_of_a_plan() -> bytes:
    return record_bytes(plan_record(two_sides()[0], ["path.csv"]))


@cache
def settings_of_a_plan() -> bytes:
    return record_bytes(settings_record(two_sides()[0].request))


def one_sentence(error: BadFile) -> None:
    assert str(error).endswith(".") and "\n" not in str(error) and len(str(error)) < 500


@FEW
@given(st.data())
def test_csv(data: st.DataObject) -> None:
    content = data.draw(damaged([csv_of_a_plan()]))
    try:
        path = read_csv(content)
    except BadFile as error:
        one_sentence(error)
    else:
        assert np.isfinite(path.points).all() and np.isfinite(path.feed).all()
        assert len(path.points) == len(path.kind) == len(path.line) == len(path.feed) <= len(content)


@FEW
@given(st.data())
def test_settings_file(data: st.DataObject) -> None:
    content = data.draw(damaged([settings_of_a_plan(), b'{"settings": ' + settings_of_a_plan() + b"}"]))
    try:
        request = with_settings(Request(arched_body()), read_record(content))
    except BadFile as error:
        one_sentence(error)
    else:
        assert math.isfinite(request.cusp) and request.cell > 0
        assert with_settings(request, json.loads(record_bytes(settings_record(request)))) == request  # what is taken is whole


@FEW
@given(st.data())
def test_plan_record(tmp_path: Path, data: st.DataObject) -> None:
    (tmp_path / "path.csv").write_bytes(csv_of_a_plan())
    record = tmp_path / "plan.json"
    record.write_bytes(data.draw(damaged([record_of_a_plan()])))
    try:
        written = read_written(record)
        assert all(str(said).endswith(".") for said in changes_since(written, arched_body(), two_sides()[0].request))
    except BadFile as error:
        one_sentence(error)
    try:
        comparison_text([figures_from(read_record(record.read_bytes()))])
    except BadFile as error:
        one_sentence(error)


@settings(max_examples=300, deadline=20_000)
@given(st.binary(max_size=300))
def test_bytes_at_random(content: bytes) -> None:
    for read in (read_csv, read_record):
        try:
            read(content)
        except BadFile as error:
            one_sentence(error)
