"""A value that a thread works out while the window goes on being drawn."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

Made = TypeVar("Made")


class Coming(Generic[Made]):
    """What a function will return, called in a thread at once; the function must touch nothing of Blender's."""

    def __init__(self, make: Callable[[], Made]) -> None:
        self._made: list[Made] = []
        self._defect: BaseException | None = None
        self._there = threading.Event()
        threading.Thread(target=self._work, args=(make,), name="finishing picture", daemon=True).start()

    @property
    def is_there(self) -> bool:
        """Whether the thread has come to its end."""
        return self._there.is_set()

    def value(self) -> Made:
        """What was made. Raises what the function has raised; waits for it where it is not there yet."""
        self._there.wait()
        if self._defect is not None:
            raise self._defect
        return self._made[0]

    def _work(self, make: Callable[[], Made]) -> None:
        try:
            self._made.append(make())
        except BaseException as defect:  # raised by the main thread, which alone may say so
            self._defect = defect
        finally:
            self._there.set()
