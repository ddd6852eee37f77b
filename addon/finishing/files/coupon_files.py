"""The files of a test coupon: its program, a sheet with boxes to fill in, and the record that what is measured is held against."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from html import escape
from typing import Any

from ..core.message import ENGLISH, Language, Message, word
from ..job.cautions import CAUTIONS
from ..job.cutter import cutter_words
from ..job.request import Request
from ..motion.run_time import run_time
from ..options.coupon import EDGE, FLAT_DEPTH, SLOPE, Coupon, groove_width
from .page import Page
from .path_program import write_moves
from .plan_record import SCHEMA, record_bytes, settings_record
from .program_frame import ProgramFrame, approach, begun, end, spindle_on
from .program_writer import PROGRAM_ENDING, plain_number
from .side_drawing import INK, PASS_INK

SHEET_STYLE = """
@page { size: A4; margin: 12mm } body { font: 10.5pt/1.4 sans-serif; color: #111; max-width: 186mm; margin: 0 auto; padding: 4mm }
h1 { font-size: 15pt; margin: 0 0 2mm } h2 { font-size: 11.5pt; margin: 5mm 0 1.5mm; border-bottom: 0.4mm solid #111 } svg { width: 100%; height: auto }
td { padding: 2.2mm 2mm; border: 0.2mm solid #999; vertical-align: top } table { border-collapse: collapse; width: 100% }
.box { display: inline-block; min-width: 22mm; height: 6.5mm; border: 0.4mm solid #111; vertical-align: middle } .tick { min-width: 6.5mm }
code { font-size: 9pt; background: #eee; padding: 0.5mm 1mm }
"""


def coupon_files(coupon: Coupon, request: Request, unit: str = "mm", language: Language = ENGLISH) -> dict[str, bytes]:
    """All files of a coupon by their names. unit: of the program's lengths, "mm" or "in". language: of the sheet. Raises BadFile."""
    return {
        f"coupon{PROGRAM_ENDING}": coupon_program(coupon, request, unit),
        "coupon-sheet.html": coupon_sheet(coupon, request, language),
        "coupon.json": record_bytes(coupon_record(coupon, request)),
    }


def timed_seconds(coupon: Coupon, request: Request) -> float:
    """How long the timed field takes on the request's machine, as far as that is known: from the safe height back to it."""
    return run_time(coupon.timed, request.machine, request.program.fusing_tolerance).total_seconds


def coupon_program(coupon: Coupon, request: Request, unit: str = "mm") -> bytes:
    """The program: clearing, fields, the timed field between two waits, the groove. unit: "mm" or "in". Raises BadFile."""
    cutter, size = coupon.cutter, coupon.settings
    height = request.machine.safe_height
    title = (
        f"Test coupon of {plain_number(size.length)} x {plain_number(size.width)} x {plain_number(size.thickness)} mm",
        "X Y zero: lower left corner of the coupon, seen from above; Z zero: its top",
        "Clamp it from below or with screws in its corners: the cutter comes in over the left edge and crosses front and back edge at the right",
    )
    frame = ProgramFrame(title=title, safe_z=height, clear_z=height, machine=request.machine, settings=request.program, unit=unit)
    diameter = plain_number(cutter.cutting_diameter)
    writer = begun(frame, f"Cutter: {cutter.name}, diameter {diameter} mm, stick-out {plain_number(cutter.stick_out)} mm")
    approach(writer, frame, coupon.clearing.points[0].tolist())
    spindle_on(writer, frame, cutter.spindle_speed)
    for name, path in zip(("Clearing", "Fields", "Timed field", "Groove"), coupon.paths, strict=True):
        writer.note(name)
        writer.move("G0", path.points[0].tolist())
        if path is coupon.timed:
            writer.note("Press start and the stopwatch together; stop the watch when the cutter is up again")
            writer.words("M0")
        write_moves(writer, path, request.program.fusing_tolerance, free_z=height)
        if path is coupon.timed:
            writer.note("Stop the watch, then press start for the groove")
            writer.words("M0")
        writer.forget()
    return end(writer, frame)


def coupon_record(coupon: Coupon, request: Request) -> dict[str, Any]:
    """What a coupon was made for: all settings, and what is to be found on it."""
    return {
        "schema": SCHEMA,
        "settings": settings_record(request),
        "coupon": {
            "cutter": asdict(coupon.cutter),
            "cusps": list(coupon.settings.cusps),
            "hollow_radius": coupon.hollow_radius,
            "groove_depth": coupon.groove_depth,
            "flat_depth": FLAT_DEPTH,
            "timed_seconds": timed_seconds(coupon, request),
            "time_factor": request.machine.time_factor,
        },
    }


def coupon_sheet(coupon: Coupon, request: Request, language: Language = ENGLISH) -> bytes:
    """One page for the bench, self-contained HTML: where the fields lie, and boxes for what is measured."""
    page, cutter, size = Page(language), coupon.cutter, coupon.settings
    scrap = Message(
        "Scrap of {length:g} x {width:g} x {thickness:g} mm, best of the body's own wood. X Y zero: its lower left corner, seen from above; "
        "Z zero: its top. Spindle {speed:.0f} 1/min, feed {feed:.0f} mm/min.",
        length=size.length,
        width=size.width,
        thickness=size.thickness,
        speed=cutter.spindle_speed,
        feed=cutter.feed,
    )
    parts = (
        f"<h1>{page.says(_title(coupon))}</h1>",
        page.paragraph(scrap),
        _drawing(coupon, language),
        page.heading(Message("What to measure")),
        f"<table>{''.join(_boxes(page, coupon, request))}</table>",
        page.heading(Message("Back into the plan")),
        page.paragraph(
            Message(
                "Press Enter Coupon in the panel, under Time, More. On the command line the first of these writes coupon-settings.json, and the second "
                "plans with it. Leave out what you have not measured."
            )
        ),
        "<p><code>build.py coupon --measured coupon.json --groove ... --step ... --seconds ... --field ...</code><br>"
        "<code>build.py plan ... --settings coupon-settings.json</code></p>",
        f"<ul>{''.join(f'<li>{page.says(word(text))}</li>' for text in CAUTIONS)}</ul>",
    )
    return page.whole(_title(coupon), SHEET_STYLE, parts)


def _title(coupon: Coupon) -> Message:
    return Message("Test coupon for {cutter}", cutter=cutter_words(coupon.cutter))


def _boxes(page: Page, coupon: Coupon, request: Request) -> Iterator[str]:
    """Rows of what is to be measured, a box for it, and what to expect."""
    box, tick = '<span class="box"></span>', '<span class="box tick"></span>'
    cutter, size = coupon.cutter, coupon.settings
    width, seconds = groove_width(cutter.radius, coupon.groove_depth), timed_seconds(coupon, request)
    first, second, third = size.cusps
    rows = (
        (
            Message("Groove, width at the top"),
            f"{box} mm",
            Message("{width:.2f} mm for a cutter of {diameter:g} mm. Measure it in three places.", width=width, diameter=cutter.cutting_diameter),
        ),
        (
            Message("Step from the top down to the fine flat field"),
            f"{box} mm",
            Message("{depth:g} mm; more: Z zero was too low.", depth=FLAT_DEPTH),
        ),
        (
            Message("Time of the fine flat field"),
            f"{box} s",
            Message("{seconds:.0f} s, as far as the machine is known.", seconds=seconds),
        ),
        (
            Message("The coarsest column that is fine enough for the thumb, and for the eye under a low lamp"),
            f"1 {tick} 2 {tick} 3 {tick}",
            Message("Cusp heights 1: {first:g} mm, 2: {second:g} mm, 3: {third:g} mm", first=first, second=second, third=third),
        ),
        (
            Message("Does the hollow's bottom look like the flat?"),
            box,
            Message("Radius {hollow:g} mm, after the body's least.", hollow=coupon.hollow_radius),
        ),
    )
    yield from (f"<tr><td>{page.says(what)}</td><td>{where}</td><td>{page.says(words)}</td></tr>" for what, where, words in rows)


def _drawing(coupon: Coupon, language: Language) -> str:
    """The coupon seen from above, as SVG: y upwards."""
    size, parts = coupon.settings, []
    for field in coupon.fields:
        lines = "".join(f"M{field.low:.2f} {size.width - y:.2f}H{field.high:.2f}" for y in field.contacts[:, 0].tolist())
        parts.append(f'<path d="{lines}" stroke="{PASS_INK}" stroke-width="0.15" fill="none"/>')
        if field.kind == "flat":
            middle = (field.low + field.high) / 2
            parts.append(f'<text x="{middle:.1f}" y="{size.width - 1:.1f}" text-anchor="middle">{field.column}</text>')
    names = {"flat": Message("flat"), "slope": Message("slope {degrees:.0f}°", degrees=SLOPE), "hollow": Message("hollow")}
    for field in coupon.fields[:3]:
        name = escape(language.say(names[field.kind]))
        parts.append(f'<text x="0.6" y="{size.width - float(field.contacts[:, 0].mean()) + 1:.1f}" class="s">{name}</text>')
    timed, groove = coupon.timed.points, coupon.groove.points[0, 0]
    left, right, half = timed[:, 0].min(), timed[:, 0].max(), groove_width(coupon.cutter.radius, coupon.groove_depth) / 2
    parts.append(f'<rect x="{left:.2f}" y="{EDGE}" width="{right - left:.2f}" height="{size.width - 2 * EDGE:.2f}" class="l"/>')
    parts.append(f'<text x="{(left + right) / 2:.1f}" y="{size.width / 2:.1f}" text-anchor="middle">{escape(language.say(Message("timed")))}</text>')
    parts.append(f'<rect x="{groove - half:.2f}" y="0" width="{2 * half:.2f}" height="{size.width:g}" class="l"/>')
    parts.append(f'<text x="{groove:.1f}" y="{size.width / 2:.1f}" text-anchor="middle">{escape(language.say(Message("groove")))}</text>')
    style = f"text{{font:3px sans-serif}} .s{{font-size:1.9px}} .l{{fill:none;stroke:{INK};stroke-width:.3}}"
    box = f"-1 -1 {size.length + 2:g} {size.width + 2:g}"
    stock = f'<rect x="0" y="0" width="{size.length:g}" height="{size.width:g}" class="l"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}"><style>{style}</style>{stock}{"".join(parts)}</svg>'
