"""The sheet of a picture: a size that suits the body, and room for all of its words."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from addon.finishing.pictures.sheet import LEGEND_ROOM, MARGIN, Sheet, Words, chart_sheet, map_sheet

LONG = "Außergewöhnlich langer Name eines Körpers, der nicht abgeschnitten werden darf " * 2 + "X" * 150


@given(st.floats(0.01, 3000), st.floats(0.01, 3000))
@settings(deadline=None)
def test_a_map_has_room_whatever_the_body_is_shaped_like(length_x: float, length_y: float) -> None:
    sheet = map_sheet(Words("Title", "note", "footer"), length_x, length_y)
    assert 760 <= sheet.width <= 1400 and 640 <= sheet.height <= 1300
    assert sheet.map_right - MARGIN >= 450 and sheet.map_bottom - sheet.map_top >= 300
    assert sheet.width - MARGIN - sheet.map_right == LEGEND_ROOM


def test_a_body_fills_the_room_of_its_map() -> None:
    # By construction: 400 x 300 mm on 1090 pixels of width are 818 high, which is what is left between the words.
    sheet = map_sheet(Words("Title", "note", "footer"), 400, 300)
    assert (sheet.map_bottom - sheet.map_top) / (sheet.map_right - MARGIN) == pytest.approx(0.75, abs=0.03)


@pytest.mark.parametrize("made", [lambda words: map_sheet(words, 400, 300), lambda words: map_sheet(words, 0, 0), chart_sheet])
def test_more_words_make_the_sheet_higher_and_leave_the_map_its_room(made: Callable[[Words], Sheet]) -> None:
    short, long = made(Words("Title", "note", "footer")), made(Words(LONG, LONG, LONG))
    assert long.height > short.height and long.map_top > short.map_top
    assert long.map_bottom - long.map_top == pytest.approx(short.map_bottom - short.map_top, abs=10)


def test_a_sheet_without_a_note_begins_higher() -> None:
    assert map_sheet(Words("Title"), 400, 300).map_top < map_sheet(Words("Title", "note"), 400, 300).map_top
