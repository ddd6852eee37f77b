"""Lets tests import the computation as `finishing` and the whole add-on as `addon`."""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
for folder in (ROOT, ROOT / "addon"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))
