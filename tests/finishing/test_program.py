"""Part programs read again by an interpreter of our own, and by a general-purpose parser."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pygcode import Line
from referee import Referee
from shapely.geometry import LineString, MultiPoint
from shapes import block

from addon.finishing.core.errors import BadFile
from addon.finishing.core.fusing import FUSING_TOLERANCE, fused
from addon.finishing.core.path import CUT, EXIT, LIFT, LINK
from addon.finishing.files.programs import comment, dowel_program, dry_run_program, outline, path_program
from addon.finishing.job.body import make_body
from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.dowels import DowelSettings
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan

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


@pytest.fixture(scope="module")
def plan():  # noqa: ANN201
    surface = lambda x, y: 15 + 2 * np.cos(2 * np.pi * x / 50) + 1.5 * np.sin(2 * np.pi * y / 45)  # noqa: E731
    body = make_body("wavy", block(surface, 60, 40, 0.8))
    return make_plan(Request(body, cutter=CUTTER, start="edge", start_angle=0.0, rack_table=False, cell=0.5))


def safe_height(plan) -> float:  # noqa: ANN001
    return round(float(plan.path.points[0, 2]), 4)  # as a program writes it


def written(plan, unit: str = "mm", title: tuple[str, ...] = ("Body",)) -> bytes:  # noqa: ANN001
    return path_program(plan.path, CUTTER, title, safe_height(plan), 4.0, unit)


def farthest(points: np.ndarray, way: np.ndarray) -> float:
    """Greatest distance of points (n, 3) from a way of straight moves (m, 3)."""
    start, move = way[:-1], np.diff(way, axis=0)
    squared = np.maximum((move * move).sum(axis=1), 1e-18)
    worst = 0.0
    for some in np.array_split(points, max(1, len(points) // 100)):
        share = np.clip(((some[:, None] - start) * move).sum(axis=2) / squared, 0, 1)
        nearest = start + share[:, :, None] * move
        worst = max(worst, float(np.linalg.norm(some[:, None] - nearest, axis=2).min(axis=1).max()))
    return worst


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_way_is_the_plans_within_the_fusing_tolerance(plan, unit: str) -> None:  # noqa: ANN001
    run = interpreted(written(plan, unit))
    tips = np.array([tip for tip in run.tips if np.isfinite(tip).all()])
    rounding = 0.0001 if unit == "mm" else 0.0003
    # Both ways, in space: every point of the one from all moves of the other, written out here, independent of the fusing.
    for first, second in ((plan.path.points, tips), (tips, plan.path.points)):
        assert farthest(first, second) <= FUSING_TOLERANCE + rounding
    assert len(tips) < 0.95 * len(plan.path)
    assert run.feeds[-2] == pytest.approx(plan.path.feed[plan.path.kind == CUT][-1], rel=1e-3)


def test_the_program_keeps_the_gouge_limit(plan) -> None:  # noqa: ANN001
    tips = np.array([tip for tip in interpreted(written(plan)).tips if np.isfinite(tip).all()])
    middle = plan.body.triangles.mean(axis=1)
    near = (np.abs(middle[:, :2] - plan.body.low[:2] - 20) < 14).all(axis=1)
    referee = Referee(plan.body.triangles[near], CUTTER.radius, 0.1)
    own = (np.abs(tips[:, :2] - plan.body.low[:2] - 20) < 7).all(axis=1)
    moves = np.flatnonzero(own[1:] & own[:-1])
    assert len(moves) > 50
    between = tips[moves] + np.linspace(0, 1, 7)[:, None, None] * (tips[moves + 1] - tips[moves])
    assert referee.depths(between.reshape(-1, 3)).max() + referee.error <= 0.002


def test_safe_height_first_and_the_spindle_before_the_work(plan) -> None:  # noqa: ANN001
    program = written(plan).decode("ascii")
    run = interpreted(program.encode())
    assert run.events[:4] == ["G17", "G21", "G90", "G94"] and run.events[-2:] == ["M5", "M30"]
    assert np.isnan(run.tips[0][0]) and run.tips[0][2] == safe_height(plan) and run.fast[0]
    assert run.events.index("M3") < run.events.index("G1") and "S16000" in run.events
    # Rapid moves never go down into the work, nor sideways below the safe height.
    for before, after, fast in zip(run.tips[:-1], run.tips[1:], run.fast[1:], strict=True):
        if fast:
            assert after[2] >= before[2] and (before[:2] == after[:2] or min(before[2], after[2]) == safe_height(plan) or np.isnan(before[0]))
    for text in CAUTIONS:
        assert text.split(":")[0].split()[1] in program
    assert run.tips[-1][2] == safe_height(plan)


def test_a_general_parser_reads_every_line(plan) -> None:  # noqa: ANN001
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
def test_names_never_become_commands(plan, name: str) -> None:  # noqa: ANN001
    plain, hostile = interpreted(written(plan)), interpreted(written(plan, title=(name, name)))
    assert hostile.tips[1:] == plain.tips[1:] and hostile.events == plain.events and hostile.feeds[1:] == plain.feeds[1:]
    for line in comment(name):
        assert re.fullmatch(r"\([A-Za-z0-9 .,:+\-/=_']{1,70}\)", line)


@given(st.text(max_size=300))
@settings(max_examples=200, deadline=None)
def test_comments_hold_harmless_signs_only(text: str) -> None:
    for line in comment(text):
        assert re.fullmatch(r"\([A-Za-z0-9 .,:+\-/=_']{1,70}\)", line)


@given(st.integers(0, 2**32 - 1), st.floats(0.001, 0.5))
@settings(max_examples=60, deadline=None)
def test_fusing_never_passes_its_tolerance(seed: int, tolerance: float) -> None:
    # shapely's distance of every point from the fused way, in plan.
    rng = np.random.default_rng(seed)
    points = np.column_stack([np.cumsum(rng.normal(0, 0.2, (60, 2)), axis=0), np.zeros(60)])
    kept = fused(points, tolerance)
    assert kept[0] == 0 and kept[-1] == 59 and (np.diff(kept) > 0).all()
    for a, b in zip(kept[:-1], kept[1:], strict=True):
        stretch = LineString(points[[a, b], :2]) if not np.array_equal(points[a], points[b]) else None
        for point in MultiPoint(points[a : b + 1, :2]).geoms:
            assert stretch is None or stretch.distance(point) <= tolerance + 1e-9


def test_fusing_straight_and_closed_ways() -> None:
    straight = np.column_stack([np.linspace(0, 10, 50), np.zeros(50), np.linspace(0, 2, 50)])
    assert fused(straight, 1e-6).tolist() == [0, 49]
    ring = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 0, 0]])
    assert fused(ring, 0.01).tolist() == [0, 1, 2, 3, 4]
    assert fused(straight[:1], 0.1).tolist() == [0] and fused(straight[:2], 0.1).tolist() == [0, 1]


def test_dry_run_follows_the_outline_above_the_stock(plan) -> None:  # noqa: ANN001
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
    assert (np.diff(np.concatenate([[42.0], first])) >= -4.0 - 1e-9).all()  # no bite deeper than a peck
    # Between the holes the drill is up.
    apart = np.flatnonzero(np.diff(tips[:, 0]) != 0)
    assert (tips[apart, 2] == 47.0).all() and (tips[apart + 1, 2] == 47.0).all()


def test_nothing_to_write_is_refused(plan) -> None:  # noqa: ANN001
    from addon.finishing.core.path import Path

    empty = Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))
    for attempt in (
        lambda: path_program(empty, CUTTER, (), 30.0, 4.0),
        lambda: dry_run_program(empty, (), 30.0, 3000.0),
        lambda: dowel_program(np.zeros((0, 2)), DowelSettings(), (), 40.0, 0.0, 45.0),
        lambda: written(plan, "ft"),
    ):
        with pytest.raises(BadFile):
            attempt()


def test_kinds_are_told_by_words(plan) -> None:  # noqa: ANN001
    run = interpreted(written(plan))
    air = np.isin(plan.path.kind, (LIFT, EXIT)).sum()
    work = np.isin(plan.path.kind, (CUT, LINK)).sum()
    assert sum(run.fast) <= air + 2 and len(run.fast) - sum(run.fast) <= work + 2 * plan.path.line_count
