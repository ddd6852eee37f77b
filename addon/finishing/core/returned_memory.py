"""Memory that is free but still counts as the process's own, given back to the system.

The C library of Linux keeps freed arrays of up to 32 MiB (M_MMAP_THRESHOLD in mallopt(3)) for the next ones, and what stands between them keeps
those it would give back. Other systems give large arrays back at once.
"""

from __future__ import annotations

import ctypes
import sys

LARGEST_KEPT = 2**20
"""Bytes; larger arrays are asked of the system and given back one by one, once that is wanted: a few rows of a grid."""

MMAP_THRESHOLD = -3
"""M_MMAP_THRESHOLD of glibc's malloc.h."""


def give_back_memory() -> None:
    """Ask the C library to give back what it can now: malloc_trim of glibc, which other systems have not and do not need."""
    _ask("malloc_trim", ctypes.c_size_t(0))


def give_back_from_now_on() -> None:
    """Have every large array given back as soon as it is freed: mallopt of glibc. Fresh memory costs the system time, so that it is for
    plans that would otherwise not do with their memory.
    """
    _ask("mallopt", ctypes.c_int(MMAP_THRESHOLD), ctypes.c_int(LARGEST_KEPT))


def _ask(name: str, *values: ctypes.c_size_t | ctypes.c_int) -> None:
    """Call a function of the C library by its name, where it is Linux's and has it: musl has none."""
    if sys.platform != "linux":
        return
    function = getattr(ctypes.CDLL(None), name, None)
    if function is not None:
        function(*values)
