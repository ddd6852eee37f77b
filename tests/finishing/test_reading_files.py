"""Mesh files as bodies: units, parts and their choice, precision, round trips through an independent library, and memory."""

from __future__ import annotations

import os
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import trimesh
from mesh_files import FACES, TETRAHEDRON, TRIANGLES, binary_ply, binary_stl, obj, obj_faces, obj_points, ply_head, text_ply, text_stl

from addon.finishing.core.errors import BadBody, BadFile, SeveralObjects
from addon.finishing.reading.mesh_file import read_mesh_body, read_parts
from addon.finishing.reading.part import MeshPart, chosen_part, distinct
from addon.finishing.reading.precision import coarse_step

CONTENTS = {
    "text.stl": text_stl(),
    "binary.stl": binary_stl(),
    "body.obj": obj(),
    "text.ply": text_ply(),
    "little.ply": binary_ply(),
    "big.ply": binary_ply(">"),
}


def write(path: Path, content: str | bytes) -> Path:
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize("name", CONTENTS)
@pytest.mark.parametrize(("unit", "scale"), [("mm", 1), ("cm", 10), ("m", 1000), ("in", 25.4)])
def test_units(tmp_path: Path, name: str, unit: str, scale: float) -> None:
    body = read_mesh_body(write(tmp_path / name, CONTENTS[name]), unit=unit)
    assert body.name == Path(name).stem and body.triangles.dtype == np.float64 and not body.skip.any()
    np.testing.assert_allclose(body.triangles, TRIANGLES * scale, rtol=1e-15)


@pytest.mark.parametrize("name", CONTENTS)
def test_capital_endings(tmp_path: Path, name: str) -> None:
    assert len(read_mesh_body(write(tmp_path / name.upper(), CONTENTS[name])).triangles) == 4


@pytest.mark.parametrize(
    ("file_type", "options"),
    [
        ("stl", {}),
        ("stl_ascii", {}),
        ("obj", {}),
        ("obj", {"include_normals": True, "digits": 12}),
        ("ply", {}),
        ("ply", {"encoding": "ascii"}),
        ("ply", {"vertex_normal": True}),
        ("ply", {"vertex_normal": True, "encoding": "ascii"}),
    ],
)
def test_what_trimesh_writes(tmp_path: Path, file_type: str, options: dict) -> None:
    mesh = trimesh.creation.annulus(3, 11, 7)
    mesh.apply_transform(trimesh.transformations.euler_matrix(0.3, 1.1, 2.0))
    path = tmp_path / f"mesh.{file_type.partition('_')[0]}"
    mesh.export(path, file_type=file_type, **options)
    (part,) = read_parts(path)
    assert part.name in ("mesh", "solid 1")
    np.testing.assert_allclose(part.triangles, mesh.triangles, atol=2e-6)


@pytest.mark.parametrize("name", CONTENTS)
def test_trimesh_reads_the_same(tmp_path: Path, name: str) -> None:
    path = write(tmp_path / name, CONTENTS[name])
    np.testing.assert_array_equal(read_parts(path)[0].triangles, trimesh.load(path, process=False, maintain_order=True).triangles)


def two_objects() -> str:
    return "o body\n" + obj() + "o screw\n" + obj_points(TETRAHEDRON + 50) + obj_faces(FACES, 5)


def test_several_parts_are_asked_for(tmp_path: Path) -> None:
    for path in (write(tmp_path / "two.obj", two_objects()), write(tmp_path / "two.stl", text_stl(name="body") + text_stl(TRIANGLES + 50, "screw"))):
        with pytest.raises(SeveralObjects, match=r"holds 2 objects \('body', 'screw'\): choose one with --object NAME, or join them with --object all"):
            read_mesh_body(path)
        screw = read_mesh_body(path, "screw")
        assert screw.name == "screw" and screw.low.min() == 50
        both = read_mesh_body(path, "all")
        assert both.name == "two" and len(both.triangles) == 8 and both.high.max() == 60
        with pytest.raises(BadFile, match="holds no object 'neck': choose 'body', 'screw'"):
            read_mesh_body(path, "neck")


def test_the_only_part_is_called_by_its_name_its_file_or_all(tmp_path: Path) -> None:
    path = write(tmp_path / "one.stl", text_stl(name="Body"))
    assert [read_mesh_body(path, name).name for name in (None, "all", "Body")] == ["one", "one", "Body"]
    assert read_mesh_body(write(tmp_path / "plain.obj", obj()), "plain").name == "plain"
    with pytest.raises(BadFile, match="holds no object 'neck': choose 'plain'"):
        read_mesh_body(tmp_path / "plain.obj", "neck")


def test_a_part_that_is_called_all_is_that_part() -> None:
    parts = [MeshPart("all", TRIANGLES[:1]), MeshPart("rest", TRIANGLES[1:])]
    assert len(chosen_part(parts, "all", "a.obj").triangles) == 1


def test_parts_of_one_name_get_numbers() -> None:
    assert distinct(["a", "b", "a", "a (2)", "a", "b"]) == ["a", "b", "a (3)", "a (2)", "a (4)", "b (2)"]
    names = distinct(["a"] * 5000)
    assert len(set(names)) == 5000 and names[-1] == "a (5000)"


def test_a_hundred_parts_are_not_all_listed() -> None:
    with pytest.raises(SeveralObjects, match=r"'p7' and 92 more\)") as caught:
        chosen_part([MeshPart(f"p{n}" if n else "x" * 1000, TRIANGLES) for n in range(100)], None, "a.obj")
    assert len(str(caught.value)) < 400 and len(caught.value.names) == 100


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.txt", b"v 0 0 0", "is not a mesh file: give one of .obj, .ply, .stl"),
        ("a", b"v 0 0 0", "is not a mesh file"),
        ("a.stl", b"", "is empty"),
        ("a.obj", b"", "is empty"),
        ("a.ply", b"", "is empty"),
        ("a.stl", None, "There is no file"),
        ("folder.stl", ..., "is not a file but a folder or a device"),
        ("x" * 300 + ".stl", None, "cannot be read (File name too long)"),
        ("a\0b.stl", None, "There is no file|is not a name"),
    ],
)
def test_files_that_are_not_there_or_none(tmp_path: Path, name: str, content: bytes | None, said: str) -> None:
    if content is ...:
        (tmp_path / name).mkdir()
    elif content is not None:
        write(tmp_path / name, content)
    with pytest.raises(BadFile) as caught:
        read_mesh_body(tmp_path / name)
    assert any(part in str(caught.value) for part in said.split("|")) and "\n" not in str(caught.value)


def test_devices_and_pipes_are_not_opened(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes with names on this system")
    os.mkfifo(tmp_path / "pipe.stl")
    with pytest.raises(BadFile, match="a folder or a device"):
        read_mesh_body(tmp_path / "pipe.stl")


def test_a_mesh_without_area_is_no_body(tmp_path: Path) -> None:
    flat = np.zeros((3, 3, 3)) + np.arange(3)[:, None]
    with pytest.raises(BadBody, match="no face with any area"):
        read_mesh_body(write(tmp_path / "flat.stl", binary_stl(flat)))


BALL = trimesh.creation.icosphere(subdivisions=3, radius=150).triangles


def precise(triangles: np.ndarray, kind: str) -> np.ndarray:
    """Coordinates as different writers leave them."""
    if kind == "%g":
        return np.array([float(f"{v:g}") for v in triangles.ravel()]).reshape(triangles.shape)
    if kind == "shortest single":
        return np.array([float(str(v)) for v in triangles.astype("f4").ravel()]).reshape(triangles.shape)
    return triangles.astype("f4") if kind == "single" else triangles.astype("f4").astype(float) if kind == "single in double" else triangles


@pytest.mark.parametrize(
    ("kind", "shift", "step"),
    [
        # Single precision: 24 bits, so steps of 2^-7 mm from 65.5 m on and of 2^-6 mm from 131.1 m on (IEEE 754).
        ("single", 0, None),
        ("single", 120_000, None),
        ("single", 131_000, 2**-6),
        ("single", 5e6, 0.5),
        ("single in double", 0, None),
        ("single in double", 120_000, None),
        ("single in double", 140_000, 2**-6),
        ("shortest single", 120_000, None),
        ("shortest single", 140_000, 2**-6),
        ("double", 140_000, None),
        ("double", 5e8, None),
        # Six digits: steps of 0.01 below 10 m, of 0.1 above.
        ("%g", 0, None),
        ("%g", 9_000, None),
        ("%g", 12_000, 0.1),
        ("%g", 150_000, 1.0),
    ],
)
def test_coordinates_far_from_the_origin(kind: str, shift: float, step: float | None) -> None:
    found = coarse_step(precise(BALL + [0, shift, 0], kind), 1.0)
    assert found == (None if step is None else pytest.approx(step))
    assert coarse_step(precise(BALL - [shift, 0, 0], kind), 1.0) == found


def test_a_box_of_round_numbers_may_lie_anywhere() -> None:
    assert coarse_step(TRIANGLES + 20_000.0, 1.0) is None


def test_units_count_for_precision() -> None:
    metres = (BALL / 1000 + [0, 100, 0]).astype("f4")
    assert coarse_step(metres, 1000.0) is None  # 100 m: steps of 0.0076 mm
    assert coarse_step(metres + np.float32(50), 1000.0) == pytest.approx(2**-16 * 1000)


def test_a_body_far_away_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match=r"comes? in steps of 0.5 mm: move the body to the origin"):
        read_mesh_body(write(tmp_path / "far.stl", binary_stl(BALL + 5e6)))


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.stl", binary_stl(count=2**32 - 1)),
        ("a.ply", ply_head("binary_little_endian", 10**14).encode() + bytes(1000)),
        ("a.ply", ply_head("binary_little_endian", 4, 10**14).encode() + bytes(1000)),
        ("a.ply", ply_head("binary_little_endian", 4, 1, count_kind="uint").encode() + bytes(48) + b"\xff" * 8),
        ("a.ply", ply_head("ascii", 10**14).encode() + b"0 0 0\n" * 100),
        ("a.ply", ply_head("ascii", 4, 10**14).encode() + b"0 0 0\n" * 100),
        ("a.ply", (ply_head("ascii", 4, 1).encode() + b"0 0 0\n" * 4 + b"999999999 0 1 2\n")),
        ("a.obj", (obj_points() + "f 1 2 999999999999\n").encode()),
    ],
)
def test_counts_that_no_file_could_hold_take_no_memory(tmp_path: Path, name: str, content: bytes) -> None:
    write(tmp_path / name, content)
    tracemalloc.start()
    try:
        with pytest.raises(BadFile):
            read_parts(tmp_path / name)
        assert tracemalloc.get_traced_memory()[1] < 2**20
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("name", CONTENTS)
def test_memory_grows_with_the_file_alone(tmp_path: Path, name: str) -> None:
    """Two million bytes and more: words are split a few megabytes of text at a time, numbers take eight bytes."""
    points = np.random.default_rng(3).random((60_000, 3))
    faces = np.arange(60_000).reshape(-1, 3)
    content = {
        "text.stl": lambda: text_stl(points[faces]),
        "binary.stl": lambda: binary_stl(points[faces]),
        "body.obj": lambda: obj(points, faces),
        "text.ply": lambda: text_ply(points, faces),
        "little.ply": lambda: binary_ply("<", points, faces),
        "big.ply": lambda: binary_ply(">", points, faces),
    }[name]()
    path = write(tmp_path / name, content)
    tracemalloc.start()
    try:
        read_parts(path)
        assert tracemalloc.get_traced_memory()[1] < 6 * path.stat().st_size + 60 * 2**20
    finally:
        tracemalloc.stop()
