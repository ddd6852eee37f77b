"""The two units that paths and programs can be written in."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadFile

MM_PER_INCH = 25.4
"""Exact since 1959 (international yard and pound agreement)."""


@dataclass(frozen=True)
class WrittenUnit:
    """A unit of length in files.

    name: as it stands in column names. mm: millimetres in one unit. decimals: of coordinates, about a tenth of a micrometre in both units.
    feed_decimals: of feeds in programs. word: the ISO 6983 word that announces the unit.
    """

    name: str
    mm: float
    decimals: int
    feed_decimals: int
    word: str

    @property
    def per_mm(self) -> float:
        """How many of the unit are in one mm."""
        return 1 / self.mm


WRITTEN_UNITS: tuple[WrittenUnit, ...] = (
    WrittenUnit(name="mm", mm=1.0, decimals=4, feed_decimals=1, word="G21"),
    WrittenUnit(name="in", mm=MM_PER_INCH, decimals=5, feed_decimals=3, word="G20"),
)


def written_unit(name: str) -> WrittenUnit:
    """The unit of a name, "mm" or "in". Raises BadFile for any other."""
    for unit in WRITTEN_UNITS:
        if unit.name == name:
            return unit
    raise BadFile("The unit must be one of {choices}, not '{given}'.", choices=tuple(unit.name for unit in WRITTEN_UNITS), given=name)
