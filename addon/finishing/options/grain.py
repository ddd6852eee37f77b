"""Grain: passes along it sand more easily and tear less (common practice, no source), so they may cost some minutes more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.array_types import FloatArray
from ..core.finding import Finding
from ..core.message import Message

WORTH_NAMING = 0.05
"""Minutes that following the grain must cost before they are reported: run times are shown to a tenth of a minute."""

MOSTLY_ACROSS = 0.5
"""Mean sin^2 of the angle to the grain above which passes run across it rather than along it: 45 degrees."""


@dataclass(frozen=True)
class GrainChoice:
    """What weighing the grain has done to the choice of start.

    across: how far the chosen passes run across the grain, 0 along it to 1 square to it. quickest_across: that of the quickest start.
    cost_minutes: what the chosen start takes more than the quickest one, by the estimate that compares them.
    """

    across: float
    quickest_across: float
    cost_minutes: float


def across_grain(lines: Sequence[FloatArray], grain_angle: float) -> float:
    """Mean of sin^2 of the angle between lines (n, 2 or more) and the grain (degrees from x), by length: 0 along it, 1 square to it."""
    total = across = 0.0
    square = np.array([-np.sin(np.radians(grain_angle)), np.cos(np.radians(grain_angle))])
    for line in lines:
        moves = np.diff(line[:, :2], axis=0)
        length = np.linalg.norm(moves, axis=1)
        kept = length > 0
        total += float(length.sum())
        across += float(((moves[kept] @ square) ** 2 / length[kept]).sum())
    return across / total if total > 0 else 0.0


def weighed(seconds: float, across: float, share: float) -> float:
    """Seconds of a start as they count for the choice: `share` more where all passes run square to the grain."""
    return seconds * (1 + share * across)


def grain_findings(choice: GrainChoice | None) -> list[Finding]:
    """What the grain has cost, or why the passes run across it."""
    if choice is None:
        return []
    if choice.cost_minutes > WORTH_NAMING:
        sentence = Message(
            "The pass lines run {along:.0%} along the grain and take about {minutes:.1f} minutes longer than the quickest ones, which "
            "run {quickest:.0%} along it.",
            along=1 - choice.across,
            minutes=choice.cost_minutes,
            quickest=1 - choice.quickest_across,
        )
        return [Finding("grain", sentence, Message("Lower Grain Weight to get the quickest pass lines."))]
    if choice.across > MOSTLY_ACROSS:
        sentence = Message("The pass lines run only {along:.0%} along the grain: the quickest lines still win.", along=1 - choice.across)
        return [Finding("grain", sentence, Message("Raise Grain Weight to have them run along it."))]
    return []
