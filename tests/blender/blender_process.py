"""Scripts that need a Blender of their own, as those that go through the extension's whole life do: what they begin with, and what runs them."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

HEAD = """
import os, sys
sys.path[:0] = [sys.argv[1], sys.argv[1] + "/tests/finishing"]
def ended(*error):
    sys.__excepthook__(*error)
    os._exit(1)  # a Blender that is left to end by itself may hang
sys.excepthook = ended
import bpy, numpy as np
import addon
addon.register(); addon.unregister(); addon.register()
finished = {"FINISHED"}
"""
"""The extension, registered a second time so that whatever the first time has left behind would show; and what actions return."""

ARCH = """
from shapes import block
triangles = block(lambda x, y: 12 + 2 * np.sin(np.pi * x / 40) * np.sin(np.pi * y / 30), 40.0, 30.0, 1.0) / 1000
mesh = bpy.data.meshes.new("arch")
mesh.from_pydata(triangles.reshape(-1, 3).tolist(), [], np.arange(3 * len(triangles)).reshape(-1, 3).tolist())
body = bpy.data.objects.new("arch", mesh)
bpy.context.scene.collection.objects.link(body)
bpy.context.view_layer.objects.active = body
settings, view = body.finishing, bpy.context.window_manager.finishing_view
assert bpy.ops.finishing.rack(change="fill") == finished
"""
"""An arched block of 40 x 30 mm as the active body, and the built-in cutters on the rack: a beginning for scripts that plan."""

END = """
print("ALL TRUE", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def fresh_profile(folder: Path) -> dict[str, str]:
    """The environment of a Blender whose settings, and what it writes for itself, lie in a new folder within this one."""
    profile, written = folder / "profile", folder / "session"
    profile.mkdir()
    written.mkdir()
    own = {name: str(written) for name in ("TMPDIR", "TEMP", "TMP")}
    return {**{name: value for name, value in os.environ.items() if name != "PYTHONPATH"}, **own, "BLENDER_USER_RESOURCES": str(profile)}


def run_in_blender(script: str, folder: Path, beginning: str = "") -> None:
    """Run a script's steps in a Blender of its own, between head, a shared beginning and end. Fails with what it printed last where a step fails."""
    file = folder / "steps.py"
    file.write_text(HEAD + beginning + textwrap.dedent(script) + END, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(file), str(ROOT)], capture_output=True, text=True, encoding="utf-8", env=fresh_profile(folder), check=False, timeout=500
    )
    assert done.returncode == 0 and "ALL TRUE" in done.stdout, (done.stdout + done.stderr)[-3000:]
    # Blender takes its own folder away only when it is left to end by itself; there must be nothing of ours in it or beside it.
    left = [each for each in (folder / "session").rglob("*") if not each.name.startswith("blender_")]
    assert not left, left
