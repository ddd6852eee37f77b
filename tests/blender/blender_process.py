"""Scripts that need a Blender of their own, as those that go through the extension's whole life do: what they begin with, and what runs them."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

HEAD = """
import os, sys, tempfile
os.environ["BLENDER_USER_RESOURCES"] = tempfile.mkdtemp()
sys.path[:0] = [sys.argv[1], sys.argv[1] + "/tests/finishing"]
import bpy, numpy as np
import addon
addon.register(); addon.unregister(); addon.register()
finished = {"FINISHED"}
"""
"""The extension, registered a second time so that whatever the first time has left behind would show; and what actions return."""

END = """
print("ALL TRUE", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def run_in_blender(script: str, folder: Path) -> None:
    """Run the steps of a script in a Blender of its own, between head and end. Fails with what it printed last where a step fails."""
    file = folder / "steps.py"
    file.write_text(HEAD + textwrap.dedent(script) + END, encoding="utf-8")
    environment = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "BLENDER_USER_RESOURCES")}
    done = subprocess.run(
        [sys.executable, str(file), str(ROOT)], capture_output=True, text=True, encoding="utf-8", env=environment, check=False, timeout=500
    )
    assert done.returncode == 0 and "ALL TRUE" in done.stdout, (done.stdout + done.stderr)[-3000:]
