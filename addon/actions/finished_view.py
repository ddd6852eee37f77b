"""Showing the surface as it will be cut, of one plan or of two beside a divider."""

from __future__ import annotations

from collections.abc import Callable, Generator

import bpy
import numpy as np

from ..finishing.core.message import Message
from ..finishing.core.result_store import ResultStore
from ..finishing.job.request import Request
from ..finishing.planning.finished_ground import SideBySide, grid_round, side_by_side_steps
from ..finishing.planning.result import Plan
from ..scene.active import active_body, active_results, plan_of
from ..scene.background import Steps
from ..scene.properties import choice, with_properties
from ..scene.redrawing import redraw_views
from ..scene.results import BodyResults
from ..scene.view_settings import view_of
from ..screen.language import for_report
from .conditions import Outcome, PlanAction
from .planning import LongAction

LOOKED_AT = 22.0
"""mm to each side of the middle of the view that are shown on fine cells: as many as the overlay's mesh holds without being thinned."""


@with_properties
class FINISHING_OT_show_finished(LongAction[SideBySide]):
    """Show the surface as it will be cut, cusps and all, under a low lamp"""

    bl_idname = "finishing.show_finished"
    bl_label = "Show Finished Surface"
    bl_options = {"REGISTER"}
    title = Message("Cutting")

    where: str = choice(
        name="Where",
        description="How much of the body is cut",
        items=(
            ("body", "Whole Side", "The whole side, on the cells of the plan"),
            ("view", "Where the View Looks", "A piece in the middle of the view, on cells of a tenth of a millimetre"),
        ),
        options={"SKIP_SAVE"},
    )
    _cut: tuple[tuple[Plan, ...], tuple[Plan, ...]] = ((), ())

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a plan, and no other work is under way."""
        if not super().poll(context):
            return False
        if plan_of(context) is None:
            cls.poll_message_set("Plan the active body first")
            return False
        return True

    def work(self, context: bpy.types.Context) -> Callable[[Request, ResultStore], Steps]:
        """Cut the side by its plans."""
        results = active_results(context)
        plans, others, grid = results.plans, results.matching_left(), results.plans[0].grid
        self._cut = (plans, others)
        world_from_job = results.world_from_job(active_body(context))
        if self.where == "view" and context.region_data is not None and world_from_job is not None:
            looked_at = np.linalg.inv(world_from_job) @ np.append(np.array(context.region_data.view_location, np.float64), 1.0)
            grid = grid_round(looked_at, LOOKED_AT)

        def steps(_request: Request, _cache: ResultStore) -> Generator[tuple[float, str], None, SideBySide]:
            cutting = side_by_side_steps(plans, others, grid)
            while True:
                try:
                    share = next(cutting)
                except StopIteration as done:
                    found: SideBySide = done.value
                    return found
                yield share, "proof"

        return steps

    def keep(self, result: SideBySide, results: BodyResults, key: str) -> None:
        """Keep the surface and show it; the plan's own reading of the body stays. What was cut by other plans than those of now is dropped."""
        if self.body_is_gone(results):
            return
        results.drop_reading()
        plans, others = self._cut
        if results.plans is not plans or results.matching_left() is not others:
            self.report({"WARNING"}, for_report(Message("Another plan is looked at now: press Show Finished Surface again")))
            return
        results.keep_finish(result)
        view_of(bpy.context).surface_map = "finished"
        self.report({"INFO"}, for_report(Message("The surface as it will be cut is shown")))
        redraw_views()


class FINISHING_OT_set_left(PlanAction):
    """Show this plan to the left of the divider, and the next one to its right"""

    bl_idname = "finishing.set_left"
    bl_label = "Set as Left of Divider"
    bl_options = {"REGISTER"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Keep the plans of the side."""
        active_results(context).keep_left()
        self.report({"INFO"}, for_report(Message("Plan otherwise now, and show the finished surface: both stand side by side")))
        redraw_views()
        return {"FINISHED"}


CLASSES = (FINISHING_OT_show_finished, FINISHING_OT_set_left)
