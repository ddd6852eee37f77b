"""The marks of skipped ground as they are drawn: triangles of marked faces, read anew in short steps when a mesh has changed."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field

import bpy
import numpy as np
from bpy.app.handlers import persistent

from ..finishing.core.array_types import Single
from .blender_data import find_named, object_with, present, values_of
from .blender_handlers import Handlers
from .redrawing import redraw_views
from .skip_marks import SKIP_GROUP, VERTICES_AT_ONCE, may_have_marks, own_weights, skipped_faces, vertex_count

SOON_SECONDS, STEP_SECONDS = 0.2, 0.01
"""From a change of the mesh to the first step of reading, and from step to step: Blender draws and takes events between."""

NOTHING = np.zeros((0, 3, 3), np.float32)


@dataclass(frozen=True)
class Marks:
    """Marked triangles (n, 3, 3) in the object's own axes. revision: another one for every change."""

    triangles: Single
    revision: int


@dataclass
class ShownMarks:
    """The marks of every object that has been looked at in this session."""

    known: dict[int, Marks] = field(default_factory=dict)
    wanted: set[int] = field(default_factory=set)
    reading: tuple[int, Generator[None, None, None]] | None = None
    held: int | None = None
    revision: int = 0

    def of(self, body_object: bpy.types.Object) -> Marks | None:
        """The marks of an object; None until they have been read, which is asked for by that."""
        uid = body_object.session_uid
        if uid not in self.known:
            self.want(uid)
        return self.known.get(uid)

    def want(self, uid: int) -> None:
        """Have the marks of an object read anew, soon; not while a stroke shows its own."""
        if uid == self.held or uid in self.wanted:
            return
        self.wanted.add(uid)
        if not bpy.app.timers.is_registered(read_wanted):
            bpy.app.timers.register(read_wanted, first_interval=SOON_SECONDS)

    def put(self, uid: int, triangles: Single) -> None:
        """Take marked triangles (n, 3, 3), and have them drawn."""
        before = self.known.get(uid)
        if before is not None and len(before.triangles) == len(triangles) == 0:
            return
        self.revision += 1
        self.known[uid] = Marks(triangles, self.revision)
        redraw_views()

    def hold(self, uid: int | None) -> None:
        """A stroke on an object shows its own marks from now on; with None no longer."""
        self.held = uid

    def forget(self) -> None:
        """Everything is read anew when it is looked at."""
        self.known.clear()
        self.wanted.clear()
        self.reading = self.held = None


SHOWN_MARKS = ShownMarks()
"""The one store of the session: handlers and drawing are called by Blender with nothing of ours."""


def read_wanted() -> float | None:
    """Timer: one step of reading. Returns seconds to the next step, None when nothing is wanted any more."""
    if SHOWN_MARKS.reading is None:
        if not SHOWN_MARKS.wanted:
            return None
        uid = SHOWN_MARKS.wanted.pop()
        SHOWN_MARKS.reading = (uid, _steps(uid))
    try:
        next(SHOWN_MARKS.reading[1])
    except StopIteration:
        SHOWN_MARKS.reading = None
    return STEP_SECONDS if SHOWN_MARKS.wanted or SHOWN_MARKS.reading is not None else None


def _steps(uid: int) -> Generator[None, None, None]:
    """Read the marks of one object; it is looked up anew after every step, since an undo may have replaced it."""
    body_object = object_with(uid)
    if body_object is None:
        return
    if not may_have_marks(body_object):
        SHOWN_MARKS.put(uid, NOTHING)
        return
    group = find_named(body_object.vertex_groups, SKIP_GROUP)
    weights = None
    if group is not None:
        index, count, parts = group.index, vertex_count(body_object), []
        for first in range(0, count, VERTICES_AT_ONCE):
            yield
            body_object = object_with(uid)
            if body_object is None or vertex_count(body_object) != count:
                SHOWN_MARKS.want(uid)
                return
            parts.append(own_weights(body_object, index, first, min(first + VERTICES_AT_ONCE, count)))
        weights = np.concatenate(parts) if parts else None
    if uid != SHOWN_MARKS.held:
        SHOWN_MARKS.put(uid, marked_triangles(body_object, weights))


def marked_triangles(body_object: bpy.types.Object, weights: Single | None = None) -> Single:
    """Triangles (n, 3, 3) of the marked faces with the modifiers, in the object's own axes. weights: of its own vertices, where they are known."""
    if body_object.mode == "EDIT":
        body_object.update_from_editmode()
    evaluated = body_object.evaluated_get(bpy.context.evaluated_depsgraph_get())
    if evaluated.type != "MESH" or evaluated.data is None:
        return NOTHING
    mesh = present(evaluated.to_mesh())
    try:
        skipped = skipped_faces(mesh, evaluated, weights)
        if not skipped.any():
            return NOTHING
        mesh.calc_loop_triangles()
        marked = skipped[values_of(mesh.loop_triangles, "polygon_index", np.int32)]
        corners = values_of(mesh.loop_triangles, "vertices", np.int32, width=3).reshape(-1, 3)[marked]
        return values_of(mesh.vertices, "co", np.float32, width=3).reshape(-1, 3)[corners]
    finally:
        evaluated.to_mesh_clear()


@persistent
def _updated(_scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    """Handler: something was evaluated anew."""
    for update in depsgraph.updates:
        original = update.id.original if isinstance(update.id, bpy.types.Object) and update.is_updated_geometry else None
        if original is not None and original.session_uid in SHOWN_MARKS.known:
            SHOWN_MARKS.want(original.session_uid)


@persistent
def _undone(*_: object) -> None:
    """Handler: undo or redo may have changed any marks; the old ones are drawn until they have been read."""
    for uid in SHOWN_MARKS.known:
        SHOWN_MARKS.want(uid)


@persistent
def _loaded(*_: object) -> None:
    """Handler: another file is open."""
    SHOWN_MARKS.forget()


HANDLERS = Handlers(_updated, _undone, _loaded)


def register() -> None:
    """Begin to follow changes of meshes."""
    HANDLERS.put_on()


def unregister() -> None:
    """Follow no longer, and forget all marks."""
    HANDLERS.take_off()
    if bpy.app.timers.is_registered(read_wanted):
        bpy.app.timers.unregister(read_wanted)
    SHOWN_MARKS.forget()
