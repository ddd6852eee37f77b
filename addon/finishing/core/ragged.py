"""Runs of differing lengths laid end to end: to which run each entry belongs, and its position in that run."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .array_types import Indices


def run_owners(counts: NDArray[np.integer]) -> Indices:
    """Number of the run that each entry belongs to, (sum of counts,). counts: (n,) entries of every run, 0 allowed."""
    return np.repeat(np.arange(len(counts)), counts)


def run_places(counts: NDArray[np.integer]) -> Indices:
    """Position of each entry in its own run, counted from 0, (sum of counts,)."""
    return run_ranges(0, counts)


def run_ranges(first: NDArray[np.integer] | int, counts: NDArray[np.integer]) -> Indices:
    """The whole numbers first[i], first[i] + 1, ... (counts[i] of them) of every run, end to end."""
    ends = np.cumsum(counts)
    return np.arange(int(ends[-1]) if len(counts) else 0) + np.repeat(first - (ends - counts), counts)


def short_run_ranges(first: NDArray[np.integer], counts: NDArray[np.integer]) -> NDArray[np.int32]:
    """As run_ranges, for fewer than 2^31 whole numbers below that: in half the memory, with next to none on the way."""
    filled = np.flatnonzero(counts)
    first, counts = first[filled], counts[filled]
    ends = np.cumsum(counts)
    steps = np.ones(int(ends[-1]) if len(counts) else 0, np.int32)
    # From the last number of a run to the first of the next; within a run from each to the one after it.
    steps[ends - counts] = first - np.concatenate([[0], (first + counts - 1)[:-1]])[: len(first)]
    return np.cumsum(steps, out=steps)
