"""Words and blocks of programs, letter by letter."""

from __future__ import annotations

import pytest

from addon.finishing.files.program_writer import ProgramWriter, comment, plain_number
from addon.finishing.files.written_unit import written_unit


def blocks(*moves: tuple, unit: str = "mm") -> list[str]:
    writer = ProgramWriter(written_unit(unit))
    for move in moves:
        writer.move(*move)
    return writer.lines


def test_a_move_names_only_what_changes() -> None:
    assert blocks(
        ("G0", (0.0, 0.0, 5.0)),  # the first: all axes; it has no feed, so the next one names all again
        ("G1", (0.0, 0.0, 1.0), 800.0),
        ("G1", (2.5, 0.0, 1.0), 800.0),
        ("G1", (2.5, 3.0, -1.25), 1200.0),
        ("G1", (2.5, 3.0, -1.25), 900.0),  # nowhere to go
        ("G1", (2.50001, 3.0, 0.0), 1200.0),  # less than is written
    ) == ["G0 X0.0000 Y0.0000 Z5.0000", "G1 X0.0000 Y0.0000 Z1.0000 F800.0", "G1 X2.5000", "G1 Y3.0000 Z-1.2500 F1200.0", "G1 Z0.0000"]


def test_a_feed_is_named_when_it_rises_and_when_it_falls() -> None:
    feeds = (800.0, 900.0, 900.0, 700.0, 1200.0)
    assert [block.split()[-1] for block in blocks(*(("G1", (float(x), 0.0, 0.0), feed) for x, feed in enumerate(feeds)))] == [
        "F800.0", "F900.0", "X2.0000", "F700.0", "F1200.0",
    ]  # fmt: skip


def test_an_axis_that_is_not_known_is_not_named() -> None:
    # The first move keeps X and Y wherever they are; what names all axes comes after it.
    assert blocks(("G0", (None, None, 5.0)), ("G0", (1.0, 2.0, None)), ("G1", (1.0, 2.0, 0.0), 300.0), ("G1", (1.0, 2.0, -1.0), 300.0)) == [
        "G0 Z5.0000", "G0 X1.0000 Y2.0000", "G1 X1.0000 Y2.0000 Z0.0000 F300.0", "G1 Z-1.0000",
    ]  # fmt: skip


def test_after_forget_everything_is_named_once() -> None:
    writer = ProgramWriter(written_unit("mm"))
    for z in (3.0, 2.0):
        writer.move("G1", (1.0, 2.0, z), 300.0)
    writer.forget()
    writer.move("G1", (1.0, 2.0, 1.0), 300.0)
    writer.move("G1", (1.0, 2.0, 0.0), 300.0)
    assert writer.lines == ["G1 X1.0000 Y2.0000 Z3.0000 F300.0", "G1 Z2.0000", "G1 X1.0000 Y2.0000 Z1.0000 F300.0", "G1 Z0.0000"]


def test_inches_and_numbers_too_small_to_write() -> None:
    # No minus zero, and no feed of 0, which controls refuse: the least that its decimals can say.
    assert blocks(("G1", (25.4, -0.0000001, 1.0), 254.0), ("G1", (25.4, 0.0, 2.54), 1e-9), unit="in") == [
        "G1 X1.00000 Y0.00000 Z0.03937 F10.000", "G1 Z0.10000 F0.001",
    ]  # fmt: skip
    assert blocks(("G1", (-0.00004, 0.0, 1.0), 1e-9)) == ["G1 X0.0000 Y0.0000 Z1.0000 F0.1"]


def test_comments_are_plain_and_no_longer_than_70_letters() -> None:
    assert comment("Zero: top (left); 5 % of Fläche_1, a+b='c'/2.0-3") == ["(Zero: top left 5 of Fl che_1, a+b='c'/2.0-3)"]
    assert comment("") == comment("%;()") == []
    # 35 and 34 letters with a blank between make 70; one more letter begins another line.
    assert comment(f"{'a' * 35} {'b' * 34}") == [f"({'a' * 35} {'b' * 34})"]
    assert comment(f"{'a' * 35} {'b' * 35}") == [f"({'a' * 35})", f"({'b' * 35})"]
    assert comment(f"{'a' * 35} {'b' * 36}") == [f"({'a' * 35})", f"({'b' * 36})"]
    # The last line is what is filled, however full the first is.
    assert comment(f"{'a' * 60} {'b' * 35} {'c' * 34}") == [f"({'a' * 60})", f"({'b' * 35} {'c' * 34})"]
    assert comment("x" * 100) == [f"({'x' * 70})"]
    writer = ProgramWriter(written_unit("mm"))
    writer.note("one", "two")
    writer.words("G17", "G21")
    assert writer.lines == ["(one)", "(two)", "G17 G21"] and writer.content() == b"(one)\r\n(two)\r\nG17 G21\r\n"


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(1.5, 3, "1.5"), (2.0, 3, "2"), (100.0, 0, "100"), (0.12345, 3, "0.123"), (-0.0001, 3, "0"), (1e-7, 2, "0"), (1e6, 1, "1000000"), (-0.0, 3, "0")],
)
def test_plain_numbers(value: float, decimals: int, text: str) -> None:
    assert plain_number(value, decimals) == text


def test_numbers_in_comments_have_three_decimals() -> None:
    assert plain_number(0.98765) == "0.988"
