"""The files of a test coupon: its program, a sheet with boxes to fill in, and the record that what is measured is held against."""

from __future__ import annotations

from dataclasses import asdict
from html import escape
from typing import Any

from ..job.cautions import CAUTIONS
from ..job.request import Request
from ..motion.run_time import run_time
from ..options.coupon import EDGE, FLAT_DEPTH, SLOPE, Coupon, groove_width
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


def coupon_files(coupon: Coupon, request: Request, unit: str = "mm") -> dict[str, bytes]:
    """All files of a coupon by their names. unit: of the program's lengths, "mm" or "in". Raises BadFile."""
    return {
        f"coupon{PROGRAM_ENDING}": coupon_program(coupon, request, unit),
        "coupon-sheet.html": coupon_sheet(coupon, request),
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


def coupon_sheet(coupon: Coupon, request: Request) -> bytes:
    """One page for the bench, self-contained HTML: where the fields lie, and boxes for what is measured."""
    cutter, size = coupon.cutter, coupon.settings
    cusps = ", ".join(f"{number}: {cusp:g} mm" for number, cusp in enumerate(size.cusps, 1))
    box, tick = '<span class="box"></span>', '<span class="box tick"></span>'
    width, seconds = groove_width(cutter.radius, coupon.groove_depth), timed_seconds(coupon, request)
    rows = (
        ("Groove, width at the top", f"{box} mm", f"{width:.2f} mm for a cutter of {cutter.cutting_diameter:g} mm. Measure it in three places."),
        ("Step from the top down to the fine flat field", f"{box} mm", f"{FLAT_DEPTH:g} mm; more: Z zero was too low."),
        ("Time of the fine flat field", f"{box} s", f"{seconds:.0f} s, as far as {escape(request.machine.name)} is known."),
        ("The coarsest column that is fine enough for the thumb, and for the eye under a low lamp", f"1 {tick} 2 {tick} 3 {tick}", f"Cusps {cusps}"),
        ("Does the hollow's bottom look like the flat?", box, f"Radius {coupon.hollow_radius:g} mm, after the body's least."),
    )
    table = "".join(f"<tr><td>{escape(what)}</td><td>{where}</td><td>{words}</td></tr>" for what, where, words in rows)
    parts = (
        f"<h1>Test coupon for {escape(cutter.name)}</h1>",
        f"<p>Scrap of {size.length:g} x {size.width:g} x {size.thickness:g} mm, best of the body's own wood. X Y zero: its lower left corner, "
        f"seen from above; Z zero: its top. Spindle {cutter.spindle_speed:.0f} 1/min, feed {cutter.feed:.0f} mm/min.</p>",
        _drawing(coupon),
        "<h2>Measure</h2>",
        f"<table>{table}</table>",
        "<h2>Back into the plan</h2>",
        "<p><code>build.py coupon --measured coupon.json --groove ... --step ... --seconds ... --field ...</code> writes coupon-settings.json; "
        "plan with <code>--settings coupon-settings.json</code>. Leave out what you have not measured.</p>",
        f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in CAUTIONS)}</ul>",
    )
    head = f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>Test coupon</title><style>{SHEET_STYLE}</style></head>'
    return (f"{head}\n<body>\n" + "\n".join(parts) + "\n</body></html>\n").encode("utf-8")


def _drawing(coupon: Coupon) -> str:
    """The coupon seen from above, as SVG: y upwards."""
    size, parts = coupon.settings, []
    for field in coupon.fields:
        lines = "".join(f"M{field.low:.2f} {size.width - y:.2f}H{field.high:.2f}" for y in field.contacts[:, 0].tolist())
        parts.append(f'<path d="{lines}" stroke="{PASS_INK}" stroke-width="0.15" fill="none"/>')
        if field.kind == "flat":
            middle = (field.low + field.high) / 2
            parts.append(f'<text x="{middle:.1f}" y="{size.width - 1:.1f}" text-anchor="middle">{field.column}</text>')
    names = {"flat": "flat", "slope": f"slope {SLOPE:.0f}", "hollow": "hollow"}
    for field in coupon.fields[:3]:
        parts.append(f'<text x="0.6" y="{size.width - float(field.contacts[:, 0].mean()) + 1:.1f}" class="s">{names[field.kind]}</text>')
    timed, groove = coupon.timed.points, coupon.groove.points[0, 0]
    left, right, half = timed[:, 0].min(), timed[:, 0].max(), groove_width(coupon.cutter.radius, coupon.groove_depth) / 2
    parts.append(f'<rect x="{left:.2f}" y="{EDGE}" width="{right - left:.2f}" height="{size.width - 2 * EDGE:.2f}" class="l"/>')
    parts.append(f'<text x="{(left + right) / 2:.1f}" y="{size.width / 2:.1f}" text-anchor="middle">timed</text>')
    parts.append(f'<rect x="{groove - half:.2f}" y="0" width="{2 * half:.2f}" height="{size.width:g}" class="l"/>')
    parts.append(f'<text x="{groove:.1f}" y="{size.width / 2:.1f}" text-anchor="middle">groove</text>')
    style = f"text{{font:3px sans-serif}} .s{{font-size:1.9px}} .l{{fill:none;stroke:{INK};stroke-width:.3}}"
    box = f"-1 -1 {size.length + 2:g} {size.width + 2:g}"
    stock = f'<rect x="0" y="0" width="{size.length:g}" height="{size.width:g}" class="l"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}"><style>{style}</style>{stock}{"".join(parts)}</svg>'
