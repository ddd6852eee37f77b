"""Where handles, pins and the divider's grip were drawn last, so that gizmos know what lies under the mouse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import bpy

from ..scene.blender_data import present
from ..scene.setup_handles import Values
from .depth import ui_scale

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

    def point(self, context: bpy.types.Context, location: Sequence[int] | None) -> int:
        """Answer a gizmo that is asked whether the mouse is on it: 0 on a place, which is hot from then on, -1 beside all of them."""
        if location is None:
            return -1
        region = present(context.region)
        found = self.under(region.as_pointer(), float(location[0]), float(location[1]), ui_scale())
        if found != self.hot:
            self.hot = found
            region.tag_redraw()
        return -1 if found is None else 0

    def forget(self, region: int | None = None) -> None:
        """Nothing is drawn in a region; without one, in none."""
        for drawn in [drawn for drawn in self.drawn if region in (None, drawn)]:
            del self.drawn[drawn]


HANDLES = DrawnPlaces()
PINS = DrawnPlaces()
DIVIDER = DrawnPlaces()
"""Those of the session: drawing notes them, gizmos read them; Blender makes gizmos itself and hands them nothing of ours."""
