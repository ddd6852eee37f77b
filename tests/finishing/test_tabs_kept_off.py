"""Ball, flank, shank and nut beside tabs on both sides: against a plain slow twin, points of wood in the tabs and every place of a run."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from rim_bodies import ellipse, plate
from scipy.spatial import cKDTree

from addon.finishing.core.result_store import ResultStore
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings
from addon.finishing.job.tabs import Tab, TabSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

LENGTH, WIDTH, RISE = 110.0, 76.0, 7.0
MIDDLE, HALF, FALL = 20.0, 10.0, 7.0
"""A lens from 10 to 30 mm over the bottom of its stock in the middle, from 17 to 23 at its rim: see `lens`."""

MACHINE = Machine(nut_diameter=26.0)
CUTTERS = {
    "ball": Cutter("Ball 10", 10.0, usable_length=45.0, shank_diameter=10.0, stick_out=60.0),
    "flank": Cutter("Taper 5", 5.0, usable_length=30.0, shank_diameter=18.0, stick_out=60.0, half_angle=25.0, top_diameter=18.0),
    "shank": Cutter("Short 6", 6.0, usable_length=7.0, shank_diameter=20.0, stick_out=60.0),
    "nut": Cutter("Deep 6", 6.0, usable_length=6.0, shank_diameter=6.0, stick_out=6.0),
}
"""By the part of it that would be the first in a tab."""


def lens() -> np.ndarray:
    """Triangles of a plate that is arched alike on both sides."""
    triangles = plate(ellipse(LENGTH, WIDTH), LENGTH, 1.0)
    away = np.abs(triangles[..., 1]) / np.maximum(ellipse(LENGTH, WIDTH)(triangles[..., 0]), 1e-3)
    triangles[..., 2] = np.where(triangles[..., 2] > 0, 1, -1) * (HALF - FALL * np.minimum(away, 1.0) ** 4)
    return triangles


def surface(points: np.ndarray) -> np.ndarray:
    """Height of the lens's upper side over its middle at points (n, 2), -inf beside it; the lower side, turned over, has the same."""
    half = ellipse(LENGTH, WIDTH)(np.clip(points[:, 0], 0, LENGTH))
    away = np.abs(points[:, 1]) / np.maximum(half, 1e-3)
    inside = (points[:, 0] > 0) & (points[:, 0] < LENGTH) & (away < 1)
    return np.where(inside, HALF - FALL * np.minimum(away, 1.0) ** 4, -np.inf)


@cache
def planned(part: str, side: str, tabs: bool) -> Plan:
    cutter = CUTTERS[part]
    request = Request(
        make_body("lens", lens()), side=side, cutter=cutter, rack=(cutter,), rack_table=False, machine=MACHINE, cell=1.0, cusp=0.8, lines_from="edge",
        line_angle=0.0, stock=StockSettings(margin=48.0, thickness=2 * MIDDLE, height_in_stock=MIDDLE - HALF),
        roughing=RoughingSettings(channel_width=34.0),
    )  # fmt: skip
    settings = TabSettings(count=4, width=14.0, height=26.0, height_in_stock=MIDDLE - 13.0)
    return make_plan(replace(request, tabs=settings) if tabs else request, ResultStore())


def tabs_of(part: str, side: str) -> tuple[Tab, ...]:
    """The tabs of a side, in its job mm."""
    held = planned(part, side, tabs=True).held
    assert held is not None and len(held.tabs) == 4
    return held.tabs


def wood_in(tab: Tab, plan: Plan) -> np.ndarray:
    """Points (n, 2) in job mm where the wood of a tab stands up to its top: from the stock to the outline, and on over surface that lies lower."""
    across, along = np.meshgrid(np.linspace(-tab.width / 2, tab.width / 2, 29), np.arange(-tab.width, tab.length, 0.5), indexing="ij")
    way = np.array(tab.way)
    points = np.array(tab.place) + across[..., None] * [-way[1], way[0]] + along[..., None] * way
    back = np.linalg.inv(plan.job_from_body)
    own = points.reshape(-1, 2) @ back[:2, :2].T + back[:2, 3]
    level = plan.job_from_body[:3, :3] @ [0, 0, 0] + plan.job_from_body[:3, 3]
    stands = (surface(own) + level[2] < tab.high).reshape(across.shape)
    # From the stock inwards, as far as nothing rises above the tab.
    kept = np.flip(np.logical_and.accumulate(np.flip(stands, axis=1), axis=1), axis=1)
    return points[kept]


def underside(cutter: Cutter, away: np.ndarray) -> np.ndarray:
    """Height of each part of a tool over its tip at distances from its axis: ball, flank, shank and nut, (4, n), infinite where it is not so wide."""
    radius, out = cutter.diameter / 2, np.full((4, len(away)), np.inf)
    angle = np.radians(cutter.half_angle)
    foot = radius * np.cos(angle)
    ball = away <= foot
    out[0, ball] = radius - np.sqrt(radius**2 - away[ball] ** 2)
    if cutter.half_angle:
        cone = (away > foot) & (away <= cutter.top_diameter / 2)
        out[1, cone] = radius * (1 - np.sin(angle)) + (away[cone] - foot) / np.tan(angle)
    for row, wide, above in ((2, cutter.shank_diameter, cutter.usable_length), (3, MACHINE.nut_diameter, cutter.stick_out)):
        out[row, away <= wide / 2] = above
    return out


def deepest(plan: Plan, tabs: tuple[Tab, ...], cutter: Cutter) -> tuple[np.ndarray, int]:
    """How deep each part goes into the wood of tabs on any move, mm of height (4,), and how many places lie beside them, below their tops."""
    points, found, near = plan.path.points, np.full(4, -np.inf), 0
    moves = np.diff(points, axis=0)
    count = np.maximum(np.ceil(np.linalg.norm(moves, axis=1) / 0.5).astype(int), 1) + 1
    tips = np.concatenate([a + np.linspace(0, 1, k)[:, None] * move for a, move, k in zip(points[:-1], moves, count, strict=True)])
    reach = max(cutter.widest_radius, cutter.shank_diameter / 2, MACHINE.nut_diameter / 2)
    for tab in tabs:
        wood = wood_in(tab, plan)
        beside = tips[(np.hypot(*(tips[:, :2] - tab.place).T) < tab.length + tab.width + reach) & (tips[:, 2] < tab.high)]
        away = cKDTree(wood).query(beside[:, :2])[0]
        near += int((away < 2 * reach).sum())
        if len(beside):
            found = np.maximum(found, (tab.high - beside[:, 2] - underside(cutter, away)).max(axis=1))
    return found, near


PARTS = ("ball", "flank", "shank", "nut")


@pytest.mark.parametrize("side", ["top", "back"])
@pytest.mark.parametrize("part", PARTS)
def test_no_part_of_the_tool_enters_the_wood_of_a_tab_and_without_tabs_it_would(part: str, side: str) -> None:
    cutter, plan, tabs = CUTTERS[part], planned(part, side, tabs=True), tabs_of(part, side)
    found, near = deepest(plan, tabs, cutter)
    assert near > 300 and (found <= 0.02).all(), dict(zip(PARTS, found, strict=True))
    assert not any(finding.hits for finding in plan.findings)
    # The same run without them: the part that this cutter was made for is in them, deep.
    free, _ = deepest(planned(part, side, tabs=False), tabs, cutter)
    assert free[PARTS.index(part)] > 2.0
