"""A side seen from above as a drawing for paper: stock, body, some pass lines, zero, axes, dowels and keep-out boxes, as SVG."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import numpy as np

from ..core.array_types import FloatArray
from ..core.fusing import fused
from ..core.level_lines import level_lines
from ..core.message import ENGLISH, Language, Message, word
from ..core.polyline import resampled
from ..job.dowels import dowel_places, in_job
from ..job.keep_out import boxes_on
from ..job.stock import corners_in_job
from ..planning.result import Plan

MOST_DRAWN = 45
"""Pass lines drawn of a side; more would run together on paper."""

MARGIN = 20.0
"""mm round what is drawn, for the letters of the axes."""

DRAWN_TOLERANCE = 0.25
"""mm that drawn lines may leave the true ones: less than the width of a printed line."""

DRAWN_STEP = 1.0
"""mm between the points of a pass line before it is fused: on half an A4 page of a whole body that is a third of a mm of paper or less."""

SHORTEST_OUTLINE = 8
"""Points of an outline; shorter ones are single cells."""

LETTERS_ACROSS = 32
"""Heights of letters in the longer edge of a drawing, so that they come out about 2.5 mm high on the sheet's half page."""

SMALL_LETTERS = 0.9
"""Height of the names of clamps and dowels over that of X and Y."""

INK, PASS_INK, CLAMP_FILL, TAB_FILL, PAPER = "#111", "#777", "#ddd", "#ccc", "#fff"
EDGE_PEN, BODY_PEN, PASS_PEN, DOWEL_PEN = 0.7, 0.8, 0.5, 0.8
"""Widths of lines in mm of the job."""

ZERO_RADIUS, AXIS_LENGTH, ARROW_HEAD, ZERO_PEN = 0.55, 3.2, 0.35, 0.1
"""Of the zero mark and its axes, in heights of letters."""

X_BELOW, Y_ASIDE = 0.95, 0.3
"""How far the letters of the axes stand off them, in heights of letters."""

TAB_NUMBER_BELOW = 0.33
"""How far a tab's number is set below its middle, in heights of letters, so that it looks centred."""

DOWEL_NAME_ASIDE, DOWEL_NAME_BELOW = 0.4, 0.3
"""How far a dowel's name stands off its hole, in heights of letters: its middle is level with the hole's."""

CLAMP_NAME_INSET = 2.0
"""mm that a clamp's name keeps from the left edge of the drawing."""


@dataclass(frozen=True)
class SideDrawing:
    """A drawing. svg: the element. drawn_every: of how many pass lines one is drawn. pass_lines: how many there are."""

    svg: str
    drawn_every: int
    pass_lines: int


@dataclass(frozen=True)
class _Frame:
    """What is seen. low, high: corners (2,) in job mm."""

    low: FloatArray
    high: FloatArray

    @property
    def letter(self) -> float:
        """Height of letters in mm."""
        return float((self.high - self.low).max()) / LETTERS_ACROSS

    @property
    def view_box(self) -> str:
        """The frame as SVG wants it, whose y runs downwards."""
        span = self.high - self.low
        return f"{self.low[0]:.1f} {-self.high[1]:.1f} {span[0]:.1f} {span[1]:.1f}"


def side_drawing(plan: Plan, language: Language = ENGLISH) -> SideDrawing:
    """A plan's side, seen from above as it lies on the machine."""
    side = plan.request.side
    low, high = (corner[:2] for corner in corners_in_job(plan.stock, side))
    boxes = [(box.name, np.array(box.low[:2]), np.array(box.high[:2])) for box in boxes_on(plan.request.keep_out, plan.stock, side)]
    frame = _Frame(
        np.minimum.reduce([low, np.zeros(2), *(box_low for _, box_low, _ in boxes)]) - MARGIN,
        np.maximum.reduce([high, np.zeros(2), *(box_high for _, _, box_high in boxes)]) + MARGIN,
    )
    lines = _pass_lines(plan)
    every = max(1, -(-len(lines) // MOST_DRAWN))
    drawn = [_rectangle(low, high, PAPER)]
    drawn += [_polyline(line, INK, BODY_PEN) for line in _outlines(plan)]
    drawn += [_polyline(line, PASS_INK, PASS_PEN) for line in lines[::every]]
    drawn += [_keep_out_box(frame, name, box_low, box_high) for name, box_low, box_high in boxes]
    drawn += _tabs(plan, frame)
    drawn += _dowels(plan, frame, language)
    drawn.append(_zero(frame.letter))
    label = language.say(Message("{side} side from above", side=word(side)))
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{frame.view_box}" role="img" aria-label="{escape(label)}">' + "".join(drawn) + "</svg>"
    return SideDrawing(svg, every, len(lines))


def _outlines(plan: Plan) -> list[FloatArray]:
    """Outlines (n, 2) of the body and of its openings."""
    out: list[FloatArray] = []
    for mask in (plan.heights > -np.inf, plan.ground.opening_labels > 0):
        lines = level_lines(np.pad(mask.astype(float), 1), plan.grid.padded(1), 0.5)
        out += [line.whole for line in lines if line.level == 0 and len(line.points) > SHORTEST_OUTLINE]
    return out


def _pass_lines(plan: Plan) -> list[FloatArray]:
    """The pass lines (n, 2), thinned out to what a printer shows."""
    out = []
    for line in plan.path.lines():
        points = resampled(line[:, :2], DRAWN_STEP) if len(line) > 1 else line[:, :2]
        out.append(points[fused(points, DRAWN_TOLERANCE)])
    return out


def _keep_out_box(frame: _Frame, name: str, low: FloatArray, high: FloatArray) -> str:
    """A clamp or screw with its name below it, inside the frame."""
    below = np.array([max(low[0], frame.low[0] + CLAMP_NAME_INSET), low[1] - frame.letter])
    return _rectangle(low, high, CLAMP_FILL) + _text(below, name, SMALL_LETTERS * frame.letter)


def _dowels(plan: Plan, frame: _Frame, language: Language) -> list[str]:
    """The dowel holes, each with its number on the side where there is more room."""
    radius = plan.request.dowels.diameter / 2
    drawn = []
    for number, (x, y) in enumerate(in_job(dowel_places(plan.request.dowels, plan.stock), plan.stock, plan.request.side), start=1):
        drawn.append(f'<circle cx="{x:.2f}" cy="{-y:.2f}" r="{radius:.2f}" fill="{PAPER}" stroke="{INK}" stroke-width="{DOWEL_PEN:g}"/>')
        on_right = x > (frame.low[0] + frame.high[0]) / 2
        name_at = np.array([x + (-1 if on_right else 1) * (radius + DOWEL_NAME_ASIDE * frame.letter), y - DOWEL_NAME_BELOW * frame.letter])
        drawn.append(
            _text(name_at, language.say(Message("dowel {number}", number=number)), SMALL_LETTERS * frame.letter, "end" if on_right else "start")
        )
    return drawn


def _tabs(plan: Plan, frame: _Frame) -> list[str]:
    """The tabs as they cross the channel, each with its number behind it, in the stock."""
    drawn = []
    for tab in plan.held.tabs if plan.held is not None else ():
        corners = " ".join(f"{x:.1f},{-y:.1f}" for x, y in tab.corners())
        drawn.append(f'<polygon points="{corners}" fill="{TAB_FILL}" stroke="{INK}" stroke-width="{EDGE_PEN:g}"/>')
        middle = tab.corners().mean(axis=0) - np.array([0.0, TAB_NUMBER_BELOW * frame.letter])
        drawn.append(_text(middle, str(tab.number), SMALL_LETTERS * frame.letter, "middle"))
    return drawn


def _polyline(points: FloatArray, colour: str, width: float) -> str:
    places = " ".join(f"{x:.1f},{-y:.1f}" for x, y in points)
    return f'<polyline points="{places}" fill="none" stroke="{colour}" stroke-width="{width:g}"/>'


def _rectangle(low: FloatArray, high: FloatArray, fill: str) -> str:
    size = high - low
    return (
        f'<rect x="{low[0]:.1f}" y="{-high[1]:.1f}" width="{size[0]:.1f}" height="{size[1]:.1f}" fill="{fill}" stroke="{INK}" '
        f'stroke-width="{EDGE_PEN:g}"/>'
    )


def _text(at: FloatArray, text: str, size: float, anchor: str = "start") -> str:
    return f'<text x="{at[0]:.1f}" y="{-at[1]:.1f}" font-size="{size:.1f}" text-anchor="{anchor}" font-family="sans-serif">{escape(text)}</text>'


def _zero(letter: float) -> str:
    """Zero mark and axes at (0, 0): a quartered circle, arrows named X and Y. letter: height of letters in mm."""
    r, arm, head, pen = ZERO_RADIUS * letter, AXIS_LENGTH * letter, ARROW_HEAD * letter, ZERO_PEN * letter
    arrows = "".join(
        f'<path d="{line}" fill="none" stroke="{INK}" stroke-width="{pen:.2f}"/>'
        for line in (
            f"M0 0H{arm:.1f}M{arm - head:.1f} {-head / 2:.1f}L{arm:.1f} 0L{arm - head:.1f} {head / 2:.1f}",
            f"M0 0V{-arm:.1f}M{-head / 2:.1f} {-arm + head:.1f}L0 {-arm:.1f}L{head / 2:.1f} {-arm + head:.1f}",
        )
    )
    mark = (
        f'<circle r="{r:.2f}" fill="{PAPER}" stroke="{INK}" stroke-width="{pen:.2f}"/>'
        f'<path d="M0 0V{-r:.2f}A{r:.2f} {r:.2f} 0 0 1 {r:.2f} 0ZM0 0V{r:.2f}A{r:.2f} {r:.2f} 0 0 1 {-r:.2f} 0Z" fill="{INK}"/>'
    )
    return arrows + mark + _text(np.array([arm, -X_BELOW * letter]), "X", letter) + _text(np.array([Y_ASIDE * letter, arm]), "Y", letter)
