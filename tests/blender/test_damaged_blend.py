"""Damaged .blend files, as a broken copy or a full disk leaves them: read as before, or refused with one sentence, within bounds of time and memory.

What can happen to a file as a whole (cut short, a part missing, a head that is wrong) is read by one Blender. A byte that is wrong deep within the data
can end Blender itself; so such files are read as the commands read them, in a process of its own for each.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from addon.finishing.core.errors import BadFile, FinishingError
from addon.scene import blender_process
from addon.scene.blender_process import read_blend_by_blender

ROOT = Path(__file__).parents[2]
FILES = 60
FLIPPED = 5
"""Files with wrong bytes among their data; each takes Blender's start of about a second."""

SECONDS = 60.0
"""Greatest time that reading all of them may take; one takes some hundredths of a second."""

SCRIPT = """
import os, sys
sys.path.insert(0, sys.argv[1])
from pathlib import Path
from addon.finishing.core.errors import FinishingError
import bpy
from addon.scene.file_reading import read_file

def most_resident():
    try:
        return 1024 * next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM"))
    except OSError:
        return 0

assert len(read_file(Path(sys.argv[2], "whole.blend")).triangles) == 12
before, read = most_resident(), 0
for path in sorted(Path(sys.argv[2]).glob("damaged-*.blend")):
    try:
        assert len(read_file(path).triangles) == 12
        read += 1
    except FinishingError as error:
        said = str(error)
        assert said.startswith(f"'{path.name}' ") and said.endswith(".") and chr(10) not in said and len(said) < 600, said
assert most_resident() - before < 200e6, most_resident() - before
print("READ", read)
"""


def damaged(whole: bytes, seed: int) -> bytes:
    """The file with one of three kinds of damage."""
    chance = random.Random(seed)
    if seed == 0:
        return whole + b"behind the end"
    if seed % 3 == 0:
        return whole[: chance.randrange(len(whole))]
    content = bytearray(whole)
    if seed % 3 == 1:
        for _ in range(chance.choice([1, 3])):
            content[chance.randrange(12)] = chance.randrange(256)
    else:
        place = chance.randrange(len(content))
        del content[place : place + chance.randrange(1, 5000)]
    return bytes(content)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("damaged")
    cube = "import bpy, sys; bpy.ops.wm.read_factory_settings(use_empty=True); bpy.ops.mesh.primitive_cube_add(size=0.1); "
    cube += "bpy.ops.wm.save_as_mainfile(filepath=sys.argv[1], compress=False)"
    subprocess.run([sys.executable, "-c", cube, str(made / "whole.blend")], check=True, capture_output=True)
    whole = (made / "whole.blend").read_bytes()
    for seed in range(FILES):
        (made / f"damaged-{seed:03}.blend").write_bytes(damaged(whole, seed))
    return made


def test_damaged_files_are_read_or_refused(folder: Path) -> None:
    environment = {**os.environ, "PYTHONHASHSEED": "0"}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(ROOT), str(folder)], capture_output=True, text=True, timeout=SECONDS, env=environment, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert "Traceback" not in done.stderr
    read = int(done.stdout.rsplit("READ", 1)[1].split()[0])
    assert 1 <= read <= FILES // 3  # what has bytes behind its end is whole, and nothing is read of a file that is cut short


@pytest.mark.parametrize("seed", range(FLIPPED))
def test_wrong_bytes_end_no_command(folder: Path, tmp_path: Path, seed: int) -> None:
    chance, content = random.Random(seed), bytearray((folder / "whole.blend").read_bytes())
    for _ in range(200):
        content[chance.randrange(12, len(content))] = chance.randrange(256)
    path = tmp_path / "flipped.blend"
    path.write_bytes(content)
    try:
        body, _unit = read_blend_by_blender(path, None)
    except FinishingError as error:
        said = str(error)
        assert said.startswith("'flipped.blend' ") and said.endswith(".") and "\n" not in said and len(said) < 600, said
    else:
        assert len(body.triangles)


def test_a_crash_of_blender_is_one_sentence(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blender_process, "READ", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV) #{root}")
    with pytest.raises(BadFile, match="'whole.blend' brought Blender down while it was read, so it is most likely damaged"):
        read_blend_by_blender(folder / "whole.blend", None)
    monkeypatch.setattr(blender_process, "READ", "print('no mesh'); raise SystemExit(1) #{root}")
    with pytest.raises(BadFile, match="could not be read by Blender, which said 'no mesh'"):
        read_blend_by_blender(folder / "whole.blend", None)


def test_the_command_reads_in_another_process(folder: Path, tmp_path: Path) -> None:
    """Without Blender in its own: a crash there would end it."""
    told = "import sys; sys.path.insert(0, sys.argv[1]); from pathlib import Path; from addon.scene.file_reading import read_file; "
    told += "print(len(read_file(Path(sys.argv[2])).triangles), 'bpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", told, str(ROOT), str(folder / "whole.blend")], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["12", "False"]
