"""What has been worked out for each body, and whether it still holds.

Results are kept by the object's session_uid, which lives as long as the session and survives undo; no Blender object is
ever kept. They are not saved with the file.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass, field

import bpy
import numpy as np
from numpy.typing import NDArray

from ..finishing.core.digests import digest
from ..finishing.core.result_store import ResultStore
from ..finishing.job.cutter import Cutter
from ..finishing.options.fit_table import RackRow
from ..finishing.planning.result import Plan
from ..finishing.planning.survey import FitMap, Survey
from .mesh_reading import SKIP_ATTRIBUTE, SKIP_GROUP, SKIP_MASK, MeshArrays
from .request_building import settings_key

VERTICES_AT_ONCE = 12_000
"""Vertices whose weights are read in one go when a stamp is checked: some 10 ms."""


@dataclass
class BodyResults:
    """Results of one body. revision goes up with every change, so that what is drawn knows when to be made anew.

    plans: of one side in running order: the chosen cutter's, then those of smaller ones. shown: number of the one that is looked at.
    other_side: the last plans of the side that `plans` are not of.
    matrix: object to world when the mesh was read; scale: millimetres per Blender unit then. stamp: what the mesh was
    like then. shape_changed: the mesh, its marks or its transform are no longer like that.
    """

    uid: int
    name: str
    cache: ResultStore = field(default_factory=ResultStore)
    survey: Survey | None = None
    survey_key: str = ""
    plans: tuple[Plan, ...] = ()
    shown: int = 0
    plan_key: str = ""
    other_side: tuple[Plan, ...] = ()
    fit_maps: dict[Cutter, FitMap] = field(default_factory=dict)
    matrix: NDArray[np.float64] = field(default_factory=lambda: np.eye(4))
    scale: float = 1.0
    stamp: str = ""
    shape_changed: bool = False
    revision: int = 0

    @property
    def plan(self) -> Plan | None:
        """The plan that is looked at."""
        return self.plans[self.shown] if self.plans else None

    @property
    def rack(self) -> tuple[RackRow, ...]:
        """The newest rack table, () when there is none."""
        if self.survey is not None and self.survey.rack:
            return self.survey.rack
        return self.plans[0].rack if self.plans else ()

    def show(self, number: int) -> None:
        """Look at another plan of the side."""
        self.shown = number
        self.revision += 1

    def state(self, scene: bpy.types.Scene, body_object: bpy.types.Object) -> str:
        """ "none", "current", "shape" or "settings": whether there is a plan, and what has changed since."""
        if self.plan is None:
            return "none"
        if self.shape_changed:
            return "shape"
        return "current" if settings_key(scene, body_object) == self.plan_key else "settings"

    def keep_survey(self, survey: Survey, key: str) -> None:
        """Take a new survey; fit maps of another shape or of other settings go."""
        self.survey, self.survey_key = survey, key
        self.revision += 1

    def keep_plans(self, plans: tuple[Plan, ...], key: str) -> None:
        """Take new plans of a side; the last ones of the other side stay, so that both can be written as one job."""
        if self.plans and self.plans[0].request.side != plans[0].request.side:
            self.other_side = self.plans
        self.plans, self.plan_key, self.shown = plans, key, 0
        self.revision += 1

    def job(self) -> tuple[Plan, ...]:
        """The plans of the side, with those of the other side where they were made for the same body in the same stock."""
        if not self.plans or not self.other_side:
            return self.plans
        mine, other = self.plans[0], self.other_side[0]
        same = other.body_digest == mine.body_digest and other.stock == mine.stock
        return (*self.plans, *self.other_side) if same else self.plans

    def keep_fit_map(self, fit_map: FitMap) -> None:
        """Take what one cutter leaves."""
        self.fit_maps[fit_map.cutter] = fit_map
        self.revision += 1

    def read_from(self, arrays: MeshArrays) -> None:
        """Note that the mesh was read just now; its stamp follows."""
        self.fit_maps.clear()
        self.matrix, self.scale, self.stamp = arrays.matrix, arrays.scale, ""
        self.shape_changed = False


class ResultStore:
    """The results of all bodies of the session."""

    def __init__(self) -> None:
        self._bodies: dict[int, BodyResults] = {}

    def __iter__(self) -> Iterator[BodyResults]:
        return iter(list(self._bodies.values()))

    def find(self, body_object: bpy.types.Object | None) -> BodyResults | None:
        """The results of an object, None when there are none."""
        return None if body_object is None else self._bodies.get(body_object.session_uid)

    def of(self, body_object: bpy.types.Object) -> BodyResults:
        """The results of an object, empty ones when there were none."""
        return self._bodies.setdefault(body_object.session_uid, BodyResults(body_object.session_uid, body_object.name))

    def drop(self, uid: int) -> None:
        """Forget the results of one body."""
        self._bodies.pop(uid, None)

    def clear(self) -> None:
        """Forget everything."""
        self._bodies.clear()


STORE = ResultStore()
"""The one store of the session; Blender data cannot hold arrays of this kind."""


def object_of(results: BodyResults) -> bpy.types.Object | None:
    """The object that results belong to, looked up anew; None when it is gone."""
    candidate = bpy.data.objects.get(results.name)
    if candidate is not None and candidate.session_uid == results.uid:
        return candidate
    for candidate in bpy.data.objects:
        if candidate.session_uid == results.uid:
            results.name = candidate.name
            return candidate
    return None


def stamp_steps(uid: int) -> Generator[None, None, str]:
    """A digest of all of an object's mesh and marks that a plan depends on, read in short steps; "" when it is gone.

    The object is looked up anew after every step, since an undo may have replaced it.
    """
    body_object = _by_uid(uid)
    if body_object is None:
        return ""
    parts: list[object] = list(_quick_parts(body_object))
    group = body_object.vertex_groups.get(SKIP_GROUP)
    if group is None or body_object.type != "MESH":
        return digest(*parts)
    index, count = group.index, len(body_object.data.vertices)
    for first in range(0, count, VERTICES_AT_ONCE):
        yield
        body_object = _by_uid(uid)
        if body_object is None or len(body_object.data.vertices) != count:
            return ""
        weights = np.zeros(min(VERTICES_AT_ONCE, count - first), np.float32)
        for number, vertex in enumerate(body_object.data.vertices[first : first + VERTICES_AT_ONCE]):
            for element in vertex.groups:
                if element.group == index:
                    weights[number] = element.weight
                    break
        if weights.any():
            parts += [first, weights]
    return digest(*parts)


def _quick_parts(body_object: bpy.types.Object) -> Iterator[object]:
    """Shape after the modifiers, transform, unit and marks other than weights: some 5 ms for 100k vertices."""
    depsgraph = bpy.context.evaluated_depsgraph_get()
    evaluated = body_object.evaluated_get(depsgraph)
    yield [list(row) for row in evaluated.matrix_world]
    yield bpy.context.scene.unit_settings.scale_length
    if body_object.type != "MESH" or evaluated.data is None:
        return
    mesh = evaluated.data
    for name, width, kind, field_name in (
        ("position", 3, np.float32, "vector"), (".corner_vert", 1, np.int32, "value"),
        (SKIP_ATTRIBUTE, 1, bool, "value"), (SKIP_MASK, 1, np.float32, "value"),
    ):  # fmt: skip
        attribute = mesh.attributes.get(name)
        if attribute is None or len(attribute.data) == 0:
            continue
        values = np.empty(len(attribute.data) * width, kind)
        try:
            attribute.data.foreach_get(field_name, values)
        except (AttributeError, TypeError, RuntimeError):  # another attribute of this name, which the reader ignores too
            continue
        if name in (SKIP_ATTRIBUTE, SKIP_MASK) and not values.any():
            continue
        yield name
        yield values


def _by_uid(uid: int) -> bpy.types.Object | None:
    for results in STORE:
        if results.uid == uid:
            return object_of(results)
    return None
