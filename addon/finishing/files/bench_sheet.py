"""The bench sheet: one page to take to the machine, self-contained HTML that prints on A4."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from html import escape

import numpy as np

from ..core.array_types import FloatArray
from ..core.message import ENGLISH, Language, Message, in_a_row, word
from ..job.cautions import CAUTIONS
from ..job.cutter import cutter_words, taper_words
from ..job.stock import stock_top
from ..job.tool_changes import tool_changes
from ..pictures.finished_picture import Strip, light_words
from ..planning.flat_work import flat_work
from ..planning.program_words import program_words
from ..planning.result import Plan
from ..planning.run_list import RunListRow
from ..planning.standing_words import standing_words
from .page import Cell, Page
from .plan_programs import assumed_stock
from .program_writer import PROGRAM_ENDING
from .side_drawing import side_drawing
from .tab_tables import tab_table

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
    plans: Sequence[Plan],
    rows: Sequence[RunListRow],
    strips: Sequence[tuple[str, Strip]] = (),
    program_sizes: Sequence[int | None] = (),
    language: Language = ENGLISH,
) -> bytes:
    """The sheet of one job. plans: the sides in running order. rows: the run list. strips: of finished sides, with the side's name. program_sizes:
    bytes of each plan's programs, None for none.
    """
    page = Page(language)
    body = plans[0].request.body
    parts = [
        f"<h1>{escape(body.name)}</h1>",
        page.paragraph(_job_words(plans)),
        page.heading(Message("Findings")),
        *_refused(page, rows),
        _findings(page, plans),
        page.heading(Message("Cautions")),
        f'<ul class="cautions">{"".join(f"<li>{page.says(word(text))}</li>" for text in CAUTIONS)}</ul>',
        page.heading(Message("Running order")),
        _running_order(page, rows),
        page.paragraph(_total(plans, rows)),
        *_stock_and_restart(page, plans, rows),
        *_programs(page, plans, program_sizes),
        page.heading(Message("Sides, as they lie on the machine")),
        '<div class="sides">' + "".join(_side(page, plan) for plan in plans) + "</div>",
        *tab_table(page, plans),
        page.heading(Message("Cutters")),
        _cutters(page, plans),
        _sets(page, plans),
        page.heading(Message("Work for flat cutters")),
        _flat_work(page, plans),
        page.heading(Message("What the cutters leave")),
        _standing(page, plans),
        *_strips(page, strips),
        page.heading(Message("Sanding")),
        _sanding(page, plans),
        '<p class="small">' + "<br>".join(page.says(_origin(plan)) for plan in plans) + "</p>",
    ]
    title = Message("Bench sheet: {body}", body=body.name)
    return page.whole(title, STYLE, parts)


def _job_words(plans: Sequence[Plan]) -> Message:
    """Body, stock, and how the stock is turned over."""
    stock = plans[0].stock
    sizes = Message("Body {body} mm, stock {stock} mm.", body=_size(plans[0].request.body.size), stock=_size(np.array(stock.size)))
    if len({plan.request.side for plan in plans}) < 2:
        return sizes
    return in_a_row(sizes, Message("Turn the stock over about its {axis} axis between the sides.", axis=stock.settings.turn_axis.upper()))


def _size(size: FloatArray) -> Message:
    return Message("{x:.1f} x {y:.1f} x {z:.1f}", x=size[0], y=size[1], z=size[2])


def _whole(value: float) -> Message:
    return Message("{value:.0f}", value=value)


def _tenths(value: float | None) -> Cell:
    return "" if value is None else Message("{value:.1f}", value=value)


def _hundredths(value: float) -> Message:
    return Message("{height:.2f}", height=value)


def _plainly(value: float) -> Message:
    return Message("{value:g}", value=value)


def _plan_words(plan: Plan) -> Message:
    """Side and cutter of a plan."""
    return Message("{side}, {cutter}", side=word(plan.request.side), cutter=cutter_words(plan.cutter))


def _of_plan(plan: Plan, words: Message) -> Message:
    return Message("{plan}: {words}", plan=_plan_words(plan), words=words)


def _of_side(plan: Plan, words: Message) -> Message:
    return Message("{side}: {words}", side=word(plan.request.side), words=words)


def _running_order(page: Page, rows: Sequence[RunListRow]) -> str:
    """The run list with a column to tick off what is done."""
    cells = [
        (
            str(row.number), word(row.side), row.work, row.file or Message("other operation"), row.cutter, row.xy_zero, row.z_zero,
            _tenths(row.minutes), "",
        )
        for row in rows
    ]  # fmt: skip
    header = ("", *(Message("Side"), Message("Work"), Message("File"), Message("Cutter"), Message("X Y zero"), Message("Z zero"), Message("Minutes")))
    return page.table((*header, Message("Done")), cells, numbers=(0, 7))


def _total(plans: Sequence[Plan], rows: Sequence[RunListRow]) -> Message:
    """Minutes and tool changes of the whole job."""
    machine = plans[0].request.machine
    first = plans[0].request.cutter_in_spindle
    changes = tool_changes([str(row.cutter) for row in rows], None if first is None else str(cutter_words(first)))
    values = {"minutes": sum(row.minutes or 0.0 for row in rows), "each": machine.tool_change_minutes}
    text = Message("{minutes:.1f} minutes of cutting.", minutes=values["minutes"])
    if changes == 1:
        text = Message("{minutes:.1f} minutes of cutting, and 1 tool change of {each:g} minutes.", **values)
    elif changes:
        text = Message("{minutes:.1f} minutes of cutting, and {changes} tool changes of {each:g} minutes.", changes=changes, **values)
    spindle = Message("Every start of the spindle takes {seconds:g} s more; that of the dowel holes is counted.", seconds=machine.spin_up_seconds)
    return in_a_row(text, plans[0].run_time.reason, spindle)


def _stock_and_restart(page: Page, plans: Sequence[Plan], rows: Sequence[RunListRow]) -> list[str]:
    """What the stock is taken to be, and how a run that has stopped is taken up again."""
    lines = [Message("{sentence}.", sentence=_of_plan(plan, assumed_stock(plan))) for plan in plans]
    if any(row.file.endswith(PROGRAM_ENDING) for row in rows):
        lines.append(
            Message(
                "If a run stops: never start a program in its middle. Every pass line begins with a comment that holds its number; note the last one "
                "that was whole, raise the cutter, and write the rest as a program of its own, from the line after it: --from-line (and "
                "--of-cutter) on the command line, or From Line (and Of Cutter) under Export Otherwise."
            )
        )
    return [page.paragraph(line) for line in lines]


def _programs(page: Page, plans: Sequence[Plan], sizes: Sequence[int | None]) -> list[str]:
    """How heavy the programs are for the control, and what that costs."""
    lines = []
    for plan, size in zip(plans, sizes, strict=False):
        if size is not None:
            first, *others = (Message("{sentence}.", sentence=sentence) for sentence in program_words(plan, size))
            lines.append(page.paragraph(_of_plan(plan, in_a_row(first, *others))))
    return lines


def _cutters(page: Page, plans: Sequence[Plan]) -> str:
    """Every plan's cutter with the reach that its path needs; columns for tapers and for what was measured where there are any."""
    rows: list[tuple[Cell, ...]] = []
    tapered = any(plan.cutter.half_angle for plan in plans)
    measured = any(plan.cutter.measured_diameter or plan.cutter.runout for plan in plans)
    for plan in plans:
        cutter = plan.cutter
        deepest = stock_top(plan.stock, plan.request.side) - float(plan.path.points[:, 2].min())
        taper: tuple[Cell, ...] = (taper_words(cutter) or "",) if tapered else ()
        shown = tuple(_plainly(value) if value else "" for value in (cutter.measured_diameter, cutter.runout)) if measured else ()
        lengths = (*shown, _plainly(cutter.cutting_diameter), *taper, _plainly(cutter.usable_length), _plainly(cutter.stick_out), _tenths(deepest))
        speeds = (_whole(cutter.spindle_speed), _whole(plan.request.feed or cutter.feed))
        rows.append((word(plan.request.side), cutter_words(cutter), *lengths, *speeds))
    taper_header = (Message("Taper"),) if tapered else ()
    # Planned is what cuts: the measured diameter and the runout together.
    diameters = (Message("Measured mm"), Message("Runout mm"), Message("Planned mm")) if measured else (Message("Diameter mm"),)
    lengths_header = (*taper_header, Message("Usable length mm"), Message("Stick-out mm"), Message("Reach needed mm"))
    header = (Message("Side"), Message("Cutter"), *diameters, *lengths_header, Message("Spindle 1/min"), Message("Feed mm/min"))
    return page.table(header, rows, numbers=range(2, len(header)))


def _flat_work(page: Page, plans: Sequence[Plan]) -> str:
    """What the round-nose cutters leave out; the plans of smaller cutters leave out the same."""
    rows: list[tuple[Cell, ...]] = []
    for plan in plans:
        for work in flat_work(plan) if plan.request.remaining is None else ():
            height: Cell = "" if work.height is None else _hundredths(work.height)
            done: Cell = "" if work.needs_cut else Message("no cut")
            rows.append((word(plan.request.side), work.what, _tenths(work.area / 100), height, _tenths(work.minutes), done))
    header = (Message("Side"), Message("Left out"), Message("Area cm²"), Message("Z mm"), Message("Minutes saved, about"), Message("Done"))
    return page.table(header, rows, numbers=(2, 3, 4)) if rows else page.paragraph(Message("Nothing is left to them."))


def _sets(page: Page, plans: Sequence[Plan]) -> str:
    """The sets of cutters that were weighed for every side, the best first; nothing where none were."""
    rows = [
        (
            word(plan.request.side), Message("{cutters}", cutters=row.names), row.minutes_words,
            str(row.changes), _whole(row.left_area), _hundredths(row.left_height),
            Message("soonest") if number == 0 else "" if row.enough else Message("leaves too much"),
        )
        for plan in plans
        if plan.sets is not None
        for number, row in enumerate(plan.sets.rows)
    ]  # fmt: skip
    if not rows:
        return ""
    words = "".join(page.paragraph(sentence) for plan in plans if plan.sets is not None for sentence in plan.sets.kept_out_words)
    uncut = (Message("Uncut mm²"), Message("Uncut mm"))
    header = (Message("Side"), Message("Set of cutters mm"), Message("Minutes to expect"), Message("Tool changes"), *uncut, "")
    return page.heading(Message("Sets of cutters")) + page.table(header, rows, numbers=range(2, 6)) + words


def _standing(page: Page, plans: Sequence[Plan]) -> str:
    """What stands after every cutter, by the simulated cut: away from borders, along them, and on ground that is not reached."""
    paragraphs = []
    for plan in plans:
        lines = "<br>".join(page.says(words) for words in standing_words(plan.proof))
        paragraphs.append(f"<p>{page.says(_plan_words(plan))}<br>{lines}</p>")
    return "".join(paragraphs)


def _strips(page: Page, strips: Sequence[tuple[str, Strip]]) -> list[str]:
    """The finished surface in true scale, under a low lamp."""
    if not strips:
        return []
    parts = [page.heading(Message("Finished surface, in true scale (print at 100 per cent)"))]
    for side, strip in strips:
        size = {"length": strip.length, "width": strip.width, "x": strip.low[0], "y": strip.low[1]}
        words = Message(
            "{side}, {length:.0f} x {width:.0f} mm from x {x:.1f}, y {y:.1f}; {light}.", side=word(side), light=light_words(strip.light), **size
        )
        found = strip.roughness
        rough = None
        if found is not None:
            rough = Message("Towards the lamp through its middle Rz {rz:.0f} µm, Ra {ra:.0f} µm over the body.", rz=1000 * found.rz, ra=1000 * found.ra)
        caption = page.says(in_a_row(words, rough))
        data = b64encode(strip.png).decode("ascii")
        style = f"width:{strip.length:.1f}mm;height:{strip.width:.1f}mm"
        parts.append(f'<figure class="strip"><img alt="{caption}" style="{style}" src="data:image/png;base64,{data}">')
        parts.append(f"<figcaption>{caption}</figcaption></figure>")
    return parts


def _sanding(page: Page, plans: Sequence[Plan]) -> str:
    """The sanding of every side after the last of its cutters, and what is left to hand work."""
    parts = []
    for plan in plans:
        if plan.request.remaining is None:
            items = "".join(f"<li>{page.says(words)}</li>" for words in plan.sanding.area_words)
            parts.append(f"{page.paragraph(_of_side(plan, plan.sanding.words))}<ul>{items}</ul>")
    return "".join(parts)


def _refused(page: Page, rows: Sequence[RunListRow]) -> list[str]:
    """Why programs were not written."""
    told = dict.fromkeys(page.says(row.refused) for row in rows if row.refused is not None)
    return [f"<p class=must>{text}</p>" for text in told]


def _findings(page: Page, plans: Sequence[Plan]) -> str:
    """All findings with their remedies and places; those that must be seen are bold."""
    items = []
    for plan in plans:
        for finding in plan.findings:
            place = None
            if finding.place is not None:
                x, y, z = (round(value, 1) + 0.0 for value in finding.place)
                place = Message("At x {x:.1f}, y {y:.1f}, z {z:.1f}.", x=x, y=y, z=z)
            text = _of_side(plan, in_a_row(finding.words, place))
            items.append(f"<li{' class=must' if finding.must_see else ''}>{page.says(text)}</li>")
    return f"<ul>{''.join(items)}</ul>" if items else page.paragraph(Message("None."))


def _origin(plan: Plan) -> Message:
    """What the sheet was made from."""
    return Message(
        "{side}: cusp {cusp:g} mm, {lines} pass lines {start}, body {digest}",
        side=word(plan.request.side),
        cusp=plan.request.cusp,
        lines=plan.path.line_count,
        start=plan.start,
        digest=plan.body_digest,
    )


def _side(page: Page, plan: Plan) -> str:
    """The drawing of a side with its caption."""
    drawing = side_drawing(plan, page.language)
    corner, height = plan.stock.zero_words(plan.request.side)
    caption = Message(
        "{cutter}, seen from above. X Y zero: {corner}. Z zero: {height}.", cutter=cutter_words(plan.cutter), corner=corner, height=height
    )
    drawn = None
    if drawing.drawn_every > 1:
        drawn = Message("One in {every} of the {lines} pass lines is drawn.", every=drawing.drawn_every, lines=drawing.pass_lines)
    words = f"<b>{page.says(word(plan.request.side))}</b>, {page.says(in_a_row(caption, drawn))}"
    return f"<figure>{drawing.svg}<figcaption>{words}</figcaption></figure>"
