"""Findings about the mesh itself, as it came."""

from __future__ import annotations

from ..core.finding import Finding
from ..core.message import Message
from ..job.thinned import Thinned


def thinned_findings(body_thinned: Thinned | None) -> tuple[Finding, ...]:
    """That a mesh of too many triangles was thinned, and within what."""
    if body_thinned is None:
        return ()
    sentence = Message(
        "The mesh was thinned from {given} triangles to {kept}. Its surface may lie {within:g} mm from the given one, and {deviation:.4f} mm were "
        "measured at most; figures of the simulated cut are those of the thinned mesh.",
        given=body_thinned.given,
        kept=body_thinned.kept,
        within=body_thinned.within,
        deviation=body_thinned.deviation,
    )
    return (Finding("thinned-mesh", sentence),)


STAGES = (thinned_findings,)
