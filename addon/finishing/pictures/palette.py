"""The few colours that pictures use in addition to the ramps of their maps."""

from __future__ import annotations

from .ramps import colour

PAPER = colour(0.985, 0.006, 90)
INK = colour(0.27, 0.012, 270)
QUIET = colour(0.52, 0.012, 270)
"""Of notes and units: words that stand back behind the title and the numbers."""

HAIR = colour(0.80, 0.008, 270)
"""Of the hair lines behind a chart."""

BODY = colour(0.90, 0.016, 85)
"""Of a body without a map: pale wood, lighter than the light end of the pass lines' ramp."""
