"""Which ground is planned, and when a cutter counts as fitting it."""

from __future__ import annotations

from dataclasses import dataclass

OPENINGS = ("auto", "skip", "bridge", "follow")
"""What may be done with an opening."""


@dataclass(frozen=True)
class RegionSettings:
    """Which ground is planned. Lengths in mm.

    wall_limit: degrees from horizontal; ground as steep or steeper is left out. skip_margin: distance that contacts
    keep from skipped faces. overrun: how far the cutter's axis may pass the plan outline (None: the cutter's radius).
    lowest_depth: floor of the tip below the body's highest point (None: the body's lowest point).
    openings: what to do with pockets, holes and slots; "auto" bridges those narrower than the cutter and skips the others.
    opening_margin: distance that contacts keep from a skipped opening's edge. opening_choices: (number, what) pairs that
    overrule `openings` for single openings, numbered as Ground lists them.
    """

    wall_limit: float = 60.0
    skip_margin: float = 0.5
    overrun: float | None = None
    lowest_depth: float | None = None
    openings: str = "auto"
    opening_margin: float = 0.5
    opening_choices: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True)
class FitSettings:
    """When a cutter counts as fitting: ground with more uncut height than this may cover no more than this area."""

    uncut_height: float = 0.05
    uncut_area: float = 50.0
