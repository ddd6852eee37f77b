"""Whether a mesh file holds coordinates that are no numbers: Blender's importers read those as 0 without a word."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

NO_NUMBER = re.compile(rb"(?i)[\s][+-]?(nan|inf|infinity)\b")
PLY_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4", "double": "f8",
    "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4", "float32": "f4", "float64": "f8",
}  # fmt: skip


def holds_no_numbers(path: Path) -> bool:
    """Whether some coordinate in a .stl, .obj or .ply file is not a finite number."""
    content = path.read_bytes()
    ending = path.suffix.lower()
    if ending == ".stl":
        return _stl(content)
    if ending == ".ply":
        return _ply(content)
    return any(NO_NUMBER.search(line) is not None for line in re.findall(rb"(?m)^v[ \t].*$", content))


def _stl(content: bytes) -> bool:
    """Binary files are told by their length: 84 bytes and 50 for every triangle."""
    count = int.from_bytes(content[80:84], "little") if len(content) >= 84 else -1
    if len(content) != 84 + 50 * count:
        return any(NO_NUMBER.search(line) is not None for line in re.findall(rb"(?mi)^\s*vertex\s.*$", content))
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", 9), ("attribute", "<u2")])
    return not bool(np.isfinite(np.frombuffer(content, record, count, 84)["corners"]).all())


def _ply(content: bytes) -> bool:
    """The first three properties of the vertices; vertices come first in every file that our own or Blender's writer makes."""
    head, mark, body = content.partition(b"end_header")
    lines = [line.split() for line in head.decode("ascii", "replace").splitlines()]
    elements = [words for words in lines if words[:1] == ["element"]]
    if not mark or not elements or elements[0][1] != "vertex":
        return False
    body = body[body.find(b"\n") + 1 :]
    count = int(elements[0][2])
    form = next((words[1] for words in lines if words[:1] == ["format"]), "ascii")
    if form == "ascii":
        return any(NO_NUMBER.search(b" " + line) is not None for line in body.splitlines()[:count])
    first = lines.index(elements[0]) + 1
    kinds = []
    for words in lines[first:]:
        if words[:1] != ["property"]:
            break
        if words[1] not in PLY_TYPES:
            return False
        kinds.append((words[2], ("<" if form.endswith("little_endian") else ">") + PLY_TYPES[words[1]]))
    record = np.dtype(kinds)
    if len(body) < count * record.itemsize:
        return False
    values = np.frombuffer(body, record, count)
    return any(not bool(np.isfinite(values[axis]).all()) for axis in ("x", "y", "z") if axis in (record.names or ()))
