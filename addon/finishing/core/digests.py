"""Short digests of values: what a result is kept under, and what a file tells its body and settings by."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass

import numpy as np

PLAIN = (str, int, float, bool, type(None), np.generic)
"""Types whose repr says all there is to say."""


def digest(*parts: object) -> str:
    """A short digest of arrays, numbers, words, and of tuples, lists, mappings and frozen records of these.

    Raises TypeError for anything else, whose repr might leave out what makes the difference.
    """
    state = hashlib.blake2b(digest_size=16)
    for part in parts:
        _feed(state, part)
        state.update(b"\x00")
    return state.hexdigest()


def _feed(state: hashlib.blake2b, part: object) -> None:
    if isinstance(part, np.ndarray):
        state.update(f"{part.shape}{part.dtype}".encode())
        state.update(np.ascontiguousarray(part).data)
    elif isinstance(part, PLAIN):
        state.update(repr(part).encode())
    elif isinstance(part, tuple | list):
        state.update(f"({len(part)}".encode())
        for item in part:
            _feed(state, item)
            state.update(b"\x01")
    elif isinstance(part, Mapping):
        _feed(state, [[key, part[key]] for key in sorted(part)])
    elif is_dataclass(part) and not isinstance(part, type):
        state.update(type(part).__name__.encode())
        _feed(state, [getattr(part, item.name) for item in fields(part)])
    else:
        raise TypeError(f"no faithful digest of a {type(part).__name__}")
