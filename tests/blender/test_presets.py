"""Presets on real bpy: those that Blender writes are taken whole, any other file is refused, and nothing in one is ever run."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import bpy
import pytest
from empty_shop import shop_of_an_empty_file

import addon
from addon.finishing.core.errors import BadFile
from addon.finishing.job.cutter import Cutter
from addon.scene.preset_files import MACHINE_VALUES, MOST_BYTES, apply_machine_preset, apply_rack_preset
from addon.scene.rack_settings import FinishingShop, cutter_of, machine_of, rack_text

HOME = Path(addon.__file__).parent / "presets" / "finishing"

MACHINE_HEAD = "import bpy\n\nmachine = bpy.context.scene.finishing.machine\nprogram = bpy.context.scene.finishing.program\n\n"
RACK_HEAD = "import bpy\n\nrack = bpy.context.scene.finishing\n\n"


@pytest.fixture
def shop() -> Iterator[FinishingShop]:
    with shop_of_an_empty_file() as made:
        yield made


def written(tmp_path: Path, text: str | bytes) -> Path:
    path = tmp_path / "preset.py"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize("path", sorted((HOME / "machine").glob("*.py")), ids=lambda path: path.stem)
def test_bundled_machines(shop: FinishingShop, path: Path) -> None:
    bpy.utils.execfile(str(path))  # ours, as Blender would run it
    by_running = machine_of(shop.machine)
    shop.machine.speed_x = 1234.0
    assert bpy.ops.finishing.apply_preset(filepath=str(path), kind="machine") == {"FINISHED"}
    assert machine_of(shop.machine) == by_running
    assert all(f"machine.{name} = " in path.read_text() for name in MACHINE_VALUES)


@pytest.mark.parametrize("path", sorted((HOME / "rack").glob("*.py")), ids=lambda path: path.stem)
def test_bundled_racks(shop: FinishingShop, path: Path) -> None:
    assert bpy.ops.finishing.apply_preset(filepath=str(path), kind="rack") == {"FINISHED"}
    # The list of cutters stands in the file as one text between triple quotes.
    held = [Cutter(**values) for values in json.loads(path.read_text(encoding="utf-8").split('"""')[1])]
    assert [cutter_of(item) for item in shop.cutters] == held and len(held) > 0


def test_a_preset_of_an_older_version_leaves_the_rest_as_it_is(shop: FinishingShop, tmp_path: Path) -> None:
    before = machine_of(shop.machine)
    lines = "machine.speed_z = 777.0\nmachine.timing_tested = True\nmachine.junction_deviation_mm = 0.005\n"
    apply_machine_preset(written(tmp_path, MACHINE_HEAD + lines), shop)
    after = machine_of(shop.machine)
    assert (after.speed_z, after.timing_tested, after.corner_rounding, after.speed_x) == (777.0, True, 0.005, before.speed_x)


HOSTILE = {
    "a call": "machine.speed_x = __import__('os').system('touch MARK') or 1.0",
    "a call alone": "open('MARK', 'w').write('run')",
    "a function": "def f():\n    open('MARK', 'w')\nf()",
    "a decorator": "@open('MARK', 'w').write\nclass A: pass",
    "a default": "def f(a=open('MARK', 'w')): pass",
    "another import": "import os\nmachine.speed_x = 100.0",
    "an import with more": "import bpy, pathlib\npathlib.Path('MARK').touch()",
    "a formatted text": "machine.name = f\"{open('MARK', 'w')}\"",
    "a comprehension": "machine.name = [open('MARK', 'w') for _ in 'a']",
    "a sum": "machine.speed_x = 50.0 + 50.0",
    "a property that no preset holds": "machine.__class__ = 3",
    "another name": "bpy.context.scene.name = 'x'",
    "a name of Blender's": "scene = bpy.context.scene\nscene.name = 'x'",
    "two targets": "machine.name = machine.bl_rna = 'x'",
    "an expression as a target": "machine.name[open('MARK', 'w')] = 'x'",
    "a condition": "if open('MARK', 'w'): machine.name = 'x'",
    "a walrus": "machine.name = (x := open('MARK', 'w'))",
    "bytes": "machine.name = b'x'",
    "nothing": "machine.name = None",
    "a complex number": "machine.speed_x = 5j",
    "a number that is a text": "machine.speed_x = '100'",
    "a whole number that is none": "machine.blocks_ahead = 2.5",
    "out of limits": "machine.speed_x = 0.0",
    "not finite": "machine.speed_x = 1e999",
    "a choice that is none": "machine.corners = 'sharp'",
    "limits that cross": "machine.spindle_least = 20000.0\nmachine.spindle_greatest = 10000.0",
    "a control's choice that is none": "program.spindle_start = 'loud'",
    "no Python": "machine.speed_x = = 1",
    "a zero byte": "machine.name = 'a\0'",
    "deep nesting": "machine.speed_x = " + "(" * 5000 + "1.0" + ")" * 5000,
    "deep minus": "machine.speed_x = " + "-" * 20000 + "1.0",
    "too long": "#" * (MOST_BYTES + 1),
}  # fmt: skip


@pytest.mark.parametrize("case", HOSTILE)
def test_anything_else_is_refused_and_nothing_of_it_run(shop: FinishingShop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, case: str) -> None:
    monkeypatch.chdir(tmp_path)
    before, scene = machine_of(shop.machine), bpy.context.scene.name
    path = written(tmp_path, MACHINE_HEAD + "machine.speed_y = 4321.0\n" + HOSTILE[case] + "\n")
    with pytest.raises(BadFile, match="The preset 'preset.py' cannot be used"):
        apply_machine_preset(path, shop)
    assert machine_of(shop.machine) == before, "not even what came before the line"
    assert bpy.context.scene.name == scene
    assert not (tmp_path / "MARK").exists()


@pytest.mark.parametrize(
    "line",
    [
        "",
        "rack.as_text = '[]'",
        "rack.as_text = 'no text of a rack'",
        "rack.as_text = 3",
        'rack.as_text = \'[{"name": "A", "diameter": "big"}]\'',
        'rack.as_text = \'[{"name": "A", "diameter": 16.0, "colour": 1}]\'',
        'rack.as_text = \'[{"name": "A", "diameter": NaN}]\'',
        "rack.as_text = '" + "[" * 20000 + "'",
        "rack.cutters = 3",
    ],
)
def test_racks_that_are_none(shop: FinishingShop, tmp_path: Path, line: str) -> None:
    apply_rack_preset(HOME / "rack" / "body_work.py", shop)
    before = rack_text(shop)
    with pytest.raises(BadFile, match="cannot be used"):
        apply_rack_preset(written(tmp_path, RACK_HEAD + line + "\n"), shop)
    assert rack_text(shop) == before


def test_files_that_are_not_there_or_none(shop: FinishingShop, tmp_path: Path) -> None:
    for path in (tmp_path / "none.py", tmp_path, written(tmp_path, b"\xff\xfe\x00")):
        with pytest.raises(BadFile, match="cannot be used"):
            apply_machine_preset(path, shop)


def test_the_menus_never_ask_blender_to_run_a_preset(shop: FinishingShop) -> None:
    from addon.screen import shop_panels

    menus = [each for each in shop_panels.CLASSES if hasattr(each, "preset_subdir") and hasattr(each, "preset_add_operator")]
    assert len(menus) == 2
    for menu in menus:
        assert menu.preset_operator == "finishing.apply_preset"
        assert dict(menu.preset_operator_defaults) == {"kind": menu.preset_subdir.rpartition("/")[2]}
