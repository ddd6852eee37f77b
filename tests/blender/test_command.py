"""The command line: files of all kinds, exit codes, one sentence, nothing half written."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import numpy as np
import pytest

from addon.command import run
from addon.finishing.files.polylines import read_csv


def block_triangles() -> np.ndarray:
    """A closed block of 60 x 40 mm with a slightly arched top, 10 to 12 mm high."""
    x, y = np.meshgrid(np.linspace(0, 60, 31), np.linspace(0, 40, 21))
    z = 10 + 2 * np.sin(np.pi * x / 60)

    def sheet(height: np.ndarray, up: bool) -> np.ndarray:
        v = np.stack([x, y, height], axis=-1)
        a, b, c, d = v[:-1, :-1], v[:-1, 1:], v[1:, 1:], v[1:, :-1]
        faces = np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)
        return faces if up else faces[:, ::-1]

    return np.concatenate([sheet(z, True), sheet(np.zeros_like(z), False)])


def write_stl(path: Path, triangles: np.ndarray) -> None:
    body = b"".join(struct.pack("<12fH", *([0.0] * 3), *t.ravel(), 0) for t in triangles)
    path.write_bytes(b"\0" * 80 + struct.pack("<I", len(triangles)) + body)


def write_obj(path: Path, triangles: np.ndarray) -> None:
    lines = ["v {} {} {}".format(*p) for p in triangles.reshape(-1, 3)]
    lines += [f"f {3 * i + 1} {3 * i + 2} {3 * i + 3}" for i in range(len(triangles))]
    path.write_text("\n".join(lines))


def write_ply(path: Path, triangles: np.ndarray) -> None:
    n = len(triangles)
    head = ["ply", "format ascii 1.0", f"element vertex {3 * n}", "property float x", "property float y", "property float z",
            f"element face {n}", "property list uchar int vertex_indices", "end_header"]  # fmt: skip
    lines = ["{} {} {}".format(*p) for p in triangles.reshape(-1, 3)] + [f"3 {3 * i} {3 * i + 1} {3 * i + 2}" for i in range(n)]
    path.write_text("\n".join(head + lines) + "\n")


WRITERS = {".stl": write_stl, ".obj": write_obj, ".ply": write_ply}


@pytest.mark.parametrize("ending", WRITERS)
def test_a_plan_from_every_kind_of_file(tmp_path: Path, ending: str, capsys: pytest.CaptureFixture) -> None:
    source = tmp_path / f"block{ending}"
    WRITERS[ending](source, block_triangles())
    code = run(["plan", str(source), "--cutter", "12", "--start", "edge", "--cell", "0.5", "--out", str(tmp_path / "out")])
    shown = capsys.readouterr()
    assert code == 0, shown.err
    assert "60.0 x 40.0 x 12.0 mm" in shown.out and "Simulated gouge" in shown.out
    record = json.loads((tmp_path / "out" / "block-top-plan.json").read_text())
    assert record["schema"] == 1 and record["result"]["pass_lines"] > 10
    path = read_csv((tmp_path / "out" / "block-top-1-round-nose-12.csv").read_bytes())
    assert len(path) > 100
    pictures = sorted(p.name for p in (tmp_path / "out").glob("*.png"))
    assert [p.split("-top-")[1] for p in pictures] == [
        "curvature-map.png", "cusp-map.png", "minutes-chart.png", "pass-lines.png", "slope-map.png", "uncut-map.png"
    ]  # fmt: skip
    # The settings can be taken from what was written.
    again = run(["plan", str(source), "--settings", str(tmp_path / "out" / "block-top-plan.json"), "--out", str(tmp_path / "two")])
    assert again == 0
    assert (tmp_path / "two" / "block-top-1-round-nose-12.csv").read_bytes() == (
        tmp_path / "out" / "block-top-1-round-nose-12.csv"
    ).read_bytes()


def test_a_budget_that_cannot_be_met_is_told(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    code = run(["plan", str(tmp_path / "block.stl"), "--cutter", "12", "--start", "edge", "--cell", "0.5", "--budget", "0.1",
                "--out", str(tmp_path / "out")])  # fmt: skip
    assert code == 3
    assert "more than the budget" in capsys.readouterr().out
    assert (tmp_path / "out" / "block-top-plan.json").exists()


@pytest.mark.parametrize(
    "arguments, said",
    [
        (["plan", "nowhere.stl"], "no file"),
        (["plan", "BLOCK", "--side", "left"], "invalid choice"),
        (["plan", "BLOCK", "--unit", "m"], "check the unit"),
        (["plan", "BLOCK", "--cutter", "big"], "diameter in mm or auto"),
        (["plan", "BLOCK", "--cusp", "-1"], "above 0"),
        (["plan", "BLOCK", "--cell", "0.003"], "coarser cell"),
        (["plan", "TEXT"], "no body file"),
        (["plan", "BROKEN"], "cannot be read as STL"),
        (["plan", "BLOCK", "--settings", "nothing.json"], "settings file"),
        (["plan", "BLOCK", "--cutter", "32", "--settings", "SETTINGS"], "unknown key"),
        ([], "required"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_written(
    tmp_path: Path, arguments: list[str], said: str, capsys: pytest.CaptureFixture
) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    (tmp_path / "notes.txt").write_text("no body")
    (tmp_path / "broken.stl").write_bytes(b"\x01\x02")
    (tmp_path / "settings.json").write_text('{"settings": {"colour": 3}}')
    names = {"BLOCK": "block.stl", "TEXT": "notes.txt", "BROKEN": "broken.stl", "SETTINGS": "settings.json"}
    words = [str(tmp_path / names[a]) if a in names else a for a in arguments]
    out = tmp_path / "out"
    code = run([*words, "--out", str(out)] if words else words)
    error = capsys.readouterr().err.strip()
    assert code == 2
    assert said.lower() in error.lower()
    assert len(error.splitlines()) == 1
    assert not out.exists()


def test_an_unwritable_folder_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    (tmp_path / "file").write_text("in the way")
    assert run(["plan", str(tmp_path / "block.stl"), "--out", str(tmp_path / "file")]) == 2
    assert "no folder" in capsys.readouterr().err
