"""The flank of a tapered round-nose cutter: a cone that touches the ball and widens up to the top diameter.

Derivation. A cone of half angle a about the axis touches a ball of radius R along the circle of radius R cos a, R (1 - sin a) above the tip.
At a distance r from the axis the cutter's underside so stands at R - sqrt(R^2 - r^2) up to r = R cos a (the ball), from there on at
R (1 - sin a) + (r - R cos a) / tan a (the flank) up to half the top diameter, beyond which the cutter goes straight up. Height and slope agree
where the two meet, and the whole is convex.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ..core.array_types import Double


@dataclass(frozen=True)
class Flank:
    """radius: of the ball, mm. half_angle: between flank and axis, degrees, above 0 and below 90. top_radius: half the top diameter, mm, no less
    than the ball's radius.
    """

    radius: float
    half_angle: float
    top_radius: float

    @property
    def foot(self) -> float:
        """Distance from the axis at which the flank begins, mm."""
        return self.radius * float(np.cos(np.radians(self.half_angle)))

    @property
    def foot_height(self) -> float:
        """Height above the tip at which it begins, mm."""
        return self.radius * (1 - float(np.sin(np.radians(self.half_angle))))

    @property
    def rise(self) -> float:
        """How much higher the flank stands a mm farther from the axis, mm."""
        return 1 / float(np.tan(np.radians(self.half_angle)))

    @property
    def top_height(self) -> float:
        """Height above the tip at which the flank ends, mm."""
        return self.foot_height + self.rise * (self.top_radius - self.foot)

    def height(self, distance: ArrayLike) -> Double:
        """Height of the cutter's underside above its tip at distances from its axis, mm; infinite beyond half the top diameter."""
        r = np.asarray(distance, np.float64)
        ball = self.radius - np.sqrt(np.maximum(self.radius**2 - np.minimum(r, self.foot) ** 2, 0.0))
        out = np.where(r <= self.foot, ball, self.foot_height + self.rise * (r - self.foot))
        return np.where(r <= self.top_radius, out, np.inf)

    def half_width(self, height: ArrayLike) -> Double:
        """Distance from the axis at which the underside stands at heights above the tip, mm; above its top the cutter keeps its width."""
        z = np.maximum(np.asarray(height, np.float64), 0.0)
        a = np.minimum(z, self.foot_height)
        ball = np.sqrt(a * (2 * self.radius - a))
        return np.where(z <= self.foot_height, ball, np.minimum(self.foot + (z - self.foot_height) / self.rise, self.top_radius))

    def area_under(self, across: ArrayLike) -> Double:
        """Area under the profile from the axis to `across` mm beside it, no farther than it goes: the integral of `height`, negative on the other
        side, mm2.
        """
        u = np.asarray(across, np.float64)
        r = np.minimum(np.abs(u), self.top_radius)
        b = np.minimum(r, self.foot)
        ball = self.radius * b - (b * np.sqrt(self.radius**2 - b * b) + self.radius**2 * np.arcsin(b / self.radius)) / 2
        beyond = r - b
        return np.sign(u) * (ball + self.foot_height * beyond + self.rise * beyond**2 / 2)

    def with_room(self, room: float) -> Flank:
        """The same cutter with so many mm of room all round it; its tip lies that much lower. Only beside the rim at its top it is wider still."""
        return Flank(self.radius + room, self.half_angle, self.top_radius + room)
