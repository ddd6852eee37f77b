"""Everything here needs bpy; without it the folder is left out, and `build.py test` says so."""

import importlib.util
import os
import tempfile

PROFILE = tempfile.TemporaryDirectory(prefix="profile-", ignore_cleanup_errors=True)
os.environ.setdefault("BLENDER_USER_RESOURCES", PROFILE.name)  # never touch the real profile

# Not a skip from within this file: pytest reads it before it collects anything when the folder is named, and would stop there.
collect_ignore_glob = [] if importlib.util.find_spec("bpy") else ["*.py"]


def pytest_unconfigure() -> None:
    """Take the profile away: a process that is ended at once, as those of several at a time are, would leave it."""
    PROFILE.cleanup()
