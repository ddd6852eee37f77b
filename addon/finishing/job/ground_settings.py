"""Which ground is planned, and when a cutter counts as fitting it."""

from __future__ import annotations

from dataclasses import dataclass

from .setting_kinds import Choice, Number, OrNothing, Record, Row, Setting, Several, require

OPENINGS = ("auto", "skip", "bridge", "follow")
"""What may be done with an opening."""

REGION = Record(
    "Ground",
    (
        Setting("wall_limit", Number(5.0, 89.0, "degrees"), "Ground as steep as this from horizontal, or steeper, is left out"),
        Setting("skip_margin", Number(0.0, 100.0, "mm"), "Distance that the cutter's contact keeps from skipped faces"),
        Setting("overrun", OrNothing(Number(0.0, 200.0, "mm"), "the cutter's radius"), "How far the cutter's axis may pass the body's outline"),
        Setting(
            "lowest_depth",
            OrNothing(Number(0.0, 1000.0, "mm"), "the body's lowest point"),
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
    ),
)
"""Which ground is planned."""

FIT = Record(
    "Fit",
    (
        Setting("uncut_height", Number(0.001, 10.0, "mm"), "Ground with less than this left uncut counts as finished"),
        Setting("uncut_area", Number(0.0, 1e6, "mm2"), "Area that may keep more than that before a cutter counts as not fitting"),
    ),
)
"""When a cutter fits."""


@dataclass(frozen=True)
class RegionSettings:
    """Which ground is planned: see REGION."""

    wall_limit: float = 60.0
    skip_margin: float = 0.5
    overrun: float | None = None
    lowest_depth: float | None = None
    openings: str = "auto"
    opening_margin: float = 0.5
    opening_choices: tuple[tuple[int, str], ...] = ()

    def __post_init__(self) -> None:
        require(REGION, self)


@dataclass(frozen=True)
class FitSettings:
    """When a cutter counts as fitting: see FIT."""

    uncut_height: float = 0.05
    uncut_area: float = 50.0

    def __post_init__(self) -> None:
        require(FIT, self)
