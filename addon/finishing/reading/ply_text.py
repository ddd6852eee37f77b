"""The data of a text PLY: one line for every row of an element, read in runs of lines."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_AGAIN, bad_line, shown
from .ply_header import Element, Header
from .text import loose_numbers, number_fault, plain_text, whole_number_fault, whole_numbers, within_reach

RUN_LINES, RUN_BYTES = 1 << 16, 1 << 22
"""Lines and text that are split into words at a time: words take about ten times the memory of their text."""

Row = list[bytes]


class TextData:
    """Reads elements in the order of the head. Blank lines count for nothing."""

    def __init__(self, content: bytes, header: Header, file: str) -> None:
        self._text = plain_text(content[header.begin :], file)
        self._place = 0
        self._line = header.line
        self._file = file

    def points(self, element: Element, columns: list[int]) -> NDArray[np.float64]:
        """The properties at these positions, (count, 3). Raises BadFile."""
        runs = []
        for lines, rows in self._runs(element):
            table = _table(element, rows)
            values = None if table is None else table[:, columns]
            if values is None or not within_reach(values):
                values = np.array([self._point(element, line, row, columns) for line, row in zip(lines, rows, strict=True)])
            runs.append(values)
        return np.concatenate(runs)

    def lists(self, element: Element, column: int) -> tuple[NDArray[np.int64], NDArray[np.int64], Callable[[int], Message]]:
        """The lists at this position one after the other, the length of each, and where a row stands. Raises BadFile."""
        items, sizes, places = [], [], []
        for lines, rows in self._runs(element):
            found = _only_lists(rows) if len(element.properties) == 1 else None
            if found is None:
                own = [self._whole_list(element, line, row, column) for line, row in zip(lines, rows, strict=True)]
                found = np.array([item for each in own for item in each], np.int64), np.array([len(each) for each in own], np.int64)
            items.append(found[0])
            sizes.append(found[1])
            places.append(np.array(lines))
        line = np.concatenate(places)
        return np.concatenate(items), np.concatenate(sizes), lambda row: Message("line {line}", line=int(line[row]))

    def skip(self, element: Element) -> None:
        """Pass over an element, every word of it checked. Raises BadFile."""
        for lines, rows in self._runs(element):
            if _table(element, rows) is None:
                for line, row in zip(lines, rows, strict=True):
                    self._values(element, line, row)

    def check_end(self) -> None:
        """Raises BadFile when anything but blank lines is left."""
        lines, rows = self._next_lines(1)
        if rows:
            what = Message("'{word}' stands behind the last row that the head counts", word=shown(rows[0][0]))
            raise bad_line(self._file, lines[0], what, EXPORT_AGAIN)

    def _runs(self, element: Element) -> Iterator[tuple[list[int], list[Row]]]:
        """The element's rows in runs: the number and the words of each line. Raises BadFile when there are too few."""
        wanted = element.count
        name = shown(element.name.encode())
        # A row takes a digit and a blank or line end for each property at least.
        if wanted * 2 * len(element.properties) > len(self._text) - self._place + 1:
            what = Message("the head counts {count} rows of '{element}', more than the file has room for", count=wanted, element=name)
            raise bad_line(self._file, element.line, what, CUT_SHORT)
        while wanted:
            lines, rows = self._next_lines(min(wanted, RUN_LINES))
            if not rows:
                what = Message("the file ends where {count} more rows of '{element}' should follow", count=wanted, element=name)
                raise bad_line(self._file, self._line, what, CUT_SHORT)
            wanted -= len(rows)
            yield lines, rows

    def _next_lines(self, most: int) -> tuple[list[int], list[Row]]:
        """Up to so many lines that are not blank, RUN_BYTES of text at most: their numbers and words. Raises BadFile for a longer line."""
        lines: list[int] = []
        rows: list[Row] = []
        begin = self._place
        while len(rows) < most and self._place < len(self._text) and (not rows or self._place - begin < RUN_BYTES):
            end = self._text.find(b"\n", self._place)
            end = len(self._text) if end < 0 else end
            if end - self._place > RUN_BYTES:
                raise bad_line(self._file, self._line, Message("is longer than {count} bytes", count=RUN_BYTES), EXPORT_AGAIN)
            words = self._text[self._place : end].split()
            if words:
                lines.append(self._line)
                rows.append(words)
            self._place = end + 1
            self._line += 1
        return lines, rows

    def _point(self, element: Element, line: int, row: Row, columns: list[int]) -> list[float]:
        """The coordinates of one row. Raises BadFile."""
        values = self._values(element, line, row)
        words = [values[column][0] for column in columns]
        for word in words:
            if (fault := number_fault(word)) is not None:
                raise bad_line(self._file, line, *fault)
        return [float(word) for word in words]

    def _whole_list(self, element: Element, line: int, row: Row, column: int) -> list[int]:
        """The whole numbers of one row's list. Raises BadFile."""
        words = self._values(element, line, row)[column]
        for word in words:
            if (fault := whole_number_fault(word)) is not None:
                raise bad_line(self._file, line, *fault)
        return [int(word) for word in words]

    def _values(self, element: Element, line: int, row: Row) -> list[Row]:
        """The words of each property of one row. Raises BadFile when they are too few, too many, or not numbers."""
        values: list[Row] = []
        place = 0
        for own in element.properties:
            count = 1
            if own.count_kind is not None:
                fault = whole_number_fault(row[place]) if place < len(row) else None
                if fault is not None:
                    raise bad_line(self._file, line, *fault)
                count = int(row[place]) if place < len(row) else 0
                place += 1
            if count < 0 or place + count > len(row):
                name = shown(own.name.encode())
                what = Message("the row has {count} words, too few for its '{property}'", count=len(row), property=name)
                raise bad_line(self._file, line, what, CUT_SHORT)
            values.append(row[place : place + count])
            place += count
        if place < len(row):
            what = Message("the row has {count} words where the head asks for {wanted}", count=len(row), wanted=place)
            raise bad_line(self._file, line, what, EXPORT_AGAIN)
        for word in row:
            if (fault := number_fault(word, loose=True)) is not None:
                raise bad_line(self._file, line, *fault)
        return values


def _table(element: Element, rows: list[Row]) -> NDArray[np.float64] | None:
    """The numbers (rows, properties) of rows without lists; None when there are lists, or a row is wrong."""
    width = len(element.properties)
    if any(own.count_kind is not None for own in element.properties) or any(len(row) != width for row in rows):
        return None
    values = loose_numbers([word for row in rows for word in row])
    return None if values is None else values.reshape(-1, width)


def _only_lists(rows: list[Row]) -> tuple[NDArray[np.int64], NDArray[np.int64]] | None:
    """Items and lengths of rows that are one list of whole numbers each; None when a row is not."""
    sizes = np.fromiter(map(len, rows), np.int64, len(rows)) - 1
    counts = whole_numbers([row[0] for row in rows])
    if counts is None or not np.array_equal(counts, sizes):
        return None
    items = whole_numbers([word for row in rows for word in row[1:]])
    return None if items is None else (items, sizes)
