"""The command line: files of all kinds, exit codes, one sentence, nothing half written."""

from __future__ import annotations

import json
import struct
from pathlib import Path

import numpy as np
import pytest
from shapes import block

from addon.command import run
from addon.finishing.files.path_csv import read_csv


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
    assert (tmp_path / "two" / "block-top-1-round-nose-12.csv").read_bytes() == (tmp_path / "out" / "block-top-1-round-nose-12.csv").read_bytes()


def test_a_budget_that_cannot_be_met_is_told(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    code = run(["plan", str(tmp_path / "block.stl"), "--cutter", "12", "--start", "edge", "--cell", "0.5", "--budget", "0.1",
                "--out", str(tmp_path / "out")])  # fmt: skip
    assert code == 3
    assert "over the budget" in capsys.readouterr().out
    assert (tmp_path / "out" / "block-top-plan.json").exists()


def test_when_no_cutter_fits_the_best_is_planned_and_the_rest_is_told(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    # A groove of 2 mm radius across the block (half round, 2 mm deep): no cutter of the rack (6 mm and more) gets to its floor.
    x, y = np.meshgrid(np.linspace(0, 60, 241), np.linspace(0, 40, 9))
    aside = np.abs(x - 30)
    z = 12 - np.sqrt(np.maximum(4 - aside**2, 0))
    z = np.where(aside < 2, z, 12.0)
    top = np.stack([x, y, z], axis=-1)
    a, b, c, d = top[:-1, :-1], top[:-1, 1:], top[1:, 1:], top[1:, :-1]
    faces = np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)
    floor = faces[:, ::-1].copy()
    floor[:, :, 2] = 0
    write_stl(tmp_path / "groove.stl", np.concatenate([faces, floor]))
    (tmp_path / "walls.json").write_text('{"region": {"wall_limit": 85.0, "openings": "follow"}, "fit": {"uncut_area": 5.0}}')
    out = tmp_path / "out"
    code = run(["plan", str(tmp_path / "groove.stl"), "--cutter", "auto", "--start", "edge", "--cell", "0.5",
                "--settings", str(tmp_path / "walls.json"), "--out", str(out)])  # fmt: skip
    record = json.loads((out / "groove-top-plan.json").read_text())
    assert code == 3
    assert "No cutter on the rack fits the whole of the planned surface" in capsys.readouterr().out
    assert not any(row["fits"] for row in record["rack"])
    chosen = record["result"]["cutter"]["diameter"]
    least = min(row["uncut_area"] for row in record["rack"])
    assert next(row for row in record["rack"] if row["diameter"] == chosen)["uncut_area"] == least
    assert record["largest_radius"]["radius"] == pytest.approx(2.0, abs=0.5)  # by construction, within one cell
    assert (out / "groove-top-uncut-map.png").exists()
    assert any(finding["must_see"] and finding["place"] for finding in record["findings"])


@pytest.mark.parametrize(
    "arguments, said",
    [
        (["plan", "nowhere.stl"], "no file"),
        (["plan", "BLOCK", "--side", "left"], "invalid choice"),
        (["plan", "BLOCK", "--unit", "m"], "No other unit makes sense"),
        (["plan", "BLOCK", "--cutter", "big"], "diameter in mm, or a name"),
        (["plan", "BLOCK", "--cusp", "-1"], "between 0.0005 and 5 mm"),
        (["plan", "BLOCK", "--cell", "0.02"], "coarser cell"),
        (["plan", "TEXT"], "is not a body file"),
        (["plan", "BROKEN"], "is not an STL file"),
        (["plan", "BLOCK", "--settings", "nothing.json"], "'nothing.json' cannot be read"),
        (["plan", "BLOCK", "--cutter", "32", "--settings", "SETTINGS"], "unknown key"),
        (["plan", "STEEP", "--cell", "0.5"], "nothing is left to plan"),
        (["plan", "EMPTY"], "holds no triangles"),
        (["plan", "FLAT"], "no face with any area"),
        (["plan", "NAN"], "not a number or larger than any body in triangle 6"),
        (["plan", "BLOCK", "--settings", "SMALL BED"], "more than the machine's 40 x 30"),
        (["plan", "BLOCK", "--unit", "mm", "--cutter", "90"], "less than the cutter"),
        ([], "required"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_written(tmp_path: Path, arguments: list[str], said: str, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    (tmp_path / "notes.txt").write_text("no body")
    (tmp_path / "broken.stl").write_bytes(b"\x01\x02")
    (tmp_path / "settings.json").write_text('{"settings": {"colour": 3}}')
    write_stl(tmp_path / "empty.stl", np.zeros((0, 3, 3)))
    write_stl(tmp_path / "flat.stl", np.linspace(0, 1, 12)[:, None, None] * np.array([[[9.0, 0, 0], [6, 0, 0], [3, 0, 0]]]))
    broken = block_triangles()
    broken[5, 1, 0] = np.nan
    write_stl(tmp_path / "nan.stl", broken)
    ramp = block_triangles()
    ramp[:, :, 2] = np.where(ramp[:, :, 2] > 5, 10 + 2.2 * ramp[:, :, 0], 0)
    write_stl(tmp_path / "steep.stl", ramp)
    (tmp_path / "bed.json").write_text('{"machine": {"bed_x": 40.0, "bed_y": 30.0}}')
    names = {
        "BLOCK": "block.stl", "TEXT": "notes.txt", "BROKEN": "broken.stl", "SETTINGS": "settings.json", "STEEP": "steep.stl",
        "EMPTY": "empty.stl", "FLAT": "flat.stl", "NAN": "nan.stl", "SMALL BED": "bed.json",
    }  # fmt: skip
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
    assert "not a folder" in capsys.readouterr().err


def test_a_full_disk_leaves_the_old_files_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from addon.finishing.core.errors import BadFile
    from addon.finishing.files import writing

    tmp_path = tmp_path / "out"
    writing.write_all(tmp_path, {"a.csv": b"old", "b.csv": b"old too"})

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "fsync", full)
    with pytest.raises(BadFile, match="No space left"):
        writing.write_all(tmp_path, {"a.csv": b"new", "b.csv": b"new too"})
    assert sorted((p.name, p.read_bytes()) for p in tmp_path.iterdir()) == [("a.csv", b"old"), ("b.csv", b"old too")]


def plan_words(*more: str) -> list[str]:
    return ["--cutter", "12", "--start", "edge", "--cell", "0.5", "--cusp", "0.1", *more]


def test_both_sides_with_programs_in_one_call(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    (tmp_path / "dowels.json").write_text('{"dowels": {"count": 2}, "line_angle": 0.0}')
    out = tmp_path / "out"
    words = ["plan", str(tmp_path / "block.stl"), *plan_words("--side", "both", "--programs", "--settings", str(tmp_path / "dowels.json"))]
    assert run([*words, "--out", str(out)]) == 0
    assert {p.name for p in out.glob("*.nc")} == {
        "block-top-1-dowels.nc", "block-top-2-round-nose-12.nc", "block-top-2-round-nose-12-dry-run.nc", "block-top-2-round-nose-12-low-dry-run.nc",
        "block-back-3-round-nose-12.nc", "block-back-3-round-nose-12-dry-run.nc", "block-back-3-round-nose-12-low-dry-run.nc",
    }  # fmt: skip
    assert (out / "block-run-list.csv").exists() and (out / "block-bench-sheet.html").exists()
    said = capsys.readouterr().out
    assert "block, top side" in said and "block, back side" in said
    # A second call does not write over the first unless it is told to.
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    assert run([*words, "--out", str(out)]) == 2
    assert "--replace" in capsys.readouterr().err
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before
    assert run([*words, "--replace", "--out", str(out)]) == 0


def test_a_batch_goes_on_after_a_body_that_fails(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    folder = tmp_path / "bodies"
    folder.mkdir()
    write_stl(folder / "a.stl", block_triangles())
    (folder / "b.stl").write_bytes(b"\x01\x02")
    write_obj(folder / "c.obj", block_triangles())
    write_stl(folder / "c.stl", block_triangles() * 100)
    (folder / "notes.txt").write_text("no body")
    out = tmp_path / "out"
    assert run(["batch", str(folder), *plan_words("--out", str(out))]) == 3
    table = capsys.readouterr().out
    assert "b.stl" in table and "is not an STL file" in table and "notes" not in table
    rows = [line.split(",") for line in (out / "batch.csv").read_text().splitlines()]
    assert [(row[0], row[2]) for row in rows[1:]] == [("a.stl", "planned"), ("b.stl", "failed"), ("c.obj", "planned"), ("c.stl", "failed")]
    assert (out / "a" / "a-top-plan.json").exists() and (out / "c" / "c-top-plan.json").exists()
    assert not (out / "b").exists() and not (out / "c-stl").exists()
    assert run(["batch", str(folder), *plan_words("--out", str(out))]) == 2
    assert "--replace" in capsys.readouterr().err
    empty = tmp_path / "empty"
    empty.mkdir()
    assert run(["batch", str(empty), "--out", str(out)]) == 2
    assert run(["batch", str(tmp_path / "nowhere"), "--out", str(out)]) == 2
    (empty / "bad.stl").write_bytes(b"\x01")
    assert run(["batch", str(empty), "--out", str(tmp_path / "three")]) == 2


def test_a_written_plan_is_read_and_compared(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "block.stl", block_triangles())
    out = tmp_path / "out"
    assert run(["plan", str(tmp_path / "block.stl"), *plan_words("--out", str(out))]) == 0
    record = str(out / "block-top-plan.json")
    capsys.readouterr()
    assert run(["read", record]) == 0
    assert "pass lines" in capsys.readouterr().out
    assert run(["read", record, "--body", str(tmp_path / "block.stl")]) == 0
    assert "as it was" in capsys.readouterr().out
    taller = block_triangles()
    taller[:, :, 2] *= 1.01
    write_stl(tmp_path / "taller.stl", taller)
    assert run(["read", str(out / "block-top-1-round-nose-12.csv"), "--body", str(tmp_path / "taller.stl")]) == 3
    assert "is not as it was" in capsys.readouterr().out
    assert run(["read", str(tmp_path / "block.stl")]) == 2


def hollow_triangles() -> np.ndarray:
    """A block with a groove of 5 mm radius, which a 16 mm cutter cannot reach."""

    def heights(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        away = np.abs(y - 20)
        return 12 - np.where(away < 3.5, np.sqrt(np.maximum(25 - away**2, 0)) - np.sqrt(25 - 3.5**2), 0)

    return block(heights, 50, 40, 0.5)


def test_smaller_cutters_a_given_stock_and_plans_side_by_side(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    write_stl(tmp_path / "grooved.stl", hollow_triangles())
    stock = hollow_triangles()
    stock[..., 2] = np.where(stock[..., 2] > 1, 13.5, 0.0)
    write_stl(tmp_path / "stock.stl", stock)
    out = tmp_path / "out"
    words = [
        "plan", str(tmp_path / "grooved.stl"), "--cutter", "16", "--start", "edge", "--cell", "0.5", "--smaller-cutters",
        "--stock", str(tmp_path / "stock.stl"), "--out", str(out),
    ]  # fmt: skip
    code = run(words)
    shown = capsys.readouterr()
    # What the first cutter leaves the last one takes: nothing that must be seen.
    assert code == 0, shown.err
    paths = sorted(path.name for path in out.glob("*round-nose-*.csv"))
    # 12 mm does not fit into a radius of 5 mm either: 10 mm does.
    assert paths == ["grooved-top-1-round-nose-16.csv", "grooved-top-2-round-nose-12.csv", "grooved-top-3-round-nose-10.csv"]
    assert "All together" in shown.out and "2 for every tool change" in shown.out
    record = json.loads((out / "grooved-top-plan.json").read_text())
    # The block as stock is flat at 13.5, 1.5 mm above the body's flat top.
    assert record["bite"]["greatest_depth"] == pytest.approx(1.5 + 5 - np.sqrt(25 - 3.5**2), abs=0.2)
    assert record["stock_body"] is not None
    smaller = out / "grooved-top-round-nose-10-plan.json"
    assert json.loads(smaller.read_text())["settings"]["remaining"]["larger"]["diameter"] == 12.0
    assert run(["compare", str(out / "grooved-top-plan.json"), str(smaller)]) == 0
    table = capsys.readouterr().out.splitlines()
    assert table[0].split()[-2:] == ["grooved-top-plan", "grooved-top-round-nose-10-plan"]
    assert next(line for line in table if line.startswith("cutter")).split()[-1] == "10"


@pytest.mark.parametrize(("content", "said"), [(None, "cannot be read"), ('{"schema": 1}', "holds no figures"), ("{", "not JSON")])
def test_what_cannot_be_compared_is_one_sentence(tmp_path: Path, content: str | None, said: str, capsys: pytest.CaptureFixture) -> None:
    file = tmp_path / "plan.json"
    if content is not None:
        file.write_text(content)
    assert run(["compare", str(file)]) == 2
    error = capsys.readouterr().err.strip()
    assert said in error and len(error.splitlines()) == 1
