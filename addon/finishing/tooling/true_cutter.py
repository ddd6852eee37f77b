"""What a cutter does that is not of the size it was planned with, or that does not run true.

With its tip at the same place, a ball of radius R1 in place of R0 has its centre R1 - R0 higher. Along the normal of ground of slope t that
brings it (R1 - R0) cos t outwards while its surface comes R1 - R0 nearer: it cuts (R1 - R0)(1 - cos t) deeper than the planned one. A cutter
whose axis stands e off the spindle's sweeps balls shifted by e all round: on slope t it cuts e sin t deeper. Closed forms of rigid motion.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..core.finding import Change, Finding
from ..core.message import Message
from ..job.cutter import Cutter

TELLING = 1e-4
"""mm; differences below this are not told."""

SLOPES = 91
"""Slopes from level to the steepest at which is looked how far a cutter goes off."""


def deeper_by_radius(planned_radius: float, true_radius: float, slope_degrees: ArrayLike) -> NDArray[np.float64]:
    """How much deeper a ball cuts along the normal than the planned one, with its tip at the same place; negative: what it leaves. All mm."""
    return (true_radius - planned_radius) * (1 - np.cos(np.radians(np.asarray(slope_degrees, float))))


def deeper_by_runout(runout: float, slope_degrees: ArrayLike) -> NDArray[np.float64]:
    """How much deeper than planned a cutter with this runout (total reading, mm) cuts along the normal, mm.

    It is planned as a ball that is larger by the runout in diameter, which takes e (1 - cos t) of the e sin t into account.
    """
    slope = np.radians(np.asarray(slope_degrees, float))
    return np.maximum(runout / 2 * (np.sin(slope) + np.cos(slope) - 1), 0.0)


def true_cutter_words(cutter: Cutter, steepest: float) -> list[Finding]:
    """What is to be said of a cutter that was measured. steepest: slope of the planned ground in degrees."""
    found = []
    slopes = np.linspace(0.0, steepest, SLOPES)
    # Planned as its name says, it would go off by what its ball does, and by what runout does besides.
    errors = deeper_by_radius(cutter.diameter / 2, cutter.radius, slopes) + deeper_by_runout(cutter.runout, slopes)
    error = float(errors[np.argmax(np.abs(errors))])
    if abs(cutter.radius - cutter.diameter / 2) > TELLING:
        values = {"diameter": cutter.diameter, "true": cutter.cutting_diameter, "error": abs(error), "slope": steepest}
        if error > 0:
            sentence = Message(
                "The {diameter:g} mm cutter cuts {true:g} mm and is planned so. Planned as {diameter:g} mm it would cut up to {error:.3f} mm too "
                "deep on slopes of up to {slope:.0f} degrees.",
                **values,
            )
        else:
            sentence = Message(
                "The {diameter:g} mm cutter cuts {true:g} mm and is planned so. Planned as {diameter:g} mm it would leave up to {error:.3f} mm "
                "more on slopes of up to {slope:.0f} degrees.",
                **values,
            )
        found.append(Finding("true-cutter", sentence))
    if cutter.runout > TELLING:
        deeper = float(deeper_by_runout(cutter.runout, min(steepest, 45.0)))  # most at 45 degrees
        sentence = Message(
            "With a runout of {runout:g} mm the cutter goes up to {deeper:.3f} mm deeper than planned.", runout=cutter.runout, deeper=deeper
        )
        found.append(Finding("runout", sentence, Message("Clean collet and nut, and clamp the cutter again.")))
    return found


def taper_finding(cutter: Cutter, area: float) -> Finding:
    """What is to be said of planned ground, mm2 in plan, that is steeper than the flank of a tapered cutter."""
    sentence = Message(
        "The flank of the {diameter:g} mm cutter keeps its ball off slopes above {limit:g} degrees: {area:.0f} mm² of the planned surface are steeper.",
        diameter=cutter.diameter,
        limit=90 - cutter.half_angle,
        area=area,
    )
    remedy = Message("Set Wall Limit to {limit:g} degrees, or take a straight cutter there.", limit=90 - cutter.half_angle)
    return Finding("taper", sentence, remedy, must_see=True, changes=(Change("region.wall_limit", 90 - cutter.half_angle),))
