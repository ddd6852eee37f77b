"""From an empty scene to files: examples, a mesh file in its true size, the scene's unit, lengths in mm, and the export's own folder."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

from blender_process import fresh_profile

ROOT = Path(__file__).parents[2]

SCRIPT = """
import os, sys, struct
from pathlib import Path
os.environ["HOME"] = sys.argv[2]
sys.path[:0] = [sys.argv[1]]
import bpy, numpy as np
import addon
addon.register()
from addon.scene.length_properties import seen_name
from addon.scene.mesh_reading import read_body
from addon.scene.rack_settings import shop_of
from addon.scene.results import STORE
finished, home = {"FINISHED"}, Path(sys.argv[2])
bpy.ops.wm.read_factory_settings(use_empty=False)  # as Blender starts: a cube of 2 m, one unit a metre
addon.unregister(); addon.register()
scene = bpy.context.scene
assert scene.unit_settings.length_unit != "MILLIMETERS" and scene.unit_settings.scale_length == 1.0

# Lengths are seen in mm although the scene shows metres, and are typed so.
cube = bpy.context.view_layer.objects.active
assert seen_name(cube.finishing, "cusp", scene) == "cusp_in_millimetres"
cube.finishing.cusp_in_millimetres = 0.08
assert abs(cube.finishing.cusp_mm - 0.08) < 1e-6 and abs(cube.finishing.cusp - 0.00008) < 1e-9
declared = cube.finishing.bl_rna.properties["cusp_in_millimetres"]
assert declared.unit == "CAMERA" and bpy.utils.units.to_string("METRIC", "CAMERA", 0.05, precision=4) == "0.05 mm"
assert seen_name(cube.finishing, "finish", scene) == "finish"
# From a metre on Blender would show m: the number that is stored has no unit of its own.
assert bpy.utils.units.to_string("METRIC", "CAMERA", 1200.0, precision=4).endswith(" m")
bed = shop_of(scene).machine
bed.bed_x_mm = 1200.0
assert seen_name(bed, "bed_x", scene) == "bed_x_mm" and seen_name(bed, "travel_z", scene) == "travel_z_in_millimetres"
scene.unit_settings.length_unit = "MILLIMETERS"
assert seen_name(cube.finishing, "cusp", scene) == "cusp"
scene.unit_settings.length_unit = "METERS"

# The examples: each in its true size in mm, alone selected, lengths in mm, and the cube in its place hidden.
for name, title, size in (
    ("carved_bass", "Carved Bass", (438, 290, 42)), ("arched_plate", "Arched Plate", None), ("scooped_seat", "Scooped Seat", (412, 370, 46)),
):
    assert bpy.ops.finishing.open_example(example=name) == finished
    made = bpy.context.view_layer.objects.active
    assert made.name == title and [o.name for o in bpy.context.selected_objects] == [title]
    body = read_body(bpy.context, made)
    if size:
        assert np.abs(body.size - size).max() < 12, body.size
    assert cube.hide_get() and scene.unit_settings.length_unit == "MILLIMETERS"
    # Closed: every edge has two faces, so that inside and outside are known.
    edges = np.sort(np.array([e for p in made.data.polygons for e in p.edge_keys]), axis=1)
    assert (np.unique(edges, axis=0, return_counts=True)[1] == 2).all()
    made.hide_set(True)

# A mesh file: a block with a dome, written as binary STL in mm and once more in inches; both come in with the same true size.
def dome_triangles():
    u, v = np.meshgrid(np.linspace(0, 1, 31), np.linspace(0, 1, 25), indexing="ij")
    top = np.stack([200 * u, 150 * v, 20 + 12 * np.sin(np.pi * u) * np.sin(np.pi * v)], axis=-1)
    bottom = top * (1, 1, 0)
    out = []
    for grid, turn in ((top, 1), (bottom, -1)):
        a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
        both = np.concatenate([np.stack([a, b, c], -2).reshape(-1, 3, 3), np.stack([a, c, d], -2).reshape(-1, 3, 3)])
        out.append(both[:, ::turn])
    for above, below in ((top[:, 0], bottom[:, 0]), (top[-1], bottom[-1]), (top[::-1, -1], bottom[::-1, -1]), (top[0, ::-1], bottom[0, ::-1])):
        out.append(np.stack([below[:-1], below[1:], above[1:]], -2))
        out.append(np.stack([below[:-1], above[1:], above[:-1]], -2))
    return np.concatenate(out)

def write_stl(path, triangles):
    rows = np.zeros(len(triangles), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")]))
    rows["corners"] = triangles
    path.write_bytes(bytes(80) + struct.pack("<I", len(rows)) + rows.tobytes())

triangles = dome_triangles()
for unit, millimetres in (("mm", 1.0), ("in", 25.4)):
    file = home / f"dome_{unit}.stl"
    write_stl(file, triangles / millimetres)
    assert bpy.ops.finishing.import_body(filepath=str(file)) == finished
    made = bpy.context.view_layer.objects.active
    assert made.name == f"dome_{unit}" and np.abs(read_body(bpy.context, made).size - (200, 150, 32)).max() < 0.01
    made.hide_set(True)
try:
    bpy.ops.finishing.import_body(filepath=str(home / "missing.stl"))
    raise AssertionError("read a file that is not there")
except RuntimeError as error:
    assert "missing.stl" in str(error)

# The same file as Blender's own importer brings it in: 200 m. One button makes it 200 mm; or, for a file in inches, the other one.
for unit, millimetres, shown in (("mm", 1.0, "MILLIMETERS"), ("in", 25.4, "INCHES")):
    scene.unit_settings.system, scene.unit_settings.scale_length = "METRIC", 1.0
    places = (triangles / millimetres).reshape(-1, 3)
    mesh = bpy.data.meshes.new("plain")
    mesh.from_pydata(places.tolist(), [], np.arange(len(places)).reshape(-1, 3).tolist())
    made = bpy.data.objects.new("Imported", mesh)
    bpy.context.collection.objects.link(made)
    bpy.context.view_layer.objects.active = made
    assert max(made.dimensions) > 7  # metres
    assert bpy.ops.finishing.treat_as(unit=unit) == finished
    assert np.abs(read_body(bpy.context, made).size - (200, 150, 32)).max() < 0.01
    assert scene.unit_settings.length_unit == shown
    spaces = [a.spaces.active for w in bpy.context.window_manager.windows for a in w.screen.areas if a.type == "VIEW_3D"]
    for space in spaces:
        assert space.clip_end > 200 / millimetres > space.clip_start

# Planned and exported by the button: into a folder of the body's name, with programs, and again without a word about files that are there.
assert bpy.ops.finishing.treat_as(unit="in") == finished
made.finishing.cell_mm, made.finishing.lines_from, made.finishing.flats = 1.0, "edge", "skip"
assert bpy.ops.finishing.rack(change="fill") == finished
made.finishing.cutter_name = "Round-nose 16"
scene.finishing_export.pictures = False
assert bpy.ops.finishing.plan() == finished
for _ in range(2):
    assert bpy.ops.finishing.export("INVOKE_DEFAULT") == finished
    folder = Path(made.finishing_files.written)
    assert folder == home / "imported-001-finishing", folder
    names = sorted(f.name for f in folder.iterdir())
    assert any(n.endswith(".csv") for n in names) and any("dry" in n for n in names), names
    assert Path(made.finishing_files.bench_sheet).is_file()
programs = [n for n in names if n.endswith((".nc", ".ngc", ".tap"))]
assert programs, names
# The files of another job of this name are not touched.
made.finishing_files.written = ""
assert bpy.ops.finishing.export("INVOKE_DEFAULT") == finished
assert Path(made.finishing_files.written) == home / "imported-001-finishing-2"
# Without programs, when they are not wanted: the choice stays.
scene.finishing_export.programs = False
made.finishing_files.folder = str(home / "elsewhere")
assert bpy.ops.finishing.export("INVOKE_DEFAULT") == finished
assert not any(f.name in programs for f in (home / "elsewhere").iterdir()) and (home / "elsewhere").is_dir()

addon.unregister()
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def test_from_an_empty_scene_to_files(tmp_path: Path) -> None:
    script = tmp_path / "use.py"
    script.write_text(textwrap.dedent(SCRIPT))
    home = tmp_path / "home"
    home.mkdir()
    command = [sys.executable, str(script), str(ROOT), str(home)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, cwd=tmp_path, env=fresh_profile(tmp_path), check=False)
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    assert "Traceback" not in done.stderr, done.stderr[-3000:]
