"""Work spread over a few threads: numpy lets go of the interpreter's lock while it computes on large arrays."""

from __future__ import annotations

import threading
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TypeVar

Item = TypeVar("Item")
Result = TypeVar("Result")

THREADS = 2
"""Threads wait for each other between numpy's short calls: more of them gained nothing on the machines tried."""


def in_threads(work: Callable[[Item], Result], items: Iterable[Item]) -> Generator[float, None, list[Result]]:
    """work(item) for every item, begun in their order; yields progress from 0 to 1, returns the results in the order of the items.

    When the generator is closed, or work on one item fails, items that have not begun are dropped. Raises MemoryError where no thread can be begun.
    """
    results = []
    with ThreadPoolExecutor(THREADS) as pool:
        with _memory_for_threads():
            waiting = [pool.submit(work, item) for item in items]
        try:
            for number, job in enumerate(waiting, 1):
                results.append(job.result())
                yield number / len(waiting)
        finally:
            for job in waiting:
                job.cancel()
    return results


def begun_in_background(work: Callable[[], None], name: str) -> threading.Thread:
    """A thread that does some work. Raises MemoryError where none can be begun."""
    thread = threading.Thread(target=work, name=name, daemon=True)
    with _memory_for_threads():
        thread.start()
    return thread


@contextmanager
def _memory_for_threads() -> Iterator[None]:
    """Python has no error of its own for a thread that the system refuses, which it does for want of memory for its stack."""
    try:
        yield
    except RuntimeError as error:
        raise MemoryError(str(error)) from error
