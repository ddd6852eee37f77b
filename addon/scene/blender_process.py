"""A body from a .blend file, read by a Blender in a process of its own: this Python's bpy, or the Blender that is installed.

Blender trusts what it opens, and a damaged file can end its process; here that is one sentence. Not part of the extension.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

from ..finishing.core.errors import BadFile
from ..finishing.job.body import Body
from ..finishing.reading.faults import printable, several_objects
from .handing_over import handed_body, handed_fault

PROGRAM = "blender"
BPY_PYTHONS = ("3.11", "3.13")
"""Versions of Python that bpy exists for; build.py has them too, which must run before anything is installed."""

READ = "import sys; sys.path.append({root!r}); from addon.scene.blend_reading import hand_over; hand_over(sys.argv[sys.argv.index('--') + 1:])"
"""What Blender is told to run. root: the folder that the package lies in."""


def read_blend_by_blender(path: Path, object_name: str | None) -> tuple[Body, float]:
    """As blend_reading.read_blend, with mm for one unit of the scene. Raises BadFile also when there is no Blender, or it does not end well."""
    root = str(Path(__file__).resolve().parents[2])
    done = subprocess.run(
        [*_reader(path), READ.format(root=root), "--", str(path.resolve()), object_name or ""],
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace", check=False,
    )  # fmt: skip
    fault, handed = handed_fault(done.stdout), handed_body(done.stdout)
    if fault is not None:
        sentence, names = fault
        if names:
            raise several_objects(printable(path.name), names)
        raise BadFile("{sentence}", sentence=sentence)  # of another Blender, and in English as all of the command line
    if handed is not None:
        return handed
    if _has_crashed(done.returncode):
        raise BadFile(
            "'{file}' brought Blender down while it was read, so it is most likely damaged: take a backup of it, or open it in Blender and save "
            "it anew.",
            file=printable(path.name),
        )
    last = done.stdout.strip().splitlines()[-1:] or ["nothing"]
    raise BadFile(
        "'{file}' could not be read by Blender, which said '{said}': open the file in Blender and see.",
        file=printable(path.name),
        said=printable(last[0][:120]),
    )


def _reader(path: Path) -> list[str]:
    """The command that runs Python in Blender: this Python where it has bpy, else the Blender on the path. Raises BadFile where there is neither."""
    if sys.modules.get("bpy", True) is not None and any(Path(folder, "bpy").is_dir() for folder in sys.path):
        return [sys.executable, "-c"]
    program = shutil.which(PROGRAM)
    if program is None:
        raise BadFile(
            "'{file}' can only be read by Blender, and there is none: put Blender on the path, run me with Python {older} or {newer} (for "
            "which its bpy exists), or export the body as .stl, .obj or .ply.",
            file=printable(path.name),
            older=BPY_PYTHONS[0],
            newer=BPY_PYTHONS[1],
        )
    return [program, "--background", "--factory-startup", "--disable-autoexec", "--python-expr"]


def _has_crashed(code: int) -> bool:
    """Whether a process was ended by the system: a signal (as a negative number, or 128 and more where a shell has run it), or on Windows an
    exception of the processor (0xC0000005 and its like).
    """
    return code < 0 or 128 < code < 160 or code >= 0xC0000000
