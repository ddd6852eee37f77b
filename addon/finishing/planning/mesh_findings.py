"""Findings about the mesh itself, as it came."""

from __future__ import annotations

from ..core.array_types import FloatArray
from ..core.finding import Finding
from ..core.message import Message
from ..job.thinned import Thinned
from ..reading.thinning import SCAN_DEVIATIONS
from ..surface.open_borders import open_borders


def thinned_findings(body_thinned: Thinned | None) -> tuple[Finding, ...]:
    """That a mesh of too many triangles was thinned, and within what."""
    if body_thinned is None:
        return ()
    if body_thinned.roughness:
        sentence = Message(
            "The mesh was thinned from {given} triangles to {kept}. Its points scatter by {roughness:.3f} mm, and each that is left is the mean "
            "of a small patch: no point may lie more than {within:.2f} mm from the thinned mesh, {times:g} times the scatter, and "
            "{deviation:.3f} mm were measured at most. Figures of the simulated cut are those of the thinned mesh.",
            given=body_thinned.given,
            kept=body_thinned.kept,
            roughness=body_thinned.roughness,
            within=body_thinned.within,
            times=SCAN_DEVIATIONS,
            deviation=body_thinned.deviation,
        )
        return (Finding("thinned-mesh", sentence),)
    sentence = Message(
        "The mesh was thinned from {given} triangles to {kept}. Its surface may lie {within:g} mm from the given one, and {deviation:.4f} mm were "
        "measured at most; figures of the simulated cut are those of the thinned mesh.",
        given=body_thinned.given,
        kept=body_thinned.kept,
        within=body_thinned.within,
        deviation=body_thinned.deviation,
    )
    return (Finding("thinned-mesh", sentence),)


def open_border_findings(job_triangles: FloatArray) -> tuple[Finding, ...]:
    """That the mesh is open where it may be meant to be closed. The rim of a top that stands alone is not told: it is as good as a body for one side.

    Whether faces are missing cannot be known. What is told is every open border but one that goes round the whole mesh and runs up or down no wall.
    Several of these, as where a top and a bottom have no walls, take nothing from what is seen from above: they need not be seen.
    """
    borders = open_borders(job_triangles)
    if not borders or (len(borders) == 1 and borders[0].is_rim):
        return ()
    told = [border for border in borders if not border.is_rim] or list(borders)
    x, y, z = told[0].middle
    sentence = Message(
        "The mesh is open: along {length:.0f} mm, in {count} borders, its edges belong to one face only. The longest, {longest:.0f} mm, lies round "
        "X {x:.1f}, Y {y:.1f}, Z {z:.1f}.",
        length=sum(border.length for border in told),
        count=len(told),
        longest=told[0].length,
        x=x,
        y=y,
        z=z,
    )
    remedy = Message("Where faces are missing, close the mesh or export it again: what is seen through a hole is planned as if it were meant.")
    return (Finding("open-mesh", sentence, remedy, told[0].middle, must_see=not told[0].is_rim),)


STAGES = (thinned_findings, open_border_findings)
