"""Which ground is planned, and when a cutter counts as fitting it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..core.errors import BadRequest
from .setting_kinds import Choice, Number, OrNothing, Record, Row, Setting, Several, require

OPENINGS = ("auto", "skip", "bridge", "follow")
"""What may be done with an opening."""

FLATS = ("auto", "skip", "follow")
"""What may be done with flats."""

REGION = Record(
    "Planned surface",
    (
        Setting("wall_limit", Number(5.0, 89.0, "degrees"), "Surface as steep as this from horizontal, or steeper, is left out"),
        Setting("skip_margin", Number(0.0, 100.0, "mm"), "Distance that the cutter's contact keeps from skipped faces"),
        Setting("overrun", OrNothing(Number(0.0, 200.0, "mm"), "the cutter's radius"), "How far the cutter's axis may pass the body's outline"),
        Setting(
            "deepest_tip",
            OrNothing(Number(0.0, 1000.0, "mm"), "as low as the surface needs, never below the body"),
            "Depth below the body's highest point that the tip never passes",
        ),
        Setting(
            "openings", Choice(OPENINGS), "What to do with pockets, holes and slots; auto bridges those narrower than the cutter and skips the others"
        ),
        Setting("opening_margin", Number(0.0, 100.0, "mm"), "Distance that the cutter's contact keeps from a skipped opening's edge"),
        Setting(
            "opening_choices",
            Several(Row((Number(1, 100000, whole=True), Choice(OPENINGS))), 1000),
            "Number of an opening, as the plan lists them, and what to do with that one",
        ),
        Setting(
            "floor_choices",
            Several(Row((Number(1, 100000, whole=True), Number(1, 100000, whole=True), Choice(OPENINGS))), 1000),
            "Number of an opening, number of a floor in it, and what to do with that floor and those beside it at one level; auto is as the opening",
        ),
        Setting(
            "flats",
            Choice(FLATS),
            "What to do with level surfaces; auto leaves out what lies in the stock's own face and needs no cut, skip leaves out all flats",
        ),
        Setting("flat_margin", Number(0.0, 100.0, "mm"), "How far pass lines run on over a flat that is left out: no step stays there"),
    ),
)
"""Which ground is planned."""

FIT = Record(
    "Fit",
    (
        Setting("uncut_height", Number(0.001, 10.0, "mm"), "Surface with less than this left uncut counts as finished"),
        Setting("uncut_area", Number(0.0, 1e6, "mm²"), "Area that may keep more than that before a cutter counts as not fitting"),
    ),
)
"""When a cutter fits."""


@dataclass(frozen=True)
class RegionSettings:
    """Which ground is planned: see REGION."""

    wall_limit: float = 60.0
    skip_margin: float = 0.5
    overrun: float | None = None
    deepest_tip: float | None = None
    openings: str = "auto"
    opening_margin: float = 0.5
    opening_choices: tuple[tuple[int, str], ...] = ()
    floor_choices: tuple[tuple[int, int, str], ...] = ()
    flats: str = "auto"
    flat_margin: float = 2.0

    def __post_init__(self) -> None:
        require(REGION, self)


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
        floor_choices=() if "openings" in kinds else region.floor_choices,
    )


@dataclass(frozen=True)
class FitSettings:
    """When a cutter counts as fitting: see FIT."""

    uncut_height: float = 0.05
    uncut_area: float = 50.0

    def __post_init__(self) -> None:
        require(FIT, self)
