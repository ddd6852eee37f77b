"""How heavy a program is: blocks and the busiest second against a plain count of the program's text; dowel holes: pecks and minutes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from program_frames import frame
from program_reader import known, read
from simulated_control import Control, blocks_of
from small_jobs import two_sides

from addon.finishing.core.path import CUT, Path
from addon.finishing.files.dowel_program import dowel_program
from addon.finishing.files.job_files import JobFiles, job_files
from addon.finishing.files.plan_programs import finishing_program
from addon.finishing.files.plan_record import read_record
from addon.finishing.job.dowel_path import dowel_path
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.machine import Machine
from addon.finishing.motion.block_load import BlockLoad, block_load
from addon.finishing.motion.easing import eased
from addon.finishing.motion.run_time import run_time
from addon.finishing.planning.budget import minutes_for_finishing
from addon.finishing.planning.dowel_time import dowel_minutes, minutes_of_drilling
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.program_words import program_words


def test_the_busiest_second_by_hand() -> None:
    # Ten blocks of 1/2 s, then 30 of 1/16 s, then one of 5 s: in the busiest second 16 blocks end; every corner is kept by the fusing.
    count = 42
    points = np.column_stack([np.arange(count), np.arange(count) % 2, np.zeros(count)]).astype(float)
    path = Path(points, np.full(count, CUT, np.uint8), np.ones(count, np.int32), np.full(count, 1000.0))
    at = np.concatenate([[0.0], np.cumsum([0.5] * 10 + [0.0625] * 30 + [5.0])])
    assert block_load(path, at, 0.0003) == BlockLoad(41, 16)
    assert block_load(Path(points[:1], path.kind[:1], path.line[:1], path.feed[:1]), at[:1], 0.0003) == BlockLoad(0, 0)


def test_the_record_tells_what_the_text_of_the_program_holds() -> None:
    plan = replace(two_sides()[0], findings=())
    program = finishing_program(plan, "mm")
    files = job_files((plan,), JobFiles(pictures=False, programs=True))
    told = read_record(next(content for name, content in files.items() if name.endswith("plan.json")))["program"]
    # Blocks of the text with a motion, without those of the approach and of the last way up.
    moves = [step for step in known(read(program).steps) if step.line]
    assert told["bytes"] == len(program) and told["blocks"] == pytest.approx(len(moves), abs=1)
    assert 0 < told["busiest_second"] < told["blocks"]
    coarser = block_load(plan.path, plan.run_time.at, 0.002)
    assert coarser.blocks < told["blocks"]


def zigzag(lengths: list[tuple[float, int]], feed: float) -> Path:
    """A level line of moves of some lengths, so many of each, that turn a little to and fro so that none are fused."""
    steps = np.concatenate([np.full(count, length) for length, count in lengths])
    ahead = np.cumsum(np.concatenate([[0.0], steps]))
    points = np.column_stack([ahead, 0.01 * (np.arange(len(ahead)) % 2), np.zeros(len(ahead))])
    return Path(points, np.full(len(ahead), CUT, np.uint8), np.ones(len(ahead), np.int32), np.full(len(ahead), feed))


def test_feeds_are_eased_just_as_far_as_the_control_asks() -> None:
    # Closed form: on a control without inertia 0.2 mm blocks may pass at 0.2 mm x 100 / s = 20 mm/s = 1200 mm/min; longer ones keep their feed.
    quick = Machine(
        acceleration_x=5e4, acceleration_y=5e4, acceleration_z=5e4, speed_x=1e5, speed_y=1e5, speed_z=1e5, corners="corner speed",
        corner_rounding=1.0, blocks_ahead=10_000,
    )  # fmt: skip
    path = zigzag([(2.0, 150), (0.2, 1000), (2.0, 150)], 3000.0)
    made = eased(path, quick, 0.0003)
    assert block_load(made.path, run_time(made.path, quick).at, 0.0003).busiest_second in (99, 100)
    # A step of the feed and the share kept for rounding below the closed form.
    assert (made.path.feed[260:1040] == 1190.0).all()
    assert (made.path.feed[:100] == 3000.0).all() and (made.path.feed[-100:] == 3000.0).all()
    own, before = run_time(made.path, quick).total_seconds, run_time(path, quick).total_seconds
    assert made.seconds == pytest.approx(own - before, abs=1e-9)
    assert made.length == pytest.approx(np.linalg.norm(np.diff(path.points, axis=0), axis=1)[made.path.feed[1:] < 3000].sum())


@pytest.mark.parametrize("rate", [20, 60, 100])
@pytest.mark.parametrize("corners", ["overlap", "corner speed"])
def test_no_second_holds_more_blocks_than_the_control_takes(rate: int, corners: str) -> None:
    # Lengths at random, some feeds lower already; counted plainly over every second that begins with a block's end.
    rng = np.random.default_rng(rate)
    path = zigzag([(float(length), 40) for length in rng.uniform(0.05, 1.5, 40)], 3500.0)
    path = replace(path, feed=np.where(np.arange(len(path)) % 700 < 200, 1500.0, path.feed))
    machine = Machine(corners=corners, blocks_per_second=rate)
    made = eased(path, machine, 0.0003)
    for one, limit in ((path, 10_000), (made.path, rate)):
        ends = run_time(one, machine).at[1:]
        most = max(int(((ends >= end) & (ends < end + 1)).sum()) for end in ends)
        assert rate < most <= limit if one is path else rate - 5 <= most <= rate
    assert (made.path.feed <= path.feed).all() and made.seconds > 0
    np.testing.assert_array_equal(made.path.points, path.points)


def test_a_control_that_takes_all_blocks_keeps_every_feed() -> None:
    path = zigzag([(0.2, 500)], 3000.0)
    made = eased(path, Machine(blocks_per_second=100_000), 0.0003)
    assert made.path is path and made.seconds == made.length == 0.0


def test_a_measured_run_that_took_longer_changes_no_feed_and_a_quicker_one_eases_more() -> None:
    path = zigzag([(0.3, 800)], 3000.0)
    made, slower, quicker = (eased(path, Machine(time_factor=factor), 0.0003) for factor in (1.0, 1.25, 0.8))
    np.testing.assert_array_equal(made.path.feed, slower.path.feed)
    assert slower.seconds == pytest.approx(1.25 * made.seconds) and (quicker.path.feed <= made.path.feed).all() and quicker.seconds > made.seconds
    machine = Machine(time_factor=0.8)
    assert block_load(quicker.path, run_time(quicker.path, machine).at, 0.0003).busiest_second <= 100


def test_the_program_of_a_plan_holds_no_more_and_the_price_is_told() -> None:
    plan = two_sides()[0]
    slow = make_plan(replace(plan.request, machine=replace(plan.request.machine, blocks_per_second=25)))
    assert block_load(slow.path, slow.run_time.at, slow.request.program.fusing_tolerance).busiest_second <= 25
    assert slow.run_time.minutes - plan.run_time.minutes == pytest.approx(slow.eased.seconds / 60 - plan.eased.seconds / 60, abs=1e-6)
    told = [str(words) for words in program_words(slow, 1234)]
    assert "1234 bytes" in told[0] and f"{slow.eased.seconds / 60:.2f} minutes more" in told[1]
    # The feeds of the text itself, one for many blocks, driven by the simulated control.
    places, speeds = blocks_of(finishing_program(slow, "mm"))
    seconds, own = Control(slow.request.machine).run(places, speeds).seconds, Control(plan.request.machine)
    assert seconds - own.run(*blocks_of(finishing_program(plan, "mm"))).seconds == pytest.approx(slow.eased.seconds, rel=0.05)


HOLES = np.array([[10.0, 20.0], [200.0, 20.0]])


def test_dowels_are_pecked_and_come_back_down_at_air_speed() -> None:
    dowels = DowelSettings(count=2, peck=4.0, depth=15.0)
    path = dowel_path(HOLES, dowels, 42.0, 0.0, 47.0, 5000.0)
    run = read(dowel_program(path, dowels, frame(47.0)))
    assert run.words[-2:] == ["M5", "M30"] and all(step.spindle for step in run.steps if step.end[2] < 47.0)
    drilled: dict[tuple[float, float], float] = {}
    for step in known(run.steps):
        x, y, z = step.end
        if step.start[:2] != step.end[:2]:
            assert z == 47.0 and step.start[2] in (47.0, z) or np.isnan(step.start[0])  # from hole to hole the drill is up
        floor = drilled.get((x, y), 42.0)
        if z < floor:
            assert not step.fast and step.feed == 300.0 and floor - z <= 4.0 + 1e-9  # no bite deeper than a peck, and none at air speed
            # The slow part begins just above the last depth.
            assert step.start[2] <= floor + 1.0
            drilled[x, y] = z
        elif step.end[2] < step.start[2]:
            assert step.fast
    assert drilled == {(10.0, 20.0): -15.0, (200.0, 20.0): -15.0}


def test_minutes_of_the_dowel_holes_are_those_of_their_program() -> None:
    # The program's text driven by the simulated control of an exact-stop machine, and the spindle's start.
    machine = Machine(corners="exact stop", spin_up_seconds=6.0)
    plan = two_sides()[0]
    dowels = plan.request.dowels
    told = dowel_minutes("top", dowels, plan.stock, machine, ())
    path = dowel_path(HOLES, dowels, 15.0, 0.0, 20.0, machine.air_feed)
    places, speeds = blocks_of(dowel_program(path, dowels, frame(20.0, machine=machine)))
    motion = Control(machine).run(places, speeds)
    assert run_time(path, machine).total_seconds == pytest.approx(motion.seconds, rel=0.01)
    assert dowel_minutes("back", dowels, plan.stock, machine, ()) == 0.0 and dowel_minutes("top", DowelSettings(), plan.stock, machine, ()) == 0.0
    assert told > 6.0 / 60
    # They take a change of tools from the budget besides, as the chart of minutes and the answer to the budget count alike.
    left = minutes_for_finishing(30.0, (), "top", 2.5, told)
    assert left is not None and left.for_finishing == pytest.approx(30.0 - told - 2.5) and minutes_of_drilling(told, 2.5) == pytest.approx(told + 2.5)
    assert minutes_of_drilling(0.0, 2.5) == 0.0
