"""The bench sheet: one page to take to the machine, self-contained HTML that prints on A4."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from html import escape

import numpy as np

from ..core.array_types import FloatArray
from ..job.cautions import CAUTIONS
from ..job.stock import stock_top
from ..pictures.finished_picture import Strip, light_words
from ..planning.flat_work import flat_work
from ..planning.program_words import program_words
from ..planning.result import Plan
from ..planning.run_list import RunListRow
from ..planning.standing_words import standing_words
from .plan_programs import assumed_stock
from .program_writer import PROGRAM_ENDING
from .side_drawing import side_drawing

STYLE = """
@page { size: A4; margin: 12mm }
body { font: 10pt/1.35 sans-serif; color: #111; max-width: 186mm; margin: 0 auto; padding: 4mm }
h1 { font-size: 15pt; margin: 0 0 1mm } h2 { font-size: 11.5pt; margin: 5mm 0 1.5mm; border-bottom: 0.4mm solid #111; break-after: avoid }
p { margin: 1mm 0 } .small { font-size: 8.5pt; color: #444; overflow-wrap: anywhere }
.sides { display: flex; gap: 4mm } .sides figure { flex: 1; margin: 0; min-width: 0; break-inside: avoid }
figcaption { font-size: 9pt } svg { width: 100%; height: auto; max-height: 105mm; border: 0.2mm solid #bbb }
table { border-collapse: collapse; width: 100%; break-inside: avoid } th, td { text-align: left; padding: 0.8mm 1.5mm; border: 0.2mm solid #999 }
th { background: #eee } td.number { text-align: right } ul { margin: 1mm 0; padding-left: 5mm }
.strip { margin: 1mm 0 2mm; break-inside: avoid } .strip img { display: block }
.cautions { border: 0.6mm solid #111; padding: 1.5mm 3mm 1.5mm 8mm; break-inside: avoid } .must { font-weight: bold }
"""


def bench_sheet(
    plans: Sequence[Plan], rows: Sequence[RunListRow], strips: Sequence[tuple[str, Strip]] = (), program_sizes: Sequence[int | None] = ()
) -> bytes:
    """The sheet of one job. plans: the sides in running order. rows: the run list. strips: of finished sides, with the side's name. program_sizes:
    bytes of each plan's programs, None for none.
    """
    first = plans[0]
    body, stock = first.request.body, first.stock
    sides = {plan.request.side for plan in plans}
    turn = "" if len(sides) < 2 else f" Turn the stock over about its {stock.settings.turn_axis.upper()} axis between the sides."
    parts = [
        f"<h1>{escape(body.name)}</h1>",
        f"<p>Body {_size(body.size)} mm, stock {_size(np.array(stock.size))} mm.{turn}</p>",
        "<h2>Findings</h2>",
        *_refused(rows),
        _findings(plans),
        "<h2>Cautions</h2>",
        f'<ul class="cautions">{"".join(f"<li>{escape(text)}</li>" for text in CAUTIONS)}</ul>',
        "<h2>Running order</h2>",
        _running_order(rows),
        f"<p>{_total(plans, rows)}</p>",
        *_stock_and_restart(plans, rows),
        *_programs(plans, program_sizes),
        "<h2>Sides, as they lie on the machine</h2>",
        '<div class="sides">' + "".join(_side(plan) for plan in plans) + "</div>",
        "<h2>Cutters</h2>",
        _cutters(plans),
        _sets(plans),
        "<h2>Work for flat cutters</h2>",
        _flat_work(plans),
        "<h2>What the cutters leave</h2>",
        _standing(plans),
        *_strips(strips),
        "<h2>Sanding</h2>",
        _sanding(plans),
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
    """A table; texts are escaped here. numbers: columns that are aligned on the right."""
    head = "".join(f"<th>{escape(text)}</th>" for text in header)
    lines = []
    for row in rows:
        cells = "".join(f"<td{' class=number' if k in numbers else ''}>{escape(text)}</td>" for k, text in enumerate(row))
        lines.append(f"<tr>{cells}</tr>")
    return f"<table><tr>{head}</tr>{''.join(lines)}</table>"


def _running_order(rows: Sequence[RunListRow]) -> str:
    """The run list with a column to tick off what is done."""
    cells = []
    for row in rows:
        minutes = "" if row.minutes is None else f"{row.minutes:.1f}"
        file = row.file or "other operation"
        cells.append((str(row.number), row.side, row.work, file, row.cutter, row.xy_zero, row.z_zero, minutes, ""))
    return _table(("", "Side", "Work", "File", "Cutter", "X Y zero", "Z zero", "Minutes", "Done"), cells, numbers=(0, 7))


def _total(plans: Sequence[Plan], rows: Sequence[RunListRow]) -> str:
    """Minutes and tool changes of the whole job."""
    machine = plans[0].request.machine
    changes = sum(a.cutter != b.cutter for a, b in zip(rows[:-1], rows[1:], strict=True))
    minutes = sum(row.minutes or 0.0 for row in rows)
    text = f"{minutes:.1f} minutes of cutting"
    if changes:
        text += f", and {changes} tool change{'s' if changes > 1 else ''} of {machine.tool_change_minutes:g} minutes"
    spindle = f"Every start of the spindle takes {machine.spin_up_seconds:g} s more; that of the dowel holes is counted."
    return escape(f"{text}. {plans[0].run_time.reason} {spindle}")


def _stock_and_restart(plans: Sequence[Plan], rows: Sequence[RunListRow]) -> list[str]:
    """What the stock is taken to be, and how a run that has stopped is taken up again."""
    lines = [f"{plan.request.side}, {plan.cutter.name}: {assumed_stock(plan)}." for plan in plans]
    if any(row.file.endswith(PROGRAM_ENDING) for row in rows):
        lines += [
            "If a run stops: never start a program in its middle. Every pass line begins with a comment that holds its number; note the last one "
            "that was whole, raise the cutter, and write the rest as a program of its own, from the line after it: --from-line on the command "
            "line, or From Line under Export Otherwise.",
        ]
    return [f"<p>{escape(line)}</p>" for line in lines]


def _programs(plans: Sequence[Plan], sizes: Sequence[int | None]) -> list[str]:
    """How heavy the programs are for the control, and what that costs."""
    lines = []
    for plan, size in zip(plans, sizes, strict=False):
        if size is not None:
            words = ". ".join(str(sentence) for sentence in program_words(plan, size))
            lines.append(f"<p>{escape(f'{plan.request.side}, {plan.cutter.name}: {words}.')}</p>")
    return lines


def _cutters(plans: Sequence[Plan]) -> str:
    """Every plan's cutter with the reach that its path needs."""
    rows = []
    for plan in plans:
        cutter = plan.cutter
        deepest = stock_top(plan.stock, plan.request.side) - float(plan.path.points[:, 2].min())
        lengths = (f"{cutter.cutting_diameter:g}", f"{cutter.usable_length:g}", f"{cutter.stick_out:g}", f"{deepest:.1f}")
        speeds = (f"{cutter.spindle_speed:.0f}", f"{plan.request.feed or cutter.feed:.0f}")
        rows.append((plan.request.side, cutter.name, *lengths, *speeds))
    header = ("Side", "Cutter", "Diameter mm", "Usable length mm", "Stick-out mm", "Reach needed mm", "Spindle 1/min", "Feed mm/min")
    return _table(header, rows, numbers=range(2, 8))


def _flat_work(plans: Sequence[Plan]) -> str:
    """What the round-nose cutters leave out; the plans of smaller cutters leave out the same."""
    rows = []
    for plan in plans:
        for work in flat_work(plan) if plan.request.remaining is None else ():
            height = "" if work.height is None else f"{work.height:.2f}"
            done = "" if work.needs_cut else "no cut"
            rows.append((plan.request.side, str(work.what), f"{work.area / 100:.1f}", height, f"{work.minutes:.1f}", done))
    header = ("Side", "Left out", "Area cm²", "Z mm", "Minutes saved, about", "Done")
    return _table(header, rows, numbers=(2, 3, 4)) if rows else "<p>Nothing is left to them.</p>"


def _sets(plans: Sequence[Plan]) -> str:
    """The sets of cutters that were weighed for every side, the best first; nothing where none were."""
    rows = [
        (
            plan.request.side, row.name, f"{row.minutes:.1f}", str(row.changes), f"{row.left_area:.0f}", f"{row.left_height:.2f}",
            "soonest" if number == 0 else "" if row.enough else "leaves too much",
        )
        for plan in plans
        if plan.sets is not None
        for number, row in enumerate(plan.sets.rows)
    ]  # fmt: skip
    if not rows:
        return ""
    words = "".join(f"<p>{escape(str(sentence))}</p>" for plan in plans if plan.sets is not None for sentence in plan.sets.kept_out_words)
    header = ("Side", "Set of cutters mm", "Minutes to expect", "Tool changes", "Uncut mm²", "Uncut mm", "")
    return "<h2>Sets of cutters</h2>" + _table(header, rows, numbers=range(2, 6)) + words


def _standing(plans: Sequence[Plan]) -> str:
    """What stands after every cutter, by the simulated cut: away from borders, along them, and on ground that is not reached."""
    paragraphs = []
    for plan in plans:
        lines = "<br>".join(escape(str(words)) for words in standing_words(plan.proof))
        paragraphs.append(f"<p>{escape(f'{plan.request.side}, {plan.cutter.name}')}<br>{lines}</p>")
    return "".join(paragraphs)


def _strips(strips: Sequence[tuple[str, Strip]]) -> list[str]:
    """The finished surface in true scale, under a low lamp."""
    if not strips:
        return []
    parts = ["<h2>Finished surface, in true scale (print at 100 per cent)</h2>"]
    for side, strip in strips:
        words = f"{side}, {strip.length:.0f} x {strip.width:.0f} mm from x {strip.low[0]:.1f}, y {strip.low[1]:.1f}; {light_words(strip.light)}."
        if strip.roughness is not None:
            words += f" Towards the lamp through its middle Rz {strip.roughness.rz:.3f}, Ra {strip.roughness.ra:.3f} mm over the body."
        data = b64encode(strip.png).decode("ascii")
        size = f"width:{strip.length:.1f}mm;height:{strip.width:.1f}mm"
        parts.append(f'<figure class="strip"><img alt="{escape(words)}" style="{size}" src="data:image/png;base64,{data}">')
        parts.append(f"<figcaption>{escape(words)}</figcaption></figure>")
    return parts


def _sanding(plans: Sequence[Plan]) -> str:
    """The sanding of every side after the last of its cutters, and what is left to hand work."""
    parts = []
    for plan in plans:
        if plan.request.remaining is None:
            items = "".join(f"<li>{escape(str(words))}</li>" for words in plan.sanding.area_words)
            parts.append(f"<p>{escape(f'{plan.request.side}: {plan.sanding.words}')}</p><ul>{items}</ul>")
    return "".join(parts)


def _refused(rows: Sequence[RunListRow]) -> list[str]:
    """Why programs were not written."""
    return [f"<p class=must>{escape(text)}</p>" for text in dict.fromkeys(row.refused for row in rows if row.refused)]


def _findings(plans: Sequence[Plan]) -> str:
    """All findings with their remedies and places; those that must be seen are bold."""
    items = []
    for plan in plans:
        for finding in plan.findings:
            place = "" if finding.place is None else " At x {:.1f}, y {:.1f}, z {:.1f}.".format(*(round(value, 1) + 0.0 for value in finding.place))
            text = f"{plan.request.side}: {finding.words}" + place
            items.append(f"<li{' class=must' if finding.must_see else ''}>{escape(text)}</li>")
    return f"<ul>{''.join(items)}</ul>" if items else "<p>None.</p>"


def _origin(plan: Plan) -> str:
    """What the sheet was made from."""
    return escape(f"{plan.request.side}: cusp {plan.request.cusp:g} mm, {plan.path.line_count} pass lines {plan.start}, body {plan.body_digest}")


def _side(plan: Plan) -> str:
    """The drawing of a side with its caption."""
    drawing = side_drawing(plan)
    corner, height = plan.stock.zero_words(plan.request.side)
    caption = f"<b>{plan.request.side}</b>, {escape(plan.cutter.name)}, seen from above. X Y zero: {escape(corner)}. Z zero: {escape(height)}."
    if drawing.drawn_every > 1:
        caption += f" One in {drawing.drawn_every} of the {drawing.pass_lines} pass lines is drawn."
    return f"<figure>{drawing.svg}<figcaption>{caption}</figcaption></figure>"
