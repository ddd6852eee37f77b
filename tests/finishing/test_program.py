"""Part programs read again by an interpreter of our own, and by a general-purpose parser."""

from __future__ import annotations

import re
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from program_frames import FRAME, frame
from program_reader import Run, known, read
from pygcode import Line
from referee import Referee
from shapes import block
from small_jobs import two_sides

from addon.finishing.core.errors import BadFile, BadRequest
from addon.finishing.core.fusing import FUSING_TOLERANCE
from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.files.dowel_program import dowel_program
from addon.finishing.files.dry_run import outline
from addon.finishing.files.path_program import path_program
from addon.finishing.files.plan_programs import dowel_holes_program, finishing_program, plan_dry_run, program_title
from addon.finishing.files.program_writer import comment
from addon.finishing.job.body import make_body
from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.machine import Machine
from addon.finishing.job.program_settings import ProgramSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

CUTTER = Cutter("Round-nose 12", 12.0, spindle_speed=16000)


def tips_of(run: Run) -> np.ndarray:
    """Places (n, 3) in mm that a run comes to, once all axes are known."""
    return np.array([step.end for step in known(run.steps)])


def wavy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 15 + 2 * np.cos(2 * np.pi * x / 50) + 1.5 * np.sin(2 * np.pi * y / 45)


@pytest.fixture(scope="module")
def plan() -> Plan:
    body = make_body("wavy", block(wavy, 60, 40, 0.8))
    return make_plan(Request(body, cutter=CUTTER, lines_from="edge", line_angle=0.0, rack_table=False, cell=0.5))


def safe_height(plan: Plan) -> float:
    return round(float(plan.path.points[0, 2]), 4)  # as a program writes it


def written(plan: Plan, unit: str = "mm", title: tuple[str, ...] = ("Body",)) -> bytes:
    return path_program(plan.path, CUTTER, frame(safe_height(plan), unit, title=title))


def farthest(points: np.ndarray, route: np.ndarray) -> float:
    """Greatest distance of points (n, 3) from a route of straight moves between points (m, 3)."""
    start, move = route[:-1], np.diff(route, axis=0)
    squared = np.maximum((move * move).sum(axis=1), 1e-18)
    worst = 0.0
    for some in np.array_split(points, max(1, len(points) // 100)):
        share = np.clip(((some[:, None] - start) * move).sum(axis=2) / squared, 0, 1)
        nearest = start + share[:, :, None] * move
        worst = max(worst, float(np.linalg.norm(some[:, None] - nearest, axis=2).min(axis=1).max()))
    return worst


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_route_is_the_plans_within_the_fusing_tolerance(plan: Plan, unit: str) -> None:
    run = read(written(plan, unit))
    tips = tips_of(run)
    rounding = 0.0001 if unit == "mm" else 0.0003
    # In both directions, in space: every point of the one from all moves of the other, written out here, independent of the fusing.
    for first, second in ((plan.path.points, tips), (tips, plan.path.points)):
        assert farthest(first, second) <= FUSING_TOLERANCE + rounding
    assert len(tips) < 0.95 * len(plan.path)
    assert [step.feed for step in run.steps if not step.fast][-1] == pytest.approx(plan.path.feed[-2], rel=1e-3)


def test_the_program_keeps_the_gouge_limit(plan: Plan) -> None:
    tips = tips_of(read(written(plan)))
    middle = plan.body.triangles.mean(axis=1)
    near = (np.abs(middle[:, :2] - plan.body.low[:2] - 20) < 14).all(axis=1)
    referee = Referee(plan.body.triangles[near], CUTTER.radius, 0.1)
    own = (np.abs(tips[:, :2] - plan.body.low[:2] - 20) < 7).all(axis=1)
    moves = np.flatnonzero(own[1:] & own[:-1])
    assert len(moves) > 50
    between = tips[moves] + np.linspace(0, 1, 7)[:, None, None] * (tips[moves + 1] - tips[moves])
    assert referee.depths(between.reshape(-1, 3)).max() + referee.error <= 0.002


def test_the_spindle_before_the_work_and_no_rapid_move_into_it(plan: Plan) -> None:
    run = read(written(plan))
    safe = safe_height(plan)
    assert run.words[:10] == ["G17", "G21", "G90", "G94", "G40", "G49", "G80", "G54", "G64", "P0.02"] and run.words[-2:] == ["M5", "M30"]
    assert run.words[10:] == ["M0", "M3", "S16000", "G4", "P4", "M5", "M30"]
    # Sideways where a person has raised the cutter, then to the safe height; from there on the spindle turns.
    first, second = run.steps[:2]
    assert first.letters == "GXYF" and not first.fast and first.feed == 1000 and second.letters == "GZ" and second.end[2] == safe
    assert not first.spindle and not second.spindle and all(step.spindle for step in run.steps[2:])
    # Rapid moves never go down into the work, nor sideways below the safe height.
    for step in run.steps[2:]:
        if step.fast:
            assert step.end[2] >= step.start[2] and (step.start[:2] == step.end[:2] or step.start[2] == step.end[2] == safe)
    assert run.steps[-1].end[2] == safe


def test_every_line_begins_with_its_number_and_all_words(plan: Plan) -> None:
    run = read(written(plan))
    assert [int(note[5:]) for note in run.notes if re.fullmatch(r"Line \d+", note)] == list(range(1, plan.path.line_count + 1))
    seen, lifted = 0, False
    for step in run.steps[2:]:
        if not step.fast and (step.line != seen or lifted):
            assert step.letters == "GXYZF"
            seen, lifted = step.line, False
        lifted = lifted or step.fast
    assert seen == plan.path.line_count


def test_the_cautions_stand_at_the_head_word_for_word(plan: Plan) -> None:
    head = written(plan).decode("ascii").split("G17")[0]
    words = re.findall(r"[A-Za-z0-9]+", head)
    cautions = re.findall(r"[A-Za-z0-9]+", " ".join(CAUTIONS))
    assert any(words[k : k + len(cautions)] == cautions for k in range(len(words)))


def test_a_general_parser_reads_every_line(plan: Plan) -> None:
    # pygcode, a general-purpose parser of RS-274 words, finds the same places.
    program = written(plan).decode("ascii")
    ours = read(program.encode())
    at, found = {"X": np.nan, "Y": np.nan, "Z": np.nan}, []
    for text in program.split("\r\n"):
        words = Line(text).block.words
        moved = [word for word in words if word.letter in at]
        for word in moved:
            at[word.letter] = float(word.value)
        if moved:
            found.append((at["X"], at["Y"], at["Z"]))
    np.testing.assert_allclose(np.array(found), np.array([step.end for step in ours.steps]), equal_nan=True)


@pytest.mark.parametrize(
    "name",
    ["body)\r\nG0 Z-50", "(nested) G1 X0", "a;b", "%", "line\nM3 S99999", "M6 T1", "K\u00f6rper \u2603", "[G28]", "#1=5", "x" * 500, "", "\x00\x1b"],
)
def test_names_never_become_commands(plan: Plan, name: str) -> None:
    plain, hostile = read(written(plan)), read(written(plan, title=(name, name)))
    assert repr(hostile.steps) == repr(plain.steps) and hostile.events == plain.events
    for line in comment(name):
        assert re.fullmatch(r"\([A-Za-z0-9 .,:+\-/=_']{1,70}\)", line)


@given(st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_comments_hold_only_harmless_signs(text: str) -> None:
    for line in comment(text):
        assert re.fullmatch(r"\([A-Za-z0-9 .,:+\-/=_']{1,70}\)", line)


EMPTY = Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))


@pytest.mark.parametrize(
    "attempt",
    [
        lambda: path_program(EMPTY, CUTTER, FRAME),
        lambda: outline(EMPTY, 1.0),
        lambda: dowel_program(EMPTY, DowelSettings(), FRAME),
    ],
    ids=["path", "dry run", "dowels"],
)
def test_nothing_to_write_is_refused(attempt: Callable[[], bytes]) -> None:
    with pytest.raises(BadFile, match="no pass lines|no dowel holes"):
        attempt()


def test_other_units_are_refused(plan: Plan) -> None:
    with pytest.raises(BadFile, match="mm, in, not 'ft'"):
        written(plan, "ft")


def test_moves_in_the_air_are_rapid_and_all_others_at_their_feed(plan: Plan) -> None:
    # Row by row: where a lift or exit ends, the program gets there by G0; where an entry ends, by G1 at the entry's own feed.
    steps = known(read(written(plan)).steps)
    rapid = {step.end for step in steps if step.fast}
    at_feed = {(*step.end, round(step.feed)) for step in steps if not step.fast}
    straight_up = np.append(False, np.hypot(*np.diff(plan.path.points[:, :2], axis=0).T) < 1e-9)
    in_air = (plan.path.kind == LIFT) | ((plan.path.kind == EXIT) & straight_up)
    assert {tuple(tip) for tip in plan.path.points[in_air].round(4).tolist()} <= rapid
    entries = np.flatnonzero((plan.path.kind == ENTRY) | ((plan.path.kind == EXIT) & ~straight_up))
    assert len(entries) and {(*plan.path.points[k].round(4).tolist(), round(plan.path.feed[k])) for k in entries} <= at_feed
    assert {feed for *_, feed in at_feed} == {round(feed) for feed in plan.path.feed[~in_air]}
    links = plan.path.points[plan.path.kind == LINK].round(4).tolist()
    assert not {tuple(tip) for tip in links} & rapid


@pytest.mark.parametrize("side, zero", [(0, "Z zero: spoilboard under the stock"), (1, "Z zero: top of the stock not of the body")])
def test_every_program_says_its_zero_and_its_body(side: int, zero: str) -> None:
    plan = two_sides()[side]
    for program in (finishing_program(plan, "mm"), plan_dry_run(plan, "mm"), dowel_holes_program(plan, "mm")):
        head = program.decode("ascii")
        assert f"({zero})" in head and "(X Y zero: lower left corner of the stock, seen from above)" in head
        assert f"(Made from body {plan.body_digest[:12]})" in head
    assert program_title(plan)[0].endswith(f"{plan.request.side} side")


def test_the_plans_own_heights_are_used() -> None:
    # By construction: stock of 15 mm on the spoilboard, 5 mm of safe height above it, a clamp up to 40 mm, dowels 15 mm into the spoilboard.
    top = two_sides()[0]
    heights = [step.end[2] for step in known(read(finishing_program(top, "mm")).steps)]
    assert heights[0] == pytest.approx(41.0, abs=1e-4) and heights[-1] == max(heights) == 45.0
    for program in (plan_dry_run(top, "mm"), dowel_holes_program(top, "mm")):
        assert max(step.end[2] for step in known(read(program).steps)) == 45.0
    assert min(step.end[2] for step in known(read(dowel_holes_program(top, "mm")).steps)) == -15.0


@pytest.mark.parametrize(
    "changes, words",
    [
        ({"spindle_start": "wait in milliseconds"}, ["M0", "M3", "S16000", "G4", "P4000"]),
        ({"spindle_start": "by hand"}, ["M0", "M0"]),
        ({"first_rise": "machine top"}, ["G53", "M3", "S16000", "G4", "P4"]),
    ],
)
def test_what_the_control_is_told_is_a_setting(plan: Plan, changes: dict[str, str], words: list[str]) -> None:
    settings = ProgramSettings(cancel_words=False, path_mode=False, **changes)  # type: ignore[arg-type]
    run = read(path_program(plan.path, CUTTER, frame(safe_height(plan), settings=settings)))
    assert run.words == ["G17", "G21", "G90", "G94", *words, "M5", "M30"]
    told = any("Switch the router on by hand" in note for note in run.notes)
    assert told == (changes.get("spindle_start") == "by hand")
    # Whatever is set: nothing moves sideways, nor down, before the cutter has been raised.
    raised = next(number for word, number in run.events if word in ("M0", "G53"))
    assert raised == 0 and run.steps[0].letters.startswith("GXY") and "Z" not in run.steps[0].letters


@pytest.mark.parametrize(
    "corners, unit, words",
    [
        ("overlap", "mm", "G64 P0.0200 Q0"),
        ("overlap", "in", "G64 P0.00078 Q0"),  # 0.02 mm are 0.000787 inches, rounded down
        ("corner speed", "mm", None),
        ("exact stop", "mm", "G61"),
    ],
)
def test_path_mode_goes_by_the_kind_of_control(plan: Plan, corners: str, unit: str, words: str | None) -> None:
    machine = Machine(corners=corners, corner_rounding=0.05)
    lines = path_program(plan.path, CUTTER, frame(safe_height(plan), unit, machine=machine)).decode("ascii").split("\r\n")
    assert [line for line in lines if line.startswith(("G61", "G64"))] == ([] if words is None else [words])


@pytest.mark.parametrize("changes", [{"fusing_tolerance": 0.0}, {"fusing_tolerance": 0.02}, {"spindle_start": "G4"}, {"first_rise": "G28"}])
def test_settings_of_programs_that_make_no_sense_are_refused(changes: dict[str, object]) -> None:
    with pytest.raises(BadRequest):
        ProgramSettings(**changes)  # type: ignore[arg-type]


def test_no_number_is_ever_an_exponent() -> None:
    # A path with the smallest and greatest values that a record can hold; the reader refuses exponents.
    points = np.array([[1e-7, 0.0, 5.0], [1e-7, 0.0, 1e-6], [123456.7, -1e-9, 2e-5], [0.0, 0.0, 5.0]])
    path = Path(points, np.array([LIFT, ENTRY, CUT, EXIT], np.uint8), np.ones(4, np.int32), np.array([1e-6, 1e-6, 1e6, 1e6]))
    cutter = Cutter("x", 0.2, shank_diameter=0.5, stick_out=500.0, usable_length=0.5)
    for unit in ("mm", "in"):
        run = read(path_program(path, cutter, frame(5.0, unit, machine=Machine(spin_up_seconds=1e-5))))
        assert not any(re.search(r"\de[+-]?\d", note) for note in run.notes)


def test_warnings_stand_at_the_very_head(plan: Plan) -> None:
    run = read(path_program(plan.path, CUTTER, frame(safe_height(plan), warnings=("Look out!", "And here."))))
    assert run.notes[:4] == ["READ FIRST", "Look out", "And here.", "End of READ FIRST"]
    assert "READ FIRST" not in read(written(plan)).notes
