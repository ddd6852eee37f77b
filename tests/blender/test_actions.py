"""The add-on's actions on real bpy, in one process of its own: deciding, comparing, suggesting, presets, playing, and the texts."""

from __future__ import annotations

import subprocess
import sys
import textwrap
from pathlib import Path

from blender_process import fresh_profile

ROOT = Path(__file__).parents[2]

SCRIPT = """
import os, sys
sys.path[:0] = [sys.argv[1], os.path.join(sys.argv[1], "tests", "blender")]
import bpy, numpy as np
import addon
addon.register(); addon.unregister(); addon.register()
from addon.finishing.core.path import CUT
from addon.scene.results import STORE
bpy.ops.wm.open_mainfile(filepath=sys.argv[2])
scene, body = bpy.context.scene, bpy.context.view_layer.objects.active
settings, view = body.finishing, bpy.context.window_manager.finishing_view
settings.cell_mm, settings.lines_from = 0.5, "edge"
finished = {"FINISHED"}

def ready(action):
    return getattr(bpy.ops.finishing, action).poll()

# Nothing is there yet: what needs a plan or a survey is grey.
assert not any(ready(a) for a in ("keep_plan", "choose_plan", "show_plan", "accept_skip", "treat_opening", "look_at", "play", "keep_lines"))
assert bpy.ops.finishing.rack(change="fill") == finished

# A body that stands on its edge is laid flat by a button, which is grey for one that lies.
assert not ready("lay_flat")
body.rotation_euler.x = np.pi / 2
bpy.context.view_layer.update()
assert ready("lay_flat") and bpy.ops.finishing.lay_flat() == finished and not ready("lay_flat")
assert abs(body.rotation_euler.x) < 1e-4 or abs(abs(body.rotation_euler.x) - np.pi) < 1e-4
body.matrix_world.identity()
bpy.context.view_layer.update()

# Suggestions: a flat, walls, the openings; accepted ones mark faces of the body that look up.
assert bpy.ops.finishing.survey() == finished
results = STORE.find(body)
kinds = [s.kind for s in results.survey.suggestions]
assert kinds[:2] == ["flat", "walls"] and kinds.count("opening") == 9, kinds
assert bpy.ops.finishing.treat_opening(number=2, treatment="bridge") == finished
assert bpy.ops.finishing.treat_opening(number=2, floor=1, treatment="follow") == finished
assert [(one.number, one.floor, one.treatment) for one in settings.opening_choices] == [(2, 0, "bridge"), (2, 1, "follow")]
assert bpy.ops.finishing.accept_skip(number=0) == finished
marked = np.zeros(len(body.data.polygons), bool)
body.data.attributes["finish_skip"].data.foreach_get("value", marked)
areas, normals = np.empty(len(marked), np.float32), np.empty(3 * len(marked), np.float32)
body.data.polygons.foreach_get("area", areas); body.data.polygons.foreach_get("normal", normals)
unit = scene.unit_settings.scale_length * 1000
assert abs(areas[marked].sum() * unit * unit / results.survey.suggestions[0].area - 1) < 0.05
assert normals.reshape(-1, 3)[marked, 2].min() > 0.9
assert bpy.ops.finishing.clear_skip() == finished
settings.opening_choices.clear()

# One click leaves flats, walls and openings to flat cutters; here all flats are to be planned.
settings.wall_limit = 1.3
assert bpy.ops.finishing.leave_to_flat_cutters() == finished
assert (settings.flats, settings.openings, round(settings.wall_limit, 3)) == ("skip", "skip", 1.047)
settings.flats, settings.openings = "follow", "auto"

# Work made elsewhere and a budget; smaller cutters take what is left; the sum is told.
for rows in ("elsewhere", "keep_out"):
    assert bpy.ops.finishing.list(rows=rows, change="add") == finished
settings.elsewhere[0].minutes = 6.0
settings.keep_out[0].low, settings.keep_out[0].high = (300, 300, 0), (340, 330, 60)
settings.use_budget, settings.budget_minutes, settings.meet_budget = True, 16.0, False
settings.cutter_name, settings.smaller_cutters = "Round-nose 22", True
assert bpy.ops.finishing.plan() == finished
plans = results.plans
assert [p.cutter.diameter for p in plans] == [22.0, 16.0]
answer = plans[0].budget
assert abs(answer.for_finishing - (16.0 - 6.0 - 2.0)) < 1e-6
keys = {f.key for f in plans[0].findings}
assert {"budget-missed", "kept-out", "flat", "left-to-smaller"} <= keys, keys

# What is suggested is applied by a button, each of which can be undone: measures, findings, and the budget as an order.
from addon.actions.applying import FINISHING_OT_apply, suggested
from addon.scene.change_applying import APPLIED, apply_changes
from addon.finishing.core.finding import Change
assert ready("apply") and "UNDO" in FINISHING_OT_apply.bl_options
measures = [tuple(c.setting for c in m.changes) for m in answer.measures]
assert ("feed",) in measures and ("cusp",) in measures, measures
assert bpy.ops.finishing.apply(kind="measure", number=measures.index(("feed",))) == finished
assert settings.use_feed and settings.feed == answer.measures[measures.index(("feed",))].changes[0].value > 3500
settings.use_feed, settings.meet_budget, settings.use_fixed_spacing = False, True, True
assert bpy.ops.finishing.apply(kind="measure", number=measures.index(("cusp",))) == finished
assert settings.cusp_mm > 0.05 and not settings.meet_budget and not settings.use_fixed_spacing
settings.cusp_mm = 0.05
number = next(k for k, f in enumerate(plans[0].findings) if f.key == "flat")
settings.flats = "auto"
assert bpy.ops.finishing.apply(kind="finding", number=number) == finished and settings.flats == "skip"
settings.flats = "follow"
assert bpy.ops.finishing.apply(kind="budget") == finished and settings.meet_budget and settings.cutter_name == ""
for kind, number in (("measure", 999), ("finding", 999)):
    try:
        bpy.ops.finishing.apply(kind=kind, number=number)
        raise AssertionError("applied what nobody suggests")
    except RuntimeError as error:
        assert "no such suggestion" in str(error)
racked = len(scene.finishing.cutters)
apply_changes(scene, body, (Change("rack", 14.0),))
assert len(scene.finishing.cutters) == racked + 1 and abs(scene.finishing.cutters[racked].diameter_mm - 14.0) < 1e-6
scene.finishing.cutters.remove(racked)
apply_changes(scene, body, (Change("cutters", "22,12"), Change("region.overrun", 0.0), Change("region.wall_limit", 50.0), Change("smooth", None)))
assert (settings.cutter_name, settings.following_cutters, settings.use_overrun, settings.smoothing) == ("Round-nose 22", "12", True, "auto")
settings.following_cutters, settings.use_overrun, settings.smoothing, settings.meet_budget = "", False, "none", False
import ast, pathlib
used = set()
for file in pathlib.Path(sys.argv[1], "addon", "finishing").rglob("*.py"):
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Change" and isinstance(node.args[0], ast.Constant):
            used.add(node.args[0].value)
assert len(used) > 10 and used <= set(APPLIED) | {"cutters", "rack"}, used - set(APPLIED)
settings.wall_limit = 1.047198
revision = results.revision
assert bpy.ops.finishing.show_plan(number=1) == finished and results.plan is plans[1] and results.revision > revision
assert bpy.ops.finishing.show_plan(number=0) == finished
assert bpy.ops.finishing.export(directory=sys.argv[3], pictures=False, replace=True) == finished
names = sorted(os.listdir(sys.argv[3]))
assert [n for n in names if n.endswith(".csv")] == [
    "carved-bass-run-list.csv", "carved-bass-top-2-round-nose-22.csv", "carved-bass-top-3-round-nose-16.csv"], names
run_list = open(sys.argv[3] + "/carved-bass-run-list.csv").read().splitlines()
assert [r.split(",")[2] for r in run_list[1:]] == ["Roughing", "finishing", "finishing"], run_list

# Playing: without a window the run goes to its end; the slider is a share of the run time.
assert bpy.ops.finishing.play() == finished
assert abs(view.playhead - plans[0].run_time.total_seconds) < 0.1 and abs(view.played_share - 1) < 1e-3
view.played_share = 0.25
assert abs(view.playhead - 0.25 * plans[0].run_time.total_seconds) < 0.1

# The timing test: its program is written, times of a machine set the record to it, times of no machine change nothing.
from addon.finishing.job.machine import Machine
from addon.finishing.motion.timing_test import pattern_seconds, timing_patterns
assert bpy.ops.finishing.timing_program(directory=sys.argv[3], replace=True) == finished
assert b"Pattern 5 of 5" in open(os.path.join(sys.argv[3], "timing-test.nc"), "rb").read()
os.remove(os.path.join(sys.argv[3], "timing-test.nc"))
order = ("first", "second", "third", "fourth", "fifth")
from addon.scene.rack_settings import machine_of, set_record
record = machine_of(scene.finishing.machine)
seconds = pattern_seconds(timing_patterns(), Machine(speed_x=4000.0, speed_y=4000.0, acceleration_x=300.0, acceleration_y=300.0))
assert bpy.ops.finishing.timing_times(**dict(zip(order, seconds.tolist()))) == finished
assert abs(scene.finishing.machine.speed_x / 4000.0 - 1) < 0.05 and scene.finishing.machine.timing_tested
for wrong in (seconds * 0, seconds * (1, 3, 1, 0.3, 1)):
    try:
        assert bpy.ops.finishing.timing_times(**dict(zip(order, wrong.tolist()))) == {"CANCELLED"}
    except RuntimeError:
        pass
    assert abs(scene.finishing.machine.speed_x / 4000.0 - 1) < 0.05
set_record(scene.finishing.machine, record)

# A measured run: planned again, the estimate is what was measured, and is told with less doubt.
estimated = plans[0].run_time.minutes
assert bpy.ops.finishing.measured_run(minutes=1.2 * estimated) == finished
assert abs(scene.finishing.machine.time_factor - 1.2) < 1e-3
settings.smaller_cutters = False
assert bpy.ops.finishing.plan() == finished
assert abs(results.plan.run_time.minutes / (1.2 * estimated) - 1) < 1e-3
assert results.plan.run_time.uncertainty < plans[0].run_time.uncertainty
try:
    bpy.ops.finishing.measured_run(minutes=0.0)
    raise AssertionError("took a run of no time")
except RuntimeError as error:
    assert "above 0 minutes" in str(error)
# A time that cannot belong to this run is refused, and the factor stays.
kept = scene.finishing.machine.time_factor
try:
    bpy.ops.finishing.measured_run(minutes=100 * estimated)
    raise AssertionError("took a run of another body")
except RuntimeError as error:
    assert "check that it belongs to this run" in str(error)
assert scene.finishing.machine.time_factor == kept
scene.finishing.machine.time_factor = 1.0
settings.smaller_cutters = True
assert bpy.ops.finishing.plan() == finished

# A logged run: the next plan for this machine, cutter and wood takes its minutes and grit.
assert bpy.ops.finishing.log_run(minutes=1.3 * estimated, grit=120, remarks="quiet") == finished
assert bpy.ops.finishing.plan() == finished
assert abs(results.plan.run_time.minutes / (1.3 * estimated) - 1) < 1e-3 and results.plan.sanding.first_grit == 120
assert {"logged-minutes", "logged-grit", "logged-remark"} <= {f.key for f in results.plan.findings}
os.remove(os.environ["BODY_FINISHING_LOG"])
assert bpy.ops.finishing.plan() == finished

# Two plans side by side, and the choice kept; it comes back with the file.
assert bpy.ops.finishing.keep_plan() == finished
settings.cutter_name, settings.cusp_mm, settings.smaller_cutters = "Round-nose 12", 0.08, False
settings.elsewhere.clear()
assert results.state(scene, body) == "settings"
assert bpy.ops.finishing.plan() == finished and bpy.ops.finishing.keep_plan() == finished
settings.active_kept = 0
assert bpy.ops.finishing.choose_plan() == finished
assert settings.cutter_name == "Round-nose 22" and abs(settings.cusp_mm - 0.05) < 1e-6 and settings.smaller_cutters
assert [k.chosen for k in settings.kept_plans] == [True, False]

# A kept plan in somebody else's file is looked at as a settings file is: none of its settings is taken, or all.
import json
from addon.scene.kept_plans import kept_figures
good, settings.active_kept = settings.kept_plans[1].text, 1
def taken():
    return settings.cusp_mm, settings.side, settings.cutter_name, settings.wood, [k.chosen for k in settings.kept_plans]
before = taken()
assert kept_figures(good).cusp == 0.08
for bad in (
    "", "[]", "{", '{"figures": {}}', '{"settings": 5}', '{"settings": {"cusp": NaN}}', '{"settings": {"cusp": 0.1, "side": "left"}}',
    '{"settings": {"cusp": true}}', '{"settings": {"cusp": 0.2, "region": {"wall_limit": "steep"}}}', '{"settings": {"cusp": 0.2, "more": 1}}',
    '{"settings": {"cusp": 1e999}}', '{"settings": {"cusp": 0.2, "cutter": {"name": "a"}}}', "[" * 100000, chr(0xE9) + "x",
):
    settings.kept_plans[1].text = bad
    try:
        bpy.ops.finishing.choose_plan()
        raise AssertionError(bad[:60])
    except RuntimeError as error:
        assert "kept plan" in str(error), error
    assert taken() == before and kept_figures(bad) is None, bad[:60]
lacking = json.loads(good)
del lacking["settings"]["grain_angle"], lacking["settings"]["bite"]["wood"]
settings.kept_plans[1].text, settings.wood = json.dumps(lacking), "softwood"
assert bpy.ops.finishing.choose_plan() == finished and abs(settings.cusp_mm - 0.08) < 1e-6 and settings.wood == "softwood"
# Settings that contradict each other now are no hindrance: others take their place.
settings.kept_plans[1].text, settings.cutter_name = good, "no such cutter"
assert results.state(scene, body) == "settings"
assert bpy.ops.finishing.choose_plan() == finished and settings.cutter_name == "Round-nose 12" and abs(settings.cusp_mm - 0.08) < 1e-6
settings.kept_plans[1].text, settings.active_kept, settings.wood = good, 0, before[3]
assert bpy.ops.finishing.choose_plan() == finished and taken() == before

# So is the rack: numbers that a panel would not take are not planned with.
if bpy.app.version < (5, 0):  # later ones let nobody write beside the property's limits
    row = next(item for item in scene.finishing.cutters if item.name == settings.cutter_name)
    whole = row.diameter_mm
    for wrong in (-5.0, 0.0, float("nan"), float("inf"), 1e30):
        row["diameter_mm"] = wrong
        try:
            bpy.ops.finishing.plan()
            raise AssertionError(wrong)
        except RuntimeError as error:
            assert "diameter" in str(error).lower(), error
    row.diameter_mm = whole

# The kept lines go with the body.
assert bpy.ops.finishing.plan() == finished and bpy.ops.finishing.keep_lines() == finished
lines = next(o for o in bpy.data.objects if o.name.endswith("pass lines"))
before = lines.matrix_world.translation.copy()
body.location.x += 1.0
bpy.context.view_layer.update()
assert abs(lines.matrix_world.translation.x - before.x - 1.0) < 1e-5
body.location.x -= 1.0

# The stock as another object: a block that hides the body stands in the way everywhere, and the bite tells it.
bpy.ops.mesh.primitive_cube_add(size=1)
block = bpy.context.active_object
corners = np.array([body.matrix_world @ __import__("mathutils").Vector(c) for c in body.bound_box])
block.location, block.scale = corners.mean(axis=0), (corners.max(axis=0) - corners.min(axis=0))
block.name = "Rough Stock"
bpy.context.view_layer.objects.active = body
settings.stock_object = block
assert bpy.ops.finishing.plan() == finished
depth = results.plan.bite.engagement.depth
assert depth.max() > 10.0 and np.median(depth) < 0.2, (depth.max(), np.median(depth))
settings.stock_object = None

# Presets: bundled ones are found and set the machine and the rack; an own one is saved and found too.
paths = bpy.utils.preset_paths("finishing/machine")
assert any(os.path.exists(os.path.join(p, "example_belt_drive_measure_yours.py")) for p in paths), paths
home = os.path.join(sys.argv[1], "addon", "presets", "finishing")
for kind, name in (("machine", "example_belt_drive_measure_yours"), ("rack", "body_work")):
    assert bpy.ops.finishing.apply_preset(filepath=os.path.join(home, kind, name + ".py"), kind=kind) == finished
assert scene.finishing.machine.speed_x == 6000.0 and abs(scene.finishing.machine.nut_diameter_mm - 25.0) < 1e-6
assert [round(c.diameter_mm) for c in scene.finishing.cutters] == [12, 16, 22, 25, 32]
scene.unit_settings.scale_length = 0.001
bpy.ops.finishing.rack_preset(name="mine")
scene.finishing.cutters.clear()
mine = [os.path.join(p, "mine.py") for p in bpy.utils.preset_paths("finishing/rack")]
path = next(p for p in mine if os.path.exists(p))
assert bpy.ops.finishing.apply_preset(filepath=path, kind="rack") == finished
assert [round(c.diameter_mm) for c in scene.finishing.cutters] == [12, 16, 22, 25, 32]


# Whatever this body's plans and suggestions say, and the stages they went through, is said in German too, with the same numbers.
import re
from addon.finishing.core.result_store import ResultStore
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.planning.stage_words import step_words
from addon.finishing.planning.survey import fit_map_steps, survey_steps
from addon.screen import language
from addon.screen.translations import ALL_GERMAN
language.pgettext_iface = lambda text, context: ALL_GERMAN.get(text, text)
said = [f.words for p in plans for f in p.findings] + [s.words for s in results.survey.suggestions]
said += [plans[0].budget.words] + [m.sentence for m in plans[0].budget.measures]
assert len(said) > 25
for message in said:
    english, shown = str(message), language.in_users_language(message)
    assert shown != english and not re.search(r"\\b(the|is|are|minutes|leaves|wide)\\b", shown), (english, shown)
    numbers = [n.replace(",", ".") for n in re.findall(r"[0-9]+(?:,[0-9]+)?", shown)]
    assert sorted(numbers) == sorted(re.findall(r"[0-9]+(?:[.][0-9]+)?", english)), (english, shown)
stages = {stage for steps in (side_plans(plans[0].request, ResultStore()), survey_steps(plans[0].request, ResultStore()),
    fit_map_steps(plans[0].request, plans[0].cutter, ResultStore())) for _, stage in steps} | {"body", "files"}
steps = {str(step_words(stage)) for stage in stages}
assert len(stages) > 8 and len(steps) > 4 and not steps - set(ALL_GERMAN), sorted(steps - set(ALL_GERMAN))

# Panels and menus draw what has been worked out, in German, into a layout that writes down what it is given: no English word, no point
# in a number.
from types import SimpleNamespace
from addon.screen import body_panels, menus, outcome_panels, plan_panels, result_panels, shop_panels

class Layout:
    def __init__(self, texts):
        self.__dict__["texts"] = texts
    def __setattr__(self, name, value):
        pass
    def __getattr__(self, name):
        def lay(*_, text="", translate=True, **__):
            if text and not translate:
                self.texts.append(text)
            return self
        return lay

texts = []
around = SimpleNamespace(
    object=body, scene=scene, selected_objects=[body], window_manager=bpy.context.window_manager, region=SimpleNamespace(width=300),
    workspace=bpy.context.workspace, mode="OBJECT", preferences=SimpleNamespace(system=SimpleNamespace(ui_scale=1.0)))
assert results.plan.findings and results.survey.suggestions and len(settings.kept_plans) == 2
assert bpy.ops.finishing.list(rows="elsewhere", change="add") == finished
drawn = [*body_panels.CLASSES, *shop_panels.CLASSES, *plan_panels.CLASSES, *result_panels.CLASSES, *outcome_panels.CLASSES, *menus.MENUS]
for cls in drawn:
    if "draw" in vars(cls):
        cls.draw(SimpleNamespace(layout=Layout(texts), _table=lambda *given: shop_panels.FINISHING_PT_rack._table(None, *given)), around)
said = " ".join(texts)
assert len(texts) > 60 and "Minuten" in said and "Befund" not in said
assert not re.search(r"\\b(the|and|is|are|minutes|lines)\\b|[0-9][.][0-9]", said.replace(body.name, "")), said

# A press on the chart chooses cutter and cusp height, which the time budget then says no more; one step back takes it all back.
from addon.overlay.mouse_following import FINISHING_GT_cursor
from addon.overlay.trade_off_drawing import CHART, PRESSED
settings.meet_budget, settings.cutter_name, settings.cusp_mm = True, "", 0.05
bpy.ops.ed.undo_push(message="before")
PRESSED.at = lambda *_: ("Round-nose 16", 0.08)
pressed = SimpleNamespace(_name=CHART, _start=(5, 5), _last=(5, 5))
window = SimpleNamespace(window_manager=bpy.context.window_manager, region=SimpleNamespace(as_pointer=lambda: 1))
FINISHING_GT_cursor.exit(pressed, window, False)
del PRESSED.at
scene, body = bpy.context.scene, bpy.context.view_layer.objects.active
settings = body.finishing
assert (settings.cutter_name, round(settings.cusp_mm, 3), settings.meet_budget) == ("Round-nose 16", 0.08, False)
assert bpy.ops.ed.undo() == finished
scene, body = bpy.context.scene, bpy.context.view_layer.objects.active
settings = body.finishing
assert (settings.cutter_name, round(settings.cusp_mm, 3), settings.meet_budget) == ("", 0.05, True)
settings.meet_budget = False

# A coupon that was cut with a cutter of the built-in rack is entered on a rack of this file; one of a cutter that is nowhere sets nothing.
assert bpy.ops.finishing.plan() == finished
results = STORE.find(body)
cutter = results.plan.cutter.name
folder = os.path.join(sys.argv[3], "coupon")
os.mkdir(folder)
assert bpy.ops.finishing.write_coupon(directory=folder) == finished
assert sorted(os.listdir(folder)) == ["coupon-sheet.html", "coupon.json", "coupon.nc"], os.listdir(folder)
from addon.finishing.options.coupon import groove_width
import json
record = json.load(open(os.path.join(folder, "coupon.json")))
groove = groove_width(record["coupon"]["cutter"]["diameter"] / 2 + 0.02, record["coupon"]["groove_depth"])
assert bpy.ops.finishing.take_coupon(filepath=os.path.join(folder, "coupon.json"), groove=groove) == finished
assert next(row for row in scene.finishing.cutters if row.name == cutter).measured_diameter_mm > 0
from addon.finishing.job.cutter import DEFAULT_RACK
scene.finishing.cutters.clear()
there = cutter in {each.name for each in DEFAULT_RACK}
assert there, cutter
assert bpy.ops.finishing.take_coupon(filepath=os.path.join(folder, "coupon.json"), groove=groove) == finished
assert len(scene.finishing.cutters) == len(DEFAULT_RACK)
assert next(row for row in scene.finishing.cutters if row.name == cutter).measured_diameter_mm > 0
next(row for row in scene.finishing.cutters if row.name == cutter).name = "Another"
factor, cusp = scene.finishing.machine.time_factor, settings.cusp_mm
try:
    bpy.ops.finishing.take_coupon(filepath=os.path.join(folder, "coupon.json"), groove=groove, seconds=2 * record["coupon"]["timed_seconds"], field=3)
    raise AssertionError("entered on a rack without the cutter")
except RuntimeError as error:
    assert cutter in str(error)
assert (scene.finishing.machine.time_factor, settings.cusp_mm) == (factor, cusp)

# Export writes at once; Export Otherwise asks, beginning with what the panel says, and what is chosen there does not stay.
from addon.actions.exporting import FINISHING_OT_export
asked, ran = [], []
manager = SimpleNamespace(fileselect_add=asked.append)
button = SimpleNamespace(ask=False, execute=lambda context: ran.append(context) or finished, _take_from_panel=lambda context: asked.append("panel"))
assert FINISHING_OT_export.invoke(button, SimpleNamespace(window_manager=manager), None) == finished and ran and not asked
button.ask = True
assert FINISHING_OT_export.invoke(button, SimpleNamespace(window_manager=manager), None) == {"RUNNING_MODAL"} and asked == ["panel", button]
declared = bpy.ops.finishing.export.get_rna_type().properties
for name in ("ask", "finished_surface", "from_line", "of_cutter_mm", "despite_hits", "replace"):
    assert declared[name].is_skip_save, name
    assert declared[name].is_hidden == (name == "ask"), name

# Tooltips are there, and are sentences: they begin with a capital letter and carry no full stop, as Blender wants them.
for name in dir(bpy.ops.finishing):
    tip = getattr(bpy.ops.finishing, name).get_rna_type().description
    assert tip and tip[0].isupper() and not tip.endswith("."), (name, tip)

addon.unregister()
assert not hasattr(bpy.types.Object, "finishing")
assert not any("addon" in p for p in bpy.utils.preset_paths("finishing/machine"))
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def test_deciding_in_blender(tmp_path: Path) -> None:
    script = tmp_path / "use.py"
    script.write_text(textwrap.dedent(SCRIPT))
    out = tmp_path / "written"
    out.mkdir()
    done = subprocess.run(
        [sys.executable, str(script), str(ROOT), str(ROOT / "blend_examples" / "carved_bass.blend"), str(out)],
        capture_output=True, text=True, timeout=500, cwd=tmp_path, env=fresh_profile(tmp_path), check=False,
    )  # fmt: skip
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    assert "Traceback" not in done.stderr, done.stderr[-3000:]
