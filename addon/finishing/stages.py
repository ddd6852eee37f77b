"""Results of the plan's stages, kept by a digest of everything they were made from."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Generator
from typing import TypeVar

import numpy as np

Result = TypeVar("Result")
Progress = tuple[float, str]


def digest(*parts: object) -> str:
    """A short digest of arrays (their bytes, shape and type) and of anything with a faithful repr."""
    state = hashlib.blake2b(digest_size=16)
    for part in parts:
        if isinstance(part, np.ndarray):
            state.update(f"{part.shape}{part.dtype}".encode())
            state.update(np.ascontiguousarray(part).data)
        else:
            state.update(repr(part).encode())
        state.update(b"\x00")
    return state.hexdigest()


class StageCache:
    """The last few results of every stage. One cache serves one body; a new digest drops the oldest result of its stage."""

    def __init__(self, kept: int = 2) -> None:
        self._kept = kept
        self._results: dict[str, dict[str, object]] = {}

    def get(self, stage: str, key: str, make: Callable[[], Result]) -> Result:
        """The stage's result for a key, made now if it is not kept."""
        results = self._results.setdefault(stage, {})
        if key not in results:
            self._keep(results, key, make())
        return results[key]  # type: ignore[return-value]

    def run(
        self, stage: str, key: str, make: Callable[[], Generator[float, None, Result]]
    ) -> Generator[float, None, Result]:
        """As `get`, for a stage that runs in steps: yields its shares done and returns its result."""
        results = self._results.setdefault(stage, {})
        if key not in results:
            result = yield from make()
            self._keep(results, key, result)
        return results[key]  # type: ignore[return-value]

    def _keep(self, results: dict[str, object], key: str, result: object) -> None:
        while len(results) >= self._kept:
            results.pop(next(iter(results)))
        results[key] = result
