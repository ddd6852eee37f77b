"""The sanding that a cusp height leaves: volume, roughness, and a grit to start with."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.message import Message

LEAST_REMOVAL = ((220, 0.013), (180, 0.025), (150, 0.051), (120, 0.102), (100, 0.152), (80, 0.203), (60, 0.381))
"""(grit, mm): removal that clears the grit's own scratch, Woodworking Network 2014, wide-belt machines."""

PRACTICE_GRIT = 60
"""Grit that sanding of routed bodies starts with: common practice, no source."""

MEAN_SHARE = 1 / 3
"""Mean thickness of equal round cusps over their height (parabolic cusps, closed form)."""

ROUGHNESS_SHARE = 0.2566
"""Ra over the height of equal round cusps: 4 / (9 sqrt 3), closed form for parabolic cusps."""


@dataclass(frozen=True)
class Sanding:
    """What sanding a finished side takes.

    volume: mm3 left in the cusps. roughness_rz, roughness_ra: mm, of ideal equal cusps. start_grit: the finest grit whose own
    scratch goes as deep as the cusps, a heuristic; None for cusps deeper than the coarsest of the table. logged_grit: the grit that logged runs
    began with, None where there are none.
    """

    volume: float
    roughness_rz: float
    roughness_ra: float
    start_grit: int | None
    logged_grit: int | None = None

    @property
    def first_grit(self) -> int | None:
        """The grit to start with: as logged, else by the table; None for a scraper."""
        return self.start_grit if self.logged_grit is None else self.logged_grit

    @property
    def words(self) -> Message:
        """The sanding as a sentence."""
        found = {"volume": self.volume / 1000, "practice": PRACTICE_GRIT, "roughness": 1000 * self.roughness_rz}
        if self.logged_grit is not None:
            return Message(
                "About {volume:.1f} cm³ to sand away; start with grit {grit}, the median of your logged runs (practice starts with {practice}); "
                "Rz {roughness:.0f} µm.",
                grit=self.logged_grit,
                **found,
            )
        if self.start_grit is None:
            return Message(
                "About {volume:.1f} cm³ to sand away; by the removal table, start with a scraper before grit {practice}; Rz {roughness:.0f} µm.",
                **found,
            )
        return Message(
            "About {volume:.1f} cm³ to sand away; by the removal table, start with grit {grit} (practice starts with {practice}); "
            "Rz {roughness:.0f} µm.",
            grit=self.start_grit,
            **found,
        )


def sanding_after(cusp: float, area: float, logged_grit: int | None = None) -> Sanding:
    """The sanding after passes of one cusp height in mm over an area in mm2. logged_grit: what logged runs began with."""
    grit = next((number for number, removal in LEAST_REMOVAL if removal >= cusp), None)
    return Sanding(MEAN_SHARE * area * cusp, cusp, ROUGHNESS_SHARE * cusp, start_grit=grit, logged_grit=logged_grit)
