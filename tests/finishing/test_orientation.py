"""Bodies in inches and in metres, bodies that stand on their edge, folders of several units: built here, with the truth known from how."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapes import block

from addon.batch import units_of_files
from addon.command import run
from addon.finishing.core.errors import BadBody, BadRequest
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.machine import Machine
from addon.finishing.job.orientation import TURNS, laid_matrix, upward_axis
from addon.finishing.job.plausible_size import check_guessed_unit, check_size, unit_hint
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.reading.mesh_file import UNITS


def double_cut(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A shallow arch with a comfort carve, 72 x 48 mm: a double-cut body at a sixth of its size."""
    return 9 + 1.5 * np.cos((x - 36) / 24) * np.cos((y - 24) / 18) - 0.02 * np.maximum(0, x + y - 90) ** 1.5


def paddle(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Half an inch thick at the edge, three quarters in the middle, in inches over 17 x 7."""
    return 0.5 + 0.25 * np.sin(np.pi * x / 17) * np.sin(np.pi * y / 7)


def standing(triangles: np.ndarray) -> np.ndarray:
    """The same body as a file with Y up holds it: x right, y up, z towards who looks; its face along y."""
    x, y, z = triangles[..., 0], triangles[..., 1], triangles[..., 2]
    return np.stack([x, z, -y], axis=-1)


def planned(triangles: np.ndarray, up: str = "auto", **settings: object) -> Plan:
    request = Request(make_body("Double-cut", triangles), cutter=Cutter("Round-nose 12", 12.0), rack_table=False, up=up, cell=1.0, cusp=0.2)
    return make_plan(replace(request, lines_from="edge", line_angle=0.0, **settings))


def box(length: float, width: float, height: float) -> np.ndarray:
    return block(lambda x, y: np.full(x.shape, height), length, width, max(length, width) / 4)


def write_stl(path: Path, triangles: np.ndarray) -> None:
    body = b"".join(struct.pack("<12fH", *([0.0] * 3), *t.ravel(), 0) for t in triangles)
    path.write_bytes(b"\0" * 80 + struct.pack("<I", len(triangles)) + body)


def test_a_turn_brings_its_axis_up_without_a_mirror() -> None:
    for number, axis in enumerate("xyz"):
        turn = np.array(TURNS[axis])
        assert turn @ np.eye(3)[number] == pytest.approx([0, 0, 1]) and np.linalg.det(turn) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("size", "axis"),
    [
        ((490, 350, 45), "z"), ((490, 45, 350), "y"), ((45, 350, 490), "x"), ((60, 40, 12), "z"), ((26, 20, 30), "z"),
        ((40, 10, 19), "z"), ((40, 10, 21), "y"), ((10, 10, 90), "y"),
    ],
)  # fmt: skip
def test_a_body_stands_on_its_edge_when_it_is_twice_as_high_as_thin(size: tuple[float, ...], axis: str) -> None:
    assert upward_axis("auto", np.array(size, float)) == axis
    assert upward_axis("z", np.array(size, float)) == "z"


def test_a_body_on_its_edge_is_planned_as_the_same_body_lying() -> None:
    lying = block(double_cut, 72, 48, 2.0)
    flat, stood = planned(lying), planned(standing(lying))
    assert np.allclose(stood.job_from_body[:3, :3], np.array(TURNS["y"]))
    assert stood.body.size == pytest.approx([72, 48, flat.body.size[2]])
    # To rounding: the turned numbers are the same, only shifted by another sum.
    assert stood.path.points == pytest.approx(flat.path.points, abs=1e-9)
    assert stood.run_time.minutes == pytest.approx(flat.run_time.minutes, rel=1e-12)
    assert stood.hidden_area == pytest.approx(flat.hidden_area)
    told = [str(finding.words) for finding in stood.findings]
    assert sum("stands on its edge" in sentence and "Y axis up" in sentence for sentence in told) == 1
    assert not any("stands on its edge" in str(finding.words) for finding in flat.findings)
    assert not any(finding.must_see for finding in stood.findings)


def test_an_axis_that_is_named_is_kept_to() -> None:
    plan = planned(box(40, 14, 30), up="z")
    assert plan.body.size == pytest.approx([40, 14, 30])
    assert not any("stands on its edge" in str(finding.words) for finding in plan.findings)


def test_a_standing_body_that_does_not_fit_is_laid_and_never_doubted_for_its_unit() -> None:
    body, machine = make_body("Body", standing(box(490, 350, 45))), Machine()
    check_size(body, "auto", machine, 6.0)
    with pytest.raises(BadBody, match="stands on its edge: set Face Up \\(--up\\) to Y, and it fits"):
        check_size(body, "z", machine, 6.0)


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ((450e3, 340e3, 45e3), "In millimetres, not metres, it would measure 450 x 340 x 45 mm"),
        ((17e3, 7e3, 0.75e3), "In inches, not metres, it would measure 432 x 178 x 19 mm"),
        ((4500, 3400, 450), "In millimetres, not centimetres, it would measure 450 x 340 x 45 mm"),
        ((0.45, 0.34, 0.045), "In metres, not millimetres"),
    ],
)
def test_what_cannot_be_a_body_is_refused_with_the_unit_that_makes_sense(size: tuple[float, float, float], said: str) -> None:
    with pytest.raises(BadBody, match=said):
        check_size(make_body("Body", box(*size)), "auto", Machine(), 6.0)


def test_no_unit_is_guessed_for_a_body_that_is_only_a_little_too_large() -> None:
    assert unit_hint(np.array([2000.0, 900.0, 45.0]), Machine()) is None


@pytest.mark.parametrize(
    ("size", "guesses"),
    [
        ((17, 7, 0.75), ["in", "cm"]),
        ((49, 35, 4.5), ["cm"]),
        ((0.45, 0.34, 0.045), ["m"]),
        ((0.1, 0.08, 0.02), ["m"]),
        ((3.9, 3.1, 0.8), ["in"]),
        ((30, 30, 30), []),
        ((60, 40, 12), None),
    ],
)
def test_units_that_would_make_sense_of_a_small_body(size: tuple[float, float, float], guesses: list[str] | None) -> None:
    body = make_body("Body", box(*size))
    if guesses is None:
        check_guessed_unit(body, UNITS)
        return
    with pytest.raises(BadBody) as caught:
        check_guessed_unit(body, UNITS)
    said = str(caught.value)
    assert [part.split()[0] for part in said.split("--unit ")[1:]] == [*guesses, *(["what"] if not guesses else []), "mm"]


def test_a_paddle_in_inches_is_refused_until_its_unit_is_given(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "paddle.stl", block(paddle, 17, 7, 0.5))
    common = ["--cutter", "25", "--cusp", "0.6", "--cell", "3", "--start", "edge"]
    assert run(["plan", str(tmp_path / "paddle.stl"), *common, "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert "--unit in (432 x 178 x 19 mm)" in said and said.count("\n") == 1 and not (tmp_path / "out").exists()
    assert run(["plan", str(tmp_path / "paddle.stl"), *common, "--unit", "in", "--out", str(tmp_path / "out")]) in (0, 3)
    shown = capsys.readouterr().out
    assert "counts as 25.4 mm, as --unit says" in shown and "431.8 x 177.8 x 19.0 mm" in shown


def test_a_folder_of_several_units(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block(double_cut, 72, 48, 4.0))
    write_stl(tmp_path / "paddle.stl", block(paddle, 17, 7, 1.0))
    common = ["batch", str(tmp_path), "--cutter", "25", "--cusp", "0.6", "--cell", "3", "--start", "edge"]
    assert run([*common, "--unit", "paddle.stl=in", "--out", str(tmp_path / "out")]) in (0, 3)
    assert "failed" not in capsys.readouterr().out
    rows = (tmp_path / "out" / "batch.csv").read_text().splitlines()
    assert [row.split(",")[0] for row in rows[1:]] == ["block.stl", "paddle.stl"]
    assert run([*common, "--unit", "paddel.stl=in", "--out", str(tmp_path / "two")]) == 2
    assert "the folder does not hold" in capsys.readouterr().err


def test_units_of_files_by_name_come_before_the_common_one() -> None:
    files = [Path("a.stl"), Path("b.obj"), Path("c.blend")]
    assert list(units_of_files(["cm", "b.obj=in"], files).values()) == ["cm", "in", None]
    with pytest.raises(BadRequest, match="must be one of"):
        units_of_files(["a.stl=yard"], files)


def test_the_turn_is_the_identity_for_a_body_that_lies() -> None:
    assert (laid_matrix("auto", np.array([49.0, 35.0, 4.0])) == np.eye(4)).all()
