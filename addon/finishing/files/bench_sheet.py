"""The bench sheet: one page to take to the machine, self-contained HTML that prints on A4."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np

from ..core.fusing import fused
from ..core.grid import FloatArray
from ..core.level_lines import level_lines
from ..core.path import CUT
from ..core.polyline import resampled
from ..job.cautions import CAUTIONS
from ..job.dowels import dowel_places, in_job
from ..job.stock import corners_in_job, stock_top
from ..options.sanding import sanding_after
from ..planning.result import Plan
from ..planning.run_list import RunListRow

STYLE = """
@page { size: A4; margin: 12mm }
body { font: 10pt/1.35 sans-serif; color: #111; max-width: 186mm; margin: 0 auto; padding: 4mm }
h1 { font-size: 15pt; margin: 0 0 1mm } h2 { font-size: 11.5pt; margin: 5mm 0 1.5mm; border-bottom: 0.4mm solid #111; break-after: avoid }
p { margin: 1mm 0 } .small { font-size: 8.5pt; color: #444; overflow-wrap: anywhere }
.sides { display: flex; gap: 4mm } .sides figure { flex: 1; margin: 0; min-width: 0; break-inside: avoid }
figcaption { font-size: 9pt } svg { width: 100%; height: auto; max-height: 105mm; border: 0.2mm solid #bbb }
table { border-collapse: collapse; width: 100%; break-inside: avoid } th, td { text-align: left; padding: 0.8mm 1.5mm; border: 0.2mm solid #999 }
th { background: #eee } td.number { text-align: right } td.box { width: 7mm } ul { margin: 1mm 0; padding-left: 5mm }
.cautions { border: 0.6mm solid #111; padding: 1.5mm 3mm 1.5mm 8mm; break-inside: avoid } .must { font-weight: bold }
"""

MOST_DRAWN = 45
"""Pass lines drawn of a side; more would run together on paper."""

ROOM = 20.0
"""mm round what is drawn, for the letters of the axes."""

LINE_STEP = 0.25
"""mm that the drawn lines may leave the true ones."""


def bench_sheet(plans: Sequence[Plan], rows: Sequence[RunListRow]) -> bytes:
    """The sheet of one job. plans: the sides in running order. rows: the run list."""
    first = plans[0]
    body, stock = first.request.body, first.stock
    sides = {plan.request.side for plan in plans}
    turn = "" if len(sides) < 2 else f" Turn the stock over about its {stock.settings.turn_axis.upper()} axis between the sides."
    parts = [
        f"<h1>{escape(body.name)}</h1>",
        f"<p>Body {_size(body.size)} mm, stock {_size(np.array(stock.size))} mm.{turn}</p>",
        f'<ul class="cautions">{"".join(f"<li>{escape(text)}</li>" for text in CAUTIONS)}</ul>',
        "<h2>Running order</h2>",
        _running_order(rows),
        f"<p>{_total(plans, rows)}</p>",
        "<h2>Sides, as they lie on the machine</h2>",
        '<div class="sides">' + "".join(_side(plan) for plan in plans) + "</div>",
        "<h2>Cutters</h2>",
        _cutters(plans),
        "<h2>Sanding</h2>",
        _sanding(plans),
        "<h2>Findings</h2>",
        _findings(plans),
        '<p class="small">' + "<br>".join(_origin(plan) for plan in plans) + "</p>",
    ]
    page = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>Bench sheet: {escape(body.name)}</title><style>{STYLE}</style></head>\n<body>\n" + "\n".join(parts) + "\n</body></html>\n"
    )
    return page.encode("utf-8")


def _size(size: FloatArray) -> str:
    return " x ".join(f"{value:.1f}" for value in size)


def _table(header: Sequence[str], rows: Sequence[Sequence[str]], numbers: Sequence[int]) -> str:
    """A table; texts are escaped here. numbers: columns that stand right."""
    head = "".join(f"<th>{escape(text)}</th>" for text in header)
    lines = []
    for row in rows:
        cells = "".join(f"<td{' class=number' if k in numbers else ''}>{escape(text)}</td>" for k, text in enumerate(row))
        lines.append(f"<tr>{cells}</tr>")
    return f"<table><tr>{head}</tr>{''.join(lines)}</table>"


def _running_order(rows: Sequence[RunListRow]) -> str:
    return _table(
        ("", "Side", "Work", "File", "Cutter", "X Y zero", "Z zero", "Minutes", "Done"),
        [
            (str(row.number), row.side, row.work, row.file or "made elsewhere", row.cutter, row.xy_zero, row.z_zero,
             "" if row.minutes is None else f"{row.minutes:.1f}", "")
            for row in rows
        ],
        (0, 7),
    )  # fmt: skip


def _total(plans: Sequence[Plan], rows: Sequence[RunListRow]) -> str:
    machine = plans[0].request.machine
    changes = sum(a.cutter != b.cutter for a, b in zip(rows[:-1], rows[1:], strict=True))
    minutes = sum(row.minutes or 0.0 for row in rows)
    text = f"{minutes:.1f} minutes of cutting"
    if changes:
        text += f", and {changes} tool change{'s' if changes > 1 else ''} of {machine.tool_change_minutes:g} minutes"
    return escape(f"{text}. {plans[0].run_time.reason}")


def _cutters(plans: Sequence[Plan]) -> str:
    rows = []
    for plan in plans:
        cutter = plan.cutter
        deepest = stock_top(plan.stock, plan.request.side) - float(plan.path.points[:, 2].min())
        rows.append((
            plan.request.side, cutter.name, f"{cutter.diameter:g}", f"{cutter.usable_length:g}", f"{cutter.stick_out:g}", f"{deepest:.1f}",
            f"{cutter.spindle_speed:.0f}", f"{plan.request.feed or cutter.feed:.0f}",
        ))  # fmt: skip
    header = ("Side", "Cutter", "Diameter mm", "Usable length mm", "Stick-out mm", "Reach needed mm", "Spindle 1/min", "Feed mm/min")
    return _table(header, rows, range(2, 8))


def _sanding(plans: Sequence[Plan]) -> str:
    lines = [
        f"{plan.request.side}, {plan.cutter.name}, cusp {plan.request.cusp:g} mm: {sanding_after(plan.request.cusp, plan.ground.planned_area).words}"
        for plan in plans
        if plan.request.rest is None  # the ground of smaller cutters is part of it
    ]
    return "".join(f"<p>{escape(line)}</p>" for line in lines)


def _findings(plans: Sequence[Plan]) -> str:
    items = []
    for plan in plans:
        for finding in plan.findings:
            place = "" if finding.place is None else " At x {:.1f}, y {:.1f}, z {:.1f}.".format(*finding.place)
            text = f"{plan.request.side}: {finding.words}" + place
            items.append(f"<li{' class=must' if finding.must_see else ''}>{escape(text)}</li>")
    return f"<ul>{''.join(items)}</ul>" if items else "<p>None.</p>"


def _origin(plan: Plan) -> str:
    return escape(f"{plan.request.side}: cusp {plan.request.cusp:g} mm, start {plan.start}, {plan.path.line_count} pass lines, body {plan.body_digest}")


def _side(plan: Plan) -> str:
    """A side seen from above: stock, body, some passes, zero, axes, dowels, keep-out boxes."""
    side, stock = plan.request.side, plan.stock
    low, high = (corner[:2] for corner in corners_in_job(stock, side))
    boxes = [(box.name, np.array(box.low[:2]), np.array(box.high[:2])) for box in plan.request.keep_out]
    seen_low = np.minimum.reduce([low, np.zeros(2), *(box[1] for box in boxes)]) - ROOM
    seen_high = np.maximum.reduce([high, np.zeros(2), *(box[2] for box in boxes)]) + ROOM
    span = seen_high - seen_low
    text = float(span.max()) / 32
    drawn = [_rectangle(low, high, "#fff", "#111", 0.7)]
    drawn += [_polyline(line, "#111", 0.8) for line in _outlines(plan)]
    lines = _passes(plan)
    every = -(-len(lines) // MOST_DRAWN)
    drawn += [_polyline(line, "#777", 0.5) for line in lines[::every]]
    for name, a, b in boxes:
        below = np.array([max(a[0], seen_low[0] + 2), a[1] - text])
        drawn.append(_rectangle(a, b, "#ddd", "#111", 0.7) + _text(below, name, 0.9 * text))
    for number, (x, y) in enumerate(in_job(dowel_places(plan.request.dowels, stock), stock, side), start=1):
        radius = plan.request.dowels.diameter / 2
        drawn.append(f'<circle cx="{x:.2f}" cy="{-y:.2f}" r="{radius:.2f}" fill="#fff" stroke="#111" stroke-width="0.8"/>')
        right = x > (seen_low[0] + seen_high[0]) / 2
        beside = np.array([x + (-1 if right else 1) * (radius + 0.4 * text), y - 0.3 * text])
        drawn.append(_text(beside, f"dowel {number}", 0.9 * text, "end" if right else "start"))
    drawn.append(_zero(text))
    corner, height = stock.zero_words(side)
    caption = f"<b>{side}</b>, {escape(plan.cutter.name)}, seen from above. X Y zero: {escape(corner)}. Z zero: {escape(height)}."
    if every > 1:
        caption += f" One in {every} of the {len(lines)} pass lines is drawn."
    view = f"{seen_low[0]:.1f} {-seen_high[1]:.1f} {span[0]:.1f} {span[1]:.1f}"
    return (
        f'<figure><svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" aria-label="{escape(side)} side from above">'
        + "".join(drawn)
        + f"</svg><figcaption>{caption}</figcaption></figure>"
    )


def _outlines(plan: Plan) -> list[FloatArray]:
    """Outlines (n, 2) of the body and of its openings."""
    out: list[FloatArray] = []
    for mask in (plan.heights > -np.inf, plan.ground.opening_labels > 0):
        lines = level_lines(np.pad(mask.astype(float), 1), plan.grid.padded(1), 0.5)
        out += [line.whole for line in lines if line.level == 0 and len(line.points) > 8]
    return out


def _passes(plan: Plan) -> list[FloatArray]:
    """The pass lines (n, 2), thinned out to what a printer shows."""
    cut = plan.path.kind == CUT
    rows = np.flatnonzero(cut)
    stretches = np.split(rows, np.flatnonzero((np.diff(rows) > 1) | (np.diff(plan.path.line[rows]) != 0)) + 1)
    out = []
    for stretch in stretches:
        points = resampled(plan.path.points[stretch, :2], 1.0) if len(stretch) > 1 else plan.path.points[stretch, :2]
        out.append(points[fused(points, LINE_STEP)])
    return out


def _polyline(points: FloatArray, colour: str, width: float) -> str:
    places = " ".join(f"{x:.1f},{-y:.1f}" for x, y in points)
    return f'<polyline points="{places}" fill="none" stroke="{colour}" stroke-width="{width:g}"/>'


def _rectangle(low: FloatArray, high: FloatArray, fill: str, colour: str, width: float) -> str:
    size = high - low
    return (
        f'<rect x="{low[0]:.1f}" y="{-high[1]:.1f}" width="{size[0]:.1f}" height="{size[1]:.1f}" fill="{fill}" stroke="{colour}" '
        f'stroke-width="{width:g}"/>'
    )


def _text(place: FloatArray, text: str, size: float, anchor: str = "start") -> str:
    return f'<text x="{place[0]:.1f}" y="{-place[1]:.1f}" font-size="{size:.1f}" text-anchor="{anchor}" font-family="sans-serif">{escape(text)}</text>'


def _zero(text: float) -> str:
    """Zero mark and axes at (0, 0): a quartered circle, arrows named X and Y."""
    r, arm = 0.55 * text, 3.2 * text
    head = 0.35 * text
    arrows = "".join(
        f'<path d="{line}" fill="none" stroke="#111" stroke-width="{0.1 * text:.2f}"/>'
        for line in (
            f"M0 0H{arm:.1f}M{arm - head:.1f} {-head / 2:.1f}L{arm:.1f} 0L{arm - head:.1f} {head / 2:.1f}",
            f"M0 0V{-arm:.1f}M{-head / 2:.1f} {-arm + head:.1f}L0 {-arm:.1f}L{head / 2:.1f} {-arm + head:.1f}",
        )
    )
    mark = (
        f'<circle r="{r:.2f}" fill="#fff" stroke="#111" stroke-width="{0.1 * text:.2f}"/>'
        f'<path d="M0 0V{-r:.2f}A{r:.2f} {r:.2f} 0 0 1 {r:.2f} 0ZM0 0V{r:.2f}A{r:.2f} {r:.2f} 0 0 1 {-r:.2f} 0Z" fill="#111"/>'
    )
    return arrows + mark + _text(np.array([arm, -0.95 * text]), "X", text) + _text(np.array([0.3 * text, arm]), "Y", text)
