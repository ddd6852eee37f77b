"""Mesh files as bytes, well formed and otherwise, and the words of which nobody should make a coordinate."""

from __future__ import annotations

import struct

import numpy as np

TETRAHEDRON = np.array([[0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10]], float)
FACES = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
TRIANGLES = TETRAHEDRON[FACES]
"""Four faces, anticlockwise from outside; volume 1000 / 6."""

NO_NUMBERS = (
    ("14,05", "comma"),
    ("-3,5", "comma"),
    ("1,5e3", "comma"),
    ("14.05mm", "something behind it"),
    ("14.05m", "something behind it"),
    ('14"', "something behind it"),
    ("1_000", "something behind it"),
    ("0x1A", "something behind it"),
    ("1e", "something behind it"),
    ("1e+", "something behind it"),
    ("1e5.5", "something behind it"),
    ("1..2", "something behind it"),
    ("1.2.3", "something behind it"),
    ("1d5", "something behind it"),
    ("5f", "something behind it"),
    ("1/2", "something behind it"),
    ("1.000.000", "something behind it"),
    ("1,000.5", "something behind it"),
    ("1'000", "something behind it"),
    ("7-8", "something behind it"),
    ("1\x07", "something behind it"),
    ("abc", "not a number"),
    ("e5", "not a number"),
    ("--1", "not a number"),
    ("+-1", "not a number"),
    (".", "not a number"),
    ("+", "not a number"),
    ("-", "not a number"),
    ("-.e1", "not a number"),
    ("true", "not a number"),
    ("null", "not a number"),
    ('"1"', "not a number"),
    ("(1)", "not a number"),
    ("\u00bd", "not a number"),
    ("\u0663", "not a number"),
    ("\uff11", "not a number"),
    ("\u22121", "not a number"),
    ("\ud7ff", "not a number"),
    ("#", "not a number"),
    ("\u20ac5", "not a number"),
    ("nan", "not a number"),
    ("NaN", "not a number"),
    ("-nan", "not a number"),
    ("+NAN", "not a number"),
    ("nan(ind)", "not a number"),
    ("inf", "not a number"),
    ("-Inf", "not a number"),
    ("Infinity", "not a number"),
    ("1.#QNAN", "not a number"),
    ("-1.#IND", "not a number"),
    ("1.#INF", "not a number"),
    ("1.#J", "not a number"),
    ("1e999", "larger than any body"),
    ("-1e400", "larger than any body"),
    ("9" * 400, "larger than any body"),
    ("1e10", "larger than any body"),
    ("1e99999999999999999999", "larger than any body"),
)
"""Words that are not a coordinate, and what the sentence says of each."""

ODD_NUMBERS = (
    ("1", 1.0),
    ("+1", 1.0),
    ("-1", -1.0),
    ("1.", 1.0),
    (".5", 0.5),
    ("-.5", -0.5),
    ("1e1", 10.0),
    ("1E+1", 10.0),
    ("1e-1", 0.1),
    ("00012", 12.0),
    ("1.50000000000000000000000000001", 1.5),
    ("-0", 0.0),
    ("-0.0e0", 0.0),
    ("1e-400", 0.0),
    ("0e999", 0.0),
    ("0.1000000000000000055511151231257827", 0.1),
)
"""Words that are a coordinate, however odd they look, and its value by the rule of IEEE 754."""


def binary_stl(triangles: np.ndarray = TRIANGLES, head: bytes = b"", count: int | None = None, behind: bytes = b"") -> bytes:
    """A binary STL with normals of 0."""
    rows = b"".join(struct.pack("<12fH", 0, 0, 0, *np.ravel(t), 0) for t in triangles)
    return head.ljust(80, b"\0") + struct.pack("<I", len(triangles) if count is None else count) + rows + behind


def facet(triangle: np.ndarray, normal: str = "0 0 1") -> str:
    """One facet of a text STL, seven lines."""
    corners = "".join("      vertex {!r} {!r} {!r}\n".format(*map(float, corner)) for corner in triangle)
    return f"  facet normal {normal}\n    outer loop\n{corners}    endloop\n  endfacet\n"


def text_stl(triangles: np.ndarray = TRIANGLES, name: str = "body") -> str:
    """One solid of a text STL."""
    return f"solid {name}\n" + "".join(facet(triangle) for triangle in triangles) + f"endsolid {name}\n"


def obj_points(points: np.ndarray = TETRAHEDRON) -> str:
    """The v lines of an OBJ."""
    return "".join("v {!r} {!r} {!r}\n".format(*map(float, point)) for point in points)


def obj_faces(faces: np.ndarray = FACES, first: int = 1) -> str:
    """The f lines of an OBJ."""
    return "".join("f " + " ".join(str(corner + first) for corner in face) + "\n" for face in faces)


def obj(points: np.ndarray = TETRAHEDRON, faces: np.ndarray = FACES) -> str:
    """An OBJ of one body without a name."""
    return obj_points(points) + obj_faces(faces)


def ply_head(
    order: str = "ascii", points: object = 4, faces: object = 4, kind: str = "float", count_kind: str = "uchar", index_kind: str = "int"
) -> str:
    """The head of a PLY of points and faces."""
    return (
        f"ply\nformat {order} 1.0\nelement vertex {points}\nproperty {kind} x\nproperty {kind} y\nproperty {kind} z\n"
        f"element face {faces}\nproperty list {count_kind} {index_kind} vertex_indices\nend_header\n"
    )


def text_ply(points: np.ndarray = TETRAHEDRON, faces: np.ndarray | list[list[int]] = FACES) -> str:
    """A text PLY."""
    rows = "".join("{!r} {!r} {!r}\n".format(*map(float, point)) for point in points)
    return ply_head(points=len(points), faces=len(faces)) + rows + "".join(f"{len(face)} {' '.join(map(str, face))}\n" for face in faces)


def binary_ply(order: str = "<", points: np.ndarray = TETRAHEDRON, faces: np.ndarray | list[list[int]] = FACES) -> bytes:
    """A binary PLY of float32 points and lists of int32 with a uchar in front."""
    head = ply_head("binary_little_endian" if order == "<" else "binary_big_endian", len(points), len(faces))
    rows = points.astype(order + "f4").tobytes()
    return head.encode() + rows + b"".join(bytes([len(face)]) + np.array(face, order + "i4").tobytes() for face in faces)
