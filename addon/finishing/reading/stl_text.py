"""Text STL, read in runs of whole facets: a facet is 21 words, so that words of one meaning stand 21 apart. See stl.py for the source."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_A_SURFACE, EXPORT_AGAIN, bad_file, bad_line, shown
from .part import MeshPart, distinct
from .text import line_number, loose_numbers, number_fault, numbers, plain_text

FACET = b"facet normal n n n outer loop vertex x x x vertex x x x vertex x x x endloop endfacet".split()
"""The words of a facet; n stands for a number of its normal, x for a coordinate."""

FIXED = tuple((place, word) for place, word in enumerate(FACET) if len(word) > 1)
NORMAL = tuple(place for place, word in enumerate(FACET) if word == b"n")
CORNERS = tuple(place for place, word in enumerate(FACET) if word == b"x")

WORD = re.compile(rb"\S")
END_OF_SOLID = re.compile(rb"\sendsolid(?!\S)")

RUN_BYTES = 1 << 21
"""Text that is split into words at a time: words take about ten times the memory of their text."""


def read_text_stl(content: bytes, file: str) -> list[MeshPart]:
    """The solids of a text STL file. Those without a name are called by their number, unless there is but one. Raises BadFile."""
    named = plain_text(content, file)
    text = named.lower()
    names: list[str] = []
    count = 0
    solids: list[NDArray[np.float64]] = []
    place = _next_word(text, 0)
    while place < len(text):
        word = text[place : place + 200].split(None, 1)[0]
        if word != b"solid":
            raise bad_line(file, line_number(text, place), _unexpected(word, b"solid"), EXPORT_AGAIN)
        count += 1
        end = _line_end(text, place)
        name = named[place + 5 : end].strip().decode("utf-8", "backslashreplace")
        stop = _end_of_solid(text, end, file)
        triangles = _facets(text, named, (end, stop), file)
        if len(triangles):
            names.append(name or (f"solid {count}" if count > 1 else ""))
            solids.append(triangles)
        place = _next_word(text, _line_end(text, stop))
    if not solids:
        raise bad_file(file, Message("holds no triangles"), EXPORT_A_SURFACE)
    if len(solids) > 1:
        names = distinct([name or "solid 1" for name in names])
    return [MeshPart(name, triangles) for name, triangles in zip(names, solids, strict=True)]


def _next_word(text: bytes, place: int) -> int:
    """Where the next word begins, the end of the text when there is none."""
    found = WORD.search(text, place)
    return len(text) if found is None else found.start()


def _line_end(text: bytes, place: int) -> int:
    """Where the line of a place ends."""
    end = text.find(b"\n", place)
    return len(text) if end < 0 else end


def _end_of_solid(text: bytes, place: int, file: str) -> int:
    """Where the "endsolid" of the solid begins whose facets begin at a place. Raises BadFile when there is none."""
    found = text.find(b"solid", place)
    if found < 0:
        raise bad_file(file, Message("ends without 'endsolid' after line {line}", line=line_number(text.rstrip(), len(text))), CUT_SHORT)
    if END_OF_SOLID.match(text, found - 4):
        return found - 3
    raise bad_line(file, line_number(text, found), Message("'solid' stands where 'endsolid' alone was expected"), EXPORT_AGAIN)


def _facets(text: bytes, named: bytes, span: tuple[int, int], file: str) -> NDArray[np.float64]:
    """Corner points (n, 3, 3) of all facets between two places. named: the text in its own letters, for complaints. Raises BadFile."""
    runs = [np.zeros((0, 9))]
    place, stop = span
    while (place := _next_word(text, place)) < stop:
        # A run ends behind the last facet that lies in it whole; one that holds none is wrong, and its fault is found in it.
        last = text.rfind(b"endfacet", place, place + RUN_BYTES)
        end = stop if stop - place <= RUN_BYTES else place + RUN_BYTES if last < 0 else last + len(b"endfacet")
        coordinates = _coordinates(text[place:end].split())
        if coordinates is None:
            raise _fault(named[place:end], line_number(text, place), file)
        runs.append(coordinates)
        place = end
    return np.concatenate(runs).reshape(-1, 3, 3)


def _coordinates(words: list[bytes]) -> NDArray[np.float64] | None:
    """The coordinates (facets, 9) of words that are facets and nothing else; None when they are not."""
    count, rest = divmod(len(words), len(FACET))
    if rest or any(words[place :: len(FACET)].count(word) != count for place, word in FIXED):
        return None
    if any(loose_numbers(words[place :: len(FACET)]) is None for place in NORMAL):
        return None
    values = np.empty((count, len(CORNERS)))
    for column, place in enumerate(CORNERS):
        read = numbers(words[place :: len(FACET)])
        if read is None:
            return None
        values[:, column] = read
    return values


def _fault(run: bytes, first_line: int, file: str) -> Exception:
    """The error for the first word of a run that is not what a facet has there. first_line: number of the run's first line."""
    place = 0
    number = first_line
    for number, line in enumerate(run.split(b"\n"), first_line):
        for word in line.split():
            wanted = FACET[place]
            if len(wanted) > 1:
                if word.lower() != wanted:
                    return bad_line(file, number, _unexpected(word, wanted), EXPORT_AGAIN)
            elif (fault := number_fault(word, loose=wanted == b"n")) is not None:
                return bad_line(file, number, *fault)
            place = (place + 1) % len(FACET)
    return bad_line(file, number, Message("a facet is not whole, it lacks '{word}'", word=FACET[place].decode()), CUT_SHORT)


def _unexpected(word: bytes, wanted: bytes) -> Message:
    """What is wrong with a word where another one should stand."""
    return Message("'{word}' stands where '{wanted}' was expected", word=shown(word), wanted=wanted.decode())
