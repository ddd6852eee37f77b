"""What the text formats share: plain lines, and words that must be numbers.

A number is a decimal one with a point: an optional sign, digits with at most one point among them, an optional exponent. Nothing else is
read as a number, neither a decimal comma nor a unit behind it, and every value must be finite.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import EXPORT_AGAIN, Fault, bad_file, bad_line, shown

LARGEST = 1e9
"""Greatest coordinate in units of the file: a thousand kilometres in mm. What lies farther off is damage, and its squares lose all sense."""

NUMBER = re.compile(rb"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
WHOLE_NUMBER = re.compile(rb"[+-]?\d+")
NOT_FINITE = re.compile(rb"(?i)[+-]?(?:nan|inf|infinity|1\.#\w*)\b.*")
WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff")
BYTE_ORDER_MARK = b"\xef\xbb\xbf"


def plain_text(content: bytes, file: str) -> bytes:
    """The text with "\\n" at the end of every line, whichever of "\\n", "\\r\\n" and "\\r" it had. Raises BadFile when it is not plain text."""
    if content[:2] in WIDE_MARKS:
        raise bad_file(file, Message("is written in two bytes for each letter (UTF-16)"), Message("save it as plain text (UTF-8)"))
    text = content.removeprefix(BYTE_ORDER_MARK)
    if b"\r" in text:
        text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    zero = text.find(b"\0")
    if zero >= 0:
        raise bad_line(file, line_number(text, zero), Message("holds a byte that is not text (0)"), EXPORT_AGAIN)
    return text


def line_number(text: bytes, place: int) -> int:
    """Number of the line, counted from 1, that a byte lies in."""
    return text.count(b"\n", 0, place) + 1


def words_before_comment(line: bytes) -> list[bytes]:
    """The words of a line up to the first that begins with "#"; a "#" within a word is part of it."""
    words = line.split()
    return words[: next((place for place, word in enumerate(words) if word.startswith(b"#")), len(words))]


def numbers(words: Sequence[bytes]) -> NDArray[np.float64] | None:
    """The words as numbers, or None when one of them is not a finite number within LARGEST (number_fault says which and why)."""
    values = _floats(words)
    return values if values is not None and within_reach(values) else None


def loose_numbers(words: Sequence[bytes]) -> NDArray[np.float64] | None:
    """As numbers(), for what nothing here reads: of any size, and "nan" counts, which writers put for the normal of a face without area."""
    values = _floats(words)
    return None if values is None or bool(np.isinf(values).any()) else values


def whole_numbers(words: Sequence[bytes]) -> NDArray[np.int64] | None:
    """The words as whole numbers, or None when one is none or has more than 18 digits."""
    try:
        values = np.fromiter(map(int, words), np.int64, len(words))
    except (ValueError, OverflowError):
        return None
    return None if b"_" in b"".join(words) else values


def within_reach(values: NDArray[np.floating]) -> bool:
    """Whether all values are finite and at most LARGEST."""
    # Least and greatest value are NaN when any value is, and then compare as False.
    return values.size == 0 or bool(values.min() >= -LARGEST and values.max() <= LARGEST)


def number_fault(word: bytes, loose: bool = False) -> Fault | None:
    """What is wrong with a word that should be a number; None when it is one. loose: as in loose_numbers()."""
    if NUMBER.fullmatch(word):
        value = abs(float(word))
        if value <= LARGEST or (loose and np.isfinite(value)):
            return None
        return Fault(Message("'{word}' is larger than any body", word=shown(word)), Message("check the unit, or export the mesh again"))
    if loose and word.lower().lstrip(b"+-") == b"nan":
        return None
    if NOT_FINITE.fullmatch(word):
        return Fault(_not_a_number(word), Message("repair the mesh (look for faces without area) and export it again"))
    if NUMBER.fullmatch(word.replace(b",", b".")):
        return Fault(Message("'{word}' is written with a comma", word=shown(word)), Message("export the mesh again with decimal points"))
    if NUMBER.match(word):
        return Fault(Message("'{word}' is a number with something behind it", word=shown(word)), Message("export the mesh again with bare numbers"))
    return Fault(_not_a_number(word), EXPORT_AGAIN)


def _not_a_number(word: bytes) -> Message:
    return Message("'{word}' is not a number", word=shown(word))


def whole_number_fault(word: bytes) -> Fault | None:
    """What is wrong with a word that should be a whole number; None when it is one."""
    if not WHOLE_NUMBER.fullmatch(word):
        return Fault(Message("'{word}' is not a whole number", word=shown(word)), EXPORT_AGAIN)
    return Fault(Message("'{word}' is larger than any file can hold", word=shown(word)), EXPORT_AGAIN) if len(word) > 18 else None


def _floats(words: Sequence[bytes]) -> NDArray[np.float64] | None:
    """The words by Python's own rule, which besides plain numbers takes "nan", "inf" and, not here, digits with underscores."""
    try:
        values = np.fromiter(map(float, words), np.float64, len(words))
    except ValueError:
        return None
    return None if b"_" in b"".join(words) else values
