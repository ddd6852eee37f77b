"""Results of the plan's stages, kept by a digest of everything they were made from.

Stages that little depends on run beside the others, in one thread more.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Generator
from concurrent.futures import Future, ThreadPoolExecutor
from types import TracebackType
from typing import TypeVar

import numpy as np

from .stepping import within

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

    def __init__(self, kept: int = 3) -> None:
        self._kept = kept
        self._results: dict[str, dict[str, object]] = {}

    def find(self, stage: str, key: str) -> tuple[bool, object]:
        """Whether a result is kept for the key, and the result."""
        results = self._results.get(stage, {})
        return (True, results[key]) if key in results else (False, None)

    def keep(self, stage: str, key: str, result: object) -> None:
        """Keep a result; the stage's oldest one goes when there are too many."""
        results = self._results.setdefault(stage, {})
        while len(results) >= self._kept:
            results.pop(next(iter(results)))
        results[key] = result


class StageRunner:
    """Runs stages through a cache and keeps account of the wall time that each took in this run.

    A context: what has been begun beside has come to its end, or was never started, when it is left.
    """

    def __init__(self, cache: StageCache) -> None:
        self._cache = cache
        self._beside = ThreadPoolExecutor(1, "finishing beside")
        self._held: list[Callable[[], object]] = []
        self.seconds: dict[str, float] = {}

    def __enter__(self) -> StageRunner:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._beside.shutdown(wait=True, cancel_futures=True)

    def beside(self, stage: str, key: str, make: Callable[[], Result], hold: bool = False) -> Callable[[], Result]:
        """Begin a stage beside those that follow; what is returned waits for its result, and raises what it has raised.

        Such stages run one after the other; one may ask for the result of another that was begun before it. hold: begin only
        when `begin_held` is called, since the stages until then keep all of the processor busy, or when the result is asked
        for. The stage's own time is told, which the run as a whole hardly feels.
        """
        kept, result = self._cache.find(stage, key)
        if kept:
            return lambda: result  # type: ignore[return-value]

        def timed() -> Result:
            began = time.perf_counter()
            made = make()
            self._account(stage, began)
            return made

        begun: list[Future[Result]] = []

        def begin() -> None:
            if not begun:
                begun.append(self._beside.submit(timed))

        def finish() -> Result:
            begin()
            made = begun[0].result()
            self._cache.keep(stage, key, made)
            return made

        if hold:
            self._held.append(begin)
        else:
            begin()
        return finish

    def begin_held(self) -> None:
        """Begin the stages that were held back."""
        for begin in self._held:
            begin()
        self._held.clear()

    def get(self, stage: str, key: str, make: Callable[[], Result]) -> Result:
        """The stage's result for a key, made now if it is not kept."""
        began = time.perf_counter()
        kept, result = self._cache.find(stage, key)
        if not kept:
            result = make()
            self._cache.keep(stage, key, result)
        self._account(stage, began)
        return result  # type: ignore[return-value]

    def run(
        self, stage: str, key: str, low: float, high: float, make: Callable[[], Generator[float, None, Result]]
    ) -> Generator[Progress, None, Result]:
        """As `get`, for a stage that runs in steps: yields (share done from low to high, stage)."""
        began = time.perf_counter()
        kept, result = self._cache.find(stage, key)
        if not kept:
            yield low, stage
            steps = within(make(), low, high)
            while True:
                try:
                    share = next(steps)
                except StopIteration as end:
                    result = end.value
                    break
                yield share, stage
            self._cache.keep(stage, key, result)
        self._account(stage, began)
        return result  # type: ignore[return-value]

    def _account(self, stage: str, began: float) -> None:
        self.seconds[stage] = self.seconds.get(stage, 0.0) + time.perf_counter() - began
