"""Frames of programs for tests."""

from __future__ import annotations

from dataclasses import replace

from addon.finishing.files.program_frame import ProgramFrame
from addon.finishing.job.machine import Machine

FRAME = ProgramFrame(title=("Body",), safe_z=30.0, clear_z=30.0, machine=Machine(spin_up_seconds=4.0))


def frame(safe_z: float, unit: str = "mm", **changes: object) -> ProgramFrame:
    """A frame with a safe height that is clear of everything too."""
    return replace(FRAME, safe_z=safe_z, clear_z=safe_z, unit=unit, **changes)  # type: ignore[arg-type]
