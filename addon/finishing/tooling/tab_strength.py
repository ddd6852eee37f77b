"""Whether tabs hold a body: what each of them bears where the cutter pushes, and by how many times it would bear more.

The body is rigid and hangs by its tabs alone. Every tab is a beam from the body's outline to the stock, held at both ends: with E and G the moduli of
its wood at its own angle to the grain, A = b h its section, I = b h^3 / 12 (up and down) or h b^3 / 12 (sideways) and p = 12 E I / (5/6 G A L^2) for
what shear adds, its end at the body meets a displacement w and a slope s with the force E I (12 w / L^3 + 6 s / L^2) / (1 + p) and the moment
E I (6 w / L^2 + (4 + p) s / L) / (1 + p), and a displacement u along it with E A u / L (any textbook of structures, such as Przemieniecki, Theory of
Matrix Structural Analysis, ch. 5). The body moves until all forces and moments are in balance: the stiffer a tab, the more of a push it takes. Along
the grain wood is up to twenty times as stiff as across it; a tab of usual size, which shear bends most, up to eight times.

The stress of bending is M / (b h^2 / 6) and M / (h b^2 / 6), that of the pull N / A, and that of shear 3/2 V / A at most (a rectangle, any table of
sections). Bending strength at an angle to the grain is Hankinson's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..job.cutter import Cutter
from ..job.tabs import Tab
from ..job.wood import wood_named
from ..job.wood_strength import STIFFNESS_POWER, WoodStrength, at_angle
from .bite import edge_length

SAFETY = 2.5
"""By how many times a tab is to bear more than it is asked to: 1.7 from the mean to a piece that is as weak as one in twenty (coefficient of
variation 25 %: Wood Handbook, table 5-6, from memory), times 1.5 for chatter and a knock (common practice, no source)."""

SHEAR_SHARE = 5 / 6
"""Of a rectangle's section that counts against shear: any table of sections."""

LEAST_USED = 1e-9
"""Share of its strength that an unloaded tab counts as using."""

GRAVITY = 9.81
"""m/s2."""

DIRECTIONS = 16
"""Directions in plan in which the cutter is taken to push: between two of them the force is 2 % larger than along either."""


@dataclass(frozen=True)
class HeldBody:
    """What hangs by the tabs, in the tabs' axes.

    rim: (n, 2) outline, mm. level: z of the middle of the tabs. highest: mm from there to where the cutter pushes at most, above or below.
    middle: (2,) of the weight. weight: N.
    """

    rim: FloatArray
    level: float
    highest: float
    middle: FloatArray
    weight: float


@dataclass(frozen=True)
class Borne:
    """What one tab bears at worst. share: of the force down of the cutter, wherever on the body that is; force: N, up or down, with its part of the
    weight. bending, shear: N/mm2. times: by how many times it would bear more.
    """

    share: float
    force: float
    bending: float
    shear: float
    times: float

    @property
    def holds(self) -> bool:
        """Whether that is enough."""
        return self.times >= SAFETY


def finishing_force(cutter: Cutter, wood: str, feed: float, depth: float) -> float:
    """The force in N of a cutter that takes a layer of some mm at a feed in mm/min: cutting pressure, times the feed per tooth, times the edge in
    the wood. A chip is never thicker than the feed per tooth.
    """
    per_tooth = feed / (cutter.spindle_speed * cutter.flutes)
    return float(wood_named(wood).cutting_pressure * per_tooth * edge_length(cutter.radius, depth, cutter.flank))


def weight_of(triangles: FloatArray, strength: WoodStrength) -> tuple[float, FloatArray]:
    """Weight in N of a closed mesh (n, 3, 3) in mm, and its middle (2,) in plan: both by tetrahedra from the mesh's own middle."""
    origin = triangles.reshape(-1, 3).mean(axis=0)
    corners = triangles - origin
    volumes = (np.cross(corners[:, 0], corners[:, 1]) * corners[:, 2]).sum(axis=1) / 6
    volume = float(volumes.sum())
    if volume <= 0:  # an open mesh encloses nothing that could be weighed: its box does
        size = triangles.reshape(-1, 3).max(axis=0) - triangles.reshape(-1, 3).min(axis=0)
        return float(size.prod()) * 1e-9 * strength.density * GRAVITY, np.asarray(origin[:2], np.float64)
    middle = (volumes[:, None] * corners.sum(axis=1) / 4).sum(axis=0) / volume + origin
    return volume * 1e-9 * strength.density * GRAVITY, np.asarray(middle[:2], np.float64)


def borne_by(tabs: Sequence[Tab], body: HeldBody, force: float, strength: WoodStrength, grain: float | None) -> tuple[Borne, ...]:
    """What each tab bears while a cutter pushes down and sideways with a force in N each, at the worst place of the outline.

    grain: degrees from X, None where it is not known: every tab is then taken as lying across it, the weakest way.
    """
    if not tabs:
        return ()
    moves = [_moves_of_end(tab) for tab in tabs]
    springs = [_spring(tab, strength, grain) for tab in tabs]
    whole = np.zeros((6, 6))
    for move, spring in zip(moves, springs, strict=True):
        whole += move.T @ spring @ move
    # Fewer tabs than hold a body leave it loose: it then falls where a tab would have to be pulled endlessly far.
    flexible: FloatArray = np.linalg.pinv(whole, hermitian=True, rcond=1e-12)
    cut, down = _cutter_loads(body, force)
    weight = _wrench(np.array([[*body.middle, 0.0]]), np.array([[0.0, 0.0, -body.weight]]))
    found = []
    for tab, move, spring in zip(tabs, moves, springs, strict=True):
        pull: FloatArray = spring @ move @ flexible
        forces: FloatArray = np.add(pull @ cut, pull @ weight)
        found.append(_judged(tab, forces, float(np.abs((pull @ down)[3]).max()), strength, grain))
    return tuple(found)


def _spring(tab: Tab, strength: WoodStrength, grain: float | None) -> FloatArray:
    """Forces (pull, sideways force and moment, force up and moment) for displacements and slopes of its end at the body, (5, 5), N and mm."""
    b, h, angle = tab.width, tab.height, angle_to_grain(tab, grain)
    elastic = at_angle(strength.elastic_along, strength.elastic_across, angle, STIFFNESS_POWER)
    # Sideways, shear runs in the plane of the fibres whichever way they lie; up and down, it rolls those that lie across the tab.
    rigid = at_angle(strength.rigid_along, strength.rigid_across, angle, STIFFNESS_POWER)
    out = np.zeros((5, 5))
    out[0, 0] = elastic * b * h / tab.length
    out[1:3, 1:3] = _beam_end(elastic * h * b**3 / 12, strength.rigid_along * b * h, tab.length)
    out[3:5, 3:5] = _beam_end(elastic * b * h**3 / 12, rigid * b * h, tab.length)
    return out


def _beam_end(bending: float, shearing: float, length: float) -> FloatArray:
    """Force and moment for displacement and slope of a beam's end whose other end is held, (2, 2). bending: E I; shearing: G A; length: mm."""
    p = 12 * bending / (SHEAR_SHARE * shearing * length**2)
    return bending / (1 + p) * np.array([[12 / length**3, 6 / length**2], [6 / length**2, (4 + p) / length]])


def _moves_of_end(tab: Tab) -> FloatArray:
    """How a tab's end at the body moves, (5, 6): along it, sideways, slope sideways, up, slope up, for shifts x y z and turns about x y z."""
    (x, y), (nx, ny) = tab.place, tab.way
    shift = np.array([[1.0, 0, 0, 0, 0, -y], [0, 1.0, 0, 0, 0, x], [0, 0, 1.0, y, -x, 0]])
    along, aside = np.array([nx, ny, 0.0]), np.array([-ny, nx, 0.0])
    return np.array([along @ shift, aside @ shift, [0, 0, 0, 0, 0, 1.0], shift[2], [0, 0, 0, ny, -nx, 0]])


def _wrench(places: FloatArray, forces: FloatArray) -> FloatArray:
    """Forces (n, 3) at places (n, 3) as forces and moments about zero, (6, n)."""
    return np.concatenate([forces.T, np.cross(places, forces).T])


def _cutter_loads(body: HeldBody, force: float) -> tuple[FloatArray, FloatArray]:
    """The cutter's pushes as (6, n): down and sideways, in every direction, high and low; and down alone with a force of 1.

    What a tab bears grows no less than evenly from the body's middle outwards, so that the worst place lies on the outline.
    """
    angle = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    pushes = np.column_stack([force * np.cos(angle), force * np.sin(angle), np.full(DIRECTIONS, -force)])
    places = np.column_stack([body.rim, np.zeros(len(body.rim))])
    cut = []
    for height in (body.highest, -body.highest):
        at = np.repeat(places + [0, 0, height], DIRECTIONS, axis=0)
        cut.append(_wrench(at, np.tile(pushes, (len(places), 1))))
    return np.concatenate(cut, axis=1), _wrench(places, np.tile([0.0, 0.0, -1.0], (len(places), 1)))


def _judged(tab: Tab, forces: FloatArray, share: float, strength: WoodStrength, grain: float | None) -> Borne:
    """One tab under forces (5, n) at its end at the body."""
    b, h = tab.width, tab.height
    pull, aside, turn_aside, up, turn_up = forces
    moment_aside = np.maximum(np.abs(turn_aside), np.abs(aside * tab.length - turn_aside))
    moment_up = np.maximum(np.abs(turn_up), np.abs(up * tab.length - turn_up))
    bending = np.abs(pull) / (b * h) + moment_up / (b * h**2 / 6) + moment_aside / (h * b**2 / 6)
    shear_up, shear_aside = 1.5 * np.abs(up) / (b * h), 1.5 * np.abs(aside) / (b * h)
    angle = angle_to_grain(tab, grain)
    bears, rolls = at_angle(strength.along, strength.across, angle), at_angle(strength.shear, strength.rolling, angle)
    used = np.maximum(bending / bears, np.hypot(shear_up / rolls, shear_aside / strength.shear))
    worst = int(used.argmax())
    shear = float(np.hypot(shear_up[worst], shear_aside[worst]))
    return Borne(
        share=share,
        force=float(np.abs(up).max()),
        bending=float(bending[worst]),
        shear=shear,
        times=1 / max(float(used[worst]), LEAST_USED),
    )


def angle_to_grain(tab: Tab, grain: float | None) -> float:
    """Angle in degrees between a tab and the grain, 0 to 90; 90 where the grain is not known."""
    if grain is None:
        return 90.0
    turned = (float(np.degrees(np.arctan2(tab.way[1], tab.way[0]))) - grain) % 180.0
    return min(turned, 180.0 - turned)
