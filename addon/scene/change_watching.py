"""Notices when a body is no longer what its results were worked out from.

An update of an object makes it a suspect; a timer then compares digests in short steps, so that entering a mode or
selecting something does not mark a plan out of date. Strokes of a brush mark it at once.
"""

from __future__ import annotations

from collections.abc import Callable, Generator

import bpy
from bpy.app.handlers import persistent

from .results import STORE, BodyResults, stamp_steps

SETTLE_SECONDS = 0.25
STEP_SECONDS = 0.02

PAINT_OBJECT_MODES = {"WEIGHT_PAINT", "SCULPT"}


class _Watch:
    """Suspects and the check that is under way."""

    def __init__(self) -> None:
        self.suspects: set[int] = set()
        self.last_mode: dict[int, str] = {}
        self.check: tuple[int, Generator[None, None, str]] | None = None
        self.listeners: list[Callable[[], None]] = []

    def tell(self) -> None:
        """Let everything that shows results know that one has changed its state."""
        for listener in self.listeners:
            listener()

    def forget(self) -> None:
        """Drop all suspects."""
        self.suspects.clear()
        self.last_mode.clear()
        self.check = None


_WATCH = _Watch()


def on_change(listener: Callable[[], None]) -> None:
    """Have a function called when results change their state or go."""
    _WATCH.listeners.append(listener)


def suspect(results: BodyResults) -> None:
    """Have a body compared with what its results were worked out from, soon."""
    _WATCH.suspects.add(results.uid)
    if _WATCH.check is not None and _WATCH.check[0] == results.uid:
        _WATCH.check = None  # what it has read so far is old
    if not bpy.app.timers.is_registered(_check_suspects):
        bpy.app.timers.register(_check_suspects, first_interval=SETTLE_SECONDS)


def _check_suspects() -> float | None:
    """Timer: a step of comparing digests; ends when there are no suspects."""
    if _WATCH.check is None:
        if not _WATCH.suspects:
            return None
        uid = _WATCH.suspects.pop()
        _WATCH.check = (uid, stamp_steps(uid))
    uid, steps = _WATCH.check
    try:
        next(steps)
        return STEP_SECONDS
    except StopIteration as end:
        _WATCH.check = None
        _judge(uid, end.value)
    return STEP_SECONDS if _WATCH.suspects else None


def _judge(uid: int, stamp: str) -> None:
    """Compare a fresh stamp with the one of the results."""
    results = next((r for r in STORE if r.uid == uid), None)
    if results is None or not stamp:
        return
    if not results.stamp:  # the first stamp since the mesh was read
        results.stamp = stamp
        return
    changed = stamp != results.stamp
    if changed != results.shape_changed:
        results.shape_changed = changed
        _WATCH.tell()


@persistent
def _updated(scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    """Handler: something was evaluated anew."""
    known = {results.uid: results for results in STORE}
    if not known:
        return
    for update in depsgraph.updates:
        if not isinstance(update.id, bpy.types.Object) or not (update.is_updated_geometry or update.is_updated_transform):
            continue
        body_object = update.id.original
        results = known.get(body_object.session_uid)
        if results is None:
            continue
        mode = body_object.mode
        painting = mode in PAINT_OBJECT_MODES and _WATCH.last_mode.get(results.uid) == mode
        _WATCH.last_mode[results.uid] = mode
        if painting or not results.stamp:
            if not results.shape_changed:
                results.shape_changed = True
                _WATCH.tell()
        if not painting:
            suspect(results)


@persistent
def _undone(*_: object) -> None:
    """Handler: undo or redo may have brought back the body as it was, or taken it away."""
    for results in STORE:
        suspect(results)
    _WATCH.tell()


@persistent
def _loaded(*_: object) -> None:
    """Handler: another file is open; nothing that was worked out belongs to it."""
    STORE.clear()
    _WATCH.forget()
    _WATCH.tell()


_HANDLERS = (
    ("depsgraph_update_post", _updated),
    ("undo_post", _undone),
    ("redo_post", _undone),
    ("load_pre", _loaded),
    ("load_post", _loaded),
)


def register() -> None:
    """Start watching."""
    for name, handler in _HANDLERS:
        getattr(bpy.app.handlers, name).append(handler)


def unregister() -> None:
    """Stop watching and forget all results."""
    for name, handler in _HANDLERS:
        handlers = getattr(bpy.app.handlers, name)
        if handler in handlers:
            handlers.remove(handler)
    if bpy.app.timers.is_registered(_check_suspects):
        bpy.app.timers.unregister(_check_suspects)
    _WATCH.listeners.clear()
    _loaded()
