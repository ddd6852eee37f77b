"""The bench sheet: one page that stands by itself, and drawings that show the sides where they are."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from xml.etree import ElementTree

import numpy as np
import pytest
from program_reader import read
from shapely.geometry import LineString, MultiLineString, Point
from small_jobs import HOSTILE, two_sides, with_smaller_cutter

from addon.finishing.core.finding import Finding
from addon.finishing.core.message import Message
from addon.finishing.core.path import CUT, Path
from addon.finishing.files.bench_sheet import bench_sheet
from addon.finishing.files.plan_programs import finishing_program, part_program, plan_dry_run
from addon.finishing.files.side_drawing import MOST_DRAWN, side_drawing
from addon.finishing.job.cautions import CAUTIONS
from addon.finishing.job.dowels import dowel_places, in_job
from addon.finishing.job.other_operations import OtherOperation
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.job.stock import corners_in_job
from addon.finishing.planning.result import Plan
from addon.finishing.planning.run_list import RunListRow, dowel_row, finishing_row, other_operation_row

SVG = "{http://www.w3.org/2000/svg}"
VOID = ("meta", "br", "rect", "polyline", "circle", "path")


class Page(HTMLParser):
    """Tags, texts, cells by row, list items and what a page would load or run."""

    def __init__(self, content: bytes) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.loaded: list[str] = []
        self.rows: list[list[str]] = []
        self.items: list[tuple[str, bool]] = []
        self.feed(content.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
        elif tag == "li":
            self.items.append(("", ("class", "must") in attrs))
        self.loaded += [value or "" for name, value in attrs if name in ("src", "href") or name.startswith("on")]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop()[0] == tag

    def handle_data(self, data: str) -> None:
        self.text += data
        inside = [tag for tag, _ in self.open]
        if inside and inside[-1] in ("td", "th"):
            self.rows[-1][-1] += data
        if inside and inside[-1] == "li":
            text, must = self.items[-1]
            self.items[-1] = (text + data, must)


def rows_of(*plans: Plan) -> list[RunListRow]:
    """A run list of the plans' paths alone."""
    return [finishing_row(plan, number, f"{number}.nc") for number, plan in enumerate(plans, start=1)]


def test_the_sheet_is_one_whole_page() -> None:
    plans = two_sides()
    page = Page(bench_sheet(plans, rows_of(*plans)))
    assert page.open == [] and "script" not in page.tags and page.loaded == []  # self-contained, nothing runs
    assert HOSTILE in page.text and "<clamp>" in page.text
    for text in CAUTIONS:
        assert (text, False) in page.items
    assert page.tags.count("svg") == 2 and "dowel 1" in page.text and "dowel 2" in page.text
    assert "Turn the stock over about its Y axis" in page.text
    assert plans[0].body_digest in page.text


def test_one_side_alone_is_not_turned_over() -> None:
    top = two_sides()[0]
    assert "Turn the stock over" not in Page(bench_sheet((top,), rows_of(top))).text


def test_the_running_order_is_the_run_list() -> None:
    top, back = two_sides()
    rows = [
        other_operation_row(top, 1, OtherOperation("roughing <all>", "Flat 22", 20.0)),
        dowel_row(top, 2, "dowels.nc"),
        finishing_row(top, 3, "top.nc"),
        finishing_row(back, 4, "back.nc"),
    ]
    page = Page(bench_sheet((top, back), rows))
    table = page.rows[: len(rows) + 1]
    assert table[0][1:5] == ["Side", "Work", "File", "Cutter"]
    assert table[1][:5] == ["1", "top", "roughing <all>", "other operation", "Flat 22"] and table[1][7] == "20.0"
    assert table[2][2:5] == ["dowel holes", "dowels.nc", "Drill 8 mm"] and float(table[2][7]) > 0
    assert [row[6] for row in table[3:]] == ["spoilboard under the stock", "top of the stock (not of the body)"]
    # By hand: flat cutter, drill, round-nose; the round-nose stays for the back.
    minutes = 20 + (rows[1].minutes or 0.0) + top.run_time.minutes + back.run_time.minutes
    assert f"{minutes:.1f} minutes of cutting, and 2 tool changes of 2 minutes" in page.text


def test_what_the_cutters_need_to_reach() -> None:
    # By construction: the top is zeroed on the spoilboard under stock of 15 mm, and the arch's border lies 12 mm above it and falls there by
    # 3 pi / 40 at the most, where the tip stands R (1 - cos) below what the ball touches; turns take it lower by up to a cell.
    top = two_sides()[0]
    page = Page(bench_sheet((top,), rows_of(top)))
    row = next(row for row in page.rows if row[:2] == ["top", "Round-nose 12"])
    least = 15 - 12 + 6 * (1 - np.cos(np.arctan(3 * np.pi / 40)))
    assert row[2:5] == ["12", "50", "60"] and least - 0.05 <= float(row[5]) <= least + top.grid.cell + 0.05
    assert row[6:] == ["18000", "3500"]
    slower = replace(top, request=replace(top.request, feed=1200.0))
    assert next(row for row in Page(bench_sheet((slower,), rows_of(slower))).rows if row[:2] == ["top", "Round-nose 12"])[7] == "1200"


def test_a_measured_cutter_says_what_was_measured_and_what_is_planned() -> None:
    top = two_sides()[0]
    assert not any("Runout mm" in row for row in Page(bench_sheet((top,), rows_of(top))).rows)
    true = replace(top.cutter, measured_diameter=11.9, runout=0.04)
    measured = replace(top, request=replace(top.request, cutter=true), cutter=true)
    rows = Page(bench_sheet((measured,), rows_of(measured))).rows
    number = next(number for number, row in enumerate(rows) if "Runout mm" in row)
    header, row = rows[number : number + 2]
    # Closed form: what cuts is the measured diameter and the whole runout, by whose half the ball swings to either side.
    assert dict(zip(header, row, strict=True)).items() >= {("Measured mm", "11.9"), ("Runout mm", "0.04"), ("Planned mm", "11.94")}


def test_findings_are_listed_with_place_and_weight() -> None:
    top = two_sides()[0]
    plain = Finding("plain", Message("A & B."))
    placed = Finding("placed", Message("Here."), place=(4.0, 5.0, 6.0))
    severe = Finding("severe", Message("Look out!"), Message("Do this."), place=(1.25, -2.0, 3.0), must_see=True)
    items = Page(bench_sheet((replace(top, findings=(plain, placed, severe)),), rows_of(top))).items
    assert ("top: A & B.", False) in items
    assert ("top: Here. At x 4.0, y 5.0, z 6.0.", False) in items
    assert ("top: Look out! Do this. At x 1.2, y -2.0, z 3.0.", True) in items
    assert Page(bench_sheet((replace(top, findings=()),), rows_of(top))).text.count("None.") == 1


def test_findings_stand_before_the_cautions_and_the_drawings() -> None:
    top = two_sides()[0]
    text = bench_sheet((top,), rows_of(top)).decode("utf-8")
    assert text.index("<h2>Findings</h2>") < text.index("<h2>Cautions</h2>") < text.index("<svg")
    assert "Assumed: roughing left 0.5 mm on the body, and a channel of 22 mm round it" in text
    assert "never start a program in its middle" in text and "--from-line" in text


ROUGH = "roughing left 0.8 mm on the body in terraces of 3 mm, and a channel of 14 mm round it"


@pytest.mark.parametrize(("which", "blank", "words"), [
    (0, False, f"Assumed: {ROUGH}"),
    (1, False, f"Assumed: {ROUGH}, then Round-nose 12 has been over the side"),
    (0, True, "Assumed: the stock stands as the object that was given for it"),
    (1, True, "Assumed: the stock stands as the object that was given for it, then Round-nose 12 has been over the side"),
])  # fmt: skip
def test_what_the_stock_is_taken_to_be_stands_on_the_sheet_and_in_every_program(which: int, blank: bool, words: str) -> None:
    plan = with_smaller_cutter()[which]
    rough = RoughingSettings(allowance=0.8, terrace_height=3.0, channel_width=14.0)
    plan = replace(plan, request=replace(plan.request, roughing=rough, stock_body=plan.request.body if blank else None))
    assert f"{words}." in Page(bench_sheet((plan,), rows_of(plan))).text
    for program in (finishing_program(plan, "mm"), part_program(plan, "mm", 1, 1), plan_dry_run(plan, "mm")):
        notes = " ".join(read(program).notes)
        assert f"{words} " in notes


def test_sanding_counts_the_ground_of_smaller_cutters_once() -> None:
    plans = with_smaller_cutter()
    text = Page(bench_sheet(plans, rows_of(*plans))).text
    assert text.count("Sanding:") == 1


# ---- the drawing


def drawn(plan: Plan) -> ElementTree.Element:
    """The drawing as a tree; ElementTree refuses what is not well-formed."""
    return ElementTree.fromstring(side_drawing(plan).svg)


def polylines(svg: ElementTree.Element, stroke: str) -> list[np.ndarray]:
    """Points (n, 2) in job mm of the polylines of one colour; y upwards again."""
    found = [line for line in svg.iter(f"{SVG}polyline") if line.get("stroke") == stroke]
    return [np.array([[float(v) for v in point.split(",")] for point in line.get("points", "").split()]) * (1, -1) for line in found]


@pytest.mark.parametrize("side", [0, 1], ids=["top", "back"])
def test_stock_and_body_are_drawn_where_they_lie(side: int) -> None:
    # By construction: a body of 60 x 40 mm in the middle of stock with a margin of 25 mm, zero at the stock's lower left corner.
    svg = drawn(two_sides()[side])
    stock = svg.find(f"{SVG}rect")
    assert stock is not None and [float(stock.get(name, "")) for name in ("x", "y", "width", "height")] == [0.0, -90.0, 110.0, 90.0]
    outline = np.concatenate(polylines(svg, "#111"))
    assert outline.min(axis=0) == pytest.approx([25, 25], abs=0.5) and outline.max(axis=0) == pytest.approx([85, 65], abs=0.5)


def test_dowels_clamps_and_zero_lie_inside_the_frame() -> None:
    top = two_sides()[0]
    svg = drawn(top)
    left, upper, width, height = (float(v) for v in svg.get("viewBox", "").split())
    holes = [(float(c.get("cx", "")), -float(c.get("cy", ""))) for c in svg.iter(f"{SVG}circle") if c.get("cx")]
    assert np.allclose(holes, in_job(dowel_places(top.request.dowels, top.stock), top.stock, "top"), atol=0.01)
    clamp = list(svg.iter(f"{SVG}rect"))[1]
    assert [float(clamp.get(name, "")) for name in ("x", "y", "width", "height")] == [-8.0, -50.0, 10.0, 20.0]
    texts = {text.text: (float(text.get("x", "")), float(text.get("y", ""))) for text in svg.iter(f"{SVG}text")}
    assert set(texts) == {"<clamp>", "dowel 1", "dowel 2", "X", "Y"}
    for x, y in [(0.0, 0.0), *((x, -y) for x, y in holes), (-8.0, -50.0), (2.0, -30.0), *texts.values()]:
        assert left < x < left + width and upper < y < upper + height
    assert texts["X"][0] > 0 and texts["Y"][1] < 0  # on the positive sides of zero


def test_drawn_pass_lines_stay_close_to_the_true_ones() -> None:
    # shapely's distance, in both directions: from drawn corners to the lines, and from points of the lines to what is drawn.
    x = np.linspace(30.0, 80.0, 400)
    points = np.concatenate([np.column_stack([x, y + 3 * np.sin(0.5 * x), np.full(400, 12.0)]) for y in (35.0, 45.0, 55.0)])
    path = Path(points, np.full(1200, CUT, np.uint8), np.repeat(np.arange(1, 4, dtype=np.int32), 400), np.full(1200, 3000.0))
    plan = replace(two_sides()[0], path=path)
    lines = polylines(drawn(plan), "#777")
    true, paper = MultiLineString([line[:, :2] for line in path.lines()]), MultiLineString([LineString(line) for line in lines])
    assert len(lines) == 3 and sum(map(len, lines)) < 150
    limit = 0.25 + 0.1  # mm; what a printed line hides, and coordinates are written with one decimal
    assert max(true.distance(Point(point)) for line in lines for point in line) <= limit
    assert max(paper.distance(Point(point)) for line in path.lines() for point in line[:, :2]) <= limit


def many_lines(plan: Plan, count: int) -> Plan:
    """The plan with a path of so many short parallel lines."""
    y = np.repeat(np.linspace(30.0, 60.0, count), 2)
    points = np.column_stack([np.tile([30.0, 80.0], count), y, np.full(2 * count, 12.0)])
    line = np.repeat(np.arange(1, count + 1, dtype=np.int32), 2)
    return replace(plan, path=Path(points, np.full(2 * count, CUT, np.uint8), line, np.full(2 * count, 3000.0)))


@pytest.mark.parametrize("count, every", [(MOST_DRAWN, 1), (MOST_DRAWN + 1, 2), (10 * MOST_DRAWN, 10)])
def test_lines_that_would_run_together_are_thinned_out(count: int, every: int) -> None:
    plan = many_lines(two_sides()[0], count)
    drawing = side_drawing(plan)
    assert (drawing.drawn_every, drawing.pass_lines) == (every, count)
    assert len(polylines(drawn(plan), "#777")) == -(-count // every) <= MOST_DRAWN
    text = Page(bench_sheet((plan,), rows_of(plan))).text
    assert re.findall(r"One in (\d+) of the (\d+) pass lines", text) == ([] if every == 1 else [(str(every), str(count))])


def test_a_path_without_lines_is_drawn_too() -> None:
    plan = many_lines(two_sides()[0], 0)
    assert polylines(drawn(plan), "#777") == [] and side_drawing(plan).drawn_every == 1
    low, high = corners_in_job(plan.stock, "top")
    assert np.all(high > low)
