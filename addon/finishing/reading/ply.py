"""PLY, text and binary of both byte orders: points and faces, with any other elements and properties passed over. See ply_header.py."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_A_SURFACE, EXPORT_AGAIN, bad_file, bad_line, bad_place, shown, too_few_corners
from .part import MeshPart
from .ply_binary import BinaryData
from .ply_header import Header, read_header
from .ply_text import TextData
from .polygons import triangulated

POINTS, FACES, STRIPS = "vertex", "face", "tristrips"
AXES = ("x", "y", "z")
CORNERS = ("vertex_indices", "vertex_index")


@dataclass(frozen=True)
class FaceRows:
    """The faces as the file has them. corners: point numbers, one face after the other; sizes: (f,) corners of each face.

    place: where a face stands in the file ("line 12", "face 3 (byte 456)").
    """

    corners: NDArray[np.int64]
    sizes: NDArray[np.int64]
    place: Callable[[int], Message]


def read_ply(content: bytes, file: str) -> list[MeshPart]:
    """The one mesh of a PLY file. Raises BadFile."""
    header = read_header(content, file)
    _check(header, file)
    data = TextData(content, header, file) if not header.order else BinaryData(content, header, file)
    points: NDArray[np.floating] | None = None
    faces: FaceRows | None = None
    for element in header.elements:
        if element.name == POINTS:
            points = data.points(element, [element.position(axis) or 0 for axis in AXES])
        elif element.name == FACES:
            faces = FaceRows(*data.lists(element, element.position(*CORNERS) or 0))
        else:
            data.skip(element)
    data.check_end()
    assert points is not None and faces is not None  # _check has seen to it
    return [MeshPart("", _triangles(points, faces, file))]


def _check(header: Header, file: str) -> None:
    """Refuse what has no points, no faces, or not the properties that make a mesh of them."""
    elements = {element.name: element for element in header.elements}
    for element in header.elements:
        if element.count and not element.properties:
            what = Message("the element '{element}' has no properties", element=shown(element.name.encode()))
            raise bad_line(file, element.line, what, EXPORT_AGAIN)
    if POINTS not in elements or not elements[POINTS].count:
        raise bad_file(file, Message("holds no points"), EXPORT_A_SURFACE)
    if FACES not in elements or not elements[FACES].count:
        if STRIPS in elements:
            raise bad_file(file, Message("holds strips of triangles in place of faces"), Message("export the mesh as single faces"))
        raise bad_file(file, Message("holds {count} points but no faces", count=elements[POINTS].count), EXPORT_A_SURFACE)
    points, faces = elements[POINTS], elements[FACES]
    for axis in AXES:
        place = points.position(axis)
        if place is None or points.properties[place].count_kind is not None:
            raise bad_line(file, points.line, Message("the points have no coordinate '{axis}'", axis=axis), EXPORT_AGAIN)
    place = faces.position(*CORNERS)
    if place is None or faces.properties[place].count_kind is None:
        raise bad_line(file, faces.line, Message("the faces have no list '{property}'", property=CORNERS[0]), EXPORT_AGAIN)
    if faces.properties[place].kind.startswith("f"):
        raise bad_line(file, faces.line, Message("the corners of the faces are not whole numbers"), EXPORT_AGAIN)


def _triangles(points: NDArray[np.floating], faces: FaceRows, file: str) -> NDArray[np.floating]:
    """Corner points (n, 3, 3) of all faces. Raises BadFile for a face with too few corners or with points that are not there."""

    def refusal(face: int, what: Message, remedy: Message) -> Exception:
        return bad_place(file, faces.place(face), what, remedy)

    if int(faces.sizes.min()) < 3:
        face = int((faces.sizes < 3).argmax())
        raise refusal(face, too_few_corners(int(faces.sizes[face])), EXPORT_AGAIN)
    wrong = (faces.corners < 0) | (faces.corners >= len(points))
    if wrong.any():
        corner = int(wrong.argmax())
        face = int(np.searchsorted(np.cumsum(faces.sizes), corner, side="right"))
        what = Message("a face names point {point}, but they are numbered from 0 to {last}", point=int(faces.corners[corner]), last=len(points) - 1)
        raise refusal(face, what, CUT_SHORT)
    return points[triangulated(points, faces.corners, faces.sizes, refusal)[0]]
