"""Many times over on real bpy, in a process of its own: plan, undo, redo, delete, reload, disable and enable, with the overlay's arrays made."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from blender_process import fresh_profile

ROOT = Path(__file__).parents[2]

CYCLES = "200" if "FINISHING_BODIES" in os.environ else "80"
"""Two hundred once, as .ci/run does; by default the least that has two windows to compare."""

SCRIPT = """
import os, sys
root, folder = sys.argv[1:3]
sys.path[:0] = [root, os.path.join(root, "tests", "finishing")]
import bpy, gc, numpy as np
from shapes import block
import addon
from addon.overlay.drawing import OVERLAY, shown_bodies
from addon.overlay.layers import _line_set
from addon.scene.results import STORE

CYCLES, SETTLED = int(sys.argv[3]), 40
assert CYCLES >= SETTLED + 40, "the two windows would be the same cycles"
bpy.ops.wm.read_factory_settings(use_empty=True)
addon.register()
scene = bpy.context.scene
scene.unit_settings.scale_length = 0.001
triangles = block(lambda x, y: 12 + 3 * np.sin(np.pi * x / 40) * np.sin(np.pi * y / 30), 40, 30, 1.0)
mesh = bpy.data.meshes.new("arch")
mesh.from_pydata(triangles.reshape(-1, 3).tolist(), [], np.arange(3 * len(triangles)).reshape(-1, 3).tolist())
scene.collection.objects.link(bpy.data.objects.new("arch", mesh))
file = os.path.join(folder, "arch.blend")
finished = {"FINISHED"}

def body():
    found = bpy.data.objects["arch"]
    bpy.context.view_layer.objects.active = found
    return found

def overlay():
    # All that is drawn from but the graphics card's own copies: without a window there is no card.
    view = bpy.context.window_manager.finishing_view
    view.show, view.surface_map = True, "cusp"
    bodies = shown_bodies(bpy.context)
    assert len(bodies) == 1
    for results, _ in bodies:
        layers = OVERLAY.layers_of(results)
        shown, legend = layers.shown_map(results, view), layers.lines_legend(results, view)
        lines = layers.get("lines", (results.revision, view.lines_by), lambda: _line_set(results.plan, legend, view.lines_by))
        assert shown is not None and len(lines.positions) > 10

def resident():
    gc.collect()
    with open("/proc/self/statm") as told:
        return int(told.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")

assert bpy.ops.finishing.rack(change="fill") == finished
settings = body().finishing
settings.cell_mm, settings.lines_from, settings.cusp_mm, settings.cutter_name = 1.0, "edge", 0.2, "Round-nose 12"
bpy.ops.wm.save_as_mainfile(filepath=file)
counts, sizes = set(), []
for cycle in range(CYCLES):
    bpy.ops.ed.undo_push(message="before")
    body().finishing.cusp_mm = 0.2 + 0.001 * (cycle % 7)
    assert bpy.ops.finishing.plan() == finished
    results = STORE.find(body())
    counts.add(results.plan.path.line_count)
    overlay()
    bpy.ops.ed.undo_push(message="planned")
    assert bpy.ops.ed.undo() == finished and bpy.ops.ed.redo() == finished
    results = STORE.find(body())
    assert results is not None and results.plan is not None, "undo and redo lost the plan"
    if cycle % 2:
        bpy.data.objects.remove(body())
        bpy.ops.ed.undo_push(message="deleted")
        assert bpy.ops.ed.undo() == finished and bpy.data.objects.get("arch") is not None
        assert bpy.ops.finishing.plan() == finished if body() else False
    if cycle % 3 == 0:
        addon.unregister()
        addon.register()
    if cycle % 4 == 0:
        bpy.ops.wm.open_mainfile(filepath=file)
        assert body().finishing.cutter_name == "Round-nose 12"
    sizes.append(resident())
assert len(counts) <= 7 and min(counts) > 5, counts
settled = np.median(sizes[SETTLED : SETTLED + 20])
growth = np.median(sizes[-20:]) / settled - 1
print(f"growth {growth:.1%} from {settled / 2**20:.0f} MiB", flush=True)
assert growth <= 0.05, sizes[::10]
addon.unregister()
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="memory is read where Linux tells it")
def test_many_cycles_leave_nothing_behind(tmp_path: Path) -> None:
    script = tmp_path / "use.py"
    script.write_text(textwrap.dedent(SCRIPT))
    done = subprocess.run(
        [sys.executable, str(script), str(ROOT), str(tmp_path), CYCLES],
        capture_output=True, text=True, timeout=1500, cwd=tmp_path, env=fresh_profile(tmp_path), check=False,
    )  # fmt: skip
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    assert "Traceback" not in done.stderr + done.stdout, done.stderr[-3000:]
