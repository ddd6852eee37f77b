"""The shapes of links and set back turns: Bezier curves by repeated halving of their arms' polygon, arms by the rules of the module, room by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from addon.finishing.motion.links import CHECK_STEP, NO_DIRECTION, heading, set_back_turn, stays_on, straying, surface_link

EAST, WEST, NORTH = np.array([1.0, 0.0]), np.array([-1.0, 0.0]), np.array([0.0, 1.0])
HERE = np.array([3.0, -2.0])


def anywhere(points: np.ndarray) -> np.ndarray:
    return np.ones(len(points), bool)


def casteljau(corners: np.ndarray, share: float) -> np.ndarray:
    """A point of the Bezier curve over a polygon (4, 2), by P. de Casteljau's construction."""
    while len(corners) > 1:
        corners = corners[:-1] + share * np.diff(corners, axis=0)
    return corners[0]


def bezier(start: np.ndarray, first: np.ndarray, second: np.ndarray, end: np.ndarray, count: int) -> np.ndarray:
    corners = np.stack([start, start + first, end - second, end])
    return np.array([casteljau(corners, share) for share in np.linspace(0, 1, count)])


# ---- links


@pytest.mark.parametrize(("apart", "first", "second"), [
    # By hand, d the distance between the lines: 0.7 of the span at the shorter line, 0.7 d^2 / span at the longer one.
    ((0.0, 4.0), 0.7 * 4, 0.7 * 4),
    ((3.0, 4.0), 0.7 * 5, 0.7 * 16 / 5),
    ((-3.0, 4.0), 0.7 * 16 / 5, 0.7 * 5),
    ((3.0, -4.0), 0.7 * 5, 0.7 * 16 / 5),
    ((0.0, 1.0), 0.7, 0.7),
    ((0.75, 1.0), 0.7 * 1.25, 0.7 / 1.25),
    ((-0.75, 1.0), 0.7 / 1.25, 0.7 * 1.25),
    # Longer than 12 mm: as on 12 mm of the same slant.
    ((30.0, 40.0), 0.7 * 12, 0.7 * 12 * 0.8**2),
    ((0.0, 12.5), 0.7 * 12, 0.7 * 12),
])  # fmt: skip
def test_a_turn_back_is_the_curve_with_these_arms(apart: tuple[float, float], first: float, second: float) -> None:
    end = HERE + apart
    link = surface_link(HERE, EAST, end, WEST, anywhere)
    assert link is not None
    assert link == pytest.approx(bezier(HERE, first * EAST, second * WEST, end, len(link)), abs=1e-9)
    assert (link[0] == HERE).all() and (link[-1] == end).all()
    # One point for every 0.3 mm of the span, and nine at least.
    assert len(link) == max(9, int(np.hypot(*apart) / 0.3))


@pytest.mark.parametrize(("entering", "apart", "arm"), [(EAST, (6.0, 2.5), 0.667 * 6.5), (NORTH, (3.0, 4.0), 0.667 * 5), (EAST, (90.0, 1.0), 8.004)])
def test_a_link_onward_has_two_arms_of_two_thirds_of_its_span(entering: np.ndarray, apart: tuple[float, float], arm: float) -> None:
    end = HERE + apart
    link = surface_link(HERE, EAST, end, entering, anywhere)
    assert link is not None
    assert link == pytest.approx(bezier(HERE, arm * EAST, arm * entering, end, len(link)), abs=1e-9)


def test_a_link_between_lines_in_other_directions_is_the_same_curve_turned() -> None:
    turn = np.array([[0.6, -0.8], [0.8, 0.6]])
    plain = surface_link(HERE, EAST, HERE + [2.0, 3.0], WEST, anywhere)
    turned = surface_link(turn @ HERE, turn @ EAST, turn @ (HERE + [2.0, 3.0]), turn @ WEST, anywhere)
    assert plain is not None and turned is not None and turned == pytest.approx(plain @ turn.T, abs=1e-9)


@pytest.mark.parametrize(("edge", "share"), [(2.2, 1.0), (2.05, 0.67), (1.38, 0.37), (0.75, 0.0)])
def test_arms_are_shortened_step_by_step_until_a_link_has_room(edge: float, share: float) -> None:
    # Square to its span of 4 mm the curve reaches 3/4 of 0.7 * 4 mm, times the share: 2.1, 1.407, 0.777 mm.
    link = surface_link(np.zeros(2), EAST, np.array([0.0, 4.0]), WEST, lambda points: points[:, 0] <= edge)
    assert link is not None
    arm = share * 0.7 * 4 * EAST
    assert link == pytest.approx(bezier(np.zeros(2), arm, -arm, np.array([0.0, 4.0]), len(link)), abs=1e-9)


def test_between_one_place_and_the_same_a_link_has_no_way() -> None:
    link = surface_link(HERE, EAST, HERE + 1e-10, WEST, lambda points: np.zeros(len(points), bool))
    assert link is not None and link.tolist() == [HERE.tolist(), (HERE + 1e-10).tolist()]
    assert surface_link(HERE, EAST, HERE + [1e-6, 0], WEST, lambda points: np.zeros(len(points), bool)) is None


def test_headings() -> None:
    assert heading(np.array([3.0, -4.0, 99.0])) == pytest.approx([0.6, -0.8])
    assert heading(np.array([0.0, 2.0])) == pytest.approx([0.0, 1.0])
    assert heading(np.array([0.0, 0.0, 5.0])).tolist() == [0.0, 0.0]
    assert heading(np.array([NO_DIRECTION / 2, 0.0])).tolist() == [0.0, 0.0]
    assert heading(np.array([-2 * NO_DIRECTION, 0.0])).tolist() == [-1.0, 0.0]


# ---- places that moves are looked at


def asked_of(moves: np.ndarray, *step: float) -> np.ndarray:
    asked = []

    def allowed(points: np.ndarray) -> np.ndarray:
        asked.append(points)
        return np.ones(len(points), bool)

    assert not straying(moves, allowed, *step).any()
    return np.concatenate(asked)


def test_moves_are_looked_at_at_their_ends_and_at_even_places_no_farther_apart_than_a_step() -> None:
    # 5 mm in steps of at most 2: three pieces. 4 mm: two. 1 mm: one. On the spot: the place itself.
    moves = np.array([[[0.0, 0], [3, 4]], [[0, 0], [4, 0]], [[7, 1], [7, 2]], [[5, 5], [5, 5]]])
    expected = [np.linspace(*move, count) for move, count in zip(moves, (4, 3, 2, 2), strict=True)]
    assert asked_of(moves, 2.0) == pytest.approx(np.concatenate(expected))
    # Without a step of its own, every 2 mm too; polylines every 0.1 mm.
    assert len(asked_of(np.array([[[0.0, 0], [100, 0]]]))) == 51
    seen = []
    stays_on(np.array([[0.0, 0], [1, 0], [1, 2]]), lambda points: seen.append(points) or np.ones(len(points), bool))
    assert len(np.concatenate(seen)) == 11 + 21 and CHECK_STEP == 0.1
    assert straying(moves, lambda points: points[:, 0] < 3.5).tolist() == [False, True, True, True]


# ---- set back turns


def pair(slant: float, apart: float = 2.0, length: float = 40.0) -> tuple[np.ndarray, np.ndarray]:
    """A line eastward that ends at x = 0, and one back westward some mm beside it that begins at x = slant."""
    before = np.array([[-length, 0.0, 5], [-length / 2, 0.0, 5], [0.0, 0.0, 5]])
    after = np.array([[slant, apart, 5.0], [slant - length / 2, apart, 5], [slant - length, apart, 5]])
    return before, after


@pytest.mark.parametrize(("fits", "lost", "arms"), [
    # Lines 2 mm apart that end side by side may lose 1 mm each; a turn then reaches 1.05 mm on from where it begins. Tried are all, 0.7 and 0.4
    # of that with full arms, then all of it with 0.67 and 0.37 of the arms: the turns begin and reach as far as written beside them.
    (lambda x: x > -2.0, 1.0, 1.0),  # from -1.0 to 0.05
    (lambda x: x > -0.9, 0.7, 1.0),  # from -0.7 to 0.35
    (lambda x: x > -0.6, 0.4, 1.0),  # from -0.4 to 0.65
    (lambda x: x < 0.0, 1.0, 0.67),  # from -1.0 to -0.2965
    (lambda x: x < -0.4, 1.0, 0.37),  # from -1.0 to -0.6115
])  # fmt: skip
def test_shares_of_what_lines_may_lose_are_tried_in_their_order(fits, lost: float, arms: float) -> None:  # noqa: ANN001
    before, after = pair(0.0)
    turn = set_back_turn(before, after, (5.0, 5.0), lambda points: fits(points[:, 0]))
    assert turn is not None
    first, link, second = turn
    assert first[-1] == pytest.approx([-lost, 0, 5]) and second[0] == pytest.approx([-lost, 2, 5])
    assert (first[:-1] == before[:-1]).all() and (second[1:] == after[1:]).all()
    arm = arms * 0.7 * 2 * EAST
    assert link == pytest.approx(bezier(first[-1, :2], arm, -arm, second[0, :2], len(link)), abs=1e-9)


def test_a_turn_that_no_share_makes_room_for_is_none() -> None:
    before, after = pair(0.0)
    assert set_back_turn(before, after, (5.0, 5.0), lambda points: points[:, 0] < -0.62) is None
    assert set_back_turn(before, after, (5.0, 5.0), lambda points: points[:, 0] > -0.3) is None


@pytest.mark.parametrize(("slant", "apart"), [(1.5, 2.0), (-1.5, 2.0), (1.5, -2.0), (0.75, 1.0), (-0.75, 1.0)])
@pytest.mark.parametrize("trim", [(9.0, 9.0), (0.3, 9.0), (9.0, 0.3), (0.0, 0.6), (0.6, 0.0)])
def test_each_line_loses_its_trim_or_the_depth_of_the_turn_at_its_end(slant: float, apart: float, trim: tuple[float, float]) -> None:
    # By hand: half of the distance at the shorter line, and 2 / 2.5 of that at the longer one, since both are 3/4 as much aslant as apart.
    before, after = pair(slant, apart)
    deep = abs(apart) / 2
    depths = (deep, 0.8 * deep) if slant > 0 else (0.8 * deep, deep)
    turn = set_back_turn(before, after, trim, anywhere)
    assert turn is not None
    assert turn[0][-1, 0] == pytest.approx(-min(trim[0], depths[0]))
    assert turn[2][0, 0] == pytest.approx(slant - min(trim[1], depths[1]))
    assert turn[1][0] == pytest.approx(turn[0][-1, :2]) and turn[1][-1] == pytest.approx(turn[2][0, :2])


def test_set_back_turns_between_lines_in_other_directions_are_the_same_turned() -> None:
    turn = np.array([[0.6, -0.8, 0], [0.8, 0.6, 0], [0, 0, 1]])
    for slant in (1.5, -1.5):
        plain = set_back_turn(*pair(slant), (0.9, 0.9), anywhere)
        turned = set_back_turn(*(line @ turn.T for line in pair(slant)), (0.9, 0.9), anywhere)
        assert plain is not None and turned is not None
        for mine, theirs in zip(plain, turned, strict=True):
            assert theirs == pytest.approx(mine @ turn[: mine.shape[1], : mine.shape[1]].T, abs=1e-9)


def test_where_set_back_turns_end() -> None:
    # Nothing to lose, no span, or more than 12 mm of it: no turn.
    before, after = pair(0.0)
    assert set_back_turn(before, after, (0.0, 0.0), anywhere) is None
    assert set_back_turn(before, before[::-1], (1.0, 1.0), anywhere) is None
    assert set_back_turn(*pair(0.0, 12.0, 200.0), (1.0, 1.0), anywhere) is not None
    assert set_back_turn(*pair(0.0, 12.001, 200.0), (1.0, 1.0), anywhere) is None
    # A line of 1.6 mm keeps half: of the 1 mm that both might lose, 0.7 mm is left. One of 0.7 mm keeps no half of any.
    for short, lost in ((1.6, 0.7), (0.9, 0.4)):
        for lines in (pair(0.0, length=40.0)[0], pair(0.0, length=short)[1]), (pair(0.0, length=short)[0], pair(0.0, length=40.0)[1]):
            turn = set_back_turn(*lines, (9.0, 9.0), anywhere)
            assert turn is not None and (turn[0][-1, 0], turn[2][0, 0]) == pytest.approx((-lost, -lost))
    assert set_back_turn(*pair(0.0, length=0.7), (9.0, 9.0), anywhere) is None


def test_on_a_slope_a_line_loses_as_much_in_plan_as_on_the_level() -> None:
    # Both climb to their ends by 3 on 4, so that a mm in plan is 1.25 mm along the line.
    before, after = pair(0.0)
    for line in (before, after):
        line[:, 2] = 5 + 0.75 * line[:, 0]
    turn = set_back_turn(before, after, (0.8, 0.6), anywhere)
    assert turn is not None
    assert turn[0][-1] == pytest.approx([-0.8, 0, 5 - 0.6]) and turn[2][0] == pytest.approx([-0.6, 2, 5 - 0.45])


def test_a_turn_leaves_and_enters_along_the_lines_as_they_remain() -> None:
    # The last 0.5 mm of the first line bend aside; without them it ends on its straight part, and the turn leaves along that.
    before = np.array([[-40.0, 0, 0], [-0.5, 0, 0], [0, -0.1, 0]])
    after = np.array([[0.0, 2.1, 0], [-0.5, 2, 0], [-40, 2, 0]])
    turn = set_back_turn(before, after, (0.9, 0.9), anywhere)
    assert turn is not None
    first, link, second = turn
    assert first[-1, 1] == pytest.approx(0, abs=1e-12) and second[0, 1] == pytest.approx(2, abs=1e-12)
    span = second[0, :2] - first[-1, :2]
    across = float(span[1])
    arms = 0.7 * np.hypot(*span), 0.7 * across**2 / np.hypot(*span)
    assert span[0] == pytest.approx(0, abs=1e-9)
    assert link == pytest.approx(bezier(first[-1, :2], arms[0] * EAST, arms[1] * WEST, second[0, :2], len(link)), abs=1e-9)
    assert all(np.hypot(*(b - a)) < 1 for a, b in itertools.pairwise(link))
