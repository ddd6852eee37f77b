"""Whether cutter, shank and collet nut run free along the whole path: against the body and against stock that still stands.

The tool is one stepped profile above the tip: ball and flanks, shank from the usable length on, nut from the stick-out on. A part that is
no wider than ball and flank clears the body where they have cut (common practice, no source), but not stock beyond the channel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..ball.disc_dilation import disc_dilation
from ..ball.flank_dilation import flank_raised_steps
from ..ball.tip_surface import tip_surface
from ..core.array_types import FloatArray
from ..core.finding import Finding
from ..core.grid import Grid
from ..core.message import Message
from ..core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path, places_along
from ..core.place import place_of
from ..core.stepping import finished
from ..job.cutter import Cutter
from ..job.machine import Machine

CELL = 0.5
"""mm, cells of the obstacles."""

STEP = 1.0
"""mm between the places of a move that are looked at, besides its ends."""

ROOM = 0.5
"""mm of room that a cutter needs beside stock that still stands: common practice, no source."""

FARTHEST = 20.0
"""mm; stock farther away than this is only looked for by larger cutters."""

TOUCH = 0.05
"""mm; going in less deep than this is rounding."""


@dataclass(frozen=True)
class ToolPart:
    """One step of the profile: a cylinder. radius: mm. above: height of its lower end above the tip in mm."""

    name: str
    radius: float
    above: float


@dataclass(frozen=True)
class Obstacles:
    """What the tool may meet, heights (rows, columns) on `grid`, -inf where nothing does.

    body: the finished body. rough: body and stock after roughing. standing: only the stock beyond the channel. away: how far that is from every
    cell, mm, FARTHEST where it is as far or farther; None where it has not been worked out.
    """

    grid: Grid
    body: FloatArray
    rough: FloatArray
    standing: FloatArray
    away: FloatArray | None = None


@dataclass(frozen=True)
class Contact:
    """Where a part goes in deepest. part: its name. obstacle: "body" or "stock". depth: mm. place: tip, job mm."""

    part: str
    obstacle: str
    depth: float
    place: tuple[float, float, float]


def tool_parts(cutter: Cutter, machine: Machine) -> tuple[ToolPart, ...]:
    """Shank and nut of a cutter in a machine; beyond the nut's length the profile is taken to go on as wide."""
    return (
        ToolPart("shank", cutter.shank_diameter / 2, min(cutter.usable_length, cutter.stick_out)),
        ToolPart("collet nut", machine.nut_diameter / 2, cutter.stick_out),
    )


def contacts(path: Path, cutter: Cutter, machine: Machine, obstacles: Obstacles) -> tuple[Contact, ...]:
    """Every part that touches something along the path, at its worst place."""
    kinds = (CUT, LINK, ENTRY, EXIT, LIFT)
    low = np.concatenate([path.points[1:][np.isin(path.kind[1:], kinds)], places_along(path, kinds, STEP).points])
    return contacts_at(low, cutter, machine, obstacles)


def contacts_at(low: FloatArray, cutter: Cutter, machine: Machine, obstacles: Obstacles) -> tuple[Contact, ...]:
    """Every part that touches something with the tip at one of the places `low` (n, 3), job mm, at its worst place."""
    found = []
    for part in tool_parts(cutter, machine):
        # What is no wider than ball and flank follows them through the body and through what they cut away.
        wider = part.radius > cutter.widest_radius + obstacles.grid.cell
        met = obstacles.rough if wider else obstacles.standing
        if not len(low) or met.max() <= low[:, 2].min() + part.above + TOUCH:  # all of it passes below the part
            continue
        reach = disc_dilation(met, part.radius - obstacles.grid.cell / 2, obstacles.grid.cell)
        deep = _sampled(reach, obstacles.grid, low) - (low[:, 2] + part.above)
        if deep.max() > TOUCH:
            worst = int(deep.argmax())
            body = disc_dilation(obstacles.body, part.radius, obstacles.grid.cell)
            on_body = wider and float(_sampled(body, obstacles.grid, low[worst : worst + 1])[0]) > low[worst, 2] + part.above + TOUCH
            found.append(Contact(part.name, "body" if on_body else "stock", float(deep[worst]), place_of(low[worst])))
    found += _channel_contact(low, cutter, obstacles)
    return tuple(found)


def _channel_contact(low: FloatArray, cutter: Cutter, obstacles: Obstacles) -> list[Contact]:
    """Where the cutter itself, with the room it needs, comes into stock beyond the channel."""
    grid = obstacles.grid
    if not (obstacles.standing > -np.inf).any():
        return []
    radius = cutter.radius + ROOM
    widest = cutter.widest_radius + ROOM
    if obstacles.away is not None and widest < FARTHEST and _sampled(obstacles.away, grid, low).min(initial=np.inf) > widest + grid.cell:
        return []
    tip: FloatArray = tip_surface(obstacles.standing, radius, grid.cell)
    if cutter.flank is not None:
        tip = finished(flank_raised_steps(obstacles.standing, tip, cutter.flank.with_room(ROOM), grid.cell))
    deep = _sampled(tip, grid, low) - low[:, 2] + ROOM
    if not len(deep) or deep.max() <= TOUCH:
        return []
    worst = int(deep.argmax())
    return [Contact("cutter", "stock", float(deep[worst]), place_of(low[worst]))]


def _sampled(values: FloatArray, grid: Grid, points: FloatArray) -> FloatArray:
    """Values (n,) at the cells that hold points (n, 2 or more)."""
    row, column = grid.nearest(points)
    return values[row, column].astype(np.float64)


def clearance_findings(found: tuple[Contact, ...], cutter: Cutter, channel: float | None) -> list[Finding]:
    """The contacts in sentences with numbers and remedies. channel: its width in mm, None where the stock was given as it stands."""
    return [_finding(contact, cutter, channel) for contact in found]


def _finding(contact: Contact, cutter: Cutter, channel: float | None) -> Finding:
    on_body = contact.obstacle == "body"
    hits = contact.depth > ROOM  # else it only comes nearer than it should
    if contact.part == "cutter" and channel is None:
        sentence = Message(
            "The {diameter:g} mm cutter rubs {depth:.1f} mm deep against the given stock beside the body.",
            diameter=cutter.diameter,
            depth=contact.depth,
        )
        remedy = Message(
            "Rough a channel wider than {width:g} mm round the body first, take a smaller cutter, or set less Overrun.",
            width=2 * cutter.widest_radius + ROOM,
        )
        return Finding("channel", sentence, remedy, contact.place, must_see=hits, hits=hits)
    if contact.part == "cutter":
        sentence = Message(
            "The channel of {channel:g} mm beside the body is too narrow: the {diameter:g} mm cutter rubs {depth:.1f} mm deep against stock that "
            "still stands.",
            channel=channel,
            diameter=cutter.diameter,
            depth=contact.depth,
        )
        remedy = Message(
            "Rough a channel wider than {width:g} mm (Channel Width), take a smaller cutter, or set less Overrun.",
            width=2 * cutter.widest_radius + ROOM,
        )
        return Finding("channel", sentence, remedy, contact.place, must_see=hits, hits=hits)
    if contact.part == "shank":
        shank = {"diameter": cutter.shank_diameter, "depth": contact.depth}
        sentence = Message("The shank of {diameter:g} mm goes {depth:.1f} mm into stock that still stands.", **shank)
        if on_body:
            sentence = Message("The shank of {diameter:g} mm goes {depth:.1f} mm into the body.", **shank)
        remedy = Message(
            "Take a cutter with a usable length of {length:.0f} mm, or one with a thinner shank.", length=cutter.usable_length + contact.depth
        )
        return Finding("shank", sentence, remedy, contact.place, must_see=True, hits=True)
    nut = {"depth": contact.depth, "stick_out": cutter.stick_out}
    sentence = Message("With the cutter sticking out {stick_out:g} mm, the collet nut goes {depth:.1f} mm into stock that still stands.", **nut)
    if on_body:
        sentence = Message("With the cutter sticking out {stick_out:g} mm, the collet nut goes {depth:.1f} mm into the body.", **nut)
    remedy = Message(
        "Let it stick out {length:.0f} mm or more, as far as its grip in the collet allows.", length=np.ceil(cutter.stick_out + contact.depth)
    )
    return Finding("collet-nut", sentence, remedy, contact.place, must_see=True, hits=True)
