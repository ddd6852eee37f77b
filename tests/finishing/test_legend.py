"""Legends: rounded ticks with units, and places on the ramp."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.core.errors import BadRequest
from addon.finishing.pictures import legend


def texts(found):
    return [str(t.label) for t in found.ticks]


def test_round_ticks():
    assert legend.nice_ticks(0, 1) == pytest.approx((0, 0.2, 0.4, 0.6, 0.8, 1.0))
    assert legend.nice_ticks(0, 0.05) == pytest.approx((0, 0.01, 0.02, 0.03, 0.04, 0.05))
    assert legend.nice_ticks(-37.2, 4.1, 5) == pytest.approx((-30, -20, -10, 0))
    assert [str(label) for label in legend.tick_labels((0, 0.25, 0.5))] == ["0.00", "0.25", "0.50"]
    assert [str(label) for label in legend.tick_labels((0, 500, 1000))] == ["0", "500", "1000"]


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4), st.integers(3, 9))
def test_ticks_stay_inside_and_are_about_as_many(low, span, about):
    ticks = legend.nice_ticks(low, low + span, about)
    assert all(low - 1e-6 * span <= t <= low + span + 1e-6 * span for t in ticks)
    assert about / 2 - 1 <= len(ticks) <= 2 * about
    labels = [str(label) for label in legend.tick_labels(ticks)]
    assert len(set(labels)) == len(labels)


@given(st.floats(1e-6, 1e6))
def test_rounded_up(value):
    top = legend.rounded_up(value)
    assert value * (1 - 1e-6) <= top <= 2.5 * value


def test_rounded_up_of_nothing():
    assert legend.rounded_up(0.0) == legend.rounded_up(float("nan")) == 1.0


def test_slope_and_heights():
    assert texts(legend.slope_legend()) == ["0°", "15°", "30°", "45°", "60°", "75°", "90°"]
    assert texts(legend.slope_legend(60)) == ["0°", "10°", "20°", "30°", "40°", "50°", "60°"]
    assert texts(legend.uncut_legend(0.5)) == ["0.0", "0.1", "0.2", "0.3", "0.4", "0.5"]
    assert str(legend.cusp_legend(0.05).unit) == "mm"


def test_curvature_labels_are_radii():
    found = legend.curvature_legend(8)
    assert texts(found) == ["hollow R 8", "R 15", "R 30", "R 150", "flat", "R 150", "R 30", "R 15", "crown R 8"]
    # k = 1/R (closed form), hollows below 0.
    assert found.ticks[1].value == pytest.approx(-1 / 15)
    places = found.place(np.array([t.value for t in found.ticks]))
    assert places[0] == 0 and places[4] == pytest.approx(0.5) and places[-1] == pytest.approx(1)
    assert np.all(np.diff(places) > 0.08)
    with pytest.raises(BadRequest, match="above 0"):
        legend.curvature_legend(0)


def test_place_of_values_beyond_and_missing():
    found = legend.curvature_legend(10).place(np.array([-5, 5, np.nan]))
    assert found[0] == 0 and found[1] == 1 and np.isnan(found[2])
    assert np.allclose(legend.slope_legend(90).place(np.array([45.0])), 0.5)


def test_running_order():
    assert texts(legend.order_legend(164)) == ["first", "50", "100", "164 last"]
    assert texts(legend.order_legend(2)) == ["first", "2 last"]
    assert legend.order_legend(0).high > legend.order_legend(0).low


def test_feed_of_one_value_and_empty_ranges():
    assert legend.feed_legend(3500, 3500).low == 0
    with pytest.raises(BadRequest, match="range"):
        legend.nice_ticks(1, 1)


def test_cusp_legend_spans_twice_the_asked_height():
    cusp = legend.cusp_legend(0.05)
    assert (cusp.low, cusp.high) == (0.0, 0.1)
    assert texts(cusp)[-1] == "0.1 and more" and all(tick.value < 0.095 for tick in cusp.ticks[:-1])
    assert texts(legend.cusp_legend(0.0627))[-1] == "0.1254 and more"
