"""How high the cutter hops between lines: just above what it crosses, and clear of all that may stand there."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from referee import points_on
from shapes import block

from addon.finishing.core.grid import Grid
from addon.finishing.core.path import ENTRY, EXIT, LIFT, Path
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished
from addon.finishing.files.path_program import path_program
from addon.finishing.files.program_frame import ProgramFrame
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.machine import Machine
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import StockSettings
from addon.finishing.motion.hops import HOP_ROOM, RouteSettings
from addon.finishing.motion.route import RunLine, route_steps
from addon.finishing.planning.plan_graph import PLAN_GRAPH
from addon.finishing.tooling.free_height import FreeHeight, free_height, tool_outline

CUTTER = Cutter("Round-nose 12", 12.0, usable_length=9.0, shank_diameter=16.0, stick_out=14.0)
MACHINE = replace(Machine(), nut_diameter=30.0)


def plain_free_height(air: FreeHeight, move: np.ndarray) -> float:
    """The tool's underside held over every cell from many places of one move, part by part."""
    y, x = np.nonzero(air.standing > -np.inf)
    found = -np.inf
    for share in np.linspace(0, 1, 80):
        place = move[0] + share * (move[1] - move[0])
        away = np.hypot(air.grid.x()[x] - place[0], air.grid.y()[y] - place[1])
        high = air.standing[y, x]
        ball = away <= CUTTER.radius
        found = max(found, (high[ball] - CUTTER.radius + np.sqrt(CUTTER.radius**2 - away[ball] ** 2)).max(initial=-np.inf))
        for radius, above in ((CUTTER.shank_diameter / 2, CUTTER.usable_length), (MACHINE.nut_diameter / 2, CUTTER.stick_out)):
            found = max(found, high[away <= radius].max(initial=-np.inf) - above)
    return found


@pytest.mark.parametrize("seed", range(3))
def test_a_free_height_keeps_every_part_clear_and_is_no_higher_than_it_need(seed: int) -> None:
    rng = np.random.default_rng(seed)
    grid = Grid(left=-30.0, front=-25.0, cell=0.5, rows=100, columns=120)
    slabs = rng.uniform(0, 30, (10, 12)) * (rng.random((10, 12)) < 0.4)
    air = free_height(np.where(slabs > 0, slabs, -np.inf).repeat(10, axis=0).repeat(10, axis=1), grid, tool_outline(CUTTER, MACHINE), ())
    moves = rng.uniform((-20, -15), (20, 15), (5, 2, 2))
    moves[0, 1] = moves[0, 0]
    free = air.over(moves)
    least = np.array([plain_free_height(air, move) for move in moves])
    assert (free >= least - 0.01).all()
    # No higher than for a tool with the room beside shank and nut, and cells known to half their diagonal.
    wide = []
    for move in moves:
        aside = np.array([move + 0.86 * np.array([np.cos(turn), np.sin(turn)]) for turn in np.linspace(0, 2 * np.pi, 9)])
        wide.append(max(plain_free_height(air, other) for other in aside))
    assert (free <= np.array(wide) + 0.3).all()
    # What is only a rough guess is no lower than the ground that is crossed.
    crossed = [air.standing[air.grid.nearest(np.linspace(*move, 50))].max() for move in moves]
    assert (air.roughly(moves) >= np.array(crossed)).mean() > 0.9


def test_nothing_below_is_nothing_to_rise_over() -> None:
    grid = Grid(left=0.0, front=0.0, cell=0.5, rows=100, columns=100)
    air = free_height(np.full(grid.shape, -np.inf), grid, tool_outline(CUTTER, MACHINE), ())
    assert air.over(np.array([[[5.0, 5.0], [40.0, 40.0]]])).tolist() == [-np.inf]
    assert air.over(np.zeros((0, 2, 2))).shape == (0,)


def test_a_keep_out_box_is_hopped_over() -> None:
    grid = Grid(left=0.0, front=0.0, cell=0.5, rows=100, columns=200)
    outline = tool_outline(CUTTER, MACHINE)
    box = KeepOut("clamp", (45.0, 20.0, 0.0), (50.0, 30.0, 17.0))
    air = free_height(np.full(grid.shape, 4.0), grid, outline, (box,))
    over, beside, far = air.over(np.array([[[20.0, 25.0], [80.0, 25.0]], [[20.0, 37.5], [80.0, 37.5]], [[20.0, 48.0], [80.0, 48.0]]]))
    # The ball over the box; the shank beside it; nothing of the tool near it.
    assert over == pytest.approx(17.0)
    assert beside == pytest.approx(17.0 - CUTTER.usable_length)
    assert far == pytest.approx(4.0)


# ---- hops in a path

RAMP = 10 * np.tan(np.radians(3))
"""mm that a ramp of 10 mm at 3 degrees ends above the surface: from there the cutter is lifted."""


def routed_over(wall: float, safe_z: float, air_known: bool = True) -> Path:
    """Two lines on level ground at 0 with a wall between them that no link may cross."""
    grid = Grid(left=0.0, front=-20.0, cell=0.5, rows=80, columns=280)
    standing = np.where((np.abs(grid.x() - 65) < 3)[None] & np.ones((80, 1), bool), wall, 0.0)
    air = free_height(standing, grid, tool_outline(Cutter("Round-nose 12", 12.0), MACHINE), ()) if air_known else None
    lines = [RunLine(np.array([[x, 0.0, 0.0], [x + 50, 0.0, 0.0]]), True) for x in (5.0, 75.0)]

    def level(points: np.ndarray) -> Generator[float, None, np.ndarray]:
        yield 1.0
        return np.zeros(points.shape[:-1])

    settings = RouteSettings("to and fro", 3500.0, safe_z, machine=MACHINE, chord_tolerance=0.002, radius=6.0)
    return finished(route_steps(lines, level, lambda p: np.zeros(len(p)), lambda p: np.abs(p[:, 0] - 65) > 5, settings, air))


@pytest.mark.parametrize(("wall", "safe_z", "expected"), [(0.0, 30.0, HOP_ROOM + RAMP), (8.0, 30.0, 8.0 + HOP_ROOM), (8.0, 8.5, 8.5)])
def test_a_hop_rises_just_above_what_it_crosses_and_never_above_the_safe_height(wall: float, safe_z: float, expected: float) -> None:
    path = routed_over(wall, safe_z)
    lifts = np.flatnonzero(path.kind == LIFT)
    # In from the safe height, over the wall, and out to the safe height again.
    assert path.points[lifts, 2] == pytest.approx([safe_z, expected], abs=1e-3)
    assert path.points[-1, 2] == safe_z
    assert path.kind[lifts[1] - 1] == EXIT and path.points[lifts[1] - 1, 2] == path.points[lifts[1], 2]
    assert path.kind[lifts[1] + 1] == ENTRY


def test_where_nothing_is_known_a_lift_goes_to_the_safe_height() -> None:
    path = routed_over(8.0, 30.0, air_known=False)
    assert path.points[path.kind == LIFT, 2].tolist() == [30.0, 30.0]


def test_the_hops_of_a_plan_run_free_of_the_body_and_of_what_roughing_left() -> None:
    def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        pocket = (np.abs(x - 45) < 11) & (np.abs(y - 35) < 14)
        return np.where(pocket, 5.0, 16 + 6 * np.sin(np.pi * x / 90) * np.sin(np.pi * y / 70))

    body = make_body("pocketed", block(pocketed, 90, 70, 1.0))
    request = Request(
        body, cutter=Cutter("Round-nose 6", 6.0), rack_table=False, lines_from="edge", line_angle=90.0, cutting_way="climb only", cell=1.0, cusp=0.2,
        roughing=RoughingSettings(allowance=0.8), stock=StockSettings(thickness=26.0, height_in_stock=0.0),
    )  # fmt: skip
    names = ("run_lines", "surface", "route_settings", "free_height", "turned")
    asked: dict[str, Any] = finished(StageRunner(PLAN_GRAPH, ResultStore()).ask(names, request))
    lines, surface, settings, air, turned = (asked[name] for name in names)
    # No link is allowed, so that every line is hopped to.
    path = finished(route_steps(lines, surface.exact_steps, surface.estimate, lambda places: np.zeros(len(places), bool), settings, air))
    lifts = np.flatnonzero(path.kind == LIFT)[1:]
    assert len(lifts) == len(lines) - 1 > 20
    # The allowance on ground that slopes stands a little higher than it is thick.
    crossed = [surface.estimate(np.linspace(path.points[k - 1, :2], path.points[k, :2], 200)).max() for k in lifts]
    over = path.points[lifts, 2] - crossed
    assert (path.points[lifts, 2] <= settings.safe_z).all() and over.min() >= HOP_ROOM and np.median(over) < HOP_ROOM + 2 * 0.8
    # The ball on its way over points of the true triangles: never nearer than the room, and off the edges, whose place cells of 1 mm know to a
    # cell, never nearer than the room above the allowance.
    placed = np.concatenate([body.triangles.reshape(-1, 3), np.ones((3 * len(body.triangles), 1))], axis=1) @ turned.T
    points = points_on(placed[:, :3].reshape(-1, 3, 3), 0.5)
    x, y = (points[:, :2] - turned[:2, 3]).T * np.sign([turned[0, 0], turned[1, 1]])[:, None]
    off_edges = (np.abs(x - 45) < 43.5) & (np.abs(y - 35) < 33.5) & ((np.abs(x - 45) > 12.5) | (np.abs(y - 35) > 15.5))
    for start, end in zip(path.points[lifts - 1], path.points[lifts], strict=True):
        along = end[:2] - start[:2]
        share = np.clip((points[:, :2] - start[:2]) @ along / (along @ along), 0, 1)
        away = np.hypot(*(points[:, :2] - start[:2] - share[:, None] * along).T)
        near = away < 3.0
        over_points = start[2] + 3.0 - np.sqrt(9.0 - away**2, where=near, out=np.zeros(len(away))) - points[:, 2]
        assert over_points[near].min() > HOP_ROOM - 0.002 and over_points[near & off_edges].min() > HOP_ROOM + 0.75


def test_a_low_hop_is_written_as_a_straight_move() -> None:
    # On G0 each axis may go at its own speed; that is for the safe height only.
    path = routed_over(8.0, 30.0)
    text = path_program(path, CUTTER, ProgramFrame(("hop",), safe_z=30.0, clear_z=30.0)).decode("ascii")
    over = path.points[np.flatnonzero(path.kind == LIFT)[1]]
    blocks = [block for block in text.splitlines() if f"X{over[0]:.4f}" in block and "Z9" in block]
    assert blocks and all(block.startswith("G1") and "F5000" in block for block in blocks)
    assert any(block.startswith("G0") and "Z9" in block for block in text.splitlines())
