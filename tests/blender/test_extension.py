"""The zip as a user gets it: built, installed, enabled, run, disabled and uninstalled in a fresh profile."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from blender_process import fresh_profile

ROOT = Path(__file__).parents[2]

SCRIPT = """
import os, sys
import bpy, addon_utils
ok = bpy.ops.extensions.package_install_files(filepath=sys.argv[1], repo="user_default", enable_on_install=True)
name = "bl_ext.user_default.curved_body_finishing"
assert addon_utils.check(name) == (True, True)
for _ in range(2):
    addon_utils.disable(name, default_set=True)
    assert not hasattr(bpy.types, "FINISHING_PT_body") and not hasattr(bpy.types.Object, "finishing")
    addon_utils.enable(name, default_set=True)
bpy.ops.wm.open_mainfile(filepath=sys.argv[2])
body = bpy.context.view_layer.objects.active
body.finishing.cell_mm = 0.5
body.finishing.lines_from = "edge"
scene = bpy.context.scene
bpy.ops.finishing.rack(change="fill")
body.finishing.cutter_name = next(c.name for c in scene.finishing.cutters if c.diameter_mm == 16.0)
assert not bpy.ops.finishing.export.poll()
from bl_ext.user_default.curved_body_finishing.scene.results import STORE
assert bpy.ops.finishing.survey() == {"FINISHED"}
assert len(STORE.find(body).survey.rack) == 8
assert bpy.ops.finishing.show_fit(cutter="Round-nose 22") == {"FINISHED"}
fit_map = next(m for c, m in STORE.find(body).fit_maps.items() if c.diameter == 22.0)
assert not fit_map.fit.fits
assert bpy.ops.finishing.plan() == {"FINISHED"}
assert bpy.ops.finishing.export(directory=sys.argv[3], pictures=False, replace=True) == {"FINISHED"}
assert STORE.find(body).plan.rack == STORE.find(body).survey.rack
import numpy as np
plan = STORE.find(body).plan
assert bpy.ops.finishing.keep_lines() == {"FINISHED"}
lines = next(o for o in bpy.data.objects if o.name.endswith("pass lines"))
assert len(lines.data.edges) == len(plan.path) - 1
feeds = np.empty(len(lines.data.edges), np.float32)
lines.data.attributes["finish_feed"].data.foreach_get("value", feeds)
np.testing.assert_allclose(feeds, plan.path.feed[1:])
numbers = np.empty(len(lines.data.edges), np.int32)
lines.data.attributes["finish_line"].data.foreach_get("value", numbers)
assert (numbers == plan.path.line[1:]).all()
co = np.empty(3 * len(lines.data.vertices), np.float32)
lines.data.vertices.foreach_get("co", co)
world = co.reshape(-1, 3) * bpy.context.scene.unit_settings.scale_length * 1000  # the ball's tip lies on or above the body, in world mm
job = world @ plan.job_from_body[:3, :3].T + plan.job_from_body[:3, 3]
np.testing.assert_allclose(job, plan.path.points, atol=1e-3)
import glob
for pattern in ("*plan.json", "*round-nose-16.csv"):
    before = set(bpy.data.objects.keys())
    assert bpy.ops.finishing.read_plan(filepath=glob.glob(sys.argv[3] + "/" + pattern)[0]) == {"FINISHED"}
    read = bpy.data.objects[(set(bpy.data.objects.keys()) - before).pop()]
    assert len(read.data.edges) == len(plan.path) - 1
try:
    bpy.ops.finishing.read_plan(filepath=sys.argv[2])
    raise AssertionError("read a plan from no plan")
except RuntimeError:
    pass
assert bpy.context.view_layer.objects.active == body
body.finishing.side = "back"
assert bpy.ops.finishing.plan() == {"FINISHED"}
assert bpy.ops.finishing.export(directory=sys.argv[3] + "/both", pictures=False, programs=True, replace=True) == {"FINISHED"}
rows = open(glob.glob(sys.argv[3] + "/both/*run-list.csv")[0]).read().splitlines()
assert [row.split(",")[1] for row in rows[1:]] == ["top", "back"], rows
assert len(glob.glob(sys.argv[3] + "/both/*.nc")) == 6  # for each side the path and two dry runs
body.finishing.side = "top"
body.data.polygons.foreach_set("select", [True] * len(body.data.polygons))
assert bpy.ops.finishing.skip_selected() == {"FINISHED"}
try:
    bpy.ops.finishing.plan()
    raise AssertionError("planned though everything is skipped")
except RuntimeError as error:
    assert "Nothing is left to plan" in str(error)
assert bpy.ops.finishing.clear_skip() == {"FINISHED"}
tools = bpy.context.workspace.tools
assert bpy.ops.finishing.paint_skip() == {"FINISHED"} and tools.from_space_view3d_mode("OBJECT").idname == "finishing.skip_tool"
assert bpy.ops.finishing.paint_skip() == {"FINISHED"} and tools.from_space_view3d_mode("OBJECT").idname != "finishing.skip_tool"
for change, count in (("duplicate", 9), ("down", 9), ("up", 9), ("remove", 8), ("add", 9), ("remove", 8)):
    bpy.ops.finishing.rack(change=change)
    assert len(scene.finishing.cutters) == count
    assert len({c.name for c in scene.finishing.cutters}) == count
body.finishing.cusp_mm = 0.08
assert not bpy.ops.finishing.export.poll()
bpy.ops.wm.save_as_mainfile(filepath=sys.argv[3] + "/saved.blend")
bpy.ops.wm.open_mainfile(filepath=sys.argv[3] + "/saved.blend")
assert abs(bpy.context.view_layer.objects.active.finishing.cusp_mm - 0.08) < 1e-6
assert len(bpy.context.scene.finishing.cutters) == 8
addon_utils.disable(name, default_set=True)
index = [r.module for r in bpy.context.preferences.extensions.repos].index("user_default")
bpy.ops.extensions.package_uninstall(repo_index=index, pkg_id="curved_body_finishing")
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


@pytest.fixture(scope="module")
def zipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    import build

    python = Path(sys.executable)
    assert build.make_zip(python, []) == 0
    return next((ROOT / "dist").glob("curved_body_finishing-*.zip"))


def test_the_zip_installs_plans_and_leaves_nothing(zipped: Path, tmp_path: Path) -> None:
    script = tmp_path / "use.py"
    script.write_text(textwrap.dedent(SCRIPT))
    command = [sys.executable, str(script), str(zipped), str(ROOT / "blend_examples" / "carved_bass.blend"), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=400, cwd=tmp_path, env=fresh_profile(tmp_path), check=False)
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    assert "Traceback" not in done.stderr
    csv = (tmp_path / "carved-bass-top-1-round-nose-16.csv").read_bytes()
    # The same plan by the command line, in the same coordinates to the last digit.
    from addon.command import run

    settings = tmp_path / "settings.json"
    settings.write_text('{"settings": {"cell": 0.5, "lines_from": "edge"}}')
    out = tmp_path / "command"
    words = ["plan", str(ROOT / "blend_examples" / "carved_bass.blend"), "--cutter", "16", "--settings", str(settings), "--out", str(out)]
    assert run(words) in (0, 3)
    assert (out / "carved-bass-top-1-round-nose-16.csv").read_bytes() == csv
