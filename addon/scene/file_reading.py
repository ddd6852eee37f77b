"""A body from a file: mesh files by our own readers on any Python, .blend files by Blender, which is asked for only then."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

from ..finishing.core.errors import BadFile
from ..finishing.core.message import Message
from ..finishing.job.apart import without_strays
from ..finishing.job.body import Body
from ..finishing.reading.faults import printable
from ..finishing.reading.mesh_file import READERS, UNITS, read_mesh_body

BLEND = ".blend"
ENDINGS = tuple(sorted((BLEND, *READERS)))
"""Endings of files that a body can be read from."""


@dataclass(frozen=True)
class FileBody:
    """A body as a file holds it. millimetres: what one unit of the file counts as. unit_guessed: neither the file nor the user has said so."""

    file: Path
    body: Body
    millimetres: float
    unit_guessed: bool

    @property
    def words(self) -> Message:
        """What one unit counts as, and who says so."""
        told = {"file": printable(self.file.name), "millimetres": round(self.millimetres, 6)}
        if self.file.suffix.lower() == BLEND:
            return Message("One unit of '{file}' counts as {millimetres:g} mm, as its scene says.", **told)
        if self.unit_guessed:
            return Message("One unit of '{file}' counts as {millimetres:g} mm: the file names no unit, and no --unit was given.", **told)
        return Message("One unit of '{file}' counts as {millimetres:g} mm, as --unit says.", **told)


def read_file(path: Path, object_name: str | None = None, unit: str | None = None) -> Body:
    """The body of `read_file_with_unit` alone."""
    return read_file_with_unit(path, object_name, unit).body


def read_file_with_unit(path: Path, object_name: str | None = None, unit: str | None = None) -> FileBody:
    """Read a body from a file; a .blend file replaces what Blender has open.

    object_name: which object of several, "all" for all joined. unit: what one unit of a file without units means, mm when None.
    Raises SeveralObjects when there are several objects and none is named, BadFile when the file cannot be read, BadBody when it is no body.
    """
    ending = path.suffix.lower()
    if unit is not None and unit not in UNITS:
        raise BadFile("The unit must be one of {choices}, not '{given}'.", choices=tuple(UNITS), given=unit)
    if ending in READERS:
        body = read_mesh_body(path, object_name, unit or "mm")
        return FileBody(path, without_strays(body), millimetres=UNITS[unit or "mm"], unit_guessed=unit is None)
    if not is_file(path):
        raise BadFile("There is no file '{file}': check the name.", file=printable(str(path)))
    if ending != BLEND:
        raise BadFile("'{file}' is not a body file: give one of {endings}.", file=printable(path.name), endings=ENDINGS)
    if unit is not None:
        raise BadFile("A .blend file has units of its own: leave --unit out.")
    body, millimetres = _read_blend_file(path, object_name)
    return FileBody(path, without_strays(body), millimetres, unit_guessed=False)


def _read_blend_file(path: Path, object_name: str | None) -> tuple[Body, float]:
    """The body of a .blend file, and millimetres for one unit of its scene: by this Blender where one runs, else by one in a process of its own."""
    if sys.modules.get("bpy") is None:
        from .blender_process import read_blend_by_blender

        return read_blend_by_blender(path, object_name)
    from .blend_reading import read_blend, scene_unit

    return read_blend(path, object_name), scene_unit()


def is_file(path: Path) -> bool:
    """Whether there is such a file; a name that no file can have is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
