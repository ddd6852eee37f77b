"""What is known of roughing with a flat cutter before finishing begins."""

from __future__ import annotations

from dataclasses import dataclass

from .setting_kinds import Number, OrNothing, Record, Setting, require

ROUGHING = Record(
    "Roughing",
    (
        Setting("allowance", Number(0.0, 20.0, "mm"), "What roughing leaves on the body, along the surface normal"),
        Setting("terrace_height", OrNothing(Number(0.1, 100.0, "mm"), "no terraces"), "Height of the terraces that roughing leaves"),
        Setting("cutter_diameter", Number(1.0, 100.0, "mm"), "Diameter of the flat cutter that roughs"),
        Setting(
            "channel_width",
            OrNothing(Number(0.5, 500.0, "mm"), "the flat cutter's diameter"),
            "Width of the channel between the body and stock that still stands",
        ),
    ),
)
"""What roughing leaves."""


@dataclass(frozen=True)
class RoughingSettings:
    """What is known of roughing with a flat cutter: see ROUGHING."""

    allowance: float = 0.5
    terrace_height: float | None = None
    cutter_diameter: float = 22.0
    channel_width: float | None = None

    def __post_init__(self) -> None:
        require(ROUGHING, self)

    @property
    def channel(self) -> float:
        """Width in mm of the channel beside the body."""
        return self.channel_width if self.channel_width is not None else self.cutter_diameter
