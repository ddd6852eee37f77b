"""Programs that take up a run again, and programs in parts: they cut exactly the lines of the whole program, and begin and end safely."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import numpy as np
import pytest
from program_reader import Place, Run, cut_of_lines, known, read
from scipy.spatial import KDTree
from small_jobs import two_sides, with_smaller_cutter

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.files.job_files import JobFiles, job_files, restart_file, run_to_take_up
from addon.finishing.files.plan_programs import finishing_program, part_minutes, part_of, part_program, parts_of
from addon.finishing.motion.path_parts import PartEnds, lines_of_path, split_at
from addon.finishing.planning.result import Plan


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The top of the arched body without its clamp, so that safe height and clear height are one."""
    top = two_sides()[0]
    return replace(top, request=replace(top.request, keep_out=()), findings=())


def first_cuts(plan: Plan) -> dict[int, Place]:
    """Where every line is first cut, as programs in mm write it."""
    found: dict[int, Place] = {}
    for number, points in enumerate(plan.path.lines(), start=1):
        x, y, z = points[0].round(4).tolist()
        found[number] = (x + 0.0, y + 0.0, z + 0.0)
    return found


def cut(run: Run, plan: Plan) -> dict[int, list[tuple[Place, float]]]:
    """The blocks along each line, without links: from where the line is first cut to its last point."""
    lines = cut_of_lines(run, first_cuts(plan))
    own = {number: tuple(points[-1].round(4).tolist()) for number, points in enumerate(plan.path.lines(), start=1)}
    trimmed = {}
    for number, blocks in lines.items():
        places = [place for place, _ in blocks]
        trimmed[number] = blocks[: len(places) - places[::-1].index(own[number])]
    return trimmed


def begins_and_ends_safely(run: Run, plan: Plan, first: int) -> None:
    """Spindle on before anything is cut; down only above a line or beside it where its lead in begins, at feed; up at the end."""
    safe = round(float(plan.path.points[0, 2]), 4)
    assert run.words.index("M0") < run.words.index("M3") < len(run.words) and run.words[-2:] == ["M5", "M30"]
    down = known(run.steps)
    assert down[0].end[2] == safe and down[-1].end[2] == safe
    assert all(step.spindle for step in down if step.end[2] < safe)
    for step in down:
        sideways = step.start[:2] != step.end[:2]
        assert not (step.fast and sideways and min(step.start[2], step.end[2]) < safe)
        assert not (step.fast and step.end[2] < step.start[2] and step.end[2] < safe)
    # Over the line's beginning, or, where the whole path comes down to it, over where its lead in begins, no farther than a ramp is long.
    assert np.hypot(*(np.array(down[0].end[:2]) - first_cuts(plan)[first][:2])) <= 10.0 + 1e-3


@pytest.mark.parametrize("line", [1, 2, 7])
def test_a_restart_cuts_the_rest_of_the_lines_and_no_others(plan: Plan, line: int) -> None:
    whole = cut(read(finishing_program(plan, "mm")), plan)
    run = read(part_program(plan, "mm", line, plan.path.line_count))
    rest = cut(run, plan)
    assert sorted(whole) == list(range(1, plan.path.line_count + 1)) and len(whole) > 10
    assert rest == {number: blocks for number, blocks in whole.items() if number >= line}
    begins_and_ends_safely(run, plan, line)
    assert any(f"Lines {line} to {plan.path.line_count}" in note for note in run.notes)


def test_the_last_line_can_be_run_alone(plan: Plan) -> None:
    count = plan.path.line_count
    run = read(part_program(plan, "in", count, count))
    assert {step.line for step in run.steps} - {0} == {count}


def left_by(plan: Plan, places: np.ndarray) -> np.ndarray:
    """Heights (k,) of what a plan's ball leaves at places (k, 2), by the plain definition: under all of its places on lines and links, 0.3 mm apart."""
    kept = (plan.path.kind == CUT) | (plan.path.kind == LINK)
    ends = np.flatnonzero(kept[1:]) + 1
    begin, end = plan.path.points[ends - 1], plan.path.points[ends]
    count = np.ceil(np.linalg.norm(end - begin, axis=1) / 0.3).astype(int) + 1
    share = np.concatenate([np.linspace(0, 1, n) for n in count])[:, None]
    tips = np.repeat(begin, count, axis=0) * (1 - share) + np.repeat(end, count, axis=0) * share
    radius = plan.cutter.radius
    near = KDTree(tips[:, :2]).query_ball_point(places, radius - 1e-6)
    stands = np.full(len(places), np.inf)
    for number, own in enumerate(near):
        if own:
            away = ((tips[own, :2] - places[number]) ** 2).sum(axis=1)
            stands[number] = (tips[own, 2] + radius - np.sqrt(radius**2 - away)).min()
    return stands


def test_parts_of_a_smaller_cutters_run_come_down_slowly_into_what_the_larger_one_has_left() -> None:
    first_plan, second = with_smaller_cutter()
    radius, deeper = second.cutter.radius, 0
    reach = np.arange(-radius, radius + 0.1, 0.5)
    under = [(a, b, radius - np.sqrt(radius**2 - a * a - b * b)) for a in reach for b in reach if a * a + b * b <= radius**2]
    for first in range(1, second.path.line_count + 1):
        part = part_of(second, first, second.path.line_count)
        straight_down = np.flatnonzero((part.points[1:, :2] == part.points[:-1, :2]).all(axis=1) & (np.diff(part.points[:, 2]) < 0)) + 1
        fast = straight_down[part.feed[straight_down] > second.request.machine.plunge_feed]
        assert len(fast)
        for x, y, z in part.points[fast]:
            places = np.array([[x + a, y + b] for a, b, _ in under])
            stands = left_by(first_plan, places)
            cut = np.isfinite(stands)  # elsewhere the larger one has not been, and roughing's model stands
            lowest = z + np.array([c for _, _, c in under])
            assert (lowest[cut] > stands[cut] + 0.9).all()
            # What the larger cutter left stands higher than what roughing is taken to leave: a way down that knew only that would be too deep.
            here = stands[int(np.argmin([a * a + b * b for a, b, _ in under]))]
            rough = second.shown_maps.heights[second.grid.nearest(np.array([[x, y]]))][0] + second.request.roughing.allowance
            deeper += int(np.isfinite(here) and here > rough + 0.05)
    assert deeper > 0


@pytest.mark.parametrize("line", [0, -1, 10_000])
def test_there_is_no_such_line(plan: Plan, line: int) -> None:
    with pytest.raises(BadRequest, match="There is no pass line"):
        part_program(plan, "mm", line, plan.path.line_count)


@pytest.mark.parametrize("pieces", [2.5, 5.2])
def test_parts_cut_every_line_once_in_order(plan: Plan, pieces: float) -> None:
    minutes = plan.run_time.minutes / pieces
    parts = parts_of(plan, minutes)
    assert [first for first, _ in parts] == [1, *(last + 1 for _, last in parts[:-1])] and parts[-1][1] == plan.path.line_count
    assert len(parts) > pieces
    whole = cut(read(finishing_program(plan, "mm")), plan)
    together: dict[int, list[tuple[Place, float]]] = {}
    for first, last in parts:
        run = read(part_program(plan, "mm", first, last))
        begins_and_ends_safely(run, plan, first)
        assert part_minutes(plan, first, last) <= minutes
        own = cut(run, plan)
        assert sorted(own) == list(range(first, last + 1))
        together |= own
    assert together == whole


def test_a_line_longer_than_the_minutes_is_a_part_of_its_own(plan: Plan) -> None:
    assert parts_of(plan, 1e-3) == [(number, number) for number in range(1, plan.path.line_count + 1)]


def test_parts_end_at_lifts_that_come_late_enough() -> None:
    # Ten lines of 100 mm at 100 mm/min, a minute each, beside one another; only between the fourth and the fifth the way goes through the air.
    rows: list[tuple[float, float, float, int, int]] = [(0.0, 0.0, 5.0, LIFT, 1), (0.0, 0.0, 0.0, ENTRY, 1)]
    for number in range(1, 11):
        y, ends = float(number - 1), (0.0, 100.0) if number % 2 else (100.0, 0.0)
        if number == 5:
            rows += [(0.0, 3.0, 5.0, EXIT, 4), (ends[0], y, 5.0, LIFT, 5), (ends[0], y, 0.0, ENTRY, 5)]
        elif number > 1:
            rows.append((ends[0], y, 0.0, LINK, number))
        rows += [(ends[0], y, 0.0, CUT, number), (ends[1], y, 0.0, CUT, number)]
    table = np.array(rows)
    path = Path(table[:, :3].copy(), table[:, 3].astype(np.uint8), table[:, 4].astype(np.int32), np.full(len(rows), 100.0))
    at = np.cumsum(path.lengths()) / 100 * 60

    def alone(first: int, last: int) -> float:
        return 60.0 * (last - first + 1) * 1.05

    assert split_at(path, at, 302.0, alone) == [(1, 4), (5, 8), (9, 10)]  # 4.8 lines fit; the lift comes after 4 of 5 minutes
    assert split_at(path, at, 402.0, alone)[0] == (1, 6)  # here the lift comes too early

    def ramp_feeds(moves: np.ndarray) -> np.ndarray:
        return np.full(len(moves), 80.0)

    part = lines_of_path(path, 5, 6, PartEnds(5.0, 50.0, 3000.0, 3.0, lambda places: np.zeros(len(places)), ramp_feeds))
    assert part.points[0].tolist() == [0.0, 4.0, 5.0] and part.points[-1].tolist() == [10.0, 5.0, 5.0]
    # The sixth line is left on a ramp of 3 degrees back over it; a part that begins with it comes down on one.
    rise = 10.0 * np.tan(np.radians(3.0))
    np.testing.assert_allclose(part.points[-2], [10.0, 5.0, rise])
    assert part.feed[-2:].tolist() == [80.0, 3000.0]
    slowed = replace(path, feed=np.where((path.line == 6) & (path.kind == CUT), 30.0, path.feed))
    for run, feed in ((path, 80.0), (slowed, 30.0)):
        # No faster than the line that lies under the ramp.
        ends = PartEnds(5.0, 50.0, 3000.0, 3.0, lambda places: np.full(len(places), 2.0), ramp_feeds)
        assert lines_of_path(run, 6, 6, ends).feed[2:4].tolist() == [50.0, feed]
    part = lines_of_path(path, 6, 6, ends)
    np.testing.assert_allclose(part.points[:4], [[90.0, 5.0, 5.0], [90.0, 5.0, 3.0], [90.0, 5.0, rise], [100.0, 5.0, 0.0]])
    assert part.kind[:4].tolist() == [LIFT, ENTRY, ENTRY, ENTRY] and part.feed[:4].tolist() == [3000.0, 3000.0, 50.0, 80.0]


def test_split_programs_stand_in_the_run_list_one_after_the_other(plan: Plan) -> None:
    minutes = plan.run_time.minutes / 2.5
    files = job_files((plan,), JobFiles(pictures=False, programs=True, split_minutes=minutes))
    parts = [name for name in files if re.search(r"-lines-\d+-to-\d+\.nc$", name)]
    assert 3 <= len(parts) <= 4 and not any(name.endswith("round-nose-12.nc") for name in files)
    table = next(content for name, content in files.items() if name.endswith("run-list.csv")).decode()
    rows = list(csv.reader(io.StringIO(table, newline="")))[1:]
    assert [row[0] for row in rows] == [str(number + 1) for number in range(len(parts) + 1)] and [row[3] for row in rows[1:]] == parts
    with pytest.raises(BadRequest, match="more than 0 minutes"):
        JobFiles(split_minutes=0.0)


@pytest.mark.parametrize("wanted", [{}, {"unit": "in"}, {"split_minutes": 0.3}])
def test_every_program_of_a_job_is_read_word_by_word(wanted: dict[str, object]) -> None:
    plans = tuple(replace(each, findings=()) for each in two_sides())
    files = job_files(plans, JobFiles(pictures=False, programs=True, **wanted))  # type: ignore[arg-type]
    programs = [content for name, content in files.items() if name.endswith(".nc")]
    assert len(programs) >= 7
    for program in programs:
        run = read(program)
        assert run.words[:2] == ["G17", "G20" if "unit" in wanted else "G21"] and run.steps


def test_a_restart_has_a_name_of_its_own(plan: Plan) -> None:
    (name,) = restart_file(plan, 3, JobFiles(programs=True))
    assert name.endswith("-top-round-nose-12-from-line-3.nc")
    plans = with_smaller_cutter()
    assert [run_to_take_up(plans, f"{plan.cutter.diameter:.4f}") for plan in plans] == list(plans) and run_to_take_up(plans[:1], None) is plans[0]
    assert [run_to_take_up(plans, plan.cutter.name) for plan in plans] == list(plans)
    with pytest.raises(BadRequest, match=r"no cutter 'Taper' on the rack: give a diameter in mm, or a name of the rack \('Round-nose 12'"):
        run_to_take_up(plans, "Taper")
    for none in (None, "7"):
        with pytest.raises(BadRequest, match="Programs of these cutters are there: 12, 6 mm"):
            run_to_take_up(plans, none)
    (small,) = restart_file(plans[1], 1, JobFiles(programs=True, despite=("cutter-too-large",)))
    assert small == "dented-top-round-nose-6-from-line-1.nc"
