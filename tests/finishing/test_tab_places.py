"""Where tabs go: outlines against closed forms, places against a slow search through all of them."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from rim_bodies import ellipse, paddle, plate, waisted
from shapes import block

from addon.finishing.job.tabs import Tab, TabSettings
from addon.finishing.options.tab_places import (
    MOST_APART,
    MOST_BOW,
    InTheWay,
    TabWish,
    at_places,
    greatest_gap,
    placed,
    rated,
    spread,
    tab_level,
)
from addon.finishing.surface.body_rim import BodyRim, body_rim, enclosed_area

LENGTH = 22.0


def rim_of(triangles: np.ndarray, skip: np.ndarray | None = None) -> BodyRim:
    found = body_rim(triangles, np.zeros(len(triangles), bool) if skip is None else skip)
    assert found is not None
    return found[0]


def wide(rim: BodyRim, margin: float = 60.0) -> InTheWay:
    """Plenty of stock and nothing in the way."""
    return InTheWay(rim.body_low[:2] - margin, rim.body_high[:2] + margin, np.zeros((0, 2, 2)), np.zeros((0, 3)))


def wish(rim: BodyRim, settings: TabSettings | None = None, grain: float | None = None) -> TabWish:
    own = TabSettings(None) if settings is None else settings
    low = tab_level(rim, own.height)
    return TabWish(own, LENGTH, low, low + own.height, grain)


def numbers(rim: BodyRim, tabs: tuple[Tab, ...]) -> np.ndarray:
    return np.array([np.linalg.norm(rim.points - tab.place, axis=1).argmin() for tab in tabs])


@pytest.mark.parametrize(("side", "rims"), [(2.0, False), (4.5, False), (8.0, True)])
def test_a_crumb_has_no_rim(side: float, rims: bool) -> None:
    # The blur takes away what is smaller than it, and what is left of a few millimetres is no outline that a tab could stand at.
    triangles = block(lambda x, y: 5 + 0 * x, side, side, side / 4)
    found = body_rim(triangles, np.zeros(len(triangles), bool))
    assert (found is not None) == rims
    if found is not None:
        assert enclosed_area(found[0].points) == pytest.approx(side**2, rel=0.3)
        assert found[0].length == pytest.approx(found[0].step * len(found[0].points))


@pytest.fixture(scope="module")
def oval() -> BodyRim:
    return rim_of(plate(ellipse(400.0, 260.0), 400.0, 40.0))


def test_the_outline_is_the_ellipse_and_the_rim_its_wall(oval: BodyRim) -> None:
    x, y = oval.points[:, 0] - 200, oval.points[:, 1]
    off = (np.hypot(x / 200, y / 130) - 1) * 130
    assert np.abs(off).max() < 0.5
    assert enclosed_area(oval.points) == pytest.approx(np.pi * 200 * 130, rel=0.005)
    assert oval.low.tolist() == pytest.approx([0.0] * len(x)) and oval.high.tolist() == pytest.approx([40.0] * len(x))
    # Outwards is the gradient of the ellipse's own equation.
    gradient = np.column_stack([x / 200**2, y / 130**2])
    gradient /= np.linalg.norm(gradient, axis=1)[:, None]
    assert ((rated(oval, wish(oval), wide(oval)).outward * gradient).sum(axis=1) > 0.998).all()


def test_tabs_lie_in_the_middle_of_a_straight_rim(oval: BodyRim) -> None:
    assert tab_level(oval, 8.0) == pytest.approx(16.0, abs=0.1)


def test_tabs_lie_where_a_rim_that_is_rounded_above_holds_them() -> None:
    # Rounded over by 20 mm: 8 mm behind the outline the top lies 20 - sqrt(20^2 - 12^2) = 4 mm below, 1.5 mm behind it 20 - sqrt(400 - 18.5^2).
    def top(share: np.ndarray) -> np.ndarray:
        aside = np.maximum(share * 100 - 80, 0.0)
        return 30 - (20 - np.sqrt(400 - np.minimum(aside, 20) ** 2))

    rim = rim_of(plate(lambda x: np.full(x.shape, 100.0), 300.0, 30.0, top))
    flank = np.abs(rim.points[:, 1]) > 99
    flank &= np.abs(rim.points[:, 0] - 150) < 100
    assert np.median(rim.high[flank]) == pytest.approx(10 + np.sqrt(400 - 18.5**2), abs=1.5)
    assert rim.low[flank].max() == pytest.approx(0.0)


def test_a_rim_that_is_thinner_than_a_tab_is_known(oval: BodyRim) -> None:
    thin = replace(oval, high=np.where(oval.points[:, 0] < 200, 40.0, 5.0))
    found = rated(thin, wish(thin), wide(thin))
    assert found.thin[thin.points[:, 0] > 200].all() and not found.thin[thin.points[:, 0] < 185].any()
    all_thin = replace(oval, high=np.full(len(oval.points), 5.0))
    assert tab_level(all_thin, 8.0) == pytest.approx(-1.5)  # about its own middle


def test_bow_is_the_arrow_of_the_arc(oval: BodyRim) -> None:
    # b^2 / 8 r at the ends of the axes of an ellipse, whose radii there are b^2 / a and a^2 / b.
    found = rated(oval, wish(oval), wide(oval))
    for place, radius in (((400.0, 0.0), 130**2 / 200), ((200.0, 130.0), 200**2 / 130)):
        near = int(np.linalg.norm(oval.points - place, axis=1).argmin())
        assert found.bow[near] == pytest.approx(22**2 / 8 / radius, abs=0.12)
    assert pytest.approx(22**2 / 8 / 60, rel=0.01) == MOST_BOW


def test_tabs_are_spread_evenly_round_an_ellipse(oval: BodyRim) -> None:
    own = wish(oval)
    found = rated(oval, own, wide(oval))
    for count in (3, 4, 6, 8):
        tabs = placed(oval, found, own, count)
        assert len(tabs) == count and [tab.number for tab in tabs] == list(range(1, count + 1))
        assert greatest_gap(oval, numbers(oval, tabs)) < 1.05 / count


def test_tabs_stay_off_the_waist_and_the_ends_of_a_waisted_body() -> None:
    rim = rim_of(plate(waisted(380.0, 240.0, 34.0), 380.0, 40.0))
    own = wish(rim, TabSettings(None, width=30.0))
    found = rated(rim, own, wide(rim))
    assert found.curved.any() and not found.curved.all()
    for count in (3, 4, 5, 6):
        at = numbers(rim, placed(rim, found, own, count))
        assert len(at) == count and not found.curved[at].any()
        assert greatest_gap(rim, at) <= MOST_APART / count + 0.01


def test_a_long_paddle_is_held_on_both_flanks_and_off_its_tips() -> None:
    rim = rim_of(plate(paddle(700.0, 80.0, 18.0), 700.0, 25.0))
    own = wish(rim)
    found = rated(rim, own, wide(rim))
    tabs = placed(rim, found, own, 6)
    at = numbers(rim, tabs)
    assert len(tabs) == 6 and not found.curved[at].any()
    sides = [np.sign(tab.place[1]) for tab in tabs]
    assert sides.count(1.0) >= 2 and sides.count(-1.0) >= 2
    assert min(tab.place[0] for tab in tabs) > 5 and max(tab.place[0] for tab in tabs) < 695


def test_end_grain_comes_last(oval: BodyRim) -> None:
    own = wish(oval, grain=0.0)
    found = rated(oval, own, wide(oval))
    ends = found.end_grain
    # The normal of x^2/a^2 + y^2/b^2 = 1 is (x/a^2, y/b^2): within 45 degrees of X where |x|/a^2 > |y|/b^2.
    by_form = np.abs(oval.points[:, 0] - 200) / 200**2 > np.abs(oval.points[:, 1]) / 130**2
    assert (ends == by_form).mean() > 0.98
    assert not ends[numbers(oval, placed(oval, found, own, 4))].any()
    # Where the flanks alone would leave too long a way, as few as that takes.
    flanks_barred = replace(found, barred=~ends & (oval.points[:, 1] > 0))
    at = numbers(oval, placed(oval, flanks_barred, own, 4))
    assert len(at) == 4 and ends[at].sum() == 2


def test_tabs_keep_off_clamps_dowels_skipped_surface_and_the_stocks_edge(oval: BodyRim) -> None:
    own = wish(oval)
    clamp = np.array([[[180.0, 120.0], [230.0, 170.0]]])
    hole = np.array([[200.0, -145.0, 4.0]])
    way = replace(wide(oval), boxes=clamp, holes=hole)
    found = rated(oval, own, way)
    for tab in placed(oval, found, own, 6):
        corners = np.concatenate([tab.corners(), [tab.place, tab.end]])
        apart = np.maximum(np.maximum(clamp[0, 0] - corners, corners - clamp[0, 1]), 0)
        assert np.hypot(*apart.T).min() > 0
        assert np.hypot(corners[:, 0] - 200, corners[:, 1] + 145).min() > 4
    narrow = InTheWay(oval.body_low[:2] - 25, oval.body_high[:2] + 25, np.zeros((0, 2, 2)), np.zeros((0, 3)))
    frames = rated(oval, own, narrow).frame
    top = int(np.linalg.norm(oval.points - (200.0, 130.0), axis=1).argmin())
    assert frames[top] == pytest.approx(25 - LENGTH, abs=0.6)
    none = InTheWay(oval.body_low[:2] - 5, oval.body_high[:2] + 5, np.zeros((0, 2, 2)), np.zeros((0, 3)))
    assert len(placed(oval, rated(oval, own, replace(none, stock_low=none.stock_low + 300)), own, 4)) < 4


def test_skipped_surface_at_the_rim_is_seen_from_either_side() -> None:
    triangles = plate(ellipse(200.0, 140.0), 200.0, 30.0)
    for face in (0.0, 30.0):
        level = (np.abs(triangles[:, :, 2] - face) < 1e-6).all(axis=1)
        marked = level & (triangles[:, :, 0].mean(axis=1) < 40)
        rim = rim_of(triangles, marked)
        assert rim.skipped[rim.points[:, 0] < 30].all() and not rim.skipped[rim.points[:, 0] > 50].any()
        own = wish(rim)
        at = numbers(rim, placed(rim, rated(rim, own, wide(rim)), own, 4))
        assert not rim.skipped[at].any()


@pytest.mark.parametrize("seed", range(6))
def test_the_spread_is_the_best_of_all(seed: int) -> None:
    # A plain slow twin: every combination of places.
    rng = np.random.default_rng(seed)
    total, count, least = 18, 3 + seed % 2, 2
    cost = np.where(rng.random(total) < 0.3, rng.integers(0, 5, total), 0.0).astype(float)
    cost[rng.random(total) < 0.25] = np.inf
    even = total / count

    def whole(chosen: tuple[int, ...]) -> float:
        gaps = np.diff([*chosen, chosen[0] + total])
        if (gaps > int(MOST_APART * even)).any() or (gaps < least).any():
            return np.inf
        return float(cost[list(chosen)].sum() + ((2 * (gaps / even - 1)) ** 2).sum())

    best = min(whole(chosen) for chosen in combinations(range(total), count))
    found = spread(cost, count, least)
    if np.isinf(best):
        assert found is None
    else:
        assert found is not None and whole(tuple(sorted(found.tolist()))) == pytest.approx(best)


def test_named_places_are_taken_to_the_outline(oval: BodyRim) -> None:
    own = wish(oval)
    tabs = at_places(oval, rated(oval, own, wide(oval)), own, [(200.0, 150.0), (410.0, 0.0), (200.0, 149.0)])
    assert len(tabs) == 2  # two of them mean the same place
    assert sorted(round(tab.place[0]) for tab in tabs) == pytest.approx([200, 400], abs=1)
    top = min(tabs, key=lambda tab: abs(tab.place[0] - 200))
    assert top.way == pytest.approx((0.0, 1.0), abs=0.02) and top.end == pytest.approx([200.0, 152.0], abs=1.0)
    assert top.corners(3.0)[:, 1].min() == pytest.approx(127.0, abs=0.8)
