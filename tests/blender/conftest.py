"""Everything here needs bpy; without it the folder is skipped."""

import os
import tempfile

import pytest

os.environ.setdefault("BLENDER_USER_RESOURCES", tempfile.mkdtemp())  # never touch the real profile
pytest.importorskip("bpy", reason="needs the bpy wheel")
