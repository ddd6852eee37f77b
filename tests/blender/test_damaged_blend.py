"""Damaged .blend files, as a broken copy or a full disk leaves them: read as before, or refused with one sentence, within bounds of time and memory.

Blender reads them, and a byte that is wrong deep within the data of a file can end Blender itself; so only what can happen to a file as a whole is
tried: cut short, a part missing, a head that is wrong.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = 60
SECONDS = 60.0
"""Greatest time that reading all of them may take; one takes some hundredths of a second."""

SCRIPT = """
import os, sys
sys.path.insert(0, sys.argv[1])
from pathlib import Path
from addon.finishing.core.errors import FinishingError
from addon.scene.file_reading import read_file

def resident():
    try:
        return int(open("/proc/self/statm").read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except OSError:
        return 0

read_file(Path(sys.argv[2], "whole.blend"))
before, read = resident(), 0
for path in sorted(Path(sys.argv[2]).glob("damaged-*.blend")):
    try:
        assert len(read_file(path).triangles) == 12
        read += 1
    except FinishingError as error:
        said = str(error)
        assert said.startswith(f"'{path.name}' ") and said.endswith(".") and chr(10) not in said and len(said) < 600, said
assert resident() - before < 200e6, resident() - before
print("READ", read)
"""


def damaged(whole: bytes, seed: int) -> bytes:
    """The file with one of three kinds of damage."""
    chance = random.Random(seed)
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
    assert read <= FILES // 3  # nothing is read of a file that is cut short
