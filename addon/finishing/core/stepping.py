"""Running work that is written as a generator: it yields the share done, from 0 to 1, and returns its result."""

from __future__ import annotations

from collections.abc import Callable, Generator
from typing import TypeVar

Result = TypeVar("Result")
Steps = Generator[float, None, Result]


def finished(steps: Generator[object, None, Result]) -> Result:
    """Run a generator to its end and give what it returns."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return end.value


def within(steps: Generator[float, None, Result], low: float, high: float) -> Generator[float, None, Result]:
    """Pass on a generator's shares squeezed into low..high, and return what it returns."""
    while True:
        try:
            share = next(steps)
        except StopIteration as end:
            return end.value
        yield low + (high - low) * share


def told(steps: Generator[tuple[float, str], None, Result], progress: Callable[[float, str], None] | None) -> Result:
    """Run a generator of (share done, stage) to its end, telling `progress` of every step, and give what it returns."""
    while True:
        try:
            share, stage = next(steps)
        except StopIteration as end:
            return end.value
        if progress is not None:
            progress(share, stage)


def between(steps: Generator[tuple[float, str], None, Result], low: float, high: float) -> Generator[tuple[float, str], None, Result]:
    """Pass on progress with its shares squeezed into low..high, and return what the steps return."""
    while True:
        try:
            share, stage = next(steps)
        except StopIteration as end:
            return end.value
        yield low + (high - low) * share, stage


def staged(steps: Generator[float, None, Result], stage: str) -> Generator[tuple[float, str], None, Result]:
    """Pass on a generator's shares with the name of the stage that they belong to, and return what it returns."""
    while True:
        try:
            share = next(steps)
        except StopIteration as end:
            return end.value
        yield share, stage
