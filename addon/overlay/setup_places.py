"""Where handles, pins and the divider's grip were drawn last, so that gizmos know what lies under the mouse."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..scene.setup_handles import Values

NEAR = 13.0
"""Pixels at a scale of 1 within which a handle or a pin is hit."""


@dataclass
class DrawnPlaces:
    """Places in pixels by region, each with its name. hot: the one that the mouse is on or that is dragged. values: of a drag, None without one."""

    drawn: dict[int, list[tuple[str, float, float]]] = field(default_factory=dict)
    hot: str | None = None
    values: Values | None = None

    def under(self, region: int, x: float, y: float, scale: float) -> str | None:
        """Name of the nearest place within reach, None where there is none."""
        found = [((x - px) ** 2 + (y - py) ** 2, name) for name, px, py in self.drawn.get(region, ())]
        near = [each for each in found if each[0] <= (NEAR * scale) ** 2]
        return min(near)[1] if near else None

    def forget(self, region: int | None = None) -> None:
        """Nothing is drawn in a region; without one, in none."""
        for drawn in [drawn for drawn in self.drawn if region in (None, drawn)]:
            del self.drawn[drawn]


HANDLES = DrawnPlaces()
PINS = DrawnPlaces()
DIVIDER = DrawnPlaces()
"""Those of the session: drawing notes them, gizmos read them; Blender makes gizmos itself and hands them nothing of ours."""
