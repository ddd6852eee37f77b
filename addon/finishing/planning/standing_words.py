"""What a simulated cut leaves, in words: inside, along the borders, and on ground that is not reached."""

from __future__ import annotations

from ..core.message import Message
from ..simulation.proof import Proof


def inside_words(proof: Proof) -> Message:
    """The cusps away from borders."""
    found = dict(proof.cusp_percentiles)
    return Message(
        "Simulated cusp away from borders: half of the surface <= {half:.4f}, 99.9 % <= {most:.4f}, all <= {all:.4f} mm",
        half=found[50.0],
        most=found[99.9],
        all=found[100.0],
    )


def border_words(proof: Proof) -> Message:
    """What stands along the borders."""
    found = dict(proof.border_percentiles)
    return Message(
        "Along borders, {area:.1f} cm² within {width:.1f} mm of them: half <= {half:.4f}, 99.9 % <= {most:.4f}, all <= {all:.4f} mm",
        area=proof.border_area / 100,
        width=proof.border_width,
        half=found[50.0],
        most=found[99.9],
        all=found[100.0],
    )


def unreached_words(proof: Proof) -> Message:
    """What stands where the cutter cannot come to rest."""
    found = proof.unreached
    if not found.area:
        return Message("Not reached: none of the planned surface")
    return Message(
        "Not reached: {area:.1f} cm² of the planned surface, where up to {height:.2f} mm stay of what roughing has left",
        area=found.area / 100,
        height=found.height,
    )


def standing_words(proof: Proof) -> tuple[Message, ...]:
    """All that is left after the cut: away from borders, along them, and where the cutter does not come."""
    return inside_words(proof), border_words(proof), unreached_words(proof)


def short_border_words(proof: Proof) -> Message:
    """The borders and the unreached ground in one short line."""
    return Message("Borders {border:.3f} mm, {area:.1f} cm² not reached", border=dict(proof.border_percentiles)[100.0], area=proof.unreached.area / 100)
