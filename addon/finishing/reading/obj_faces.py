"""The faces of an OBJ file: lines of corners, each a point number alone or with the numbers of a texture point and a normal behind slashes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_AGAIN, bad_line, shown, too_few_corners
from .text import whole_number_fault, whole_numbers, words_before_comment

Owner = tuple[str | None, str]
"""Object (None before the first one is named) and group of a face."""

Line = tuple[int, bytes]
"""A line with its number."""


class Counts:
    """How many points, texture points and normals there are in the file, and how many there were at each line of the run being read."""

    def __init__(self) -> None:
        self._before = np.zeros(3, np.int64)
        self._lines: tuple[NDArray[np.int64], ...] = tuple(np.zeros(0, np.int64) for _kind in range(3))

    def begin_run(self, points: list[int], textures: list[int], normals: list[int]) -> None:
        """Go on to the next run: the numbers of its lines that hold a point, a texture point, a normal, each in rising order."""
        self._before = self._before + np.array([len(lines) for lines in self._lines], np.int64)
        self._lines = tuple(np.array(lines, np.int64) for lines in (points, textures, normals))

    def at(self, kind: int, lines: NDArray[np.int64]) -> NDArray[np.int64]:
        """How many of a kind (0 points, 1 texture points, 2 normals) the file has had before each of some lines of the run."""
        return self._before[kind] + np.searchsorted(self._lines[kind], lines)

    def totals(self) -> list[int]:
        """How many of each kind there are so far."""
        return [int(before) + len(lines) for before, lines in zip(self._before, self._lines, strict=True)]


NOUNS = (Message("point"), Message("texture point"), Message("normal"))
PLURALS = (Message("points"), Message("texture points"), Message("normals"))


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

    def take(self, lines: list[Line], counts: Counts, owner: Owner) -> None:
        """Read lines of faces that all belong to one owner. counts: of what faces name. Raises BadFile."""
        absolute, sizes, line_of_corner = self._read(lines, counts, least=3)
        line_numbers = np.array([number for number, _line in lines])
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

    def take_marks(self, lines: list[Line], counts: Counts) -> None:
        """Read l and p lines: nothing is made of them but that their points are used. Raises BadFile."""
        absolute, _sizes, line_of_corner = self._read(lines, counts, least=1)
        self._remember_greatest(absolute, line_of_corner)
        assert absolute[0] is not None
        self.marked.update((absolute[0] - 1).tolist())

    def _read(self, lines: list[Line], counts: Counts, least: int) -> tuple[list[NDArray[np.int64] | None], NDArray[np.int64], NDArray[np.int64]]:
        """The numbers, from 1 on, of points, texture points and normals, how many each line has, and the line of each. Raises BadFile."""
        rows = [line.split()[1:] for _number, line in lines]
        columns = _columns([word for row in rows for word in row])
        if columns is None or min(map(len, rows)) < least:
            rows = [words_before_comment(line)[1:] for _number, line in lines]
            columns = self._slow_columns(lines, rows, least)
        sizes = np.fromiter(map(len, rows), np.int64, len(rows))
        line_of_corner = np.repeat(np.array([number for number, _line in lines]), sizes)
        return [self._absolute(column, kind, counts, line_of_corner) for kind, column in enumerate(columns)], sizes, line_of_corner

    def _remember_greatest(self, columns: list[NDArray[np.int64] | None], lines: NDArray[np.int64]) -> None:
        """Keep the greatest numbers, which can only be checked once the whole file is read."""
        for kind, column in enumerate(columns):
            if column is not None and column.max() > self._greatest[kind].number:
                self._greatest[kind] = _Greatest(int(column.max()), int(lines[column.argmax()]))

    def resolved(self, totals: list[int]) -> Faces:
        """All faces, once the whole file is read. Raises BadFile when one names a point, texture point or normal that is not there."""
        corners, sizes, lines, owners = map(_joined, (self._corners, self._sizes, self._lines, self._owners))
        faces = Faces(corners, sizes=sizes, lines=lines, owners=owners)
        for kind, there in enumerate(totals):
            greatest = self._greatest[kind]
            if greatest.number > there:
                what = Message("{kind} {number} is named, but the file has {count}", kind=NOUNS[kind], number=greatest.number, count=there)
                raise bad_line(self.file, greatest.line, what, CUT_SHORT)
        return faces

    def _absolute(self, column: NDArray[np.int64] | None, kind: int, counts: Counts, lines: NDArray[np.int64]) -> NDArray[np.int64] | None:
        """Numbers from 1 on for numbers that may count back. Those that are not given are 0 behind a slash, and stay so."""
        if column is None or bool((column > 0).all()):
            return column
        there = counts.at(kind, lines)
        absolute = np.where(column < 0, column + there + 1, column)
        wrong = (column < 0) & (absolute < 1)
        if wrong.any():
            corner = int(wrong.argmax())
            what = Message(
                "{number} {kind} are counted back, but there are only {count} so far",
                number=int(-column[corner]),
                kind=PLURALS[kind],
                count=int(there[corner]),
            )
            raise bad_line(self.file, int(lines[corner]), what, EXPORT_AGAIN)
        return absolute

    def _slow_columns(self, lines: list[Line], rows: list[list[bytes]], least: int) -> list[NDArray[np.int64] | None]:
        """As _columns, for corners of more than one form; 0 stands for what is not given. Raises BadFile."""
        found: list[tuple[int, int, int]] = []
        for (number, _line), row in zip(lines, rows, strict=True):
            if len(row) < least:
                what = too_few_corners(len(row)) if least > 1 else Message("a line or point names no point")
                raise bad_line(self.file, number, what, EXPORT_AGAIN)
            found += [self._corner(number, word) for word in row]
        return list(np.array(found, np.int64).T)

    def _corner(self, line: int, word: bytes) -> tuple[int, int, int]:
        """The three numbers of one corner."""
        pieces = word.split(b"/")
        if len(pieces) > 3 or (len(pieces) == 2 and not pieces[1]) or (len(pieces) == 3 and not pieces[2]):
            raise bad_line(self.file, line, Message("'{word}' is not a corner of a face (point/texture/normal)", word=shown(word)), EXPORT_AGAIN)
        values = []
        for place, piece in enumerate([*pieces, b"", b""][:3]):
            if place and not piece:
                values.append(0)
                continue
            if (fault := whole_number_fault(piece)) is not None:
                raise bad_line(self.file, line, *fault)
            if int(piece) == 0:
                raise bad_line(self.file, line, Message("{kind} 0 is named, but they are counted from 1", kind=NOUNS[place]), EXPORT_AGAIN)
            values.append(int(piece))
        return values[0], values[1], values[2]


def _joined(pieces: list[NDArray[np.int64]]) -> NDArray[np.int64]:
    """The pieces in one array; the list is empty then, since both together would take the memory twice."""
    out = np.concatenate(pieces)
    pieces.clear()
    return out


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
