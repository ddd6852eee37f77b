"""Rows of a rack table as they are when a table has been made, for tests of what is read from them."""

from __future__ import annotations

from addon.finishing.job.cutter import Cutter
from addon.finishing.options.fit_table import RackRow


def rack_row(diameter: float, minutes: float, fits: bool = True, cusp: float = 0.05) -> RackRow:
    """A cutter that takes some least minutes for a cusp height."""
    return RackRow(
        Cutter(f"Round-nose {diameter:g}", diameter),
        fits=fits,
        hollow_radius=None,
        uncut_area=0.0,
        uncut_height=0.0,
        place=None,
        least_length=0.0,
        minutes=minutes,
        cusp=cusp,
    )
