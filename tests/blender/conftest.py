"""Everything here needs bpy; without it the folder is left out, and `build.py test` says so."""

import importlib.util
import os
import tempfile

os.environ.setdefault("BLENDER_USER_RESOURCES", tempfile.mkdtemp())  # never touch the real profile

# Not a skip from within this file: pytest reads it before it collects anything when the folder is named, and would stop there.
collect_ignore_glob = [] if importlib.util.find_spec("bpy") else ["*.py"]
