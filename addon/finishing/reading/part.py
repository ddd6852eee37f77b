"""A named piece of a mesh file, and the choice of the one that is planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.errors import BadFile
from .faults import name_list, printable, several_objects

ALL = "all"
"""The name that stands for all parts, joined."""


@dataclass(frozen=True)
class MeshPart:
    """Triangles that belong together. triangles: (n, 3, 3) corner points in units of the file.

    They are single precision when the file holds its coordinates so: then no coordinate is finer than that.
    """

    name: str
    triangles: NDArray[np.floating]


def chosen_part(parts: Sequence[MeshPart], wanted: str | None, file: str) -> MeshPart:
    """The part that was named, or all joined for "all"; without a name the only one.

    Raises SeveralObjects when none was named and there are several, BadFile when there is none of that name.
    """
    names = tuple(part.name for part in parts)
    if wanted in names:
        return parts[names.index(wanted)]
    if wanted == ALL:
        return MeshPart(ALL, np.concatenate([part.triangles for part in parts]))
    if wanted is not None:
        raise BadFile("'{file}' holds no object '{name}': choose {names}.", file=file, name=printable(wanted), names=name_list(names))
    if len(parts) > 1:
        raise several_objects(file, names)
    return parts[0]


def distinct(names: Sequence[str]) -> list[str]:
    """The names, with a number behind each that has come before."""
    taken = set(names)
    times: dict[str, int] = {}
    given = []
    for name in names:
        times[name] = times.get(name, 0) + 1
        candidate = name
        while times[name] > 1 and candidate in taken:
            candidate = f"{name} ({times[name]})"
            times[name] += candidate in taken
        taken.add(candidate)
        given.append(candidate)
    return given
