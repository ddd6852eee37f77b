"""Leads: beside the work, on tangent arcs and ramps, and straight down only where nothing else is left."""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np
import pytest

from addon.finishing.core.array_types import FloatArray, Mask
from addon.finishing.core.polyline import travelled
from addon.finishing.core.stepping import finished
from addon.finishing.motion.leads import LEAD_LENGTH, LeadRoom, LeadSettings, lead_feeds, leads_steps

RADIUS = 6.0
RISE = np.tan(np.radians(3.0))


def hill(points: FloatArray) -> FloatArray:
    """A smooth surface, gentle everywhere."""
    return 20 + 2 * np.sin(points[:, 0] / 15) * np.cos(points[:, 1] / 18)


def table(points: FloatArray) -> FloatArray:
    """Tip heights of the ball over a flat table 30 mm high that ends at x = 40, with walls down to 0: a quarter of a circle, then the floor."""
    out = points[:, 0] - 40.0
    rounded = 30.0 - RADIUS + np.sqrt(np.maximum(RADIUS**2 - np.maximum(out, 0.0) ** 2, 0.0))
    return np.where(out <= RADIUS, rounded, 0.0)


def leads(
    ends: list[FloatArray],
    surface: Callable[[FloatArray], FloatArray],
    allowed: Callable[[FloatArray], Mask],
    wood: Callable[[FloatArray], FloatArray] = lambda points: np.full(len(points), -np.inf),
    beside: Callable[[FloatArray], Mask] = lambda points: np.zeros(len(points), bool),
) -> list[FloatArray]:
    def steps(points: FloatArray) -> Generator[float, None, FloatArray]:
        yield 0.0
        return surface(points.reshape(-1, 2)).reshape(points.shape[:-1])

    return finished(leads_steps(ends, steps, surface, allowed, LeadRoom(wood, beside), LeadSettings(3.0, 0.002, RADIUS)))


def on(surface: Callable[[FloatArray], FloatArray], plan: FloatArray) -> FloatArray:
    return np.column_stack([plan, surface(plan)])


def on_the_table(points: FloatArray) -> Mask:
    return points[:, 0] <= 40.2


def beside_the_table(points: FloatArray) -> Mask:
    return points[:, 0] > 40.0


def straight(start: tuple[float, float], end: tuple[float, float], count: int = 80) -> FloatArray:
    return np.linspace(start, end, count)


def everywhere(points: FloatArray) -> Mask:
    return np.ones(len(points), bool)


def test_amid_the_work_the_ramp_comes_straight_on_and_rises_three_degrees() -> None:
    line = on(hill, straight((10.0, 10.0), (50.0, 20.0)))
    (lead,) = leads([line], hill, everywhere)
    assert np.array_equal(lead[-1], line[0])
    flat = lead.copy()
    flat[:, 2] = hill(lead[:, :2])
    above = lead[:, 2] - flat[:, 2]
    # In the direction of the run, and as far above the surface as the ramp says at every place.
    np.testing.assert_allclose(above, RISE * (travelled(flat)[-1] - travelled(flat)), atol=0.002)
    assert above[0] == pytest.approx(RISE * LEAD_LENGTH, rel=0.02) and (np.diff(above) < 0).all()
    along = np.diff(lead[:, :2], axis=0)
    heading = (line[1] - line[0])[:2]
    assert (along @ heading > 0.999 * np.linalg.norm(along, axis=1) * np.linalg.norm(heading)).all()


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_where_straight_on_is_barred_the_ramp_follows_an_arc_that_touches_the_line(side: float) -> None:
    line = on(hill, straight((30.0, 0.0), (60.0, 0.0)))

    def allowed(points: FloatArray) -> Mask:
        # Room to one side only: straight on from x = 30 the ground ends at x = 24.
        return (points[:, 0] > 24.0) & (side * points[:, 1] > -0.5)

    (lead,) = leads([line], hill, allowed)
    assert allowed(lead).all() and np.array_equal(lead[-1], line[0])
    last = lead[-1, :2] - lead[-2, :2]
    turned = np.degrees(np.arctan2(last[1], last[0]))
    assert abs(turned) < 4.0  # the last chord of the arc, half of whose turn is 0.25 mm over 5 mm of radius
    assert side * lead[0, 1] > 3.0


def test_between_walls_the_ramp_runs_over_the_line_itself() -> None:
    line = on(hill, straight((30.0, 0.0), (60.0, 0.0)))

    def corridor(points: FloatArray) -> Mask:
        return (points[:, 0] >= 30.0) & (np.abs(points[:, 1]) < 1.0)

    (lead,) = leads([line], hill, corridor)
    assert corridor(lead).all() and np.array_equal(lead[-1], line[0]) and (lead[:-1, 2] > hill(lead[:-1, :2])).all()
    assert lead[0, 0] == pytest.approx(30.0 + LEAD_LENGTH, abs=0.1)
    # A line of 3 mm is run to and fro until the ramp is high enough.
    short = on(hill, straight((30.0, 0.0), (33.0, 0.0), 9))
    (lead,) = leads([short], hill, corridor)
    assert lead[:, 0].max() <= 33.0 and lead[0, 2] - hill(lead[:1, :2])[0] == pytest.approx(RISE * LEAD_LENGTH, rel=0.02)
    # And on one of half a millimetre nothing is left but straight down.
    (lead,) = leads([on(hill, straight((30.0, 0.0), (30.5, 0.0), 3))], hill, corridor)
    assert lead.tolist() == on(hill, np.array([[30.0, 0.0]])).tolist()


def test_round_a_closed_line_the_ramp_ends_in_the_direction_of_the_run() -> None:
    turn = np.linspace(0, 2 * np.pi, 121)
    ring = on(hill, 12 * np.column_stack([np.cos(turn), np.sin(turn)]))
    ring[-1] = ring[0]

    def narrow(points: FloatArray) -> Mask:
        return np.abs(np.hypot(points[:, 0], points[:, 1]) - 12.0) < 0.2

    into, out = leads([ring, ring[::-1]], hill, narrow)
    assert np.array_equal(into[-1], ring[0]) and np.array_equal(out[-1], ring[0])
    # It runs in from the ring's last 10 mm, anticlockwise like the ring; what it leaves by, run backwards, goes on over the first 10 mm.
    assert into[0, 1] < -5.0 and out[0, 1] > 5.0


def test_at_the_border_of_the_work_the_cutter_comes_down_beside_it_and_runs_in_level() -> None:
    line = on(table, straight((40.0, 5.0), (10.0, 5.0)))
    wood = lambda points: np.where(points[:, 0] < 40.0 + RADIUS, table(points) + 0.5, -np.inf)  # noqa: E731
    (lead,) = leads([line], table, on_the_table, wood, beside_the_table)
    assert len(lead) == 2 and lead[0, 2] == lead[1, 2] == 30.0 and lead[0, 1] == pytest.approx(5.0)
    # Beside the work the cutter is clear of the allowance too: by hand, sqrt(36 - x^2) = 5.5 at 2.4 mm, so at the next half millimetre.
    assert lead[0, 0] == pytest.approx(42.5)
    # Stock that still stands there is met straight down, but beside the finished surface all the same.
    (lead,) = leads([line], table, on_the_table, lambda points: np.full(len(points), 45.0), beside_the_table)
    assert lead[0, 0] == pytest.approx(42.5) and lead[0, 2] == 30.0


def test_a_rise_between_the_line_and_a_lower_place_keeps_the_cutter_from_running_in_level() -> None:
    def ridge(points: FloatArray) -> FloatArray:
        return table(points) + 2.0 * np.exp(-(((points[:, 0] - 41.0) / 0.6) ** 2))

    line = on(ridge, straight((38.0, 5.0), (10.0, 5.0)))
    (lead,) = leads([line], ridge, lambda points: points[:, 0] <= 38.0, beside=beside_the_table)
    assert len(lead) > 2 and (lead[:-1, 0] < 38.0).all() and (lead[:-1, 2] > ridge(lead[:-1])).all()


def test_leads_run_at_the_feed_of_lines_and_come_down_no_faster_than_the_plunge_feed() -> None:
    # By hand, of 900 mm/min downwards: a fall of 3 in 5 allows 1500, one of 1 in 10 allows 9000; level, and on the way up, nothing holds it back.
    moves = np.array([[4.0, 0.0, -3.0], [np.sqrt(99.0), 0.0, -1.0], [0.0, 2.0, 0.0], [0.0, 0.0, -5.0], [3.0, 0.0, 4.0]])
    assert lead_feeds(moves, 3500.0, 900.0) == pytest.approx([1500.0, 3500.0, 3500.0, 900.0, 3500.0])
    # Lines that are slower than the plunge feed keep their leads as slow.
    assert (lead_feeds(moves, 600.0, 900.0) == 600.0).all()
