"""Pages for people: self-contained HTML in a language."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from ..core.message import Language, Message

Cell = Message | str
"""What stands in a cell of a table: words, or a name as it was given."""


@dataclass(frozen=True)
class Page:
    """Writes words as HTML in a language: every text is escaped here."""

    language: Language

    def says(self, words: Cell) -> str:
        """Words, escaped."""
        return escape(self.language.said(words))

    def heading(self, words: Message) -> str:
        """A heading of a part."""
        return f"<h2>{self.says(words)}</h2>"

    def paragraph(self, words: Message) -> str:
        """A paragraph."""
        return f"<p>{self.says(words)}</p>"

    def table(self, header: Sequence[Cell], rows: Sequence[Sequence[Cell]], numbers: Sequence[int]) -> str:
        """A table. numbers: columns that are aligned on the right."""
        head = "".join(f"<th>{self.says(words)}</th>" for words in header)
        lines = []
        for row in rows:
            cells = "".join(f"<td{' class=number' if k in numbers else ''}>{self.says(words)}</td>" for k, words in enumerate(row))
            lines.append(f"<tr>{cells}</tr>")
        return f"<table><tr>{head}</tr>{''.join(lines)}</table>"

    def whole(self, title: Message, style: str, parts: Sequence[str]) -> bytes:
        """The page as a file. parts: HTML."""
        head = f'<html lang="{self.language.code}"><head><meta charset="utf-8"><title>{self.says(title)}</title><style>{style}</style></head>'
        return (f"<!DOCTYPE html>\n{head}\n<body>\n" + "\n".join(parts) + "\n</body></html>\n").encode("utf-8")
