"""Memory that is free but still counts as the process's own, given back to the system.

The C library of Linux keeps freed arrays of up to 32 MiB for the next ones, and what stands between them keeps those it would give back: after a
hundred grids that may be a third of all. Other systems give large arrays back at once.
"""

from __future__ import annotations

import ctypes
import sys


def give_back_memory() -> None:
    """Ask the C library to give back what it can: malloc_trim of glibc, which other systems have not and do not need."""
    if sys.platform != "linux":
        return
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # musl has none
    if trim is not None:
        trim(ctypes.c_size_t(0))
