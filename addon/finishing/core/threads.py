"""Work spread over a few threads: numpy lets go of the interpreter's lock while it computes on large arrays."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")

THREADS = 2
"""Small calls wait for each other between the threads: more of them gained nothing on the machines tried."""


def in_threads(work: Callable[[Item], Result], items: Iterable[Item]) -> Generator[float, None, list[Result]]:
    """work(item) for every item, in no certain order; yields shares done, returns the results in the order of the items.

    When the generator is closed, or one work fails, what has not begun is left undone.
    """
    results = []
    with ThreadPoolExecutor(THREADS) as pool:
        waiting = [pool.submit(work, item) for item in items]
        try:
            for number, job in enumerate(waiting, 1):
                results.append(job.result())
                yield number / len(waiting)
        finally:
            for job in waiting:
                job.cancel()
    return results
