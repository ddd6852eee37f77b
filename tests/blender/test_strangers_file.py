"""Opening somebody's .blend with the extension on: nothing of the extension runs but what forgets earlier results and renames earlier settings."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

from blender_process import fresh_profile

ROOT = Path(__file__).parents[2]

SCRIPT = """
import os, sys, threading
sys.path.insert(0, sys.argv[1])
import bpy
import addon

folder = sys.argv[2]
mark = os.path.join(folder, "mark")
strange = os.path.join(folder, "strange.blend")

# A file as somebody might mean it: a text that registers itself, a driver that writes, and settings that are no settings.
bpy.ops.wm.read_factory_settings(use_empty=True)
addon.register()
mesh = bpy.data.meshes.new("body")
mesh.from_pydata([(0, 0, 0), (90, 0, 0), (0, 60, 0), (0, 0, 30)], [], [(0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2)])
body = bpy.data.objects.new("body", mesh)
bpy.context.scene.collection.objects.link(body)
text = bpy.data.texts.new("init.py")
text.use_module = True
text.write(f"open({mark!r}, 'a').write('text')")
driver = body.driver_add("location", 0).driver
driver.type, driver.expression = "SCRIPTED", f"open({mark!r}, 'a').write('driver')"
body.finishing.cutter_name = f"__import__('os').system('touch {mark}')"
body.finishing.following_cutters = "{0.__class__}"
kept = body.finishing.kept_plans.add()
kept.name, kept.text = "{broken", "__import__('os')"
cutter = bpy.context.scene.finishing.cutters.add()
cutter.name = "=cmd()"
addon.unregister()
for name, value in (("number", 5), ("text", "start"), ("list", [1, 2]), ("odd", {"start": {"a": 1}, "machine": 3})):
    bpy.context.scene.collection.objects.link(bpy.data.objects.new(name, mesh))
    bpy.data.objects[name]["finishing"] = value
    bpy.data.scenes.new(name)["finishing"] = value
addon.register()
bpy.ops.wm.save_as_mainfile(filepath=strange)
bpy.ops.wm.read_factory_settings(use_empty=True)

# What the file holds of ours is as it was saved, and opening it called nothing of ours but what forgets and renames.
threads, called = threading.active_count(), set()
def look(frame, event, _argument):
    if event == "call" and os.path.join("", "addon", "") in frame.f_code.co_filename and sys.argv[1] in frame.f_code.co_filename:
        called.add((os.path.relpath(frame.f_code.co_filename, sys.argv[1]), frame.f_code.co_name))
sys.setprofile(look)
bpy.ops.wm.open_mainfile(filepath=strange)
bpy.context.view_layer.update()
sys.setprofile(None)
from addon.scene.background import WORK
from addon.scene.change_watching import compare_suspects
from addon.scene.results import STORE
forgetting = {"_loaded", "clear", "forget", "notify", "__len__", "__iter__", "_updated"}
others = {
    (file, name) for file, name in called
    if name not in forgetting and "redraw" not in name and not file.endswith("former_properties.py") and "overlay" not in file
}
assert called and not others, sorted(others)
assert len(STORE) == 0 and WORK.worker is None and threading.active_count() == threads
assert not bpy.app.timers.is_registered(compare_suspects)
assert bpy.data.objects["body"].finishing.kept_plans[0].text == "__import__('os')"
assert not os.path.exists(mark), open(mark).read()

# And asked for, every action refuses the settings with its sentence; nothing of them is run even then.
body = bpy.data.objects["body"]
bpy.context.view_layer.objects.active = body
for action in (bpy.ops.finishing.plan, bpy.ops.finishing.survey):
    try:
        assert action() == {"CANCELLED"}
    except RuntimeError as error:
        assert "cutter" in str(error), error
assert not os.path.exists(mark)
addon.unregister()
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def test_opening_a_strangers_file_runs_nothing_of_ours(tmp_path: Path) -> None:
    script = tmp_path / "open.py"
    script.write_text(textwrap.dedent(SCRIPT))
    command = [sys.executable, str(script), str(ROOT), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=100, env=fresh_profile(tmp_path), check=False)
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    assert "Traceback" not in done.stdout + done.stderr
