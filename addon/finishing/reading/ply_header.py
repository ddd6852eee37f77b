"""The head of a PLY file: which elements follow, how many of each, and what each is made of.

Source: Greg Turk, The PLY Polygon File Format, Stanford University, 1994. Type names with sizes (int32, float64) are a later custom that
most writers follow.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..core.errors import BadFile
from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_AGAIN, bad_file, bad_line, shown
from .text import BYTE_ORDER_MARK

TYPES = {
    b"char": "i1",
    b"uchar": "u1",
    b"short": "i2",
    b"ushort": "u2",
    b"int": "i4",
    b"uint": "u4",
    b"float": "f4",
    b"double": "f8",
    b"int8": "i1",
    b"uint8": "u1",
    b"int16": "i2",
    b"uint16": "u2",
    b"int32": "i4",
    b"uint32": "u4",
    b"float32": "f4",
    b"float64": "f8",
}
"""numpy's names of the types, without byte order."""

ORDERS = {b"ascii": "", b"binary_little_endian": "<", b"binary_big_endian": ">"}
LONGEST_HEAD = 1 << 20
"""Bytes: what has no end of the head within these is no head."""

MOST_STATEMENTS = 1000
"""Elements and properties that a head may name: real ones have some twenty."""

COUNT = re.compile(rb"\d{1,15}")
REMARKS = (b"comment", b"obj_info")


@dataclass(frozen=True)
class Property:
    """One property of an element. kind: numpy type without byte order; count_kind: that of a list's length, None for a single value."""

    name: str
    kind: str
    count_kind: str | None = None


@dataclass(frozen=True)
class Element:
    """count rows, each of these properties. line: where the head names it."""

    name: str
    count: int
    properties: tuple[Property, ...]
    line: int

    def position(self, *names: str) -> int | None:
        """Which property has one of these names; None when none has."""
        return next((place for place, own in enumerate(self.properties) if own.name in names), None)


@dataclass(frozen=True)
class Header:
    """order: "<" or ">" for the byte order of binary numbers, "" for text. begin: byte that the data begin at; line: its line in a text."""

    order: str
    elements: tuple[Element, ...]
    begin: int
    line: int


def read_header(content: bytes, file: str) -> Header:
    """Read the head. Raises BadFile when anything in it is not as the format has it."""
    skipped = len(BYTE_ORDER_MARK) if content.startswith(BYTE_ORDER_MARK) else 0
    lines, begin = _head_lines(content[skipped : skipped + LONGEST_HEAD], file)
    order: str | None = None
    elements: list[Element] = []
    statements = 0
    for number, line in enumerate(lines, 2):
        words = line.split()
        if not words or words[0] in REMARKS:
            continue
        statements += 1
        if statements > MOST_STATEMENTS:
            raise bad_line(file, number, Message("the head names more than {most} elements and properties", most=MOST_STATEMENTS), EXPORT_AGAIN)
        if words[0] == b"format":
            if order is not None:
                raise bad_line(file, number, Message("the head names a second format"), EXPORT_AGAIN)
            order = _order(words, file, number)
        elif words[0] == b"element":
            elements.append(_element(words, file, number))
            if len({element.name for element in elements}) < len(elements):
                raise bad_line(file, number, Message("the head names the element '{element}' twice", element=shown(words[1])), EXPORT_AGAIN)
        elif words[0] == b"property" and elements:
            elements[-1] = _with_property(elements[-1], words, file, number)
        else:
            what = Message("'{word}' does not belong here in the head of a PLY file", word=shown(words[0]))
            raise bad_line(file, number, what, EXPORT_AGAIN)
    if order is None:
        raise bad_file(file, Message("has a head without a format"), EXPORT_AGAIN)
    return Header(order, tuple(elements), skipped + begin, len(lines) + 3)


def _head_lines(head: bytes, file: str) -> tuple[list[bytes], int]:
    """The lines between "ply" and "end_header", and where the data begin.

    The end of the first line says how lines end. Binary data may begin with a byte that looks like one more line end, so only that counts.
    """
    found = re.match(rb"ply[ \t]*(\r\n|\n|\r)", head)
    if found is None:
        raise BadFile("'{file}' is not a PLY file: it does not begin with a line 'ply'; {remedy}.", file=file, remedy=EXPORT_AGAIN)
    end_of_line = found[1]
    lines: list[bytes] = []
    place = found.end()
    while True:
        end = head.find(end_of_line, place)
        line = head[place:] if end < 0 else head[place:end]
        if line.strip() == b"end_header":
            return lines, len(head) if end < 0 else end + len(end_of_line)
        if end < 0:
            raise bad_file(file, Message("has a head without 'end_header'"), CUT_SHORT)
        lines.append(line)
        place = end + len(end_of_line)


def _order(words: list[bytes], file: str, number: int) -> str:
    """The byte order that a format line names."""
    if len(words) != 3 or words[1] not in ORDERS or words[2] != b"1.0":
        what = Message("the format '{format}' is unknown", format=shown(b" ".join(words[1:])))
        raise bad_line(file, number, what, Message("export as ascii or binary {format}", format="PLY 1.0"))
    return ORDERS[words[1]]


def _element(words: list[bytes], file: str, number: int) -> Element:
    """The element that a line names."""
    if len(words) != 3 or not COUNT.fullmatch(words[2]):
        what = Message("'{statement}' does not name an element and a count of up to 15 digits", statement=shown(b" ".join(words)))
        raise bad_line(file, number, what, EXPORT_AGAIN)
    return Element(words[1].decode("utf-8", "backslashreplace"), int(words[2]), (), number)


def _with_property(element: Element, words: list[bytes], file: str, number: int) -> Element:
    """The element with the property that a line names."""
    a_list = words[1:2] == [b"list"]
    kinds, rest = (words[2:4], words[4:]) if a_list else (words[1:2], words[2:])
    unknown = [kind for kind in kinds if kind not in TYPES]
    if unknown:
        raise bad_line(file, number, Message("the type '{type}' is unknown", type=shown(unknown[0])), EXPORT_AGAIN)
    if len(rest) != 1 or len(kinds) != (2 if a_list else 1):
        what = Message("'{statement}' does not name a type and a property", statement=shown(b" ".join(words)))
        raise bad_line(file, number, what, EXPORT_AGAIN)
    if a_list and TYPES[kinds[0]].startswith("f"):
        raise bad_line(file, number, Message("the length of the list '{property}' is not a whole number", property=shown(rest[0])), EXPORT_AGAIN)
    name = rest[0].decode("utf-8", "backslashreplace")
    if element.position(name) is not None:
        raise bad_line(file, number, Message("the element has two properties '{property}'", property=shown(rest[0])), EXPORT_AGAIN)
    own = Property(name, TYPES[kinds[-1]], TYPES[kinds[0]] if a_list else None)
    return Element(element.name, element.count, (*element.properties, own), element.line)
