"""Tables as CSV: what every kind of value is written as, and that no cell becomes a formula."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from addon.finishing.files.tables import table_csv


def rows_of(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))


def test_every_kind_of_value() -> None:
    content = table_csv(("a", "b"), [(None, True), (False, 7), (0.1 + 0.2, -1.5), (1e-12, "Körper")])
    # RFC 4180: rows end with CR LF; a header row comes first.
    assert content == "a,b\r\n,yes\r\nno,7\r\n0.3,-1.5\r\n1e-12,Körper\r\n".encode()


def test_cells_never_become_formulas() -> None:
    # Common practice, no source: spreadsheets run cells that begin with = + - @ or a tab.
    texts = ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "plain", 'quo"te', "a,b", "two\nlines"]
    rows = rows_of(table_csv(("a", "b"), [(text, -1.5) for text in texts]))
    for text, row in zip(texts, rows[1:], strict=True):
        assert row[0] == (text if text[0] not in "=+-@\t\r" else "'" + text)
        assert float(row[1]) == -1.5  # a number stays a number


@given(st.lists(st.tuples(st.text(st.characters(exclude_categories=["Cs"])), st.text(st.characters(exclude_categories=["Cs"]))), max_size=5))
def test_texts_come_back_as_they_were(texts: list[tuple[str, str]]) -> None:
    rows = rows_of(table_csv(("a", "b"), texts))
    assert len(rows) == len(texts) + 1
    for row, pair in zip(rows[1:], texts, strict=True):
        for cell, text in zip(row, pair, strict=True):
            assert cell in (text, "'" + text) and not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
