"""Times of a timing test that chance has damaged, and ones that no machine takes: fitted, not believed, or refused with one sentence."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np
import pytest
from damage import damaged
from hypothesis import given, settings
from hypothesis import strategies as st

from addon.command_options import asked_times
from addon.finishing.core.errors import BadRequest
from addon.finishing.job.machine import Machine
from addon.finishing.motion.timing_fit import fitted_machine

TIMES = b"31.25,28.4, 40,22.05,35.5"


@settings(max_examples=400, deadline=20_000)
@given(content=st.one_of(damaged([TIMES]), st.binary(max_size=60)))
def test_what_is_no_row_of_seconds_is_refused_in_one_sentence(content: bytes) -> None:
    text = content.decode("latin-1")
    try:
        times = asked_times(text)
    except BadRequest as error:
        assert str(error).endswith(".") and "\n" not in str(error) and len(str(error)) < 500
        return
    # What is taken is what a reader of the text would take: plain decimal numbers, as many as there are between commas.
    assert len(times) == text.count(",") + 1 and all(np.isfinite(time) and time >= 0 for time in times)
    assert set(text) <= set("0123456789., \t\r\n\x0b\x0c\x1c\x1d\x1e\x1f\x85\xa0")
    if len(times) != 5 or 0.0 in times:
        with pytest.raises(BadRequest):
            fitted_machine(times, Machine())


@pytest.mark.parametrize("text", ["1_0,1,1,1,1", "0x10,1,1,1,1", "nan,1,1,1,1", "1e3,1,1,1,1", "\u0663,1,1,1,1", "-1,1,1,1,1", "", "9" * 5000])
def test_other_ways_to_write_numbers_are_refused(text: str) -> None:
    with pytest.raises(BadRequest, match="seconds with commas") as told:
        asked_times(text)
    assert len(str(told.value)) < 200


@pytest.mark.parametrize("times", [[1e300] * 5, [1e-300, 1.0, 1.0, 1.0, 1.0], [999_999_999.0, 0.000001, 1.0, 30.0, 30.0]])
def test_times_beyond_all_machines_are_not_believed(times: list[float]) -> None:
    fit = fitted_machine(times, Machine())
    assert not fit.believed
    assert all(np.isfinite(value) and value > 0 for name, value in asdict(fit.machine).items() if name.startswith(("speed", "acceleration")))
