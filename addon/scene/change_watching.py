"""Notices when a body is no longer what its results were worked out from.

An update of an object makes it a suspect; a timer then compares digests in short steps, so that entering a mode or
selecting something does not mark a plan out of date. Strokes of a brush mark it at once.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence

import bpy
from bpy.app.handlers import persistent

from .blender_handlers import Handlers
from .body_settings import settings_of
from .results import STORE, BodyResults, object_of, stamp_steps

SETTLE_SECONDS = 0.25
"""Time after an update before the body is compared, so that a drag of the mouse is compared once."""

STEP_SECONDS = 0.02
"""Time between two steps of comparing, in which Blender draws and takes events."""

PAINT_OBJECT_MODES = {"WEIGHT_PAINT", "SCULPT"}
"""Modes whose strokes change the marks of skipped ground; the digest of a large mesh would lag behind them."""


class _Watch:
    """Suspects and the comparison that is under way."""

    def __init__(self) -> None:
        self.suspects: set[int] = set()
        self.last_mode: dict[int, str] = {}
        self.comparison: tuple[int, Generator[None, None, str]] | None = None
        self.listeners: list[Callable[[], None]] = []

    def notify(self) -> None:
        """Let everything that shows results know that one has changed its state."""
        for listener in self.listeners:
            listener()

    def forget(self) -> None:
        """Drop all suspects."""
        self.suspects.clear()
        self.last_mode.clear()
        self.comparison = None


_WATCH = _Watch()
"""What the handlers of this session, which Blender calls without arguments of ours, work on."""


def on_change(listener: Callable[[], None]) -> None:
    """Have a function called when results change their state or go."""
    _WATCH.listeners.append(listener)


def suspect(results: BodyResults) -> None:
    """Have a body compared with what its results were worked out from, soon."""
    _WATCH.suspects.add(results.uid)
    if _WATCH.comparison is not None and _WATCH.comparison[0] == results.uid:
        _WATCH.comparison = None  # what it has read so far is old
    if not bpy.app.timers.is_registered(compare_suspects):
        bpy.app.timers.register(compare_suspects, first_interval=SETTLE_SECONDS)


def compare_suspects() -> float | None:
    """Timer: one step of comparing digests. Returns seconds to the next step, None when there are no suspects left."""
    if _WATCH.comparison is None:
        if not _WATCH.suspects:
            return None
        uid = _WATCH.suspects.pop()
        _WATCH.comparison = (uid, stamp_steps(uid))
    uid, steps = _WATCH.comparison
    try:
        next(steps)
        return STEP_SECONDS
    except StopIteration as end:
        _WATCH.comparison = None
        _judge(uid, end.value)
    return STEP_SECONDS if _WATCH.suspects else None


def _judge(uid: int, stamp: str) -> None:
    """Compare a fresh stamp with those of the results."""
    results = STORE.with_uid(uid)
    if results is not None and stamp:
        _set_changed(results, [stamp != each.stamp for each in results.readings()])


def _set_changed(results: BodyResults, changed: Sequence[bool]) -> None:
    """Note for each reading whether the body is still what it was, and notify when that is news of the results that are there."""
    before = results.shape_changed
    for reading, now in zip(results.readings(), changed, strict=True):
        reading.changed = now
    if results.shape_changed != before:
        _WATCH.notify()


@persistent
def _updated(_scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    """Handler: something was evaluated anew."""
    if len(STORE) == 0:
        return
    for update in depsgraph.updates:
        if not isinstance(update.id, bpy.types.Object) or not (update.is_updated_geometry or update.is_updated_transform):
            continue
        changed_object = update.id.original
        for results in STORE:
            body_object = object_of(results)
            if body_object is None:
                continue
            if body_object == changed_object:
                _body_updated(results, body_object)
            elif settings_of(body_object).stock_object == changed_object:
                suspect(results)


def _body_updated(results: BodyResults, body_object: bpy.types.Object) -> None:
    mode = body_object.mode
    painting = mode in PAINT_OBJECT_MODES and _WATCH.last_mode.get(results.uid) == mode
    _WATCH.last_mode[results.uid] = mode
    if painting:
        _set_changed(results, [True] * len(results.readings()))
    else:
        suspect(results)


@persistent
def _undone(*_: object) -> None:
    """Handler: undo or redo may have brought back the body as it was, or taken it away; of a Side it tells no one, as choosing it does."""
    for results in STORE:
        body_object = object_of(results)
        if body_object is not None:
            results.show_side(settings_of(body_object).side)
        suspect(results)
    _WATCH.notify()


@persistent
def _loaded(*_: object) -> None:
    """Handler: another file is open; nothing that was worked out belongs to it."""
    STORE.clear()
    _WATCH.forget()
    _WATCH.notify()


HANDLERS = Handlers(_updated, _undone, _loaded)


def register() -> None:
    """Start watching."""
    HANDLERS.put_on()


def unregister() -> None:
    """Stop watching and forget all results."""
    HANDLERS.take_off()
    if bpy.app.timers.is_registered(compare_suspects):
        bpy.app.timers.unregister(compare_suspects)
    _WATCH.listeners.clear()
    _loaded()
