"""Legends: rounded ticks with units, and positions on the ramp."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.core.errors import BadRequest
from addon.finishing.pictures import legend


def texts(found: legend.Legend) -> list[str]:
    return [str(t.label) for t in found.ticks]


def test_round_ticks() -> None:
    assert legend.nice_ticks(0, 1) == pytest.approx((0, 0.2, 0.4, 0.6, 0.8, 1.0))
    assert legend.nice_ticks(0, 0.05) == pytest.approx((0, 0.01, 0.02, 0.03, 0.04, 0.05))
    assert legend.nice_ticks(-37.2, 4.1, 5) == pytest.approx((-30, -20, -10, 0))
    assert [str(label) for label in legend.tick_labels((0, 0.25, 0.5))] == ["0.00", "0.25", "0.50"]
    assert [str(label) for label in legend.tick_labels((0, 500, 1000))] == ["0", "500", "1000"]


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4), st.integers(3, 9))
def test_ticks_stay_inside_and_are_about_as_many(low: float, span: float, about: int) -> None:
    ticks = legend.nice_ticks(low, low + span, about)
    assert all(low - 1e-6 * span <= t <= low + span + 1e-6 * span for t in ticks)
    assert about / 2 - 1 <= len(ticks) <= 2 * about
    labels = [str(label) for label in legend.tick_labels(ticks)]
    assert len(set(labels)) == len(labels)


@given(st.floats(1e-6, 1e6))
def test_rounded_up(value: float) -> None:
    top = legend.rounded_up(value)
    # 1, 2, 2.5, 5, 10: no two neighbours are more than a factor of two apart.
    assert value * (1 - 1e-6) <= top <= 2 * value * (1 + 1e-6)
    assert any(f"{top:.6e}".startswith(f"{digits:.6f}") for digits in (1, 2, 2.5, 5))


def test_rounded_up_of_nothing() -> None:
    assert legend.rounded_up(0.0) == legend.rounded_up(float("nan")) == 1.0


def test_slope_and_heights() -> None:
    assert texts(legend.slope_legend()) == ["0°", "15°", "30°", "45°", "60°", "75°", "90°"]
    assert texts(legend.uncut_legend(0.5)) == ["0.0", "0.1", "0.2", "0.3", "0.4", "0.5"]
    assert str(legend.cusp_legend(0.05).unit) == "mm"


def test_curvature_labels_are_radii() -> None:
    found = legend.curvature_legend(8)
    assert texts(found) == ["hollow R 8", "R 15", "R 30", "R 150", "flat", "R 150", "R 30", "R 15", "crown R 8"]
    # k = 1/R (closed form), hollows below 0.
    assert found.ticks[1].value == pytest.approx(-1 / 15)
    positions = found.position(np.array([t.value for t in found.ticks]))
    assert positions[0] == 0 and positions[4] == pytest.approx(0.5) and positions[-1] == pytest.approx(1)
    assert np.all(np.diff(positions) > 0.08)
    with pytest.raises(BadRequest, match="above 0"):
        legend.curvature_legend(0)


def test_position_of_values_beyond_and_missing() -> None:
    found = legend.curvature_legend(10).position(np.array([-5, 5, np.nan]))
    assert found[0] == 0 and found[1] == 1 and np.isnan(found[2])
    assert np.allclose(legend.slope_legend().position(np.array([45.0])), 0.5)


def test_running_order() -> None:
    assert texts(legend.order_legend(164)) == ["first", "50", "100", "164 last"]
    assert texts(legend.order_legend(2)) == ["first", "2 last"]
    assert legend.order_legend(0).high > legend.order_legend(0).low


def test_feed_of_one_value_and_empty_ranges() -> None:
    assert legend.feed_legend(3500, 3500).low == 0
    with pytest.raises(BadRequest, match="range"):
        legend.nice_ticks(1, 1)


def test_cusp_legend_spans_twice_the_asked_height() -> None:
    cusp = legend.cusp_legend(0.05)
    assert (cusp.low, cusp.high) == (0.0, 0.1)
    assert texts(cusp)[-1] == "0.1" and all(tick.value < 0.095 for tick in cusp.ticks[:-1])
    assert texts(legend.cusp_legend(0.0627, 0.125))[-1] == "0.1254"


@pytest.mark.parametrize("greatest", [0.11, 0.3, 2.6])
def test_a_cusp_legend_covers_what_is_there(greatest: float) -> None:
    cusp = legend.cusp_legend(0.05, greatest)
    assert cusp.high >= greatest and texts(cusp)[-2:] == ["0.1", f"{cusp.high:g}, coarser scale"]
    # Evenly up to twice the asked height, over most of the bar, then evenly on to its end; never the same colour for two heights.
    values = np.array([0.0, 0.05, 0.1, (0.1 + cusp.high) / 2, cusp.high])
    np.testing.assert_allclose(cusp.position(values), [0, 0.35, 0.7, 0.85, 1], atol=1e-6)
    assert (np.diff(cusp.position(np.linspace(0, cusp.high, 500))) > 0).all() and np.isnan(cusp.position(np.array([np.nan]))).all()


def test_fit_begins_at_the_tolerance() -> None:
    fit = legend.fit_legend(0.05, 1.0)
    assert (fit.low, fit.high) == (0.05, 1.0)
    assert texts(fit) == ["fits, up to 0.05", "0.2", "0.4", "0.6", "0.8", "1.0"]
    with pytest.raises(BadRequest, match="range"):
        legend.fit_legend(0.05, 0.05)


def test_height_feed_and_bite() -> None:
    assert texts(legend.height_legend(10.0, 20.0)) == ["10", "12", "14", "16", "18", "20"]
    assert (legend.feed_legend(1000, 3500).low, str(legend.feed_legend(1000, 3500).unit)) == (1000, "mm/min")
    assert legend.bite_legend(3.7).high == 5.0 and legend.bite_legend(0.0).high == 1.0


def every_legend() -> tuple[legend.Legend, ...]:
    return (
        legend.slope_legend(),
        legend.curvature_legend(8),
        legend.uncut_legend(1),
        legend.fit_legend(0.05, 1),
        legend.cusp_legend(0.05),
        legend.order_legend(9),
        legend.height_legend(0, 1),
        legend.feed_legend(0, 1),
        legend.bite_legend(1),
    )


@pytest.mark.parametrize("item", every_legend(), ids=lambda item: str(item.title))
def test_every_tick_lies_on_its_bar(item: legend.Legend) -> None:
    values = [tick.value for tick in item.ticks]
    assert len(values) >= 2 and values == sorted(values) and item.low - 1e-9 <= values[0] and values[-1] <= item.high + 1e-9
    assert len(set(texts(item))) == len(values) or item.signed_root  # radii stand on both arms
