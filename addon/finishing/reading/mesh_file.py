"""A body from a mesh file, by readers that take nothing on trust: what they cannot read to the last byte, they refuse with one sentence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from ..core.errors import BadFile
from ..core.message import Message
from ..core.stepping import finished
from ..job.body import Body, make_body
from .faults import bad_file, printable
from .obj import read_obj
from .part import ALL, MeshPart, chosen_part
from .ply import read_ply
from .point_net import net_of_triangles
from .precision import coarse_step
from .stl import read_stl
from .thinning import MOST_TRIANGLES, thinned_body_steps

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""Millimetres in what one unit of a file without units can mean."""

READERS: dict[str, Callable[[bytes, str], list[MeshPart]]] = {".obj": read_obj, ".ply": read_ply, ".stl": read_stl}


def read_parts(path: Path) -> list[MeshPart]:
    """All named parts of an .stl, .obj or .ply file; the only one is called by the file's name unless it has one. Raises BadFile."""
    reader = READERS.get(path.suffix.lower())
    file = printable(path.name)
    if reader is None:
        raise BadFile("'{file}' is not a mesh file: give one of {endings}.", file=file, endings=tuple(READERS))
    try:
        parts = reader(_content(path, file), file)  # in the reader's hands alone, so that it can let go of it
    except MemoryError:
        what = Message("has {count} bytes, more than this machine's memory can work on", count=path.stat().st_size)
        raise bad_file(file, what, Message("export a mesh with fewer faces")) from None
    return [replace(part, name=part.name or printable(path.stem)) for part in parts]


def read_mesh_body(path: Path, object_name: str | None = None, unit: str = "mm") -> Body:
    """The body of a mesh file in mm.

    A mesh of more than MOST_TRIANGLES is thinned. object_name: which part of several, "all" for all joined. unit: what one unit of the file means,
    one of UNITS. Raises SeveralObjects when there are several parts and none is named, BadFile when the file cannot be read, BadBody when the mesh
    is no body.
    """
    file = printable(path.name)
    part = chosen_part(read_parts(path), object_name, file)
    step = coarse_step(part.triangles, UNITS[unit])
    if step is not None:
        what = Message("lies so far from the origin that its coordinates come in steps of {step:.2g} mm", step=step)
        raise bad_file(file, what, Message("move the body to the origin and export it again"))
    name = printable(path.stem) if object_name in (None, ALL) else part.name
    scale = UNITS[unit]
    if len(part.triangles) > MOST_TRIANGLES and np.isfinite(part.triangles).all():  # others are refused below
        net = net_of_triangles(part.triangles, scale)
        del part  # before anything else is made of it
        return finished(thinned_body_steps(name, net))
    return make_body(name, part.triangles if scale == 1 else part.triangles.astype(np.float64) * scale)


def _content(path: Path, file: str) -> bytes:
    """The content of a file that is not empty. Raises BadFile."""
    content = read_bytes(path)
    if not content:
        raise bad_file(file, Message("is empty"), Message("copy or export it again"))
    return content


def read_bytes(path: Path) -> bytes:
    """The file's content. Raises BadFile when there is no such file or it cannot be read."""
    file = printable(str(path))
    try:
        endless = path.exists() and not path.is_file()  # a pipe or a device may have no end
        content = b"" if endless else path.read_bytes()
    except FileNotFoundError:
        raise BadFile("There is no file '{file}': check the name.", file=file) from None
    except OSError as error:
        raise bad_file(file, Message("cannot be read ({error})", error=error.strerror), Message("check the name and the rights")) from None
    except ValueError:  # a zero byte within the name
        raise bad_file(file, Message("is not a name that a file can have"), Message("check the name")) from None
    if endless:
        raise bad_file(file, Message("is not a file but a folder or a device"), Message("give a file"))
    return content
