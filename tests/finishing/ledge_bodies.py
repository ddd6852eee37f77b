"""A carved top with a bevelled ledge and a ring groove, for tests: much of its ground is narrow, and walls divide it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class LedgeTop:
    """An oval top (half axes in mm): ledge along the outline, a bevel up from it, a strip, a ring groove, and a dome inside.

    Rises and widths in mm. The bevel's slope is rise over width. The groove is a circular arc across, `groove_width` wide and `groove_depth` deep.
    """

    half_length: float = 80.0
    half_width: float = 60.0
    edge_height: float = 14.0
    ledge_width: float = 6.0
    ledge_rise: float = 0.6
    bevel_width: float = 2.0
    bevel_rise: float = 4.5
    strip_width: float = 10.0
    groove_width: float = 5.0
    groove_depth: float = 1.5
    dome_rise: float = 6.0

    @property
    def groove_radius(self) -> float:
        """Radius of the groove across, by its chord and its depth."""
        return (self.groove_width**2 / 4 + self.groove_depth**2) / (2 * self.groove_depth)

    def profile(self) -> np.ndarray:
        """(n, 2): distance inward from the outline and height, from the outline to where the dome begins."""
        inward, height, rows = 0.0, self.edge_height, []
        for width, rise in ((self.ledge_width, self.ledge_rise), (self.bevel_width, self.bevel_rise), (self.strip_width, 0.5)):
            rows += [(inward + share * width, height + share * rise) for share in np.linspace(0, 1, 5)[:-1]]
            inward, height = inward + width, height + rise
        radius, half = self.groove_radius, self.groove_width / 2
        for across in np.linspace(-half, half, 17):
            rows.append((inward + half + across, height + radius - self.groove_depth - np.sqrt(radius**2 - across**2)))
        return np.array(rows)

    def triangles(self, around: int = 360, inner: int = 40) -> np.ndarray:
        """The closed body, (n, 3, 3), standing on z = 0 with its middle at the origin."""
        turn = np.linspace(0, 2 * np.pi, around + 1)
        outline = np.column_stack([self.half_length * np.cos(turn), self.half_width * np.sin(turn)])
        normal = np.column_stack([self.half_width * np.cos(turn), self.half_length * np.sin(turn)])
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        rings = [np.column_stack([outline, np.zeros(around + 1)])]
        profile = self.profile()
        rings += [np.column_stack([outline - inward * normal, np.full(around + 1, height)]) for inward, height in profile]
        begun = rings[-1][:, :2]
        for share in np.linspace(1, 0, inner + 1)[1:]:
            height = profile[-1, 1] + self.dome_rise * (1 - share**2)
            rings.append(np.column_stack([share * begun, np.full(around + 1, height)]))
        rings.append(np.zeros((around + 1, 3)))  # the bottom is a fan from its middle
        rings = [np.zeros((around + 1, 3)), *rings[:-1]]
        parts = []
        for outer, within in zip(rings[:-1], rings[1:], strict=True):
            a, b, c, d = outer[:-1], outer[1:], within[1:], within[:-1]
            parts += [np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)]
        found = np.concatenate(parts)
        area = np.linalg.norm(np.cross(found[:, 1] - found[:, 0], found[:, 2] - found[:, 0]), axis=1)
        return found[area > 1e-9]
