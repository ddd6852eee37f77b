"""Writing the pass lines of a planned body."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import cast

import bpy

from ..finishing.core.errors import FinishingError
from ..finishing.core.message import Message
from ..finishing.core.stage_runner import Progress
from ..finishing.core.stepping import Steps, finished, staged
from ..finishing.files.job_files import FinishedView, JobFiles, job_files_steps, restart_file, run_to_take_up
from ..finishing.files.replaced_files import replaced_files
from ..finishing.files.writing import write_all
from ..finishing.planning.hazards import read_first, refusal
from ..finishing.planning.result import Plan
from ..scene.active import active_body, active_results, active_settings, plan_of, state_of
from ..scene.blender_data import present
from ..scene.export_settings import (
    export_folder,
    export_settings,
    files_of,
    free_folder,
    minutes_of_a_part,
    written_pictures,
    written_programs,
    written_unit,
)
from ..scene.properties import number, switch, text_line, whole_number, with_properties
from ..scene.results import BodyResults, object_of
from ..screen.language import for_report, users_language
from .conditions import Outcome
from .watched_work import WatchedWork

BENCH_SHEET = "-bench-sheet.html"
"""How the name of a bench sheet ends."""


CHOSEN = ("directory", "unit", "pictures", "finished_surface", "programs", "split_minutes", "from_line", "of_cutter_mm", "despite_hits", "replace")
"""What is asked for beside the folder."""


@dataclass(frozen=True)
class _Export:
    """What is to be written. results: of the body; from_line: the line that the program of the one plan begins at, 0 for all files of the job."""

    results: BodyResults
    plans: tuple[Plan, ...]
    wanted: JobFiles
    folder: Path
    from_line: int

    def steps(self) -> Generator[Progress, None, dict[str, bytes]]:
        """Make the files; yields (share done, stage). Needs no Blender. Raises BadRequest."""
        making = self._restart() if self.from_line else job_files_steps(self.plans, self.wanted)
        return (yield from staged(making, "files"))

    def _restart(self) -> Steps[dict[str, bytes]]:
        """The program from a line on alone."""
        yield 0.0
        return restart_file(run_to_take_up(self.plans, None), self.from_line, self.wanted)


@with_properties
class FINISHING_OT_export(WatchedWork):
    """Write the pass lines of the planned side, or of both once both are planned, with run list, bench sheet, record and pictures"""

    bl_idname = "finishing.export"
    bl_label = "Export Pass Lines"
    bl_options = {"REGISTER"}

    directory: str = text_line(
        name="Folder",
        description="Folder to write into; empty for the body's own, with all else as its panel is set",
        subtype="DIR_PATH",
        options={"SKIP_SAVE"},
    )
    ask: bool = switch(name="Ask", description="Ask for the folder, and for all else beside it", default=False, options={"HIDDEN", "SKIP_SAVE"})
    unit: str = written_unit()
    pictures: bool = written_pictures()
    finished_surface: bool = switch(
        name="Finished Surface",
        description="Write the surface as it will be cut, under a low lamp: a picture, and a strip in true scale",
        default=False,
        options={"SKIP_SAVE"},
    )
    programs: bool = written_programs()
    split_minutes: float = minutes_of_a_part()
    from_line: int = whole_number(
        name="From Line",
        description="Write only the program of the pass lines from this one on, to take up a run that stopped; 0 writes all",
        default=0,
        min=0,
        options={"SKIP_SAVE"},
    )
    of_cutter_mm: float = number(
        name="Of Cutter (mm)",
        description="With From Line: diameter of the cutter whose run stopped, on the panel's side; 0 for the only one",
        default=0.0,
        min=0.0,
        precision=2,
        options={"SKIP_SAVE"},
    )
    despite_hits: bool = switch(
        name="Programs Despite Hits",
        description="Write programs even where they would hit something that is known, such as a clamp",
        default=False,
        options={"SKIP_SAVE"},
    )
    replace: bool = switch(name="Replace Files", description="Replace files of the same names", default=False, options={"SKIP_SAVE"})

    title = Message("Exporting")
    _work: _Export | None = None

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Whether there is a plan that still holds, and no work under way."""
        if plan_of(context) is None:
            cls.poll_message_set("Plan the active body first: there is nothing to write yet")
            return False
        if state_of(context) != "current":
            cls.poll_message_set("The body or a setting has changed since: plan again first")
            return False
        return cls.nothing_under_way()

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> Outcome:
        """Make the files in a thread that ESC stops, and write them when they are whole; or ask first, beginning with what the panel says."""
        if not self.ask:
            return self.execute(context) if bpy.app.background else self._begin(context)
        self._take_from_panel(context)
        present(context.window_manager).fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> Outcome:
        """Write all files of the job, at once as scripts want it; where the folder was asked for, in a thread."""
        if self.ask and not bpy.app.background:
            # Blender frees an action whose folder it has asked for: another one must watch the work.
            export = bpy.ops.finishing.export  # type: ignore[attr-defined]  # the stubs know Blender's own alone
            try:
                return cast(Outcome, export("INVOKE_DEFAULT", **{name: getattr(self, name) for name in CHOSEN}))
            except RuntimeError as error:  # as Blender hands on what the other one has reported
                self.report({"ERROR"}, for_report(Message("{reason}", reason=str(error).removeprefix("Error: ").strip())))
                return {"CANCELLED"}
        try:
            self._work = work = self._prepared(context)
            files = finished(work.steps())
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        return self.ended(context, files)

    def _begin(self, context: bpy.types.Context) -> Outcome:
        """Start making the files."""
        try:
            self._work = work = self._prepared(context)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        return self.start(context, work.steps)

    def _prepared(self, context: bpy.types.Context) -> _Export:
        """What is to be written, and where. Raises BadRequest."""
        if not self.directory:
            self._take_from_panel(context)
        plans = active_results(context).job()
        if self.from_line:
            of_side = [plan for plan in plans if plan.request.side == active_settings(context).side]
            plans = (run_to_take_up(of_side, f"{self.of_cutter_mm:.4f}" if self.of_cutter_mm else None),)
        hits = tuple(finding.key for plan in plans for finding in plan.findings if finding.hits)
        wanted = JobFiles(
            self.unit,
            self.pictures,
            self.programs or self.from_line > 0,
            split_minutes=self.split_minutes or None,
            despite=hits if self.despite_hits else (),
            finished=FinishedView() if self.finished_surface else None,
            language=users_language(),
        )
        return _Export(active_results(context), plans, wanted, Path(bpy.path.abspath(self.directory)), self.from_line)

    def ended(self, context: bpy.types.Context, result: object) -> Outcome:
        """Write the files, all of them or none, and say so."""
        work, files = present(self._work), cast("dict[str, bytes]", result)
        try:
            gone = replaced_files(work.folder, work.plans) if self.replace and self.from_line == 0 else set()
            written = write_all(work.folder, files, replace=self.replace, gone=gone)
        except FinishingError as error:
            self.report({"ERROR"}, for_report(error.message))
            return {"CANCELLED"}
        body_object = object_of(work.results)
        if body_object is not None:  # not deleted meanwhile
            kept = files_of(body_object)
            kept.written = str(work.folder)
            kept.bench_sheet = next((str(file) for file in written if str(file).endswith(BENCH_SHEET)), "")
        where = {"count": len(written), "folder": work.folder}
        done = {
            ("top",): Message("{count} files written to {folder}, for the top side", **where),
            ("back",): Message("{count} files written to {folder}, for the back side", **where),
            ("back", "top"): Message("{count} files written to {folder}, for both sides", **where),
        }[tuple(sorted({plan.request.side for plan in work.plans}))]
        self.report({"INFO"}, for_report(done))
        for message in _to_read_first(work.plans, work.wanted):
            self.report({"WARNING"}, for_report(message))
        return {"FINISHED"}

    def _take_from_panel(self, context: bpy.types.Context) -> None:
        """Write into the body's folder, as its panel is set; files of an earlier export into the same folder are replaced."""
        body_object, chosen = active_body(context), export_settings(present(context.scene))
        folder = export_folder(body_object)
        if not files_of(body_object).folder and files_of(body_object).written != str(folder):
            folder = free_folder(folder)
        self.directory, self.unit = str(folder), chosen.unit
        self.programs, self.pictures, self.split_minutes = chosen.programs, chosen.pictures, chosen.split_minutes
        # Where the folder is asked for, another one may be chosen, whose files nobody has said to replace.
        self.replace = self.replace or (not self.ask and files_of(body_object).written == str(folder))


def _to_read_first(plans: Sequence[Plan], wanted: JobFiles) -> list[Message]:
    """Why programs were not written, and the findings that must be seen before a run."""
    refused = [refusal(plan, wanted.despite) for plan in plans] if wanted.programs else []
    return [*(message for message in refused if message is not None), *(finding.words for plan in plans for finding in read_first(plan))]


CLASSES = (FINISHING_OT_export,)
