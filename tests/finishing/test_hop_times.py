"""What hops take, and how high they go, on machines whose every speed is another: closed forms by hand."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np
import pytest

from addon.finishing.core.stepping import finished
from addon.finishing.job.machine import Machine
from addon.finishing.motion.hops import CHECK_STEP, Air, Hops, RouteSettings

MACHINE = Machine(air_feed=4830.0, speed_z=1230.0, plunge_feed=630.0)
"""80.5 mm/s across, 20.5 mm/s up and down, 10.5 mm/s where it plunges."""

LIFT = 1.0 + 1 / 10.5
"""Seconds of every lift besides its way: what it counts for, and 1 mm of plunge."""

SETTINGS = RouteSettings("to and fro", 3015.0, safe_z=40.0, machine=MACHINE, chord_tolerance=0.002, radius=6.0)
"""Links at 50.25 mm/s, hops never above 40 mm."""


@dataclass(frozen=True)
class Wall(Air):
    """Ground at 0 with a wall of one height wherever x passes 50."""

    high: float

    def over(self, moves: np.ndarray) -> np.ndarray:
        return np.where((moves[:, :, 0].min(axis=1) < 50) & (moves[:, :, 0].max(axis=1) > 50), self.high, 0.0)

    def roughly(self, moves: np.ndarray) -> np.ndarray:
        return self.over(moves) + 2.0


def place(x: float, z: float) -> np.ndarray:
    return np.array([x, 0.0, z])


def test_a_hop_is_never_shorter_than_its_room_a_slow_mm_and_what_a_lift_counts_for() -> None:
    # 1 mm up and 1 mm down at 20.5 mm/s, a mm of plunge at 10.5 mm/s, and a second.
    assert Hops(SETTINGS, None).least_seconds == pytest.approx(2 / 20.5 + LIFT)
    # Where the air is slower than the axis, it decides.
    slow = replace(SETTINGS, machine=replace(MACHINE, air_feed=300.0))
    assert Hops(slow, None).least_seconds == pytest.approx(2 / 5 + LIFT)


def test_rough_seconds_of_the_search() -> None:
    moves = np.array([[[0.0, 0], [100, 0]], [[0, 0], [30, 0]], [[30, 0], [0, 0]]])
    low = lambda points: points[:, 0] / 10  # noqa: E731
    # From 0 and from 10 mm over a wall of 17 mm, guessed as 19: up to 20; and over level ground, guessed as 2: up to 3.
    found = Hops(SETTINGS, Wall(17.0)).rough_seconds(low)(moves)
    assert found == pytest.approx([(20 + 10) / 20.5 + LIFT, (3 + 0) / 20.5 + LIFT, (3 + 0) / 20.5 + LIFT])
    # Where nothing is known, at the safe height: 40 mm less the heights of the ends.
    assert Hops(SETTINGS, None).rough_seconds(low)(moves) == pytest.approx([70 / 20.5 + LIFT, 77 / 20.5 + LIFT, 77 / 20.5 + LIFT])
    # Ends above what stands: from the higher one straight across, so that only the lower one has a way, 10 mm here.
    assert Hops(SETTINGS, Wall(0.0)).rough_seconds(low)(moves[:1]) == pytest.approx([10 / 20.5 + LIFT])


def test_seconds_of_a_hop_between_two_places_decide_against_a_link() -> None:
    # Over a wall of 17 mm between ends at 5 and 8 mm: up to 18 mm, 13 and 10 mm of way.
    hops = Hops(SETTINGS, Wall(17.0))
    up_and_down = (13 + 10) / 20.5 + LIFT
    start, end = place(0, 5), place(120, 8)
    # A link over 120 mm at 50.25 mm/s takes 0.9 s longer than 120 mm in the air at 80.5 mm/s.
    assert not hops.quicker_than_link(start, end)
    assert hops.as_long_as(start, end) == pytest.approx((up_and_down + 120 / 80.5) * 50.25)
    even = up_and_down / (1 / 50.25 - 1 / 80.5)
    assert not hops.quicker_than_link(start, place(0.999 * even, 8)) and hops.quicker_than_link(start, place(1.001 * even, 8))
    # A link as long as that takes exactly as long.
    assert hops.as_long_as(start, place(even, 8)) == pytest.approx(even)
    # Along y alike, and no matter how the heights differ: what a link takes is counted in plan.
    across = np.array([0.0, 1.001 * even, 8.0]), np.array([0.0, 0.0, 5.0])
    assert Hops(SETTINGS, Wall(0.0)).quicker_than_link(*across)
    # Over nothing, ends at 5 and 8 mm: up to 9 mm, 1 mm above the higher one.
    flat = Hops(SETTINGS, Wall(0.0))
    assert flat.as_long_as(place(40, 5), place(70, 8)) == pytest.approx(((4 + 1) / 20.5 + LIFT + 30 / 80.5) * 50.25)


def test_no_ground_is_asked_for_where_no_hop_could_be_quicker() -> None:
    class Asked(Wall):
        def over(self, moves: np.ndarray) -> np.ndarray:
            raise AssertionError("asked")

    # The quickest hop of all: so much is won in the air on this way.
    even = (2 / 20.5 + LIFT) / (1 / 50.25 - 1 / 80.5)
    hops = Hops(SETTINGS, Asked(0.0))
    assert not hops.quicker_than_link(place(0, 0), place(0.999 * even, 0))
    with pytest.raises(AssertionError, match="asked"):
        hops.quicker_than_link(place(0, 0), place(1.001 * even, 0))


def heights(hops: Hops, moves: np.ndarray, surface: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Heights of hops, and the places at which the exact surface was asked for; it is that of a spike at one place, or level."""
    asked = [np.zeros((0, 2))]

    def exact(points: np.ndarray) -> Generator[float, None, np.ndarray]:
        assert np.isfinite(points).all()
        asked.append(points)
        yield 0.5
        return np.zeros(len(points)) if surface is None else np.where(np.hypot(*(points - surface[:2]).T) < 1e-6, surface[2], 0.0)

    return finished(hops.heights_steps(moves, exact)), np.concatenate(asked)


def test_heights_of_hops_by_what_stands_by_their_ends_and_by_the_surface() -> None:
    moves = np.array([[place(0, 5), place(100, 8)], [place(0, 5), place(40, 8)], [place(0, 9), place(40, 2)], [place(60, 0), place(60, 0)]])
    # 1 mm above the wall; 1 mm above the higher end; and on the spot.
    assert heights(Hops(SETTINGS, Wall(17.0)), moves)[0] == pytest.approx([18, 9, 10, 1])
    # A spike of the true surface on the way is cleared too, at each of the places 1 mm apart and at no others, both ends among them.
    for x in (0.0, 1.0, 23.0, 40.0):
        found, asked = heights(Hops(SETTINGS, Wall(17.0)), moves[1:2], np.array([x, 0.0, 30.0]))
        assert found == pytest.approx([31.0])
        assert asked == pytest.approx(np.column_stack([np.arange(41) * CHECK_STEP, np.zeros(41)]))
    # Never above the safe height, and at it where nothing is known; then nothing is asked for.
    assert heights(Hops(SETTINGS, Wall(60.0)), moves[:1])[0] == pytest.approx([40.0])
    unknown, asked = heights(Hops(SETTINGS, None), moves)
    assert unknown == pytest.approx([40.0] * 4) and len(asked) == 0
    none, asked = heights(Hops(SETTINGS, Wall(17.0)), np.zeros((0, 2, 3)))
    assert none.shape == (0,) and len(asked) == 0


def test_a_slanted_hop_is_looked_at_along_its_length_in_plan() -> None:
    # 15.3 and 20.4 mm aside are 25.5 mm of way, whatever the heights: 26 pieces. One of less than a mm is looked at at both ends.
    for end, count in (([17.3, 23.4], 27), ([2.48, 3.64], 2)):
        _, asked = heights(Hops(SETTINGS, Wall(0.0)), np.array([[[2.0, 3.0, 1.0], [*end, 21.0]]]))
        assert asked == pytest.approx(np.linspace([2.0, 3.0], end, count))
