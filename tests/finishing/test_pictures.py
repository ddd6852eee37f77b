"""Pictures: valid PNG files with the right colours in the right places, whole words, and quick enough."""

import struct
import zlib

import numpy as np
import pytest

from addon.finishing.core.errors import BadRequest
from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, ENTRY, LIFT, LINK, Path
from addon.finishing.pictures import canvas as canvas_module
from addon.finishing.pictures import charts, legend, lettering, plan_pictures, ramps, surface_pictures


def pixels_of(data: bytes):
    """A small PNG reader of its own (ISO/IEC 15948): checks every CRC, undoes the row filter, gives (rows, columns, 3)."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        (crc,) = struct.unpack(">I", data[at + 8 + length : at + 12 + length])
        assert crc == zlib.crc32(kind + body)
        chunks[kind] = body
        at += 12 + length
    width, height, depth, colour_type = struct.unpack(">IIBB", chunks[b"IHDR"][:10])
    assert (depth, colour_type) == (8, 2) and b"IEND" in chunks
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(height, 1 + 3 * width)
    assert np.all(rows[:, 0] == 2)
    return np.cumsum(rows[:, 1:], axis=0, dtype=np.uint8).reshape(height, width, 3)


def plate(cell=0.5):
    """A flat round plate of radius 60 with a square pocket."""
    grid = Grid(-62, -62, cell, round(124 / cell) + 1, round(124 / cell) + 1)
    x, y = np.meshgrid(grid.x(), grid.y())
    heights = np.where(np.hypot(x, y) < 60, 20.0, -np.inf)
    pocket = (np.abs(x - 20) < 12) & (np.abs(y) < 12)
    heights[pocket] = 10
    return grid, x, y, heights, pocket


def share(pixels, colour, tolerance=0.02):
    """Share of pixels of a colour."""
    return float(np.mean(np.abs(pixels / 255 - np.array(colour)).max(axis=-1) < tolerance))


def test_png_is_lossless():
    random = np.random.default_rng(3).integers(0, 256, (37, 53, 3), dtype=np.uint8)
    assert np.array_equal(pixels_of(canvas_module.png_bytes(random)), random)


def test_another_reader_agrees():
    # matplotlib's reader (Pillow) as a reference library.
    image = pytest.importorskip("matplotlib.image")
    import io

    random = np.random.default_rng(4).integers(0, 256, (20, 30, 3), dtype=np.uint8)
    read = image.imread(io.BytesIO(canvas_module.png_bytes(random)), format="png")
    assert np.allclose(read * 255, random, atol=0.01)


def test_flat_ground_has_the_very_colour_of_the_legend():
    grid, _, _, heights, pocket = plate()
    values = np.where(np.isfinite(heights), 30.0, np.nan)
    heights[pocket] = 20
    pixels = pixels_of(surface_pictures.picture(surface_pictures.MapContent(grid, heights, legend.slope_legend(), values), surface_pictures.Sheet("S")))
    # 1400 wide; the plate is round and fills the height, pi/4 of its square.
    expected = ramps.SLOPE.colours(np.array([30.0]), 0, 90)[0, :3]
    assert share(pixels, expected) > 0.25
    assert share(pixels, surface_pictures.PAPER) > 0.4


def test_map_is_not_upside_down():
    grid, _, y, heights, _ = plate()
    values = np.where(np.isfinite(heights), np.where(y > 0, 80.0, 5.0), np.nan)
    pixels = pixels_of(surface_pictures.picture(surface_pictures.MapContent(grid, heights, legend.slope_legend(), values), surface_pictures.Sheet("S")))
    dark = (pixels.sum(axis=-1) < 250)[:, 200:1000]
    rows = np.flatnonzero(dark.mean(axis=1) > 0.3)
    assert rows.max() < pixels.shape[0] * 0.62  # y upwards: the steep half is above


def test_hatched_ground_and_its_key():
    grid, _, _, heights, pocket = plate()
    values = np.where(np.isfinite(heights), 0.0, np.nan)
    without = surface_pictures.MapContent(grid, heights, legend.uncut_legend(1), values)
    with_hatch = surface_pictures.MapContent(grid, heights, legend.uncut_legend(1), values, pocket, "left out")
    plain, hatched = (pixels_of(surface_pictures.picture(c, surface_pictures.Sheet("S"))) for c in (without, with_hatch))
    changed = np.abs(plain.astype(int) - hatched).max(axis=-1) > 20
    # The pocket is 24 of some 124 mm, so about 0.03 of the map's square.
    assert 0.01 < changed.mean() < 0.05
    assert changed[:, 1150:].any()


def a_path():
    points, kind, line = [[0.0, 0.0, 40.0]], [LIFT], [1]
    for number, y in enumerate((-30.0, -10.0, 40.0), start=1):
        start = [-30.0, y, 20.0]
        moves = {1: [(LIFT, [-30, y, 40]), (ENTRY, start)], 2: [(LINK, start)], 3: [(LIFT, start)]}[number]
        for k, p in moves:
            points.append(p), kind.append(k), line.append(number)
        for x in (-30.0, 0.0, 30.0):
            points.append([x, y, 20.0]), kind.append(CUT), line.append(number)
    return Path(np.array(points), np.array(kind, np.uint8), np.array(line, np.int32), np.full(len(points), 3000.0))


def test_pass_lines_follow_the_ramp_and_show_links_and_lifts():
    grid, _, _, heights, _ = plate()
    pixels = pixels_of(surface_pictures.lines_picture(grid, heights, a_path(), surface_pictures.Sheet("Lines")))
    table = ramps.LINES.table()
    for place in (0, 128, 255):
        assert share(pixels[:, :1140], table[place, :3], 0.1) > 1e-4
    moved = a_path()
    no_links = Path(moved.points, np.where(moved.kind == LINK, ENTRY, moved.kind).astype(np.uint8), moved.line, moved.feed)
    other = pixels_of(surface_pictures.lines_picture(grid, heights, no_links, surface_pictures.Sheet("Lines")))
    assert np.any(np.abs(pixels.astype(int) - other)[:, :1140].max(axis=-1) > 60)


def test_no_words_run_over_the_border():
    grid, _, _, heights, pocket = plate()
    values = np.where(np.isfinite(heights), 0.02, np.nan)
    long = "Außergewöhnlich langer Name eines Körpers, der nicht abgeschnitten werden darf " * 2 + "X" * 150
    content = surface_pictures.MapContent(grid, heights, legend.curvature_legend(12.5), values, pocket, "left out")
    for width, height in ((0, 0), (640, 480), (1400, 1000)):
        pixels = pixels_of(surface_pictures.picture(content, surface_pictures.Sheet(long, long, long, width, height)))
        border = np.concatenate([pixels[:12].reshape(-1, 3), pixels[:, :12].reshape(-1, 3), pixels[:, -12:].reshape(-1, 3)])
        assert share(border, surface_pictures.PAPER) == 1.0


@pytest.mark.parametrize("shape", [(41, 1201), (1201, 41), (1, 1), (2, 3)], ids=str)
def test_narrow_wide_and_tiny_bodies(shape):
    grid = Grid(0, 0, 0.5, *shape)
    heights = np.full(shape, 5.0)
    content = surface_pictures.MapContent(grid, heights, legend.cusp_legend(0.05), np.full(shape, 0.02))
    pixels = pixels_of(surface_pictures.picture(content, surface_pictures.Sheet("Cusp left")))
    assert 640 <= pixels.shape[1] <= 1400 and 480 <= pixels.shape[0] <= 1300
    assert share(pixels, ramps.CUSP.colours(np.array([0.02]), 0, 0.1)[0, :3]) > 0.005


def test_empty_maps_say_so():
    grid, _, _, heights, _ = plate()
    nothing = np.full(grid.shape, np.nan)
    for shown in (heights, np.full(grid.shape, -np.inf)):
        content = surface_pictures.MapContent(grid, shown, legend.cusp_legend(0.05), nothing)
        pixels = pixels_of(surface_pictures.picture(content, surface_pictures.Sheet("Cusp left")))
        assert share(pixels[400:700, 300:900], surface_pictures.QUIET, 0.1) > 0.001


def test_bad_input():
    grid, _, _, heights, _ = plate()
    with pytest.raises(BadRequest, match="values"):
        surface_pictures.picture(surface_pictures.MapContent(grid, heights, legend.cusp_legend(1), np.zeros((2, 2))), surface_pictures.Sheet("S"))
    with pytest.raises(BadRequest, match="640 x 480"):
        surface_pictures.picture(surface_pictures.MapContent(grid, heights, legend.cusp_legend(1)), surface_pictures.Sheet("S", width=100, height=50))
    with pytest.raises(BadRequest, match="chart line"):
        charts.chart((charts.ChartLine("a", np.zeros(3), np.zeros(2)),), surface_pictures.Sheet("S"))


def test_every_letter_has_a_shape_and_spacing_is_even():
    for letter in "ABCXYZabcxyz0123456789.,:;!?()[]{}/%°²³±×µäöüßÄÖÜéèñç-–+=<>≤≥'\"&@#*_|~":
        assert not np.array_equal(lettering.lettering(letter, 10)[0][0], lettering.lettering("☃", 10)[0][0]), letter
    width = lettering.width_of("Hamburg 0.05 mm", 20)
    assert width == pytest.approx(2 * lettering.width_of("Hamburg 0.05 mm", 10), rel=0.05)
    assert lettering.width_of("AVATAR", 20) < lettering.width_of("AHAHAH", 20)
    assert lettering.width_of("", 10) == 0
    for pair in ("rv", "TA", "11", "ij", "..", "L'", "fj"):
        (first, *_), _ = lettering.lettering(pair[0], 10)
        strokes, _ = lettering.lettering(pair, 10)
        second = np.concatenate(strokes[len(lettering.lettering(pair[0], 10)[0]) :])
        gap = np.linalg.norm(first[:, None] - second[None], axis=-1).min()
        assert gap > 1.3, pair  # wider than the pen of 1.18


def test_long_titles_are_broken_not_cut():
    lines, size = canvas_module.fitted_lines("one two three four five six", 20, 120, 10, most_lines=3)
    assert " ".join(lines) == "one two three four five six" and len(lines) > 1
    assert all(lettering.width_of(line, size) <= 120 for line in lines)
    lines, _ = canvas_module.fitted_lines("X" * 80, 20, 100, 10)
    assert "".join(lines) == "X" * 80
    assert canvas_module.fitted_lines("", 20, 100, 10)[0] == ("",)


def test_dashes_keep_their_lengths():
    segments = canvas_module.dashed(np.array([[0.0, 0], [50, 0], [50, 50]]), 6, 4)
    lengths = np.hypot(*(segments[:, 2:] - segments[:, :2]).T)
    assert lengths.sum() == pytest.approx(60)  # 6 of every 10
    assert canvas_module.dashed(np.zeros((2, 2)), 1, 1).shape == (0, 4)


def test_a_line_covers_its_area():
    # A pen of 3 over 100 pixels covers 300 square pixels and the two half discs at its ends (closed form).
    canvas = canvas_module.Canvas(140, 60, (0, 0, 0))
    canvas.lines(np.array([[20.0, 20.3, 116, 48.3]]), 3, (1, 1, 1))
    assert canvas.pixels[..., 0].sum() == pytest.approx(3 * 100 + np.pi * 1.5**2, rel=0.02)


def test_chart_lines_run_where_the_numbers_say():
    x = np.linspace(0.01, 0.2, 40)
    lines = tuple(charts.ChartLine(f"Round-nose {d}", x, 3 / np.sqrt(x * d / 16), d < 20, d == 16) for d in (8, 16, 32))
    sheet = surface_pictures.Sheet("Minutes against cusp", "note", "footer")
    mark = charts.ChartMark(0.05, 3 / np.sqrt(0.05), "16 mm at 0.05 mm")
    pixels = pixels_of(charts.chart(lines, sheet, mark=mark, limit=18, limit_label="18 min left"))
    middle = ramps.LINES.colours(np.array([0.5]), 0, 1)[0, :3]
    hits = np.argwhere(np.abs(pixels[:, :1100] / 255 - middle).max(axis=-1) < 0.03)
    # Minutes fall with the cusp: the line's pixels go down (larger row) to the right.
    assert len(hits) > 500 and np.corrcoef(hits[:, 0], hits[:, 1])[0, 1] > 0.7
    border = np.concatenate([pixels[:, :12].reshape(-1, 3), pixels[:, -12:].reshape(-1, 3)])
    assert share(border, surface_pictures.PAPER) == 1.0
    assert share(pixels_of(charts.chart((), sheet)), surface_pictures.PAPER) > 0.9
    single = charts.ChartLine("one", np.array([0.1]), np.array([5.0]))
    flat = charts.ChartLine("flat", x, np.zeros_like(x))
    assert pixels_of(charts.chart((single, flat), sheet)).shape[2] == 3


def test_names_are_moved_apart_as_little_as_possible():
    # Pool-adjacent-violators (closed form for two equal places: half the distance to each side).
    assert charts._apart(np.array([50.0, 50.0]), 10, 0, 100) == pytest.approx([45, 55])
    assert charts._apart(np.array([10.0, 50.0]), 10, 0, 100) == pytest.approx([10, 50])
    assert charts._apart(np.array([99.0, 99.0]), 10, 0, 100) == pytest.approx([90, 100])


def test_minutes_at_other_cusps_follow_the_metric():
    # L_min is proportional to 1/sqrt(8 h (1 - h/(2R))) (formulas.md, the cusp metric): at h = 4 h0 about half the time.
    from types import SimpleNamespace

    row = SimpleNamespace(cutter=SimpleNamespace(radius=8.0), cusp=0.05, minutes=20.0)
    found = plan_pictures.minutes_at(row, np.array([0.05, 0.2]))
    assert found == pytest.approx([20.0, 20 * np.sqrt(0.05 * (1 - 0.05 / 16) / (0.2 * (1 - 0.2 / 16)))])


def test_all_pictures_of_a_plan():
    # A stand-in with the fields of a Plan; the whole planner has tests of its own.
    from types import SimpleNamespace

    from addon.finishing.job.cutter import Cutter
    from addon.finishing.surface.curvature_maps import surface_maps

    grid, _, _, heights, pocket = plate(1.0)
    cutter = Cutter("Round-nose 16", 16.0)
    body = np.isfinite(heights)
    row = SimpleNamespace(cutter=cutter, fits=True, cusp=0.05, minutes=12.0)
    plan = SimpleNamespace(
        body=SimpleNamespace(name="Plate", size=np.array([120.0, 120, 20])),
        request=SimpleNamespace(side="top", cusp=0.05, rest=None),
        cutter=cutter,
        grid=grid,
        heights=heights,
        maps=surface_maps(heights, grid),
        ground=SimpleNamespace(planned=body & ~pocket, forbidden=pocket, planned_area=14_000.0),
        uncut=np.zeros(grid.shape),
        proof=SimpleNamespace(cusp=np.where(body, 0.04, np.nan)),
        path=a_path(),
        run_time=SimpleNamespace(total_seconds=720.0),
        rack=(row,),
    )
    found = dict(plan_pictures.plan_pictures(plan))
    names = ["slope_map", "curvature_map", "uncut_map", "cusp_map", "pass_lines", "minutes_chart"]
    assert list(found) == names
    assert len({data for data in found.values()}) == len(names)
    for data in found.values():
        assert pixels_of(data).shape[1] >= 640
