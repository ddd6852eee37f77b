"""The CSV of a path: its layout to the byte, numbers of points, units, and rows that cannot be read."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_jobs import two_sides

from addon.finishing.core.errors import BadFile
from addon.finishing.core.path import CUT, ENTRY, EXIT, KINDS, LIFT, LINK, Path
from addon.finishing.files.path_csv import path_csv, read_csv

HEAD = b"line,point,kind,x_mm,y_mm,z_mm,feed_mm_min\r\n"


def small_path() -> Path:
    """A lift, an entry, a line, its exit after the next line's link has begun, and that line."""
    kind = [LIFT, ENTRY, CUT, CUT, LINK, EXIT, CUT]
    line = [1, 1, 1, 1, 2, 1, 2]
    points = np.array([[0, 0, 20], [0, 0, 10], [0, 0, 10], [25.4, -1e-9, 10.00006], [1, 2, 3], [4, 5, 6], [7, 8, 9]], float)
    return Path(points, np.array(kind, np.uint8), np.array(line, np.int32), np.array([5000, 500, 3500, 3500, 3500, 5000, 3333.3333]))


def test_the_layout_to_the_byte() -> None:
    # RFC 4180, CR LF, 4 decimals in mm, points counted from 1 in each line, no minus zero.
    assert path_csv(small_path()) == HEAD + (
        b"1,1,lift,0.0000,0.0000,20.0000,5000\r\n"
        b"1,2,entry,0.0000,0.0000,10.0000,500\r\n"
        b"1,3,cut,0.0000,0.0000,10.0000,3500\r\n"
        b"1,4,cut,25.4000,0.0000,10.0001,3500\r\n"
        b"2,1,link,1.0000,2.0000,3.0000,3500\r\n"
        b"1,5,exit,4.0000,5.0000,6.0000,5000\r\n"
        b"2,2,cut,7.0000,8.0000,9.0000,3333.33\r\n"
    )


def test_inches_have_five_decimals_and_the_unit_in_their_names() -> None:
    content = path_csv(small_path(), "in")
    head, *rows = content.decode().split("\r\n")
    assert head == "line,point,kind,x_in,y_in,z_in,feed_in_min"
    assert rows[3] == "1,4,cut,1.00000,0.00000,0.39370,137.795"  # 25.4 mm, 10.00006 mm, 3500 mm/min, by hand


@pytest.mark.parametrize("unit, step", [("mm", 1e-4), ("in", 25.4e-5)])
def test_a_path_comes_back_within_its_decimals(unit: str, step: float) -> None:
    path = two_sides()[0].path
    again = read_csv(path_csv(path, unit))
    np.testing.assert_allclose(again.points, path.points, atol=0.51 * step)
    np.testing.assert_array_equal(again.kind, path.kind)
    np.testing.assert_array_equal(again.line, path.line)
    np.testing.assert_allclose(again.feed, path.feed, rtol=1e-5)


@given(st.lists(st.tuples(st.integers(1, 4), st.sampled_from(range(len(KINDS)))), max_size=30))
def test_points_are_counted_in_every_line(rows: list[tuple[int, int]]) -> None:
    # A plain count, row after row, as the twin.
    line, kind = np.array([r[0] for r in rows], np.int32), np.array([r[1] for r in rows], np.uint8)
    content = path_csv(Path(np.zeros((len(rows), 3)), kind, line, np.ones(len(rows)))).decode()
    counted: dict[int, int] = {}
    for number, text in zip(line.tolist(), content.split("\r\n")[1:], strict=False):
        counted[number] = counted.get(number, 0) + 1
        assert text.split(",")[:2] == [str(number), str(counted[number])]


def test_no_path_is_a_table_without_rows() -> None:
    empty = Path(np.zeros((0, 3)), np.zeros(0, np.uint8), np.zeros(0, np.int32), np.zeros(0))
    assert path_csv(empty) == HEAD and len(read_csv(HEAD)) == 0


def test_other_units_are_refused() -> None:
    with pytest.raises(BadFile, match="mm, in, not 'ft'"):
        path_csv(small_path(), "ft")


@pytest.mark.parametrize("content", [b"", b"x,y\r\n1,2\r\n", b"\xff\xfe\x00", b"\x00", HEAD.replace(b"z_mm", b"z_in")], ids=str)
def test_what_is_not_a_path_is_refused(content: bytes) -> None:
    with pytest.raises(BadFile, match="not a CSV of pass lines"):
        read_csv(content)


@pytest.mark.parametrize(
    "row, said",
    [
        (b"1,1,cut,0,0,0", "6 columns, not 7"),
        (b"one,1,cut,0,0,0,1", "not the number of a line"),
        (b"1,1,cutting,0,0,0,1", "'cutting' is not a kind of move"),
        (b"1,1,cut,0,0,up,1", "not a number that a machine"),
        (b"1,1,cut,0,0,nan,1", "not a number that a machine"),
        (b"1,1,cut,0,0,0,inf", "not a number that a machine"),
        (b'1,1,cut,0,0,0,"1\r\n1,2,cut,0,0,0,1', r"'1\\r\\n1,2,cut,0,0,0,1\\r\\n' is not a number that a machine"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row: bytes, said: str) -> None:
    with pytest.raises(BadFile, match=f"Row 3 of the CSV cannot be read: .*{said}"):
        read_csv(HEAD + b"1,1,cut,0,0,0,1\r\n" + row + b"\r\n")
