"""Whether the stepped tool runs free: facts of practice, closed forms, and a plain twin that looks at every cell under every part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.tooling.clearance import ROOM, STEP, TOUCH, Obstacles, clearance_findings, contacts


def standing_strip(channel: float) -> Obstacles:
    """A body 60 mm wide and 30 mm high, the channel beside it, and stock that stands 40 mm high beyond."""
    grid = Grid.over(np.array([-60.0, -60.0]), np.array([160.0, 60.0]), 0.5)
    x = np.broadcast_to(grid.x(), grid.shape)
    body = np.where(np.abs(x - 30) <= 30, 30.0, -np.inf).astype(np.float32)
    away = np.maximum(np.maximum(-x, x - 60), 0)
    standing = np.where(away > channel, 40.0, -np.inf).astype(np.float32)
    return Obstacles(grid, body, np.maximum(body, standing), standing)


def overrunning(radius: float, z: float) -> Path:
    """Along the body's edge with the axis one radius outside."""
    x = 60.0 + radius
    points = np.array([[x, -20.0, 80.0], [x, -20.0, z], [x, 20.0, z]])
    return Path(points, np.array([LIFT, ENTRY, CUT], np.uint8), np.ones(3, np.int32), np.full(3, 3000.0))


@pytest.mark.parametrize(("diameter", "free"), [(16.0, True), (22.0, False)])
def test_channel_rule_of_practice(diameter: float, free: bool) -> None:
    # Common practice, no source: a 16 mm cutter runs freely in the channel that a 22 mm cutter left; a 22 mm one rubs the stock.
    cutter = Cutter("c", diameter, usable_length=60.0, stick_out=80.0)
    found = contacts(overrunning(diameter / 2, 5.0), cutter, Machine(), standing_strip(22.0))
    assert (found == ()) is free
    if not free:
        (finding,) = clearance_findings(found, cutter, 22.0)
        assert finding.key == "channel" and finding.must_see and "wider than 22.5 mm" in str(finding.remedy)


def test_a_cutter_that_comes_near_is_told_but_need_not_be_seen() -> None:
    # By construction the stock's first cell stands 7.5 and 8.5 mm from the axis: in the ball's 8 mm, or within the half millimetre round it.
    cutter = Cutter("c", 16.0, usable_length=60.0, stick_out=80.0)
    for room, hits in ((7.0, True), (8.0, False)):
        found = [c for c in contacts(overrunning(0.0, 31.8), cutter, Machine(), standing_strip(room)) if c.part == "cutter"]
        (finding,) = clearance_findings(tuple(found), cutter, room)
        assert (finding.hits, finding.must_see) == (hits, hits), (room, found)


def test_nut_clears_the_body_but_not_stock_that_still_stands() -> None:
    # Common practice, no source: a nut no wider than the cutter clears what the cutter has cut, but not stock that still stands.
    narrow = replace(Machine(), nut_diameter=16.0)
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    deep = overrunning(8.0, 5.0)
    assert contacts(deep, cutter, narrow, standing_strip(22.0)) == ()
    close = [c for c in contacts(deep, cutter, narrow, standing_strip(15.0)) if c.part == "collet nut"]
    assert close[0].obstacle == "stock" and close[0].depth == pytest.approx(40.0 - (5.0 + 22.0), abs=1e-4)


def test_wide_nut_over_the_body_by_closed_form() -> None:
    # The nut's lower end is at tip + 22 = 27, the body 30 high stands within its radius of 15: 3 mm into the body.
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    (contact,) = contacts(overrunning(8.0, 5.0), cutter, Machine(), standing_strip(40.0))
    assert (contact.part, contact.obstacle) == ("collet nut", "body")
    assert contact.depth == pytest.approx(3.0, abs=1e-4)
    (finding,) = clearance_findings((contact,), cutter, 40.0)
    assert "25 mm or more" in str(finding.remedy)
    longer = replace(cutter, stick_out=25.1)
    assert contacts(overrunning(8.0, 5.0), longer, Machine(), standing_strip(40.0)) == ()


def test_a_long_move_is_looked_at_between_its_ends() -> None:
    # One straight move past a post that only the middle of the move comes near: 40 - (5 + 22) = 13 mm into the nut.
    obstacles = standing_strip(200.0)
    x, y = np.meshgrid(obstacles.grid.x(), obstacles.grid.y())
    post = np.where((np.abs(x - 80) < 3) & (np.abs(y) < 3), 40.0, -np.inf).astype(np.float32)
    nothing = np.full_like(post, -np.inf)
    obstacles = Obstacles(obstacles.grid, nothing, post, nothing)
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    path = overrunning(8.0, 5.0)  # along x = 68 from y -20 to 20, its ends 17 mm and more away from the post
    (contact,) = contacts(path, cutter, Machine(), obstacles)
    assert (contact.part, contact.obstacle) == ("collet nut", "stock")
    assert contact.depth == pytest.approx(13.0, abs=1e-4) and abs(contact.place[1]) < 14


def test_shank_wider_than_the_ball_at_a_wall() -> None:
    # A shank of 12 on a ball of 6, usable over 10 mm, beside a wall 25 mm above the tip: 15 mm into it.
    cutter = Cutter("c", 6.0, usable_length=10.0, shank_diameter=12.0, stick_out=50.0)
    (contact,) = contacts(overrunning(3.0, 5.0), cutter, Machine(), standing_strip(40.0))
    assert (contact.part, contact.obstacle, contact.depth) == ("shank", "body", pytest.approx(15.0, abs=1e-4))


def plain_contacts(path: Path, cutter: Cutter, machine: Machine, obstacles: Obstacles) -> dict[str, float]:
    """How deep shank, nut and ball go in at worst, by looking at every cell under them at every place of the path."""
    places = []
    for before, after, kind in zip(path.points[:-1], path.points[1:], path.kind[1:], strict=True):
        if kind in (CUT, LINK, ENTRY, EXIT, LIFT):
            pieces = max(1, int(np.ceil(np.linalg.norm(after - before) / STEP)))
            places += [before + (after - before) * (k + 0.5) / pieces for k in range(pieces)] + [after]
    grid, found = obstacles.grid, {}
    x, y = np.meshgrid(grid.x(), grid.y())
    parts = (
        ("shank", cutter.shank_diameter / 2, min(cutter.usable_length, cutter.stick_out)),
        ("collet nut", machine.nut_diameter / 2, cutter.stick_out),
    )
    for place in places:
        row, column = grid.nearest(place[None])
        away = np.hypot(x - x[row[0], column[0]], y - y[row[0], column[0]])
        for name, radius, above in parts:
            met = obstacles.rough if radius > cutter.radius + grid.cell else obstacles.standing
            under = met[away <= radius - grid.cell / 2 + 1e-6]
            found[name] = max(found.get(name, -np.inf), float(under.max()) - place[2] - above)
        wide = cutter.radius + ROOM
        near = away <= wide
        over = obstacles.standing[near] - (wide - np.sqrt(wide**2 - away[near] ** 2))
        found["cutter"] = max(found.get("cutter", -np.inf), float(over.max()) - place[2] + ROOM)
    return {name: depth for name, depth in found.items() if depth > TOUCH}


@pytest.mark.parametrize("seed", range(12))
def test_contacts_are_those_of_the_plain_twin(seed: int) -> None:
    rng = np.random.default_rng(seed)
    grid = Grid(left=-20.0, front=-20.0, cell=0.5, rows=90, columns=100)
    body = np.where(rng.random((9, 10)) < 0.5, rng.uniform(0, 25, (9, 10)), -np.inf).repeat(10, axis=0).repeat(10, axis=1)
    standing = np.where((body == -np.inf) & (rng.random(grid.shape) < 0.01), rng.uniform(5, 30, grid.shape), -np.inf)
    obstacles = Obstacles(grid, *(part.astype(np.float32) for part in (body, np.maximum(body, standing), standing)))
    points = np.column_stack([rng.uniform(-8, 18, (8, 2)), rng.uniform(0, 12, 8)])
    kind = rng.choice([CUT, LINK, ENTRY, EXIT, LIFT], 8).astype(np.uint8)
    path = Path(points, kind, np.ones(8, np.int32), np.full(8, 3000.0))
    cutter = Cutter("c", 6.0, usable_length=float(rng.choice([8.0, 30.0])), shank_diameter=float(rng.choice([5.0, 20.0])), stick_out=14.0)
    machine = replace(Machine(), nut_diameter=float(rng.choice([6.0, 16.0])))
    found = {contact.part: contact.depth for contact in contacts(path, cutter, machine, obstacles)}
    assert found == pytest.approx(plain_contacts(path, cutter, machine, obstacles), abs=0.02)


@pytest.mark.parametrize(("stick_out", "touches"), [(24.96, False), (24.9, True)])
def test_what_is_less_than_rounding_is_no_contact(stick_out: float, touches: bool) -> None:
    # The nut over the body, 30 - (5 + stick-out) mm into it: 0.04 mm do not count, 0.1 mm do.
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=stick_out)
    assert bool(contacts(overrunning(8.0, 5.0), cutter, Machine(), standing_strip(40.0))) is touches


def test_a_low_lift_meets_what_a_cut_there_meets() -> None:
    cutter = Cutter("c", 16.0, usable_length=20.0, shank_diameter=12.0, stick_out=22.0)
    for above, touches in ((0.0, True), (40.0, False)):
        path = overrunning(8.0, 5.0 + above)
        lifted = replace(path, kind=np.full(3, LIFT, np.uint8))
        assert contacts(path, cutter, Machine(), standing_strip(15.0)) == contacts(lifted, cutter, Machine(), standing_strip(15.0))
        assert bool(contacts(lifted, cutter, Machine(), standing_strip(15.0))) is touches


def test_without_stock_beyond_the_channel_the_cutter_rubs_nothing() -> None:
    obstacles = standing_strip(300.0)
    assert not (obstacles.standing > -np.inf).any()
    wide = Cutter("c", 32.0, usable_length=60.0, stick_out=80.0)
    assert contacts(overrunning(16.0, 5.0), wide, Machine(), obstacles) == ()
