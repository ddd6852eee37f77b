"""Which ground is planned, and when a cutter counts as fitting it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..core.errors import BadRequest

OPENINGS = ("auto", "skip", "bridge", "follow")
"""What may be done with an opening."""


FLATS = ("auto", "skip", "follow")
"""What may be done with flats."""


@dataclass(frozen=True)
class RegionSettings:
    """Which ground is planned. Lengths in mm.

    wall_limit: degrees from horizontal; ground as steep or steeper is left out. skip_margin: distance that contacts
    keep from skipped faces. overrun: how far the cutter's axis may pass the plan outline (None: the cutter's radius).
    lowest_depth: floor of the tip below the body's highest point (None: the body's lowest point).
    openings: what to do with pockets, holes and slots; "auto" bridges those narrower than the cutter and skips the others.
    opening_margin: distance that contacts keep from a skipped opening's edge. opening_choices: (number, what) pairs that
    overrule `openings` for single openings, numbered as Ground lists them.
    flats: what to do with level ground; "auto" leaves out what lies in the stock's own face and needs no cut, "skip" leaves out all flats,
    as work for a flat cutter, "follow" none. flat_margin: how far passes run on over a flat that is left out, so that no step is left.
    """

    wall_limit: float = 60.0
    skip_margin: float = 0.5
    overrun: float | None = None
    lowest_depth: float | None = None
    openings: str = "auto"
    opening_margin: float = 0.5
    opening_choices: tuple[tuple[int, str], ...] = ()
    flats: str = "auto"
    flat_margin: float = 2.0

    def __post_init__(self) -> None:
        if self.flats not in FLATS:
            raise BadRequest("The treatment of flats must be one of {choices}, not '{given}'.", choices=FLATS, given=self.flats)
        if not self.flat_margin >= 0:
            raise BadRequest("The margin on flats must be 0 mm or more, not {value}.", value=self.flat_margin)


LEFT_TO_FLAT_CUTTERS = ("flats", "walls", "openings")
"""Ground that may be left to flat cutters."""

WALLS = 60.0
"""Degrees; from here on ground counts as a wall: the side of a flat cutter does it better. It is the usual wall limit too."""


def left_to_flat_cutters(region: RegionSettings, kinds: tuple[str, ...]) -> RegionSettings:
    """The region with these kinds of ground left out as well. Raises BadRequest for an unknown kind."""
    unknown = [kind for kind in kinds if kind not in LEFT_TO_FLAT_CUTTERS]
    if unknown:
        raise BadRequest("What is left out must be some of {choices}, not '{given}'.", choices=LEFT_TO_FLAT_CUTTERS, given=unknown[0])
    return replace(
        region,
        flats="skip" if "flats" in kinds else region.flats,
        wall_limit=min(region.wall_limit, WALLS) if "walls" in kinds else region.wall_limit,
        openings="skip" if "openings" in kinds else region.openings,
        opening_choices=() if "openings" in kinds else region.opening_choices,
    )


@dataclass(frozen=True)
class FitSettings:
    """When a cutter counts as fitting: ground with more uncut height than this may cover no more than this area."""

    uncut_height: float = 0.05
    uncut_area: float = 50.0
