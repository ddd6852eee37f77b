"""What Blender's main thread is busy with while a script runs: how long no event is handled, and how much of that is the extension's own Python.

A timer of Blender's ticks as often as its main loop comes round; what lies between two ticks is time in which the window stood still. A script of
these tests runs on the same thread and would be counted too, so that its own time is taken off. Beside the clock stands the thread's own processor
time, since other programs may hold the machine.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass, field
from types import CodeType, FrameType

import bpy

OURS = "curved_body_finishing"
"""Part of the file name of all Python that belongs to the extension."""

LONG, DEEPEST = 0.008, 7
"""Seconds above which a function within a piece is named, and how deep it is looked for."""

DRAWING = {"draw", "draw_range", "bind", "from_builtin", "create_from_info"}
"""Calls of Blender's gpu and blf that a graphics card answers; where there is none, the processor does its work within them."""

TICK = 0.002
"""Seconds between two ticks, where nothing holds them up."""


@dataclass
class Piece:
    """Python of the extension that Blender called once.

    seconds: by the clock; of_thread: processor time; drawing: what of it went into calls that a graphics card answers; inner: what took long within it.
    """

    name: str
    began: float
    seconds: float
    of_thread: float
    drawing: float
    inner: list[tuple[str, float]] = field(default_factory=list)


@dataclass
class Gap:
    """Time between two ticks. seconds: by the clock; of_thread: processor time of the main thread; script: seconds of the test's own steps."""

    began: float
    seconds: float
    of_thread: float
    script: float
    pieces: list[Piece] = field(default_factory=list)

    @property
    def still(self) -> float:
        """Seconds in which no event was handled, without the test's own."""
        return max(self.seconds - self.script, 0.0)

    @property
    def ours(self) -> float:
        """Processor seconds of the extension's Python in it, with the calls that draw."""
        return sum(piece.of_thread for piece in self.pieces)

    @property
    def drawing(self) -> float:
        """Processor seconds of calls that draw within the extension's Python."""
        return sum(piece.drawing for piece in self.pieces)


class MainThread:
    """Measures from `start` to `stop`; `gaps` and `pieces` are what was found."""

    def __init__(self) -> None:
        self.gaps: list[Gap] = []
        self.pieces: list[Piece] = []
        self._on = False
        self._known: dict[CodeType, bool] = {}
        self._depth = self._ours_from = 0
        self._script_began: float | None = None
        self._script = 0.0
        self._piece = (0.0, 0.0)
        self._drawing = self._call_began = 0.0
        self._within: list[tuple[int, float]] = []
        self._inner: list[tuple[str, float]] = []
        self._last = (0.0, 0.0)
        self._seen = 0

    def start(self) -> None:
        """Measure from now on."""
        self.gaps, self.pieces, self._seen, self._script = [], [], 0, 0.0
        self._on, self._last = True, (time.perf_counter(), time.thread_time())
        # This very step runs on: it is the script's.
        self._depth, self._ours_from, self._script_began = 0, 0, time.perf_counter()
        sys.setprofile(self._called)
        bpy.app.timers.register(self._tick, first_interval=0.0)

    def stop(self) -> None:
        """Measure no more."""
        sys.setprofile(None)
        self._on = False
        if self._script_began is not None:  # this very step
            self._script += time.perf_counter() - self._script_began
        self._note()

    def _is_ours(self, code: CodeType) -> bool:
        known = self._known.get(code)
        if known is None:
            known = self._known[code] = OURS in code.co_filename
        return known

    def _called(self, frame: FrameType, event: str, value: object) -> None:
        if event == "call":
            self._depth += 1
            self._begins(frame.f_code)
        elif event == "return":
            self._ends(frame.f_code)
            self._depth = max(self._depth - 1, 0)
        elif self._ours_from and getattr(value, "__name__", "") in DRAWING:
            if event == "c_call":
                self._call_began = time.thread_time()
            else:
                self._drawing += time.thread_time() - self._call_began

    def _begins(self, code: CodeType) -> None:
        if self._depth == 1 and not self._is_ours(code):
            self._script_began = time.perf_counter()
        if not self._ours_from and self._is_ours(code):
            self._ours_from = self._depth
            self._piece, self._within, self._inner = (time.perf_counter(), time.thread_time()), [], []
            self._drawing = 0.0
        elif self._ours_from and self._depth <= self._ours_from + DEEPEST:
            self._within.append((self._depth, time.thread_time()))

    def _ends(self, code: CodeType) -> None:
        if self._ours_from and self._within and self._within[-1][0] == self._depth:
            taken = time.thread_time() - self._within.pop()[1]
            if taken > LONG:
                self._inner.append((_name(code), taken))
        if self._ours_from and self._ours_from == self._depth:
            began, of_thread = self._piece
            seconds = time.perf_counter() - began
            self.pieces.append(Piece(_name(code), began, seconds, time.thread_time() - of_thread, self._drawing, self._inner))
            self._ours_from = 0
            if self._script_began is not None:  # called by the test's own step, such as an update of a property: not the test's own time
                self._script -= seconds
        if self._depth <= 1 and self._script_began is not None:
            self._script += time.perf_counter() - self._script_began
            self._script_began = None

    def _tick(self) -> float | None:
        if not self._on:
            return None
        self._script_began = None  # it was this very tick
        self._note()
        return TICK

    def _note(self) -> None:
        """Note what lies between the last tick and now."""
        now = (time.perf_counter(), time.thread_time())
        self.gaps.append(Gap(self._last[0], now[0] - self._last[0], now[1] - self._last[1], self._script, self.pieces[self._seen :]))
        self._last, self._seen, self._script = now, len(self.pieces), 0.0

    def told(self, what: str) -> str:
        """The longest stand-still and the longest piece of our own, in words."""
        longest = max(self.gaps, key=lambda gap: gap.still)
        own = max(self.gaps, key=lambda gap: gap.ours - gap.drawing)
        lines = [
            f"{what}: longest stand-still {longest.still:.3f} s, of which {longest.ours:.3f} s of processor time are the extension's Python "
            f"and {longest.of_thread:.3f} s the whole thread's; most of the extension's own between two ticks: {own.ours:.3f} s, "
            f"of which {own.drawing:.3f} s in calls that draw"
        ]
        lines += [
            f"    {piece.of_thread:.3f} s ({piece.seconds:.3f} by the clock, {piece.drawing:.3f} drawing) {piece.name}"
            + "".join(f"\n        {taken:.3f} s {name}" for name, taken in sorted(piece.inner, key=lambda each: -each[1])[:6])
            for piece in sorted(self.pieces, key=lambda piece: -piece.of_thread)[:4]
            if piece.of_thread > 0.004
        ]
        over = [gap for gap in self.gaps if gap.still > 0.1]
        lines += [f"    stood still {gap.still:.3f} s: thread {gap.of_thread:.3f}, ours {gap.ours:.3f}" for gap in over[:6]]
        return "\n".join(lines)


def _name(code: CodeType) -> str:
    """File and name of a function."""
    return f"{code.co_filename.split(OURS)[-1].strip('/')}:{code.co_qualname}"
