"""Words and blocks of part programs (ISO 6983, RS-274): comments that are never commands, and numbers that are never exponents."""

from __future__ import annotations

from collections.abc import Sequence

from .written_unit import WrittenUnit

LONGEST_COMMENT = 70
"""Characters in one comment line: with its brackets it stays below the 80 columns that small displays show. Common practice, no source."""

HARMLESS_SIGNS = " .,:+-/=_'"
"""Signs that stay in comments. A bracket would end the comment, a line's end the block; % and ; mean something to some controls."""

END_OF_BLOCK = "\r\n"

PROGRAM_ENDING = ".nc"
"""Of the names of programs."""

NOTE_DECIMALS = 3
"""Decimals of numbers in comments."""


def comment(text: str) -> list[str]:
    """A text as comment lines that no control can take for commands: plain letters, digits and `HARMLESS_SIGNS` only."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in HARMLESS_SIGNS) else " " for c in text)
    words, lines = plain.split(), [""]
    for word in words:
        word = word[:LONGEST_COMMENT]
        if len(lines[-1]) + len(word) + 1 > LONGEST_COMMENT:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return [f"({line})" for line in lines if line]


def plain_number(value: float, decimals: int = NOTE_DECIMALS) -> str:
    """A number without an exponent, without zeros at its end, and never a minus zero."""
    text = f"{round(value, decimals) + 0.0:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


class ProgramWriter:
    """Blocks of a program in one unit. A move names only what changes, but for the first one after `forget`, which names everything."""

    def __init__(self, unit: WrittenUnit) -> None:
        self._unit = unit
        self._at: list[str | None] = [None, None, None]
        self._feed: str | None = None
        self._whole = True
        self.lines: list[str] = []

    def note(self, *texts: str) -> None:
        """Comments."""
        for text in texts:
            self.lines += comment(text)

    def words(self, *words: str) -> None:
        """A block of words that are no move."""
        self.lines.append(" ".join(words))

    def forget(self) -> None:
        """The next move that names all axes names them whether they change or not, and its feed: a run may be taken up there."""
        self._whole = True

    def move(self, word: str, position: Sequence[float | None], feed: float | None = None) -> None:
        """G0 or G1 to a position (x, y, z) in mm; None keeps an axis. feed: mm/min. Where nothing moves nothing is written."""
        asked = [self._at[axis] if value is None else self._length(value) for axis, value in enumerate(position)]
        if asked == self._at:
            return
        whole = self._whole and None not in position
        parts = [word]
        parts += ["XYZ"[axis] + text for axis, text in enumerate(asked) if text is not None and (whole or text != self._at[axis])]
        if feed is not None:
            text = f"{max(feed * self._unit.per_mm, 10.0**-self._unit.feed_decimals):.{self._unit.feed_decimals}f}"
            if whole or text != self._feed:
                parts.append("F" + text)
                self._feed = text
        self._at = asked
        if whole and feed is not None:
            self._whole = False
        self.lines.append(" ".join(parts))

    def _length(self, value: float) -> str:
        return f"{round(value * self._unit.per_mm, self._unit.decimals) + 0.0:.{self._unit.decimals}f}"  # no minus zero

    def content(self) -> bytes:
        """The program as ASCII bytes."""
        return (END_OF_BLOCK.join(self.lines) + END_OF_BLOCK).encode("ascii")
