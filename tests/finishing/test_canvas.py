"""The canvas: PNG without loss, lines against a plain twin and closed forms, boxes, dashes and lettering."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib import image
from png_reader import pixels_of

from addon.finishing.pictures import canvas as canvas_module
from addon.finishing.pictures.canvas import Canvas, TextStyle, dashed, dashed_moves, fitted_lines, png_bytes
from addon.finishing.pictures.dashes import dashes, travelled
from addon.finishing.pictures.lettering import lettering, width_of

BLACK, WHITE = (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)


def test_png_is_lossless() -> None:
    pixels = np.random.default_rng(3).integers(0, 256, (37, 53, 3), dtype=np.uint8)
    assert np.array_equal(pixels_of(png_bytes(pixels)), pixels)


def test_another_reader_agrees() -> None:
    # matplotlib's reader (Pillow) as a reference library.
    pixels = np.random.default_rng(4).integers(0, 256, (20, 30, 3), dtype=np.uint8)
    read = image.imread(io.BytesIO(png_bytes(pixels)), format="png")
    assert np.allclose(read * 255, pixels, atol=0.01)


# ---- lines


def cover_plainly(segments: np.ndarray, pen: float, width: int, height: int) -> np.ndarray:
    """How much every pixel is covered, pixel by pixel and segment by segment: the slow twin of the canvas's lines."""
    cover = np.zeros((height, width))
    for row in range(height):
        for column in range(width):
            for x0, y0, x1, y1 in segments.tolist():
                start, run = np.array([x0, y0]), np.array([x1 - x0, y1 - y0])
                middle = np.array([column + 0.5, row + 0.5]) - start
                squared = float(run @ run)
                nearest = min(max(float(middle @ run) / squared, 0.0), 1.0) if squared > 0 else 0.0
                distance = float(np.hypot(*(middle - nearest * run)))
                cover[row, column] = max(cover[row, column], min(max(pen / 2 + 0.5 - distance, 0.0), min(pen, 1.0)))
    return cover


@given(st.integers(0, 2**32 - 1), st.floats(0.3, 6.0))
@settings(max_examples=300, deadline=None)
def test_lines_cover_what_the_plain_twin_covers(seed: int, pen: float) -> None:
    # Segments of all lengths and directions, dots among them, some partly or wholly off the picture.
    rng = np.random.default_rng(seed)
    starts = rng.uniform(-3, 13, (2, 2))
    segments = np.concatenate([starts, starts + rng.normal(0, 5, (2, 2)) * rng.integers(0, 2, (2, 2))], axis=1)
    canvas = Canvas(11, 9, BLACK)
    canvas.lines(segments, pen, WHITE)
    assert np.abs(canvas.pixels[..., 0] - cover_plainly(segments.astype(np.float32), pen, 11, 9)).max() < 0.004


@given(st.integers(0, 2**32 - 1), st.integers(1, 9))
@settings(max_examples=100, deadline=None)
def test_segments_drawn_some_at_a_time_look_as_those_drawn_at_once(seed: int, pieces: int) -> None:
    # Rounded places, so that segments often cover a pixel alike: of these the first is seen.
    rng = np.random.default_rng(seed)
    segments, colours = rng.uniform(-2, 13, (12, 4)).round(), rng.random((12, 3)).astype(np.float32)
    pictures = []
    for at_once in (canvas_module.PIECES_AT_ONCE, pieces):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(canvas_module, "PIECES_AT_ONCE", at_once)
            canvas = Canvas(11, 9, BLACK)
            canvas.lines(segments, 1.5, colours)
            pictures.append(canvas.pixels)
    assert np.array_equal(*pictures)


def test_a_line_covers_its_area() -> None:
    # Closed form: a pen of 3 over 100 pixels covers 300 square pixels and the two half discs at its ends.
    canvas = Canvas(140, 60, BLACK)
    canvas.lines(np.array([[20.0, 20.3, 116, 48.3]]), 3, WHITE)
    assert canvas.pixels[..., 0].sum() == pytest.approx(3 * 100 + np.pi * 1.5**2, rel=0.02)


def test_every_segment_may_have_its_own_colour() -> None:
    canvas = Canvas(30, 20, BLACK)
    canvas.lines(np.array([[5.0, 5, 25, 5], [5, 15, 25, 15]]), 2.0, np.array([[1, 0, 0], [0, 0, 1]], np.float32))
    assert canvas.pixels[4:6, 15].tolist() == [[1, 0, 0], [1, 0, 0]] and canvas.pixels[14:16, 15].tolist() == [[0, 0, 1], [0, 0, 1]]


def test_a_crossing_is_not_drawn_twice() -> None:
    canvas = Canvas(21, 21, BLACK)
    canvas.lines(np.array([[0.5, 10.5, 20.5, 10.5], [10.5, 0.5, 10.5, 20.5]]), 2.0, WHITE, opacity=0.5)
    assert canvas.pixels[10, 10, 0] == pytest.approx(0.5) == canvas.pixels[10, 3, 0]


def test_nothing_to_draw_changes_nothing() -> None:
    canvas = Canvas(9, 9, BLACK)
    canvas.lines(np.zeros((0, 4)), 2.0, WHITE)
    canvas.lines(np.array([[50.0, 50, 60, 60]]), 2.0, WHITE)
    canvas.box(20, 20, 30, 30, WHITE)
    assert not canvas.pixels.any()


def test_a_box_covers_its_area() -> None:
    # Closed form: 7.25 x 3.5 pixels, wherever between pixel corners it lies.
    canvas = Canvas(20, 10, BLACK)
    canvas.box(3.6, 2.25, 10.85, 5.75, WHITE)
    assert canvas.pixels[..., 0].sum() == pytest.approx(7.25 * 3.5, rel=1e-5)
    assert canvas.pixels[3, 5, 0] == 1.0 and canvas.pixels[3, 3, 0] == pytest.approx(0.4, abs=1e-5)


# ---- dashes


def dashes_plainly(starts: np.ndarray, ends: np.ndarray, along: np.ndarray, dash: float, gap: float) -> list[tuple[int, np.ndarray, np.ndarray]]:
    """The pattern laid along one move after the other: the slow twin."""
    out = []
    for move, (start, end, before) in enumerate(zip(starts, ends, along, strict=True)):
        length = float(np.linalg.norm(end - start))
        begin = np.floor(before / (dash + gap)) * (dash + gap)
        while length > 0 and begin < before + length:
            low, high = max(begin, before) - before, min(begin + dash, before + length) - before
            if high > low:
                out.append((move, start + (end - start) * low / length, start + (end - start) * high / length))
            begin += dash + gap
    return out


@given(st.integers(0, 2**32 - 1), st.floats(0.2, 5.0), st.floats(0.1, 5.0), st.sampled_from((2, 3)))
@settings(max_examples=60, deadline=None)
def test_dashes_lie_where_the_pattern_says(seed: int, dash: float, gap: float, dimensions: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.cumsum(rng.normal(0, 3, (12, dimensions)) * rng.integers(0, 4, (12, 1)), axis=0)
    new_run = rng.integers(0, 3, 11) == 0
    new_run[0] = True
    along = travelled(points[:-1], points[1:], new_run)
    found, owner = dashes(points[:-1], points[1:], along, dash, gap)
    plain = dashes_plainly(points[:-1], points[1:], along, dash, gap)
    length = np.linalg.norm(found[:, 1] - found[:, 0], axis=1)
    real, expected = length > 1e-6, [item for item in plain if np.linalg.norm(item[2] - item[1]) > 1e-6]
    assert owner[real].tolist() == [move for move, _, _ in expected]
    for (low, high), (_, first, last) in zip(found[real], expected, strict=True):
        np.testing.assert_allclose([low, high], [first, last], atol=1e-6)


def test_the_length_travelled_begins_anew_with_every_run() -> None:
    points = np.array([[0.0, 0], [3, 0], [3, 4], [8, 4], [8, 5]])
    assert travelled(points[:-1], points[1:], np.array([True, False, True, False])).tolist() == [0, 3, 0, 5]
    assert travelled(points[:-1], points[1:], np.zeros(4, bool)).tolist() == [0, 3, 7, 12]


def test_dashes_keep_their_lengths() -> None:
    segments = dashed(np.array([[0.0, 0], [50, 0], [50, 50]]), 6, 4)
    lengths = np.hypot(*(segments[:, 2:] - segments[:, :2]).T)
    assert lengths.sum() == pytest.approx(60)  # 6 of every 10
    assert dashed(np.zeros((2, 2)), 1, 1).shape == (0, 4)
    assert dashed_moves(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0, bool), 1, 1).shape == (0, 4)


# ---- lettering


def test_every_letter_has_a_shape_of_its_own() -> None:
    missing = lettering("☃", 10)[0][0]
    shapes = set()
    for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789.,:;!?()[]{}/%°²³±×µäöüßÄÖÜéèñç–+=<>≤≥'\"&@#*_|~":
        strokes = lettering(letter, 10)[0]
        assert not np.array_equal(strokes[0], missing), letter
        shapes.add(tuple(tuple(map(tuple, stroke.round(6).tolist())) for stroke in strokes))
    assert len(shapes) == len("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789.,:;!?()[]{}/%°²³±×µäöüßÄÖÜéèñç–+=<>≤≥'\"&@#*_|~")


def test_width_grows_with_height_and_letters_move_together_where_they_can() -> None:
    assert width_of("Hamburg 0.05 mm", 20) == pytest.approx(2 * width_of("Hamburg 0.05 mm", 10), rel=0.05)
    assert width_of("AVATAR", 20) < width_of("AHAHAH", 20)
    assert width_of("", 10) == 0


@pytest.mark.parametrize("pair", ["rv", "TA", "11", "ij", "..", "L'", "fj"])
def test_letters_do_not_touch(pair: str) -> None:
    first = lettering(pair[0], 10)[0]
    strokes, _ = lettering(pair, 10)
    second = np.concatenate(strokes[len(first) :])
    gap = np.linalg.norm(np.concatenate(first)[:, None] - second[None], axis=-1).min()
    assert gap > 1.3  # wider than the pen of 1.18


@pytest.mark.parametrize("anchor", [0.0, 0.5, 1.0])
def test_text_stands_at_its_anchor(anchor: float) -> None:
    canvas = Canvas(300, 60, WHITE)
    width = canvas.text("HIH", 150, 40, TextStyle(20, BLACK), anchor=anchor)
    rows, columns = np.nonzero(canvas.pixels[..., 0] < 0.5)
    assert columns.min() + anchor * width == pytest.approx(150, abs=2) and columns.max() - columns.min() == pytest.approx(width, abs=4)
    assert rows.max() == pytest.approx(40, abs=2) and rows.min() == pytest.approx(20, abs=2)  # capitals stand on the line


def test_upright_text_runs_from_below_upwards() -> None:
    flat, upright = Canvas(80, 80, WHITE), Canvas(80, 80, WHITE)
    flat.text("AB", 10, 60, TextStyle(20, BLACK))
    upright.text("AB", 60, 70, TextStyle(20, BLACK), upright=True)
    # A quarter turn anticlockwise takes (x, y) to (y, 80 - x): the foot at y = 60 comes to x = 60, the left end at x = 10 to y = 70.
    assert np.abs(np.rot90(flat.pixels) - upright.pixels).max() < 0.02


def test_long_titles_are_broken_not_cut() -> None:
    lines, size = fitted_lines("one two three four five six", 20, 120, 10, most_lines=3)
    assert " ".join(lines) == "one two three four five six" and len(lines) > 1
    assert all(width_of(line, size) <= 120 for line in lines)
    lines, _ = fitted_lines("X" * 80, 20, 100, 10)
    assert "".join(lines) == "X" * 80
    assert fitted_lines("", 20, 100, 10)[0] == ("",)


def test_a_text_that_nearly_fits_is_made_smaller_before_it_is_broken() -> None:
    room = 0.8 * width_of("not quite short enough", 20)
    lines, size = fitted_lines("not quite short enough", 20, room, 10)
    assert lines == ("not quite short enough",) and 10 <= size < 20 and width_of(lines[0], size) <= room
