"""Dowel holes that the turned stock lands on: placed symmetrically to the turn axis, drilled through into the spoilboard."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.errors import BadRequest
from ..core.finding import Finding
from ..core.message import Message
from .body import Body
from .keep_out import KeepOut
from .setting_kinds import Choice, Number, Record, Row, Setting, Several, require
from .stock import OUTSIDE, Stock, job_from_body, other_side

SYMMETRY = 0.01
"""mm; holes farther than this from the mirror place of a hole do not meet it when the stock is turned over."""


DOWELS = Record(
    "Dowels",
    (
        Setting("count", Choice((0, 2, 4)), "How many dowel holes are wanted"),
        Setting("diameter", Number(1.0, 40.0, "mm"), "Diameter of the dowels"),
        Setting("depth", Number(1.0, 100.0, "mm"), "How deep the holes go into the spoilboard"),
        Setting(
            "places",
            Several(Row((Number(-1e5, 1e5, "mm"), Number(-1e5, 1e5, "mm"))), 20),
            "X and Y of each hole in the body's axes; none puts them into the margin of the stock",
        ),
        Setting("clearance", Number(0.0, 100.0, "mm"), "What stays between a hole and the cutter's path, the stock's edge or a clamp"),
        Setting("peck", Number(0.1, 100.0, "mm"), "Depth of one bite of the drill"),
        Setting("feed", Number(1.0, 10000.0, "mm/min"), "Feed of the drill downwards"),
        Setting("spindle_speed", Number(100.0, 100000.0, "1/min"), "Turns of the drill"),
    ),
)
"""Dowel holes."""


@dataclass(frozen=True)
class DowelSettings:
    """Which dowels are wanted: see DOWELS."""

    count: int = 0
    diameter: float = 8.0
    depth: float = 15.0
    places: tuple[tuple[float, float], ...] = ()
    clearance: float = 2.0
    peck: float = 4.0
    feed: float = 300.0
    spindle_speed: float = 12000.0

    def __post_init__(self) -> None:
        require(DOWELS, self)


def dowel_places(settings: DowelSettings, stock: Stock) -> FloatArray:
    """Centres (n, 2) of the holes in the body's axes.

    Two lie on the turn axis itself, in the middle of the stock's margins at its ends; four lie in its corners.
    """
    if settings.places:
        return np.array(settings.places, float).reshape(-1, 2)
    if settings.count == 0:
        return np.zeros((0, 2))
    low, high = np.array(stock.low[:2]), np.array(stock.high[:2])
    middle = (low + high) / 2
    inset = settings.diameter / 2 + max(settings.clearance, stock.settings.margin / 2 - settings.diameter / 2)
    near, far = low + inset, high - inset
    if settings.count == 4:
        return np.array([[near[0], near[1]], [far[0], near[1]], [far[0], far[1]], [near[0], far[1]]])
    along = 1 if stock.settings.turn_axis == "y" else 0
    places = np.tile(middle, (2, 1))
    places[:, along] = near[along], far[along]
    return places


def check_dowels(settings: DowelSettings, stock: Stock, body: Body) -> None:
    """Refuse dowel holes that would be drilled into the body. Raises BadRequest.

    Each hole is held against the body's shadow in plan: openings that go through the body leave room for one.
    """
    radius = settings.diameter / 2
    for number, place in enumerate(dowel_places(settings, stock), start=1):
        deep = radius - distance_in_plan(body.triangles, place)
        if deep > OUTSIDE:
            raise BadRequest(
                "Dowel {number} of {diameter:g} mm at X {x:.1f}, Y {y:.1f} mm would be drilled {depth:.1f} mm into the body, which reaches from "
                "{low_x:.1f} to {high_x:.1f} mm along X and from {low_y:.1f} to {high_y:.1f} mm along Y. Move it, or use a wider Stock Margin.",
                number=number,
                diameter=settings.diameter,
                x=float(place[0]),
                y=float(place[1]),
                depth=deep,
                low_x=float(body.low[0]),
                high_x=float(body.high[0]),
                low_y=float(body.low[1]),
                high_y=float(body.high[1]),
            )


def distance_in_plan(triangles: FloatArray, place: FloatArray) -> float:
    """Distance in mm from a place (2,) to the nearest of some triangles (n, 3, 3) seen from above; 0 within one."""
    corners = triangles[:, :, :2] - place
    edges = np.roll(corners, -1, axis=1) - corners
    squared = (edges**2).sum(axis=2)
    share = np.clip(-(corners * edges).sum(axis=2) / np.where(squared > 0, squared, 1.0), 0, 1)
    nearest = float(((corners + share[..., None] * edges) ** 2).sum(axis=2).min())
    turn = corners[..., 0] * edges[..., 1] - corners[..., 1] * edges[..., 0]
    inside = ((turn > 0).all(axis=1) | (turn < 0).all(axis=1)).any()
    return 0.0 if inside else float(np.sqrt(nearest))


def in_job(places: FloatArray, stock: Stock, side: str) -> FloatArray:
    """Places (n, 2) of the body's axes in job mm of a side."""
    matrix = job_from_body(stock, side)
    return places @ matrix[:2, :2].T + matrix[:2, 3]


def dowel_findings(
    settings: DowelSettings, stock: Stock, side: str, axis: FloatArray, outline: FloatArray, cutter_radius: float, keep_out: tuple[KeepOut, ...]
) -> list[Finding]:
    """What is wrong with the dowels on one side.

    axis: (n, 2) axis positions of the path in job mm. outline: (m, 2) points of the body in job mm. The first hole that is wrong in
    one respect stands for all that are.
    """
    places = dowel_places(settings, stock)
    if len(places) == 0:
        return []
    found = []
    radius, clearance = settings.diameter / 2, settings.clearance
    other = other_side(side)
    here, turned = in_job(places, stock, side), in_job(places, stock, other)
    apart = np.linalg.norm(here[:, None] - turned[None], axis=2).min(axis=1)
    height = float(job_from_body(stock, side)[2, 3])
    if apart.max() > SYMMETRY:
        worst = int(apart.argmax())
        sentence = Message(
            "Turned over about {axis}, dowel {number} misses every hole by {distance:.2f} mm.",
            axis=stock.settings.turn_axis.upper(),
            number=worst + 1,
            distance=apart[worst],
        )
        remedy = Message("Set Dowels to two or four, or give places in pairs that mirror each other about the turn axis.")
        found.append(_finding("dowels-not-symmetric", here[worst], height, sentence, remedy))
    edge = in_job(np.array([stock.low[:2], stock.high[:2]]), stock, side)
    low, high = edge.min(axis=0) + radius, edge.max(axis=0) - radius
    for number, place in enumerate(here, start=1):
        if (place < low).any() or (place > high).any():
            sentence = Message("Dowel {number} does not lie inside the stock.", number=number)
            found.append(_finding("dowel-outside-stock", place, height, sentence, Message("Move it inwards or use larger stock.")))
            break
    for points, kept, code in ((outline, radius + clearance, "dowel-in-body"), (axis, radius + clearance + cutter_radius, "dowel-in-path")):
        distance = _least_distances(here, points)
        if len(distance) and distance.min() < kept:
            worst = int(distance.argmin())
            close = {"number": worst + 1, "distance": kept - distance[worst]}
            sentence = Message("Dowel {number} lies {distance:.1f} mm too close to where the cutter goes.", **close)
            if code == "dowel-in-body":
                sentence = Message("Dowel {number} lies {distance:.1f} mm too close to the body.", **close)
            remedy = Message("Use a wider Stock Margin, thinner dowels, or less Overrun.")
            found.append(_finding(code, here[worst], height, sentence, remedy, hits=bool(distance[worst] < kept - clearance)))
    for number, place in enumerate(here, start=1):
        clamp = next((k for k in keep_out if k.distance(place) < radius + clearance), None)
        if clamp is not None:
            sentence = Message("Dowel {number} lies under '{box}'.", number=number, box=clamp.name)
            remedy, hits = Message("Move the clamp or the dowel."), clamp.distance(place) < radius
            found.append(_finding("dowel-in-clamp", place, height, sentence, remedy, hits=hits))
            break
    return found


def _least_distances(places: FloatArray, points: FloatArray) -> FloatArray:
    """Distance (n,) from each place to the nearest of many points."""
    if len(points) == 0:
        return np.full(len(places), np.inf)
    return np.array([float(np.hypot(points[:, 0] - x, points[:, 1] - y).min()) for x, y in places])


def _finding(code: str, place: FloatArray, height: float, sentence: Message, remedy: Message, hits: bool = False) -> Finding:
    return Finding(code, sentence, remedy, (float(place[0]), float(place[1]), height), must_see=True, hits=hits)
