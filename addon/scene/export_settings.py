"""How a job is written, remembered with the scene, and where, remembered with the body."""

from __future__ import annotations

from pathlib import Path

import bpy

from ..finishing.files.names import safe_name
from .blender_data import present
from .properties import attached, choice, number, switch, text_line, with_properties

EXPORT_PROPERTY, FOLDER_PROPERTY = "finishing_export", "finishing_files"
"""Names of the settings on every scene and on every object."""


UNIT_ITEMS = (("mm", "Millimetres", "Lengths in mm"), ("in", "Inches", "Lengths in inches"))
"""Units of written lengths."""


def written_unit() -> str:
    """Unit of what is written, for the settings and for the action."""
    return choice(name="Unit", description="Unit of the lengths in CSVs and programs", items=UNIT_ITEMS)


def written_programs() -> bool:
    """Whether programs are written, for the settings and for the action."""
    words = "Write part programs in plain ISO 6983 words, and a dry run, beside the CSV"
    return switch(name="Programs", description=words, default=True)


def written_pictures() -> bool:
    """Whether pictures are written, for the settings and for the action."""
    return switch(name="Pictures", description="Write pictures of the maps and the pass lines too", default=True)


def minutes_of_a_part() -> float:
    """Minutes of one part of a program, for the settings and for the action."""
    words = "Programs in parts of at most so many minutes; 0 leaves them whole"
    return number(name="Split (min)", description=words, default=0.0, min=0.0, max=6000.0, precision=1)


@with_properties
class FinishingExport(bpy.types.PropertyGroup):
    """What is written."""

    unit: str = written_unit()
    programs: bool = written_programs()
    pictures: bool = written_pictures()
    split_minutes: float = minutes_of_a_part()


@with_properties
class FinishingFiles(bpy.types.PropertyGroup):
    """Where the files of one body go. bench_sheet: the last one that was written."""

    folder: str = text_line(
        name="Folder", description="Folder to write into; empty for one that is named after the body, beside the .blend file", subtype="DIR_PATH"
    )
    written: str = text_line(name="Written", description="Folder that was written last", options={"HIDDEN"})
    bench_sheet: str = text_line(name="Bench Sheet", description="Bench sheet that was written last", options={"HIDDEN"})


def export_settings(scene: bpy.types.Scene) -> FinishingExport:
    """What is written."""
    return attached(scene, EXPORT_PROPERTY, FinishingExport)


def files_of(body_object: bpy.types.Object) -> FinishingFiles:
    """Where the files of a body go."""
    return attached(body_object, FOLDER_PROPERTY, FinishingFiles)


def export_folder(body_object: bpy.types.Object) -> Path:
    """The folder that the files of a body go to: its own choice, else one with its name beside the .blend file, or in the user's home."""
    chosen = files_of(body_object).folder
    if chosen:
        return Path(bpy.path.abspath(chosen))
    beside = Path(bpy.data.filepath).parent if bpy.data.filepath else Path.home()
    own = beside / f"{safe_name(present(body_object.name))}-finishing"
    written = files_of(body_object).written
    return Path(written) if written and Path(written).parent == beside and Path(written).name.startswith(own.name) else own


def free_folder(folder: Path) -> Path:
    """A folder itself while there is none, or with the first free number behind it: another job's files are not to be mixed with these."""
    number, candidate = 2, folder
    while candidate.exists():
        candidate, number = folder.with_name(f"{folder.name}-{number}"), number + 1
    return candidate


CLASSES = (FinishingExport, FinishingFiles)
