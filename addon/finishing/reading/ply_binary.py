"""The data of a binary PLY: rows of numbers without anything between them, each as long as its own lists."""

from __future__ import annotations

import struct
from array import array
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from ..core.ragged import run_places
from .faults import CUT_SHORT, EXPORT_AGAIN, REPAIR, bad_file, bad_line, bad_place, shown
from .ply_header import Element, Header, Property
from .text import LARGEST, within_reach

LETTERS = {"i1": "b", "u1": "B", "i2": "h", "u2": "H", "i4": "i", "u4": "I", "f4": "f", "f8": "d"}
"""numpy's names of the types to those of the module struct."""


RUN_ROWS = 1 << 20
"""Rows of different lengths that are looked at in one go, which bounds the memory for what is only passed over."""


def _size(kind: str) -> int:
    return int(kind[1:])


def _row_place(element: Element, row: int, byte: int) -> Message:
    """Where a row stands in the file."""
    return Message("{element} {row} (byte {byte})", element=shown(element.name.encode()), row=row, byte=byte)


@dataclass(frozen=True)
class _Even:
    """One property of rows that are all alike. begin: byte of its first item; length: its items in each row; step: bytes from row to row."""

    begin: int
    length: int
    count: int
    step: int

    def begin_of(self, row: int) -> int:
        """Byte of a row's first item."""
        return self.begin + row * self.step


@dataclass(frozen=True)
class _Uneven:
    """One property of rows of different lengths. begins: (rows,) byte of its first item; lengths: (rows,) its items."""

    begins: NDArray[np.int64]
    lengths: NDArray[np.int64]

    def begin_of(self, row: int) -> int:
        """Byte of a row's first item."""
        return int(self.begins[row])


class BinaryData:
    """Reads elements in the order of the head."""

    def __init__(self, content: bytes, header: Header, file: str) -> None:
        self._content = content
        self._order = header.order
        self._place = header.begin
        self._file = file

    def points(self, element: Element, columns: list[int]) -> NDArray[np.floating]:
        """The properties at these positions, (count, 3): single precision when all are so, else double. Raises BadFile."""
        kinds = {element.properties[column].kind for column in columns}
        found = self._columns(element, columns)  # refuses a count that the file has no room for, before memory is asked for
        values: NDArray[np.floating] = np.empty((element.count, len(columns)), np.float32 if kinds == {"f4"} else np.float64)
        for number, column in enumerate(columns):
            values[:, number] = self._items(found[number], element.properties[column].kind)
        if not within_reach(values):
            row = int(np.flatnonzero(~(np.abs(values) <= LARGEST).all(axis=1))[0])
            raise bad_place(
                self._file,
                Message("point {point} (byte {byte})", point=row, byte=found[0].begin_of(row)),
                Message("a coordinate is not a number or larger than any body"),
                REPAIR,
            )
        return values

    def lists(self, element: Element, column: int) -> tuple[NDArray[np.int64], NDArray[np.int64], Callable[[int], Message]]:
        """The lists at this position one after the other, the length of each, and where a row stands. Raises BadFile."""
        found = self._columns(element, [column])[0]
        items = self._items(found, element.properties[column].kind).astype(np.int64)
        sizes = found.lengths if isinstance(found, _Uneven) else np.full(element.count, found.length)
        return items, sizes, lambda row: Message("face {face} (byte {byte})", face=row, byte=found.begin_of(row))

    def skip(self, element: Element) -> None:
        """Pass over an element. Raises BadFile when it is not there in full."""
        self._columns(element, [])

    def check_end(self) -> None:
        """Raises BadFile when more than a line end is left."""
        rest = len(self._content) - self._place
        if rest > 2 or self._content[self._place :].strip(b"\r\n"):
            raise bad_file(self._file, Message("goes on for {count} bytes behind the last row that its head counts", count=rest), EXPORT_AGAIN)

    def _columns(self, element: Element, wanted: list[int]) -> list[_Even] | list[_Uneven]:
        """Where the wanted properties of each row lie; moves on behind the element. Raises BadFile when the file is too short for it."""
        least = sum(_size(own.count_kind or own.kind) for own in element.properties)
        there = len(self._content) - self._place
        if element.count * least > there:
            what = Message(
                "the head counts {count} rows of '{element}', which take {least} bytes or more, but the file has {there} left for them",
                count=element.count,
                element=shown(element.name.encode()),
                least=element.count * least,
                there=there,
            )
            raise bad_line(self._file, element.line, what, CUT_SHORT)
        if not element.count:
            return [_Even(self._place, 0, 0, 0) for _column in wanted]
        offsets, lengths, end = self._row(element, self._place, 0)
        step = end - self._place
        if element.count * step <= there and self._all_alike(element, offsets, lengths, step):
            self._place += element.count * step
            return [_Even(offsets[column], lengths[column], element.count, step) for column in wanted]
        return self._uneven_columns(element, wanted)

    def _all_alike(self, element: Element, offsets: list[int], lengths: list[int], step: int) -> bool:
        """Whether all lists of all rows are as long as those of the first."""
        for own, offset, length in zip(element.properties, offsets, lengths, strict=True):
            if own.count_kind is not None:
                counts = self._strided(offset - _size(own.count_kind), own.count_kind, element.count, step)
                if not bool((counts == length).all()):
                    return False
        return True

    def _uneven_columns(self, element: Element, wanted: list[int]) -> list[_Uneven]:
        """The wanted columns, found row by row."""
        if sum(own.count_kind is not None for own in element.properties) == 1:
            return self._single_list_columns(element, wanted)
        place = self._place
        # Eight bytes a number: a list of Python's own would take many times the file.
        begins, counts = [array("q") for _column in wanted], [array("q") for _column in wanted]
        for number in range(element.count):
            offsets, lengths, place = self._row(element, place, number)
            for slot, column in enumerate(wanted):
                begins[slot].append(offsets[column])
                counts[slot].append(lengths[column])
        self._place = place
        return [_Uneven(np.array(begin, np.int64), np.array(count, np.int64)) for begin, count in zip(begins, counts, strict=True)]

    def _single_list_columns(self, element: Element, wanted: list[int]) -> list[_Uneven]:
        """As _uneven_columns, for rows of which one property is a list: only its lengths have to be found one after the other."""
        which = next(number for number, own in enumerate(element.properties) if own.count_kind is not None)
        listed = element.properties[which]
        assert listed.count_kind is not None
        sizes = [_size(own.kind) for own in element.properties]
        before, behind = sizes[:which], sizes[which + 1 :]
        item, head = sizes[which], sum(before) + _size(listed.count_kind)
        fixed = head + sum(behind)
        runs: list[list[_Uneven]] = []
        for first in range(0, element.count, RUN_ROWS):
            begin, count = self._run_of_rows(element, (first, min(first + RUN_ROWS, element.count)), (sum(before), fixed, listed))
            offsets = [begin + sum(before[:column]) for column in range(which)] + [begin + head]
            offsets += [begin + head + item * count + sum(behind[:column]) for column in range(len(behind))]
            runs.append([_Uneven(offsets[column], count if column == which else np.ones(len(begin), np.int64)) for column in wanted])
        return [
            _Uneven(np.concatenate([run[slot].begins for run in runs]), np.concatenate([run[slot].lengths for run in runs]))
            for slot in range(len(wanted))
        ]

    def _run_of_rows(self, element: Element, span: tuple[int, int], layout: tuple[int, int, Property]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """For rows of one list: where each begins and how long its list is; moves on behind them. Raises BadFile.

        span: numbers of the first row and behind the last. layout: bytes before the list's length, bytes of a row without items, the list.
        """
        to_count, fixed, listed = layout
        item = _size(listed.kind)
        length_at = struct.Struct(self._order + LETTERS[listed.count_kind or ""]).unpack_from
        places, lengths, place, content = array("q"), array("q"), self._place, self._content
        try:
            for _number in range(*span):
                length = length_at(content, place + to_count)[0]
                places.append(place)
                lengths.append(length)
                place += fixed + item * length
        except struct.error:  # behind the end of the file, or before its beginning after a length below 0
            pass
        begin, count = np.array(places, np.int64), np.array(lengths, np.int64)
        wrong = np.flatnonzero((count < 0) | (begin + fixed + item * count > len(content)))
        if len(wrong) or len(begin) < span[1] - span[0]:
            number = int(wrong[0]) if len(wrong) else len(begin)
            self._row(element, int(begin[number]) if len(wrong) else place, span[0] + number)  # says what is wrong with it
            raise AssertionError("a row that is not whole was read")
        self._place = place
        return begin, count

    def _row(self, element: Element, place: int, number: int) -> tuple[list[int], list[int], int]:
        """For one row: the first byte and the number of items of each property, and where the row ends. Raises BadFile."""
        offsets, lengths = [], []
        begin = place
        for own in element.properties:
            length = 1
            if own.count_kind is not None:
                length = self._length(own, place)
                place += _size(own.count_kind)
            offsets.append(place)
            lengths.append(length)
            place += length * _size(own.kind)
            if length < 0:
                raise bad_place(self._file, _row_place(element, number, begin), Message("a list cannot have {count} items", count=length), EXPORT_AGAIN)
            if place > len(self._content):
                name = shown(own.name.encode())
                what = Message("its '{property}' is cut off", property=name)
                if own.count_kind:
                    what = Message("its list '{property}' has {count} items, and the file ends before them", property=name, count=length)
                raise bad_place(self._file, _row_place(element, number, begin), what, CUT_SHORT)
        return offsets, lengths, place

    def _length(self, own: Property, place: int) -> int:
        """The length that a list begins with; 0 behind the end of the file, where the row is refused in any case."""
        assert own.count_kind is not None
        if place + _size(own.count_kind) > len(self._content):
            return 0
        length = struct.unpack_from(self._order + LETTERS[own.count_kind], self._content, place)[0]
        return int(length)

    def _strided(self, begin: int, kind: str, count: int, step: int) -> NDArray:
        """Numbers that stand a fixed number of bytes apart, where they are."""
        return np.ndarray((count,), np.dtype(self._order + kind), self._content, begin, (step,))

    def _items(self, column: _Even | _Uneven, kind: str) -> NDArray:
        """All items of a property, row after row."""
        size, dtype = _size(kind), np.dtype(self._order + kind)
        if isinstance(column, _Even):
            return np.ndarray((column.count, column.length), dtype, self._content, column.begin, (column.step, size)).ravel()
        if column.lengths.max(initial=0) == 0:
            return np.zeros(0, dtype)
        first = np.repeat(column.begins, column.lengths) + size * run_places(column.lengths)
        return np.ascontiguousarray(np.frombuffer(self._content, np.uint8)[first[:, None] + np.arange(size)]).view(dtype).ravel()
