"""The order of the panels, the finish by name, both sides at once, turning to a side, and that no label is cut off: on real bpy."""

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
from types import SimpleNamespace
from mathutils import Quaternion, Vector
import addon
addon.register()
from addon.scene.results import STORE
from addon.scene.side_turning import turn_view
from addon.screen import body_panels, language, outcome_panels, panel_parts, plan_panels, result_panels, shop_panels
from addon.screen.translations import ALL_GERMAN
finished = {"FINISHED"}

# Seven panels in the order of the work; all others are folded under one that is called More, but for rows of presets.
panels = [cls for part in (body_panels, shop_panels, plan_panels, result_panels, outcome_panels) for cls in part.CLASSES
    if issubclass(cls, panel_parts.TabPanel)]
top = sorted((cls for cls in panels if not hasattr(cls, "bl_parent_id")), key=lambda cls: cls.bl_order)
assert [cls.bl_label for cls in top] == ["Body", "Cutters", "Finish", "Skip", "Time", "Result", "Export"], top
named = {cls.bl_idname: cls for cls in panels}
for cls in panels:
    if cls in top:
        continue
    road = [cls]
    while hasattr(road[-1], "bl_parent_id"):
        road.append(named[road[-1].bl_parent_id])
    assert road[-2].bl_label == "More" and all("DEFAULT_CLOSED" in each.bl_options for each in road[:-1]), road

# A body of two domes, 120 x 80 mm, with a flat one beside it.
def heap(name, top, back):
    u, v = np.meshgrid(np.linspace(-1, 1, 41), np.linspace(-1, 1, 29), indexing="ij")
    dome = np.maximum(0.0, 1 - u**2) * np.maximum(0.0, 1 - v**2)
    rows = [np.column_stack([60 * u.ravel(), 40 * v.ravel(), (4 + top * dome).ravel()]),
        np.column_stack([60 * u.ravel(), 40 * v.ravel(), (-4 - back * dome).ravel()])]
    count, (n, m) = u.size, u.shape
    quads = [(i * m + j, (i + 1) * m + j, (i + 1) * m + j + 1, i * m + j + 1) for i in range(n - 1) for j in range(m - 1)]
    rim = [*((i * m) for i in range(n)), *((n - 1) * m + j for j in range(1, m)), *((i * m + m - 1) for i in range(n - 2, -1, -1)),
        *(j for j in range(m - 2, 0, -1))]
    walls = [(a + count, b + count, b, a) for a, b in zip(rim, rim[1:] + rim[:1])]
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata((np.vstack(rows) / 1000).tolist(), [], [*quads, *(tuple(c + count for c in reversed(q)) for q in quads), *walls])
    mesh.validate()
    made = bpy.data.objects.new(name, mesh)
    bpy.context.collection.objects.link(made)
    return made

body, flat = heap("Two Domes", 6.0, 3.0), heap("Flat Back", 6.0, 0.0)
scene = bpy.context.scene
bpy.context.view_layer.objects.active = body
settings = body.finishing
settings.cell_mm, settings.lines_from, settings.cutter_name = 1.0, "edge", ""
assert bpy.ops.finishing.rack(change="fill") == finished
settings.cutter_name = "Round-nose 16"

# The finish by name is the cusp height, both ways; the spacing that is kept begins as the cusp height has it.
assert settings.finish == "normal"
settings.finish = "coarse"
assert abs(settings.cusp_mm - 0.1) < 1e-6 and settings.finish == "coarse"
settings.cusp_mm = 0.02
assert settings.finish == "fine"
settings.cusp_mm = 0.07
assert settings.finish == "cusp"
settings.finish = "normal"
assert abs(settings.cusp_mm - 0.05) < 1e-6
settings.finish = "cusp"
assert settings.finish == "cusp" and abs(settings.cusp_mm - 0.05) < 1e-6
settings.finish = "spacing"
assert settings.use_fixed_spacing and abs(settings.fixed_spacing_mm - 2 * np.sqrt(2 * 8 * 0.05 - 0.05**2)) < 1e-3  # chord of a circle
settings.finish = "normal"
assert not settings.use_fixed_spacing

# A view is turned by half a turn about the axis of turning when it looks from below, and only then.
view = SimpleNamespace(view_rotation=Quaternion((0.8, 0.4, 0.2, 0.4)).normalized(), view_perspective="PERSP")
eye = view.view_rotation @ Vector((0, 0, 1))
turn_view(view, Vector((0, 0, 1.0 if eye.z > 0 else -1.0)), Vector((0, 1, 0)))
assert (view.view_rotation @ Vector((0, 0, 1)) - eye).length < 1e-6
turn_view(view, Vector((0, 0, -1.0 if eye.z > 0 else 1.0)), Vector((0, 1, 0)))
assert (view.view_rotation @ Vector((0, 0, 1)) - Vector((-eye.x, eye.y, -eye.z))).length < 1e-5

# Both sides at once: the side that is set is looked at, the other one is there as soon as it is chosen, and both hold.
assert bpy.ops.finishing.plan_both() == finished
results = STORE.find(body)
assert [p.request.side for p in results.job()] == ["top", "back"] and results.state(scene, body) == "current"
alone = {p.request.side: p.path.points.tobytes() for p in results.job()}
settings.side = "back"
assert results.plan.request.side == "back" and results.state(scene, body) == "current" and len(results.job()) == 2
settings.cusp_mm = 0.06
assert results.state(scene, body) == "settings"
settings.cusp_mm = 0.05
assert results.state(scene, body) == "current"
# They are what planning each side alone gives.
for side in ("top", "back"):
    settings.side = side
    assert bpy.ops.finishing.plan() == finished
    assert results.plan.path.points.tobytes() == alone[side]

# Nothing is cut off in a sidebar of the usual width, in English or German: labels and buttons that take a whole row, and those side by side.
class Layout:
    def __init__(self, texts, share=1.0):
        self.__dict__.update(texts=texts, share=share)
    def __setattr__(self, name, value):
        pass
    def _kept(self, text, icon, translate):
        if text:
            shown = language.interface_word(text) if translate else text
            self.texts.append((shown, self.share, icon not in ("NONE", "")))
        return self
    def label(self, *, text="", icon="NONE", translate=True, **_):
        return self._kept(text, icon, translate)
    def operator(self, name, *, text=None, icon="NONE", translate=True, **_):
        group, action = name.split(".")
        own = getattr(getattr(bpy.ops, group), action).get_rna_type().name
        self._kept(own if text is None else text, icon, translate)
        return SimpleNamespace()
    def split(self, *, factor=0.5, **_):
        return Layout(self.texts, self.share * factor)
    def row(self, **_):
        rows.append(Row(self.texts, self.share))
        return rows[-1]
    def __getattr__(self, name):
        return lambda *_, **__: self

class Row(Layout):
    # What stands side by side shares the width.
    def __init__(self, texts, share):
        super().__init__(texts, share)
        self.__dict__["own"] = []
    def _kept(self, text, icon, translate):
        whole = Layout([], self.share)
        whole._kept(text, icon, translate)
        self.own.extend(whole.texts)
        return self
    def column(self, **_):
        return Layout(self.texts, self.share)

rows = []

# The dials are live: the card says what to expect as they stand now, by the closed form of the least length, 1/sqrt(8 h (1 - h/(2R))).
from addon.screen.result_card import expected_words
from addon.scene.request_building import scene_rack
settings.side = "top"
plan = results.plan
def expected():
    return expected_words(results, settings, scene_rack(scene)).values[0][1]
usual = expected()
assert abs(usual / plan.run_time.minutes - 1) < 0.05, (usual, plan.run_time.minutes)
settings.use_feed, settings.feed = True, plan.cutter.feed / 2
assert abs(expected() / usual - 2) < 1e-3
settings.use_feed, settings.cusp_mm = False, 0.1
assert abs(expected() / usual - np.sqrt(0.05 * (1 - 0.05 / 16) / (0.1 * (1 - 0.1 / 16)))) < 1e-3
settings.cusp_mm = 0.05

assert bpy.ops.finishing.survey() == finished
settings.use_budget, settings.budget_minutes = True, 120.0
assert bpy.ops.finishing.plan_both() == finished
english = language.pgettext_iface
for look_up in (english, lambda text, context: ALL_GERMAN.get(text, text)):
    language.pgettext_iface = look_up
    for width in (280, 340):
        around = SimpleNamespace(object=body, scene=scene, selected_objects=[body],
            window_manager=bpy.context.window_manager, region=SimpleNamespace(width=width),
            workspace=bpy.context.workspace, mode="OBJECT", preferences=SimpleNamespace(system=SimpleNamespace(ui_scale=1.0)))
        texts, rows[:] = [], []
        for cls in panels:
            if "draw" in vars(cls):
                cls.draw(SimpleNamespace(layout=Layout(texts), _table=lambda *given: shop_panels.FINISHING_PT_rack._table(None, *given)), around)
        texts += [(text, share / len(row.own), icon) for row in rows for text, share, icon in row.own]
        for title in (*shop_panels.FIT_HEAD, *shop_panels.SETS_HEAD):
            assert language.in_users_language(title) in {text for text, share, _ in texts if share == 1 / 4}, title
        assert len(texts) > 60
        cut = [(text, share) for text, share, icon in texts
            if panel_parts.text_width(around, text) > panel_parts.room(around, share, icon=icon) + panel_parts.TEXT_EDGES]
        assert not cut, (width, cut)
language.pgettext_iface = english

# With several bodies selected the panel says which one is planned, and that one alone is; what is no mesh does not count.
from addon.screen.body_panels import FINISHING_PT_body
third, lamp = heap("Third Heap", 4.0, 0.0), bpy.data.objects.new("Lamp", bpy.data.lights.new("Lamp", "POINT"))
scene.collection.objects.link(lamp)
for selected, words in (
    ([body], None),
    ([body, lamp], None),
    ([body, flat, lamp], "Another body is selected too: 'Two Domes' is planned"),
    ([flat, third, body], "2 other bodies are selected: 'Two Domes' is planned"),
):
    for each in bpy.context.view_layer.objects:
        each.select_set(each in selected)
    bpy.context.view_layer.objects.active = body
    around.selected_objects, texts = bpy.context.selected_objects, []
    assert len(around.selected_objects) == len(selected)
    FINISHING_PT_body.draw(SimpleNamespace(layout=Layout(texts)), around)
    told = " ".join(text for text, *_ in texts)
    assert (words in told) if words else "selected" not in told, told
before = results.plans
assert bpy.ops.finishing.plan() == finished
assert results.plans is not before and all(STORE.find(other) is None for other in (flat, third))

# The chart of another body than the active one is shown, but takes no press: what is chosen would be set on the active one.
from addon.overlay import trade_off_drawing as chart
from addon.overlay.free_space import FreeSpace
from addon.overlay.layers import BodyLayers
for name in ("fill_box", "write", "draw_plain", "ink", "faint"):
    setattr(chart, name, lambda *_, **__: (0.0, 0.0, 0.0, 1.0))
chart.width_of = lambda *_: 10.0
chart.free_space = lambda *_: FreeSpace(left=60, right=900, bottom=0, top=700, scale=1.0, width=900, height=700)
settings.use_budget = False
for active in (flat, body):
    around = SimpleNamespace(object=active, scene=scene, window_manager=bpy.context.window_manager, region=SimpleNamespace(as_pointer=lambda: 7))
    chart.draw_trade_off(around, results, BodyLayers(), body, np.empty((0, 2)))
    box = chart.BOXES.drawn[7, chart.CHART]
    pressed = chart.PRESSED.at(7, (box.left + box.right) / 2, (box.bottom + box.top) / 2)
    assert (pressed is not None) == (active is body), pressed

# A back that is one flat of the stock has nothing to plan: the top is planned, and the reason is told.
bpy.context.view_layer.objects.active = flat
flat.finishing.cell_mm, flat.finishing.lines_from, flat.finishing.cutter_name = 1.0, "edge", "Round-nose 16"
flat.finishing.flats = "skip"
assert bpy.ops.finishing.plan_both() == finished
assert [p.request.side for p in STORE.find(flat).job()] == ["top"]

addon.unregister()
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def test_the_panels_and_both_sides_in_blender(tmp_path: Path) -> None:
    script = tmp_path / "use.py"
    script.write_text(textwrap.dedent(SCRIPT))
    command = [sys.executable, str(script), str(ROOT)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, cwd=tmp_path, env=fresh_profile(tmp_path), check=False)
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    assert "Traceback" not in done.stderr, done.stderr[-3000:]
