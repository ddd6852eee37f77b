"""The faces of an OBJ file: lines of corners, each a point number alone or with the numbers of a texture point and a normal behind slashes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .faults import CUT_SHORT, EXPORT_AGAIN, bad_line, shown
from .text import whole_number_fault, whole_numbers, words_before_comment

Owner = tuple[str | None, str]
"""Object (None before the first one is named) and group of a face."""


@dataclass(frozen=True)
class Totals:
    """How many points, texture points and normals there are."""

    points: int
    textures: int
    normals: int

    def more(self, points: int = 0, textures: int = 0, normals: int = 0) -> Totals:
        """The totals after some more."""
        return replace(self, points=self.points + points, textures=self.textures + textures, normals=self.normals + normals)


NOUNS = ("point", "texture point", "normal")


@dataclass(frozen=True)
class Faces:
    """All faces. corners: point numbers from 0, one face after the other. sizes, lines, owners: (f,) corners, line number and number of its
    owner of every face."""

    corners: NDArray[np.int64]
    sizes: NDArray[np.int64]
    lines: NDArray[np.int64]
    owners: NDArray[np.int64]


@dataclass(frozen=True)
class _Greatest:
    """The greatest number of a point, texture point or normal that has been named, and on which line."""

    number: int = 0
    line: int = 0


class FaceLines:
    """The faces that have been read so far. owner_names: what their owners are called, by number. marked: points, from 0, of lines and
    single points."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.count = 0
        self.owner_names: list[Owner] = []
        self._numbers: dict[Owner, int] = {}
        self._corners: list[NDArray[np.int64]] = []
        self._sizes: list[NDArray[np.int64]] = []
        self._lines: list[NDArray[np.int64]] = []
        self._owners: list[NDArray[np.int64]] = []
        self._greatest = [_Greatest(), _Greatest(), _Greatest()]
        self.marked: set[int] = set()

    def take(self, lines: list[tuple[int, bytes]], totals: Totals, owner: Owner) -> None:
        """Read lines of faces that all belong to one owner. totals: what the file has had so far. Raises BadFile."""
        rows = [line.split()[1:] for _number, line in lines]
        columns = _columns([word for row in rows for word in row])
        if columns is None or min(map(len, rows)) < 3:
            rows = [words_before_comment(line)[1:] for _number, line in lines]
            columns = self._slow_columns(lines, rows)
        line_numbers = np.array([number for number, _line in lines])
        sizes = np.fromiter(map(len, rows), np.int64, len(rows))
        line_of_corner = np.repeat(line_numbers, sizes)
        absolute = [self._absolute(column, kind, totals, line_of_corner) for kind, column in enumerate(columns)]
        self._remember_greatest(absolute, line_of_corner)
        assert absolute[0] is not None
        self._corners.append(absolute[0] - 1)
        self._sizes.append(sizes)
        self._lines.append(line_numbers)
        if owner not in self._numbers:
            self._numbers[owner] = len(self.owner_names)
            self.owner_names.append(owner)
        self._owners.append(np.full(len(lines), self._numbers[owner]))
        self.count += len(lines)

    def take_marks(self, line: int, words: bytes, totals: Totals) -> None:
        """Read the rest of an l or p line: nothing is made of it but that its points are used. Raises BadFile."""
        corners = [self._corner(line, word) for word in words_before_comment(words)]
        if not corners:
            raise bad_line(self.file, line, f"a line or point names no point: {EXPORT_AGAIN}")
        lines = np.full(len(corners), line)
        absolute = [self._absolute(column, kind, totals, lines) for kind, column in enumerate(np.array(corners, np.int64).T)]
        self._remember_greatest(absolute, lines)
        assert absolute[0] is not None
        self.marked.update((absolute[0] - 1).tolist())

    def _remember_greatest(self, columns: list[NDArray[np.int64] | None], lines: NDArray[np.int64]) -> None:
        """Keep the greatest numbers, which can only be checked once the whole file is read."""
        for kind, column in enumerate(columns):
            if column is not None and column.max() > self._greatest[kind].number:
                self._greatest[kind] = _Greatest(int(column.max()), int(lines[column.argmax()]))

    def resolved(self, totals: Totals) -> Faces:
        """All faces, once the whole file is read. Raises BadFile when one names a point, texture point or normal that is not there."""
        faces = Faces(np.concatenate(self._corners), np.concatenate(self._sizes), np.concatenate(self._lines), np.concatenate(self._owners))
        for kind, there in enumerate((totals.points, totals.textures, totals.normals)):
            greatest = self._greatest[kind]
            if greatest.number > there:
                raise bad_line(self.file, greatest.line, f"{NOUNS[kind]} {greatest.number} is named, but the file has {there}: {CUT_SHORT}")
        return faces

    def _absolute(self, column: NDArray[np.int64] | None, kind: int, totals: Totals, lines: NDArray[np.int64]) -> NDArray[np.int64] | None:
        """Numbers from 1 on for numbers that may count back. Those that are not given are 0 behind a slash, and stay so."""
        if column is None or bool((column > 0).all()):
            return column
        there = (totals.points, totals.textures, totals.normals)[kind]
        absolute = np.where(column < 0, column + there + 1, column)
        wrong = (column < 0) & (absolute < 1)
        if wrong.any():
            corner = int(wrong.argmax())
            raise bad_line(
                self.file, int(lines[corner]), f"{-column[corner]} {NOUNS[kind]}s are counted back, but there are only {there} so far: {EXPORT_AGAIN}"
            )
        return absolute

    def _slow_columns(self, lines: list[tuple[int, bytes]], rows: list[list[bytes]]) -> list[NDArray[np.int64] | None]:
        """As _columns, for corners of more than one form; 0 stands for what is not given. Raises BadFile."""
        found: list[tuple[int, int, int]] = []
        for (number, _line), row in zip(lines, rows, strict=True):
            if len(row) < 3:
                raise bad_line(self.file, number, f"a face has {len(row)} corners, it must have 3 or more: {EXPORT_AGAIN}")
            found += [self._corner(number, word) for word in row]
        return list(np.array(found, np.int64).T)

    def _corner(self, line: int, word: bytes) -> tuple[int, int, int]:
        """The three numbers of one corner."""
        pieces = word.split(b"/")
        if len(pieces) > 3 or (len(pieces) == 2 and not pieces[1]) or (len(pieces) == 3 and not pieces[2]):
            raise bad_line(self.file, line, f"{shown(word)} is not a corner of a face (point/texture/normal): {EXPORT_AGAIN}")
        values = []
        for place, piece in enumerate([*pieces, b"", b""][:3]):
            if place and not piece:
                values.append(0)
                continue
            if (fault := whole_number_fault(piece)) is not None:
                raise bad_line(self.file, line, fault)
            if int(piece) == 0:
                raise bad_line(self.file, line, f"{NOUNS[place]} 0 is named, but they are counted from 1: {EXPORT_AGAIN}")
            values.append(int(piece))
        return values[0], values[1], values[2]


def _columns(words: list[bytes]) -> list[NDArray[np.int64] | None] | None:
    """Numbers of points, texture points and normals (corners,) of corners that all have one form, None for what that form lacks.

    None alone when the corners differ in form or one of them is none. With blanks round its slashes a corner is one, three, four or five
    words; only corners of that very form keep slashes and numbers at their places throughout.
    """
    joined = b" ".join(words)
    slashes = words[0].count(b"/") if words else 0
    if slashes == 0:
        return _filled([whole_numbers(words), None, None], (0,))
    pieces = joined.replace(b"/", b" / ").split()
    texture = b"//" not in words[0]
    width, places = {(1, True): (3, (0, 2)), (2, False): (4, (0, 3)), (2, True): (5, (0, 2, 4))}.get((slashes, texture), (0, ()))
    if not width or len(pieces) != width * len(words):
        return None
    if any(pieces[place::width].count(b"/") != len(words) for place in range(width) if place not in places):
        return None
    read = [whole_numbers(pieces[place::width]) for place in places]
    kinds = (0, 2) if not texture else tuple(range(len(read)))
    return _filled([read[kinds.index(kind)] if kind in kinds else None for kind in range(3)], kinds)


def _filled(columns: list[NDArray[np.int64] | None], kinds: tuple[int, ...]) -> list[NDArray[np.int64] | None] | None:
    """The columns, or None when one of those that the form has holds no number or a 0, which names nothing."""
    for kind in kinds:
        column = columns[kind]
        if column is None or not bool(column.all()):
            return None
    return columns
