"""Charts: lines where the numbers say, names that do not touch, and odd input."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from png_reader import border_of, pixels_of, share_of
from scipy.optimize import isotonic_regression

from addon.finishing.core.errors import BadRequest
from addon.finishing.pictures.charts import LABEL_ROOM, TOP_GAP, ChartLine, ChartMark, _moved_apart, chart
from addon.finishing.pictures.palette import INK, PAPER
from addon.finishing.pictures.ramps import LINES
from addon.finishing.pictures.sheet import MARGIN, Words, chart_sheet

CUSPS = np.linspace(0.01, 0.2, 40)
WORDS = Words("Minutes against cusp", "note", "footer")


def falling(diameter: float, fits: bool = True, chosen: bool = False) -> ChartLine:
    return ChartLine(f"Round-nose {diameter:g}", CUSPS, 3 / np.sqrt(CUSPS * diameter / 16), fits=fits, chosen=chosen)


def rows_of(pixels: np.ndarray, colour: np.ndarray) -> np.ndarray:
    """Row and column (n, 2) of the pixels of a colour left of the names."""
    return np.argwhere(np.abs(pixels[:, :1100] / 255 - colour).max(axis=-1) < 0.03)


def test_lines_run_where_the_numbers_say() -> None:
    lines = (falling(8), falling(16, chosen=True), falling(32, fits=False))
    pixels = pixels_of(chart(lines, WORDS, ChartMark(0.05, 3 / np.sqrt(0.05), "16 mm at 0.05 mm")))
    hits = rows_of(pixels, LINES.colours(np.array([0.5]), 0, 1)[0, :3])
    # Minutes fall with the cusp: the line's pixels go down (larger row) to the right.
    assert len(hits) > 500 and np.corrcoef(hits[:, 0], hits[:, 1])[0, 1] > 0.7
    assert share_of(border_of(pixels), PAPER) == 1.0


def test_a_straight_line_is_straight_and_ends_at_its_value() -> None:
    # By construction: from 5 minutes at a cusp of 0 to 25 at 0.2; both axes begin at 0.
    x = np.linspace(0.0, 0.2, 9)
    pixels = pixels_of(chart((ChartLine("one", x, 5 + 100 * x),), WORDS))
    hits = rows_of(pixels, LINES.colours(np.array([0.0]), 0, 1)[0, :3])
    slope, height = np.polyfit(hits[:, 1], hits[:, 0], 1)
    assert np.abs(hits[:, 0] - slope * hits[:, 1] - height).max() < 3
    long_dark = np.flatnonzero((np.abs(pixels / 255 - np.array(INK)).max(axis=-1) < 0.4).sum(axis=1) > 900)
    axis = long_dark.mean() + 0.5  # of 0 minutes
    right = 1400 - MARGIN - LABEL_ROOM
    first, last = slope * hits[:, 1].min() + height, slope * right + height
    assert len(long_dark) and (axis - last) / (axis - first) == pytest.approx(5, rel=0.05)
    assert last == pytest.approx(chart_sheet(WORDS).map_top + TOP_GAP, abs=5)  # 25 is a round value, where the axis ends


def test_a_cutter_that_does_not_fit_is_dashed() -> None:
    colour = LINES.colours(np.array([0.0]), 0, 1)[0, :3]
    whole, broken = (rows_of(pixels_of(chart((falling(16, fits=fits),), WORDS)), colour) for fits in (True, False))
    assert 0.4 < len(broken) / len(whole) < 0.75  # 7 of every 12


def test_the_chosen_cutter_is_bolder() -> None:
    colour = LINES.colours(np.array([0.0]), 0, 1)[0, :3]
    plain, bold = (len(rows_of(pixels_of(chart((falling(16, chosen=chosen),), WORDS)), colour)) for chosen in (False, True))
    assert bold > 1.3 * plain


def test_odd_lines_are_drawn_too() -> None:
    single, flat = ChartLine("one", np.array([0.1]), np.array([5.0])), ChartLine("flat", CUSPS, np.zeros_like(CUSPS))
    holed = ChartLine("holed", CUSPS, np.where(CUSPS < 0.1, np.nan, 5.0))
    names = pixels_of(chart((single, flat, holed), WORDS))[150:-100, 1150:]
    written = (np.abs(names / 255 - np.array(INK)).max(axis=-1) < 0.1).any(axis=1)
    assert (np.diff(written.astype(int)) == 1).sum() == 3  # all three are named, in rows of their own
    assert share_of(pixels_of(chart((), WORDS)), PAPER) > 0.9
    assert share_of(pixels_of(chart((ChartLine("none", CUSPS, np.full(40, np.nan)),), WORDS)), PAPER) > 0.9
    with pytest.raises(BadRequest, match="chart line 'a' has 3 x values and 2 y values"):
        chart((ChartLine("a", np.zeros(3), np.zeros(2)),), WORDS)


def test_names_are_moved_apart_as_little_as_possible() -> None:
    # Closed form for two equal levels: half the distance to each side.
    assert _moved_apart(np.array([50.0, 50.0]), 10, 0, 100) == pytest.approx([45, 55])
    assert _moved_apart(np.array([10.0, 50.0]), 10, 0, 100) == pytest.approx([10, 50])
    assert _moved_apart(np.array([99.0, 99.0]), 10, 0, 100) == pytest.approx([90, 100])


@given(st.lists(st.floats(0, 100), min_size=1, max_size=8), st.floats(0, 30))
def test_names_are_moved_as_the_library_would(levels: list[float], least: float) -> None:
    # scipy's isotonic regression of the levels less their places in the row, where no border is in the way.
    ordered = np.sort(levels)
    shift = least * np.arange(len(ordered))
    moved = _moved_apart(ordered, least, -1e6, 1e6)
    np.testing.assert_allclose(moved, isotonic_regression(ordered - shift).x + shift, atol=1e-8)
    assert (np.diff(moved) >= least - 1e-9).all()
