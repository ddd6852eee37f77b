"""STL, binary and text: triangles with three corner points each, as 3D Systems laid it down for its StereoLithography machines.

Source of both forms: 3D Systems, StereoLithography Interface Specification, 1989 (also printed in M. Burns, Automated Fabrication, 1993).
Binary, little endian: 80 bytes of anything, the number of triangles (uint32), then 50 bytes each: normal and three corners (12 float32) and
an attribute (uint16). Text: solid NAME, facets of one outer loop of three vertices, endsolid; blanks and line ends part the words.
Normals are not used: the order of the corners says what is outside.
"""

from __future__ import annotations

import numpy as np

from ..core.errors import BadFile
from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_A_SURFACE, EXPORT_AGAIN, REPAIR, bad_file
from .part import MeshPart
from .stl_text import read_text_stl
from .text import BYTE_ORDER_MARK, LARGEST, WIDE_MARKS, within_reach

HEAD, RECORD_SIZE = 84, 50
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def read_stl(content: bytes, file: str) -> list[MeshPart]:
    """The solids of an STL file, in its order. file: its name, for complaints. Raises BadFile."""
    return read_text_stl(content, file) if _is_text(content) else [MeshPart("", _binary_triangles(content, file))]


def _is_text(content: bytes) -> bool:
    """Whether the file is to be read as text. "solid" alone does not say it: many binary files begin with it too.

    A binary file is known by its size. One with more bytes than that has a zero among its first 84, at the latest in the count.
    """
    if len(content) >= HEAD and len(content) == HEAD + RECORD_SIZE * _count(content):
        return False
    if content[:2] in WIDE_MARKS:
        return True
    begin = content[:HEAD].removeprefix(BYTE_ORDER_MARK).lstrip()
    return begin[:5].lower() == b"solid" and b"\0" not in content[:HEAD]


def _count(content: bytes) -> int:
    """Number of triangles that a binary file's head names."""
    return int.from_bytes(content[80:84], "little")


def _binary_triangles(content: bytes, file: str) -> np.ndarray:
    """Corner points (n, 3, 3) float32. Bytes after the last triangle are let pass: some writers put colours there. Raises BadFile."""
    size = len(content)
    if size < HEAD:
        raise BadFile(
            "'{file}' is not an STL file: it does not begin with 'solid', and its {size} bytes are too few for a binary one; export the "
            "mesh again as STL.",
            file=file,
            size=size,
        )
    count = _count(content)
    if count == 0 and size == HEAD:
        raise bad_file(file, Message("holds no triangles"), EXPORT_A_SURFACE)
    if count == 0:
        raise bad_file(file, Message("says that it holds no triangles, but {count} bytes follow", count=size - HEAD), EXPORT_AGAIN)
    whole = HEAD + RECORD_SIZE * count
    if size < whole and content[:HEAD].isascii() and b"\0" not in content[:HEAD]:
        raise BadFile("'{file}' is not an STL file: it is text that does not begin with 'solid'; export the mesh again as STL.", file=file)
    if size < whole:
        raise BadFile(
            "'{file}' is not a whole STL file: as a binary one it would hold {count} triangles in {whole} bytes, but it has {size}; {remedy}.",
            file=file,
            count=count,
            whole=whole,
            size=size,
            remedy=CUT_SHORT,
        )
    corners = np.ascontiguousarray(np.frombuffer(content, RECORD, count, HEAD)["corners"])
    if not within_reach(corners):
        sound = (np.abs(corners) <= LARGEST).all(axis=(1, 2))
        first = int(np.flatnonzero(~sound)[0])
        what = Message(
            "has a coordinate that is not a number or larger than any body in triangle {triangle} (byte {byte})",
            triangle=first + 1,
            byte=HEAD + RECORD_SIZE * first,
        )
        raise bad_file(file, what, REPAIR)
    return corners
