"""Which side first: second moments of area against closed forms and tables, and the order that follows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block
from small_jobs import TWELVE, two_sides

from addon.finishing.core.result_store import ResultStore
from addon.finishing.job.body import make_body
from addon.finishing.job.request import Request
from addon.finishing.job.stock import StockSettings
from addon.finishing.options.side_order import SideOrder, section_moment, side_order_of
from addon.finishing.planning.plan import make_plan
from addon.finishing.tooling.standing_stock import StockBox


def strips(heights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Thickness and mid-height of one section that stands on zero."""
    return heights[None], heights[None] / 2


def test_second_moments_are_those_of_the_tables() -> None:
    # A rectangle, b h^3 / 12; a T of two of them by the parallel axis theorem; a half disc, r^4 (pi/8 - 8/(9 pi)) (any table of sections).
    assert section_moment(*strips(np.full(50, 6.0)), 2.0)[0] == pytest.approx(100 * 6.0**3 / 12)
    tee = np.where(np.abs(np.arange(1000) - 499.5) < 100, 30.0, 10.0)
    web, flange = 20.0 * 20.0, 100.0 * 10.0
    centre = (flange * 5 + web * 20) / (flange + web)
    by_parts = 100 * 10**3 / 12 + flange * (5 - centre) ** 2 + 20 * 20**3 / 12 + web * (20 - centre) ** 2
    assert section_moment(*strips(tee), 0.1)[0] == pytest.approx(by_parts)
    x = np.linspace(-10, 10, 20001)[:-1] + 0.0005
    assert section_moment(*strips(np.sqrt(100 - x**2)), 0.001)[0] == pytest.approx(10**4 * (np.pi / 8 - 8 / (9 * np.pi)), rel=1e-4)


def trough(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """30 mm high with a trough right along X, 20 mm deep and 60 of 80 mm wide: a body that is thin from above."""
    return np.where(np.abs(y - 40) < 30, 10.0, 30.0)


def test_sections_of_a_channel_are_as_stiff_as_the_tables_say_and_nothing_is_advised() -> None:
    triangles = block(trough, 100.0, 80.0, 0.5)
    order = side_order_of("top", triangles, StockBox((0.0, 0.0), (100.0, 80.0), top=34.0, bottom=0.0))
    # After the top: a channel of a 10 mm floor with two walls of 10 x 20 mm; after the back, all but flat: nothing is taken, 34 - 0.
    floor, walls = 80 * 10.0, 2 * 10 * 20.0
    centre = (floor * 5 + walls * 20) / (floor + walls)
    moment = 80 * 10**3 / 12 + floor * (5 - centre) ** 2 + 2 * 10 * 20**3 / 12 + walls * (20 - centre) ** 2
    lying = 10.0**3 / 12 * 100  # a section along the trough's floor is the weaker one
    assert order.own == pytest.approx(min(moment / (80 * 34**3 / 12), lying / (100 * 34**3 / 12)), rel=0.05)
    assert order.other == pytest.approx(1.0) and order.better_first is None  # the back is not cut: there is nothing to choose


@pytest.mark.parametrize("own, other, better", [(0.5, 0.8, "back"), (0.8, 0.5, "top"), (0.6, 0.5, None), (0.3, 1.0, None)])
def test_only_a_better_order_is_told(own: float, other: float, better: str | None) -> None:
    assert SideOrder("top", own, other).better_first == better
    assert SideOrder("back", own, other).better_first == {"top": "back", "back": "top", None: None}[better]


def test_a_plan_tells_that_the_other_side_should_come_first() -> None:
    # A deep hollow on top, a little crown underneath: the back takes little from the stock, the top nearly all.
    def top(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 20 - 9 * np.sin(np.pi * x / 60) * np.sin(np.pi * y / 40)

    triangles = block(top, 60, 40, 1.0)
    low = triangles[:, :, 2] < 0.5
    x, y = triangles[:, :, 0], triangles[:, :, 1]
    triangles[:, :, 2] += np.where(low, 2 * (1 - np.sin(np.pi * x / 60) * np.sin(np.pi * y / 40)), 0.0)
    request = Request(make_body("dish", triangles), cutter=TWELVE, rack_table=False, cell=1.0, stock=StockSettings(margin=0.0, first_side="top"))
    plan = make_plan(request, ResultStore())
    told = [finding for finding in plan.findings if finding.key == "side-order"]
    assert len(told) == 1 and "Cut the back first" in str(told[0].sentence)
    right = make_plan(replace(request, stock=replace(request.stock, first_side="back")), ResultStore())
    assert not any(finding.key == "side-order" for finding in right.findings)
    assert not any(finding.key == "side-order" for finding in two_sides()[0].findings)  # its back is flat
