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
from ..finishing.core.path import CUT, Path
from ..finishing.core.result_store import ResultStore
from ..finishing.core.stepping import finished
from ..finishing.job.cutter import Cutter
from ..finishing.options.cutter_sets import SetTable
from ..finishing.options.fit_table import RackRow
from ..finishing.planning.finished_ground import SideBySide
from ..finishing.planning.result import Plan
from ..finishing.planning.survey import FitMap, Survey
from .blender_data import attribute_data, find_named, mesh_of, object_with, present, values_of, world_matrix
from .body_settings import settings_of
from .mesh_reading import MeshArrays
from .request_building import settings_key
from .skip_marks import SKIP_ATTRIBUTE, SKIP_GROUP, SKIP_MASK, VERTICES_AT_ONCE, own_weights, vertex_count

STAMPED: tuple[tuple[str, int, type[np.generic], str], ...] = (
    ("position", 3, np.float32, "vector"),
    (".corner_vert", 1, np.int32, "value"),
    (SKIP_ATTRIBUTE, 1, np.bool_, "value"),
    (SKIP_MASK, 1, np.float32, "value"),
)
"""What of a mesh a plan depends on: attribute, numbers per value, their type, name of the value."""


@dataclass(frozen=True)
class WorstBite:
    """The worst of the bite along the passes of a plan, each in mm."""

    deepest: float
    thickest_chip: float
    greatest_bend: float


@dataclass(frozen=True)
class ShownFigures:
    """Figures of a plan that panels show at every redraw, worked out once.

    cut_metres: length of all cuts. bite: the worst along the passes; None when no pass cuts into stock.
    """

    line_count: int
    cut_metres: float
    bite: WorstBite | None


def _shown_figures(plan: Plan) -> ShownFigures:
    """What panels show of a plan."""
    bite, worst = plan.bite, None
    if bite.usual_chip is not None:
        depth = bite.engagement.depth
        worst = WorstBite(deepest=float(depth.max()), thickest_chip=float(bite.chip.max()), greatest_bend=float(bite.bend.max()))
    return ShownFigures(line_count=plan.path.line_count, cut_metres=plan.path.length_of(CUT) / 1000, bite=worst)


@dataclass
class Reading:
    """How a body was read for some work. matrix: object to world; scale: millimetres per Blender unit. stamp: what mesh, marks and stock were like.
    changed: whether they are no longer like that.
    """

    matrix: NDArray[np.float64] = field(default_factory=lambda: np.eye(4))
    scale: float = 1.0
    stamp: str = ""
    changed: bool = False


@dataclass
class BodyResults:
    """Results of one body. revision goes up with every change, so that what is drawn knows when to be made anew.

    plans: of one side in running order: the chosen cutter's, then those of smaller ones; figures: of each. shown: number of the one that
    is looked at.
    other_side: the last plans of the side that `plans` are not of; other_key: their settings, as plan_key those of `plans`.
    plans_reading, other_reading, survey_reading: what plans, other side and survey were made from; last_reading: what the last work that came to
    its end was made from. Each result has its own, so that a later work does not make an older result look new. reading: of work that is under
    way, None when there is none.
    left_plans: plans that are shown to the left of the divider; finish: the finished surface of `plans` and of those, None until it is asked for.
    """

    uid: int
    name: str
    cache: ResultStore = field(default_factory=ResultStore)
    survey: Survey | None = None
    survey_key: str = ""
    survey_is_newest: bool = False
    plans: tuple[Plan, ...] = ()
    figures: tuple[ShownFigures, ...] = ()
    shown: int = 0
    plan_key: str = ""
    other_side: tuple[Plan, ...] = ()
    other_key: str = ""
    fit_maps: dict[Cutter, FitMap] = field(default_factory=dict)
    plans_reading: Reading = field(default_factory=Reading)
    other_reading: Reading = field(default_factory=Reading)
    survey_reading: Reading = field(default_factory=Reading)
    last_reading: Reading = field(default_factory=Reading)
    reading: Reading | None = None
    preview: Survey | None = None
    preview_lines: Path | None = None
    revision: int = 0
    left_plans: tuple[Plan, ...] = ()
    finish: SideBySide | None = None

    @property
    def plan(self) -> Plan | None:
        """The plan that is looked at."""
        return self.plans[self.shown] if self.plans else None

    @property
    def shown_figures(self) -> ShownFigures | None:
        """The figures of the plan that is looked at."""
        return self.figures[self.shown] if self.figures else None

    @property
    def newest(self) -> Plan | Survey | None:
        """The newest result, which says where stock and side are; while nothing is there yet the first maps of the work under way."""
        return self.plan or self.survey or self.preview

    @property
    def source(self) -> Reading:
        """What the newest result was made from, first maps from what the work under way has read; without one, what the last work was made from."""
        if self.plans:
            return self.plans_reading
        if self.survey is not None:
            return self.survey_reading
        return self.reading if self.preview is not None and self.reading is not None else self.last_reading

    @property
    def shape_changed(self) -> bool:
        """Whether mesh, marks, stock or transform are no longer what the newest result was made from."""
        return self.source.changed

    def readings(self) -> tuple[Reading, ...]:
        """All that anything here was made from, and what is being worked on."""
        own = (self.plans_reading, self.other_reading, self.survey_reading, self.last_reading)
        return own if self.reading is None else (*own, self.reading)

    @property
    def rack(self) -> tuple[RackRow, ...]:
        """The newest rack table, () when there is none."""
        if self.survey is not None and self.survey.rack:
            return self.survey.rack
        return self.plans[0].rack if self.plans else ()

    @property
    def sets(self) -> SetTable | None:
        """The newest table of sets of cutters, None when there is none. Minutes in that of a plan are those of lines that were laid."""
        planned, measured = self.plans[0].sets if self.plans else None, self.survey.sets if self.survey is not None else None
        return planned if planned is not None and not (self.survey_is_newest and measured is not None) else measured

    def show(self, number: int) -> None:
        """Look at another plan of the side."""
        self.shown = number
        self.revision += 1

    def state(self, scene: bpy.types.Scene, body_object: bpy.types.Object) -> str:
        """ "none", "current", "shape" or "settings": whether there is a plan, and what has changed since."""
        if self.plan is None:
            return "none"
        if self.plans_reading.changed:
            return "shape"
        return "current" if settings_key(scene, body_object) == self.plan_key else "settings"

    def keep_survey(self, survey: Survey, key: str) -> None:
        """Take a new survey; fit maps of another shape or of other settings go."""
        self.survey, self.survey_key, self.survey_reading = survey, key, self.last_reading
        self.survey_is_newest = True
        self.revision += 1

    def keep_plans(self, plans: tuple[Plan, ...], key: str) -> None:
        """Take new plans of a side; the last ones of the other side stay, so that both can be written as one job."""
        if self.plans and self.plans[0].request.side != plans[0].request.side:
            self.other_side, self.other_key, self.other_reading = self.plans, self.plan_key, self.plans_reading
        self.survey_is_newest = False
        self._look_at(plans, key, self.last_reading)

    def forget_plans(self) -> None:
        """Both sides are planned anew."""
        self.plans, self.figures, self.plan_key, self.finish = (), (), "", None
        self.other_side, self.other_key = (), ""

    def show_side(self, side: str) -> None:
        """Look at the plans of the other side, where it is `side` and there are any; what cutters leave was rolled on the side before, and goes."""
        if self.plans and self.other_side and self.other_side[0].request.side == side != self.plans[0].request.side:
            plans, key, reading = self.other_side, self.other_key, self.other_reading
            self.other_side, self.other_key, self.other_reading = self.plans, self.plan_key, self.plans_reading
            self.fit_maps.clear()
            self._look_at(plans, key, reading)

    def _look_at(self, plans: tuple[Plan, ...], key: str, reading: Reading) -> None:
        self.plans, self.plan_key, self.plans_reading, self.shown = plans, key, reading, 0
        self.finish = None
        self.figures = tuple(_shown_figures(plan) for plan in plans)
        self.revision += 1

    def job(self) -> tuple[Plan, ...]:
        """The plans of the side, with those of the other side where they were made for the same body in the same stock."""
        if not self.plans or not self.other_side:
            return self.plans
        mine, other = self.plans[0], self.other_side[0]
        same = other.body_digest == mine.body_digest and other.stock == mine.stock
        return (*self.plans, *self.other_side) if same else self.plans

    def keep_finish(self, finish: SideBySide) -> None:
        """Take the finished surface."""
        self.finish = finish
        self.revision += 1

    def keep_left(self) -> None:
        """Show the plans that are there to the left of the divider from now on."""
        self.left_plans = self.plans
        self.finish = None
        self.revision += 1

    def matching_left(self) -> tuple[Plan, ...]:
        """The plans for the left of the divider where they are of the same body, side and place; () else."""
        if not (self.left_plans and self.plans):
            return ()
        mine, other = self.plans[0], self.left_plans[0]
        same = mine.body_digest == other.body_digest and mine.request.side == other.request.side
        return self.left_plans if same and bool((mine.job_from_body == other.job_from_body).all()) else ()

    def keep_fit_map(self, fit_map: FitMap) -> None:
        """Take what one cutter leaves."""
        self.fit_maps[fit_map.cutter] = fit_map
        self.revision += 1

    def world_from_job(self, body_object: bpy.types.Object) -> NDArray[np.float64] | None:
        """Where job mm lie in the scene, (4, 4); the job goes along when the object is moved. None while there are no results, and while the object
        is scaled to nothing, so that no place of the scene has one in the job.
        """
        placed = world_matrix(body_object)
        if self.newest is None or not np.linalg.det(placed[:3, :3]):
            return None
        scale = np.diag([1 / self.source.scale] * 3 + [1.0])
        moved = placed @ np.linalg.inv(self.source.matrix)
        return np.asarray(moved @ scale @ np.linalg.inv(self.newest.job_from_body), np.float64)

    def begin_reading(self, arrays: MeshArrays) -> None:
        """Note that the mesh was read just now for work that begins. What is there stays as it is."""
        self.reading = Reading(arrays.matrix, arrays.scale, stamp=finished(stamp_steps(self.uid)))

    def take_reading(self) -> None:
        """The work has come to its end: what is kept next was made from what it has read."""
        if self.reading is None:
            return
        self.fit_maps.clear()
        self.last_reading, self.reading = self.reading, None
        self.preview = self.preview_lines = None

    def drop_reading(self) -> None:
        """The work was stopped: the results are of what they were of."""
        if self.preview is not None:
            self.fit_maps.clear()
        self.reading = self.preview = self.preview_lines = None
        self.revision += 1

    def show_preview(self, first_maps: Survey) -> None:
        """Show the first maps of the work under way, as long as there is nothing else."""
        self.preview = first_maps
        self.revision += 1

    def show_lines(self, path: Path) -> None:
        """Show lines of the work under way over its first maps."""
        self.preview_lines = path
        self.revision += 1


class SessionResults:
    """The results of all bodies of the session."""

    def __init__(self) -> None:
        self._bodies: dict[int, BodyResults] = {}

    def __iter__(self) -> Iterator[BodyResults]:
        return iter(list(self._bodies.values()))

    def __len__(self) -> int:
        return len(self._bodies)

    def find(self, body_object: bpy.types.Object | None) -> BodyResults | None:
        """The results of an object, None when there are none."""
        return None if body_object is None else self._bodies.get(body_object.session_uid)

    def with_uid(self, uid: int) -> BodyResults | None:
        """The results of the object with a session_uid, None when there are none."""
        return self._bodies.get(uid)

    def of(self, body_object: bpy.types.Object) -> BodyResults:
        """The results of an object, empty ones when there were none."""
        return self._bodies.setdefault(body_object.session_uid, BodyResults(body_object.session_uid, body_object.name))

    def drop(self, uid: int) -> None:
        """Forget the results of one body."""
        self._bodies.pop(uid, None)

    def clear(self) -> None:
        """Forget everything."""
        self._bodies.clear()


STORE = SessionResults()
"""The one store of the session: Blender's own data cannot hold arrays of this kind."""


def object_of(results: BodyResults) -> bpy.types.Object | None:
    """The object that results belong to, looked up anew; None when it is gone."""
    candidate = find_named(bpy.data.objects, results.name)
    if candidate is not None and candidate.session_uid == results.uid:
        return candidate
    found = object_with(results.uid)
    if found is not None:
        results.name = found.name
    return found


def stamp_steps(uid: int) -> Generator[None, None, str]:
    """A digest of all of an object's mesh, marks and stock that a plan depends on, read in short steps; "" when it is gone.

    The object is looked up anew after every step, since an undo may have replaced it.
    """
    body_object = _by_uid(uid)
    if body_object is None:
        return ""
    parts: list[object] = list(_quick_parts(body_object))
    stock = settings_of(body_object).stock_object
    if stock is not None and stock != body_object:
        parts += ["stock", *_quick_parts(stock)]
    group = find_named(body_object.vertex_groups, SKIP_GROUP)
    if group is None or body_object.type != "MESH":
        return digest(*parts)
    index, count = group.index, vertex_count(body_object)
    for first in range(0, count, VERTICES_AT_ONCE):
        yield
        body_object = _by_uid(uid)
        if body_object is None or vertex_count(body_object) != count:
            return ""
        weights = own_weights(body_object, index, first, min(first + VERTICES_AT_ONCE, count))
        if weights.any():
            parts += [first, weights]
    return digest(*parts)


def _quick_parts(body_object: bpy.types.Object) -> Iterator[object]:
    """Shape after the modifiers, transform, unit and marks other than weights: some 5 ms for 100k vertices."""
    editing = body_object.mode == "EDIT"
    depsgraph = bpy.context.evaluated_depsgraph_get()
    evaluated = body_object.evaluated_get(depsgraph)
    yield world_matrix(evaluated)
    yield present(bpy.context.scene).unit_settings.scale_length
    if body_object.type != "MESH" or evaluated.data is None:
        return
    if not editing:
        yield from _mesh_parts(mesh_of(evaluated))
        return
    # In Edit Mode what Blender shows is no mesh of which anything could be read; it has to be made one, as for planning.
    mesh = present(evaluated.to_mesh())
    try:
        yield from _mesh_parts(mesh)
    finally:
        evaluated.to_mesh_clear()


def _mesh_parts(mesh: bpy.types.Mesh) -> Iterator[object]:
    """Points, corners and marks of a mesh, with their names."""
    for name, width, kind, field_name in STAMPED:
        attribute = find_named(mesh.attributes, name)
        if attribute is None or len(attribute_data(attribute)) == 0:
            continue
        try:
            values = values_of(attribute_data(attribute), field_name, kind, width)
        except (AttributeError, TypeError, RuntimeError):  # another attribute of this name, which the reader ignores too
            continue
        if name in (SKIP_ATTRIBUTE, SKIP_MASK) and not values.any():
            continue
        yield name
        yield values


def _by_uid(uid: int) -> bpy.types.Object | None:
    results = STORE.with_uid(uid)
    return None if results is None else object_of(results)
