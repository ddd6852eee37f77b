"""A body from a file: mesh files by our own readers on any Python, .blend files by Blender, which is asked for only then."""

from __future__ import annotations

from pathlib import Path

from ..finishing.core.errors import BadFile
from ..finishing.job.body import Body
from ..finishing.reading.faults import printable
from ..finishing.reading.mesh_file import READERS, UNITS, read_mesh_body

BLEND = ".blend"
ENDINGS = tuple(sorted((BLEND, *READERS)))
"""Endings of files that a body can be read from."""


def read_file(path: Path, object_name: str | None = None, unit: str | None = None) -> Body:
    """Read a body from a file; a .blend file replaces what Blender has open.

    object_name: which object of several, "all" for all joined. unit: what one unit of a file without units means, mm when None.
    Raises SeveralObjects when there are several objects and none is named, BadFile when the file cannot be read, BadBody when it is no body.
    """
    ending = path.suffix.lower()
    if unit is not None and unit not in UNITS:
        raise BadFile("The unit must be one of {choices}, not '{given}'.", choices=tuple(UNITS), given=unit)
    if ending in READERS:
        return read_mesh_body(path, object_name, unit or "mm")
    if not _is_file(path):
        raise BadFile("There is no file '{file}': check the name.", file=printable(str(path)))
    if ending != BLEND:
        raise BadFile("'{file}' is not a body file: give one of {endings}.", file=printable(path.name), endings=ENDINGS)
    if unit is not None:
        raise BadFile("A .blend file has units of its own: leave --unit out.")
    try:
        import bpy  # noqa: F401
    except ImportError:
        from .blender_process import read_blend_by_blender

        return read_blend_by_blender(path, object_name)
    from .blend_reading import read_blend

    return read_blend(path, object_name)


def _is_file(path: Path) -> bool:
    """Whether there is such a file; a name that no file can have is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
