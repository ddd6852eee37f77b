"""Long work in a thread that never touches Blender, so that the window stays alive whatever a step takes."""

from __future__ import annotations

import threading
from collections.abc import Callable, Generator

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.core.stage_runner import Progress

Steps = Generator[Progress, None, object]
"""Work in steps: yields (share done, stage) and returns its result."""


class Worker:
    """Runs a generator that yields (share done, stage) to its end, or until it is told to stop.

    share, stage: how far it is. Once `done` is set: `result`, or `error` as one message, or neither when it was stopped.
    """

    def __init__(self, make_steps: Callable[[], Steps], before: Worker | None = None) -> None:
        self.share = 0.0
        self.stage = ""
        self.result: object = None
        self.error: Message | None = None
        self.defect: BaseException | None = None
        self._make_steps = make_steps
        self._before = before
        self._stop = threading.Event()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="finishing", daemon=True)
        self._thread.start()

    @property
    def done(self) -> bool:
        """Whether the thread has come to its end."""
        return self._ended.is_set()

    def stop(self) -> None:
        """Ask it to stop at the next step; returns at once."""
        self._stop.set()

    def wait(self, seconds: float) -> bool:
        """Wait for its end, for some seconds at most; returns whether it has ended."""
        return self._ended.wait(seconds)

    def _run(self) -> None:
        try:
            # Both would work on the results of one body: let a stopped one come to its end first. No limit of time, and no end before it even
            # when this one is stopped too, since a third may wait for this one alone.
            if self._before is not None:
                self._before._ended.wait()
                self._before = None
            self.result = self._drive()
        except FinishingError as error:
            self.error = error.message
        except BaseException as defect:  # shown by the main thread, which alone may report
            self.defect = defect
            self.error = Message(
                "The work stopped at '{stage}' ({kind}: {defect}). Plan again; if it stops again, report it with these words.",
                stage=self.stage,
                kind=type(defect).__name__,
                defect=str(defect),
            )
        finally:
            self._ended.set()

    def _drive(self) -> object:
        steps = self._make_steps()
        while not self._stop.is_set():
            try:
                self.share, self.stage = next(steps)
            except StopIteration as end:
                return end.value
        steps.close()
        return None


class Work:
    """The work that is under way, one at a time, and how far it is. Panels read it; operators start and stop it."""

    def __init__(self) -> None:
        self.worker: Worker | None = None
        self._last: Worker | None = None

    @property
    def running(self) -> bool:
        """Whether work is under way."""
        return self.worker is not None

    def start(self, make_steps: Callable[[], Steps]) -> Worker:
        """Start work in a thread."""
        self.worker = self._last = Worker(make_steps, before=self._last)
        return self.worker

    def end(self) -> None:
        """Stop what is under way; the thread runs on to its next step, but nothing waits for it."""
        if self.worker is not None:
            self.worker.stop()
            self.worker = None

    def wait(self, seconds: float) -> None:
        """Wait for the last thread, as before the code is unloaded."""
        if self._last is not None:
            self._last.wait(seconds)
            self._last = None


WORK = Work()
"""The work of the session, for the operators that start it and for unregistering, which waits for it."""
