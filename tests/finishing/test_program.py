"""Part programs read again by an interpreter of our own, and by a general-purpose parser."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pygcode import Line
from referee import Referee
from shapely.geometry import LineString, MultiPoint
from shapes import block
from small_jobs import two_sides

from addon.finishing.core.errors import BadFile
from addon.finishing.core.fusing import FUSING_TOLERANCE
from addon.finishing.core.path import ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.files.plan_programs import dowel_holes_program, finishing_program, plan_dry_run, program_title
from addon.finishing.files.programs import comment, dowel_program, dry_run_program, outline, path_program
from addon.finishing.job.body import make_body
from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan

CUTTER = Cutter("Round-nose 12", 12.0, spindle_speed=16000)
WORDS = {"G0", "G1", "G17", "G20", "G21", "G90", "G94", "M3", "M5", "M30"}


@dataclass
class Run:
    """What a control does with a program. tips: (n, 3) mm; fast: whether a move is G0; feed: mm/min; events: words in order."""

    tips: list[tuple[float, float, float]] = field(default_factory=list)
    fast: list[bool] = field(default_factory=list)
    feeds: list[float] = field(default_factory=list)
    events: list[str] = field(default_factory=list)


def interpreted(program: bytes) -> Run:
    """Run the words of ISO 6983 that the programs may use; anything else is an error."""
    run, at, feed, word, scale = Run(), [np.nan] * 3, np.nan, "", np.nan
    for text in program.decode("ascii").split("\r\n"):
        if re.fullmatch(r"\([^()]*\)", text) or not text:
            continue
        moved = False
        for token in text.split(" "):
            letter, number = token[0], token[1:]
            assert re.fullmatch(r"-?\d+(\.\d+)?", number), text
            if letter in "GM":
                assert token in WORDS, text
                run.events.append(token)
                scale = {"G21": 1.0, "G20": 25.4}.get(token, scale)
                word = token if token in ("G0", "G1") else word
            elif letter in "XYZ":
                at["XYZ".index(letter)] = float(number) * scale
                moved = True
            elif letter == "F":
                feed = float(number) * scale
            else:
                assert letter == "S", text
                run.events.append(token)
        if moved:
            run.tips.append((at[0], at[1], at[2]))
            run.fast.append(word == "G0")
            run.feeds.append(feed)
    return run


def wavy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 15 + 2 * np.cos(2 * np.pi * x / 50) + 1.5 * np.sin(2 * np.pi * y / 45)


@pytest.fixture(scope="module")
def plan() -> Plan:
    body = make_body("wavy", block(wavy, 60, 40, 0.8))
    return make_plan(Request(body, cutter=CUTTER, start="edge", start_angle=0.0, rack_table=False, cell=0.5))


def safe_height(plan: Plan) -> float:
    return round(float(plan.path.points[0, 2]), 4)  # as a program writes it


def written(plan: Plan, unit: str = "mm", title: tuple[str, ...] = ("Body",)) -> bytes:
    return path_program(plan.path, CUTTER, title, safe_height(plan), 4.0, unit)


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
    run = interpreted(written(plan, unit))
    tips = np.array([tip for tip in run.tips if np.isfinite(tip).all()])
    rounding = 0.0001 if unit == "mm" else 0.0003
    # In both directions, in space: every point of the one from all moves of the other, written out here, independent of the fusing.
    for first, second in ((plan.path.points, tips), (tips, plan.path.points)):
        assert farthest(first, second) <= FUSING_TOLERANCE + rounding
    assert len(tips) < 0.95 * len(plan.path)
    # The last move before the one straight up is that of the last cut or of the way out.
    assert run.feeds[-2] == pytest.approx(plan.path.feed[-2], rel=1e-3)


def test_the_program_keeps_the_gouge_limit(plan: Plan) -> None:
    tips = np.array([tip for tip in interpreted(written(plan)).tips if np.isfinite(tip).all()])
    middle = plan.body.triangles.mean(axis=1)
    near = (np.abs(middle[:, :2] - plan.body.low[:2] - 20) < 14).all(axis=1)
    referee = Referee(plan.body.triangles[near], CUTTER.radius, 0.1)
    own = (np.abs(tips[:, :2] - plan.body.low[:2] - 20) < 7).all(axis=1)
    moves = np.flatnonzero(own[1:] & own[:-1])
    assert len(moves) > 50
    between = tips[moves] + np.linspace(0, 1, 7)[:, None, None] * (tips[moves + 1] - tips[moves])
    assert referee.depths(between.reshape(-1, 3)).max() + referee.error <= 0.002


def test_safe_height_first_and_the_spindle_before_the_work(plan: Plan) -> None:
    program = written(plan).decode("ascii")
    run = interpreted(program.encode())
    assert run.events[:4] == ["G17", "G21", "G90", "G94"] and run.events[-2:] == ["M5", "M30"]
    assert np.isnan(run.tips[0][0]) and run.tips[0][2] == safe_height(plan) and run.fast[0]
    assert run.events.index("M3") < run.events.index("G1") and "S16000" in run.events
    # Rapid moves never go down into the work, nor sideways below the safe height.
    for before, after, fast in zip(run.tips[:-1], run.tips[1:], run.fast[1:], strict=True):
        if fast:
            assert after[2] >= before[2] and (before[:2] == after[:2] or min(before[2], after[2]) == safe_height(plan) or np.isnan(before[0]))
    assert run.tips[-1][2] == safe_height(plan)


def test_the_cautions_stand_at_the_head_word_for_word(plan: Plan) -> None:
    head = written(plan).decode("ascii").split("G17")[0]
    words = re.findall(r"[A-Za-z0-9]+", head)
    cautions = re.findall(r"[A-Za-z0-9]+", " ".join(CAUTIONS))
    assert any(words[k : k + len(cautions)] == cautions for k in range(len(words)))


def test_a_general_parser_reads_every_line(plan: Plan) -> None:
    # pygcode, a general-purpose parser of RS-274 words, finds the same places.
    program = written(plan).decode("ascii")
    ours = interpreted(program.encode())
    at, found = {"X": np.nan, "Y": np.nan, "Z": np.nan}, []
    for text in program.split("\r\n"):
        words = Line(text).block.words
        moved = [word for word in words if word.letter in at]
        for word in moved:
            at[word.letter] = float(word.value)
        if moved:
            found.append((at["X"], at["Y"], at["Z"]))
    np.testing.assert_allclose(np.array(found), np.array(ours.tips), equal_nan=True)


@pytest.mark.parametrize(
    "name",
    ["body)\r\nG0 Z-50", "(nested) G1 X0", "a;b", "%", "line\nM3 S99999", "M6 T1", "K\u00f6rper \u2603", "[G28]", "#1=5", "x" * 500, "", "\x00\x1b"],
)
def test_names_never_become_commands(plan: Plan, name: str) -> None:
    plain, hostile = interpreted(written(plan)), interpreted(written(plan, title=(name, name)))
    assert hostile.tips[1:] == plain.tips[1:] and hostile.events == plain.events and hostile.feeds[1:] == plain.feeds[1:]
    for line in comment(name):
        assert re.fullmatch(r"\([A-Za-z0-9 .,:+\-/=_']{1,70}\)", line)


@given(st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_comments_hold_only_harmless_signs(text: str) -> None:
    for line in comment(text):
        assert re.fullmatch(r"\([A-Za-z0-9 .,:+\-/=_']{1,70}\)", line)


def test_dry_run_follows_the_outline_above_the_stock(plan: Plan) -> None:
    run = interpreted(dry_run_program(plan.path, ("Body",), 30.0, 3000.0))
    assert "M3" not in run.events and run.events.count("M5") == 2
    assert all(tip[2] == 30.0 for tip in run.tips)
    ring = np.array([tip[:2] for tip in run.tips[1:]])
    # shapely's convex hull of the path.
    hull = MultiPoint(plan.path.points[:, :2]).convex_hull
    assert LineString(ring).convex_hull.symmetric_difference(hull).area < 0.01 * hull.area
    assert np.array_equal(ring[0], ring[-1])


def test_outline_of_few_points() -> None:
    assert outline(np.array([[1.0, 2.0], [1.0, 2.0]])).tolist() == [[1.0, 2.0]]


def test_dowels_are_pecked_with_plain_moves() -> None:
    dowels = DowelSettings(count=2, peck=4.0, depth=15.0)
    run = interpreted(dowel_program(np.array([[10.0, 20.0], [200.0, 20.0]]), dowels, ("Body",), 42.0, 0.0, 47.0))
    tips = np.array(run.tips[1:])
    assert tips[:, 2].min() == -15.0 and run.events[-2:] == ["M5", "M30"]
    assert {tuple(p) for p in tips[tips[:, 2] < 42][:, :2]} == {(10.0, 20.0), (200.0, 20.0)}
    first = tips[(tips[:, 0] == 10) & (tips[:, 2] < 42), 2]
    assert np.diff(np.concatenate([[42.0], first])).min() == -4.0  # no bite deeper than a peck
    # From hole to hole the drill is up.
    crossing = np.flatnonzero(np.diff(tips[:, 0]) != 0)
    assert len(crossing) and (tips[crossing, 2] == 47.0).all() and (tips[crossing + 1, 2] == 47.0).all()


EMPTY = Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))


@pytest.mark.parametrize(
    "attempt",
    [
        lambda: path_program(EMPTY, CUTTER, (), 30.0, 4.0),
        lambda: dry_run_program(EMPTY, (), 30.0, 3000.0),
        lambda: dowel_program(np.zeros((0, 2)), DowelSettings(), (), 40.0, 0.0, 45.0),
    ],
    ids=["path", "dry run", "dowels"],
)
def test_nothing_to_write_is_refused(attempt: Callable[[], bytes]) -> None:
    with pytest.raises(BadFile, match="no path|no dowel holes"):
        attempt()


def test_other_units_are_refused(plan: Plan) -> None:
    with pytest.raises(BadFile, match="mm, in, not 'ft'"):
        written(plan, "ft")


def test_moves_in_the_air_are_rapid_and_all_others_at_their_feed(plan: Plan) -> None:
    # Row by row: where a lift ends or a way straight up, the program gets there by G0; where an entry or a lead out ends, by G1 at its own feed.
    run = interpreted(written(plan))
    rapid = {tip for tip, fast in zip(run.tips, run.fast, strict=True) if fast}
    at_feed = {(*tip, round(feed)) for tip, fast, feed in zip(run.tips, run.fast, run.feeds, strict=True) if not fast}
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
    # By construction: stock of 15 mm on the spoilboard, a clamp of 40 mm that moves in the air clear by 1 mm, dowels 15 mm into the spoilboard.
    top = two_sides()[0]
    for program in (finishing_program(top, "mm"), plan_dry_run(top, "mm"), dowel_holes_program(top, "mm")):
        assert max(tip[2] for tip in interpreted(program).tips) == pytest.approx(41.0, abs=1e-4)
    assert min(tip[2] for tip in interpreted(dowel_holes_program(top, "mm")).tips) == -15.0
