"""Time in Python of a redraw of the overlay with 300 000 pieces of line, and of a picture of a run, by the picture tests' script. Needs bpy 5.2."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

words = [sys.executable, str(ROOT / "tests" / "pictures" / "draw.py"), ""]
environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tests" / "finishing")])}
done = subprocess.run(words, capture_output=True, text=True, timeout=300, check=False, env=environment)
lines = [line for line in done.stdout.splitlines() if line.startswith("JSON")]
if lines:
    told = json.loads(lines[0][4:])
    milliseconds = told["milliseconds per redraw at 300k pieces"]
    print(f"overlay redraw in Python at 300k pieces, without the driver's work: {milliseconds:.3f} ms (reach: <= 1 ms)")
    mean, worst = told["milliseconds per picture of a run"]
    print(f"picture of a run that is played, in Python: {mean:.2f} ms, {worst:.2f} at worst (30 a second leave 33)")
else:
    print("overlay redraw: not measured, this bpy draws nothing without a window (5.2 and a graphics driver do)")
