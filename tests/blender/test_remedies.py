"""What can be set stands in a panel, and remedies name what stands there. On real bpy."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import bpy
import message_templates
import pytest

import addon
from addon.finishing.files.setting_labels import KEYS
from addon.finishing.job.request import PLAN
from addon.finishing.job.setting_kinds import has_record, record_in
from addon.scene.length_properties import STORED

SCREEN = Path(__file__).parents[2] / "addon" / "screen"

IN_MILLIMETRES = "_in_millimetres"
"""How the names of lengths end that show another one in mm, whatever the scene's unit."""

NOT_SHOWN = {
    "last_radius", "own_cusp", "use_fixed_spacing",  # remembered, or set by the choice of finish
    "active_elsewhere", "active_keep_out", "active_kept",  # which row of a list is active
    "opening_choices",  # set by the buttons of the suggestions
    "dowel_places",  # its rows are shown once there are as many as dowels
    "tab_places",  # set by handles in the view
    "as_text",  # what a preset holds
    "active_cutter", "cutters", "machine", "program", "kept_plans", "keep_out", "elsewhere",  # lists and records, whose rows are shown
}  # fmt: skip

OTHERWISE_NAMED = {
    "roughing.cutter_diameter": "roughing_diameter", "dowels.count": "dowel_count", "dowels.diameter": "dowel_diameter",
    "dowels.depth": "dowel_depth", "dowels.clearance": "dowel_clearance", "dowels.peck": "dowel_peck", "dowels.feed": "dowel_feed",
    "dowels.spindle_speed": "dowel_spindle_speed", "stock.length": "stock_length", "stock.width": "stock_width",
    "tabs.count": "tab_count", "tabs.width": "tab_width", "tabs.height": "tab_height", "tabs.height_in_stock": "tab_level",
    "stock.thickness": "stock_thickness", "stock.margin": "stock_margin", "cutter": "cutter_name", "smooth": "smoothing",
}  # fmt: skip
"""Settings whose property has another name than their key."""

ONLY_IN_FILES = {
    "dowels.places": "places of one's own are measured off a fixture: a settings file keeps them",
    "tabs.places": "set by handles in the view, or in a settings file",
    "memory_limit_mib": "a limit for small computers, of which the panel's cell is the remedy",
    "remaining": "made by the plan of the larger cutter",
}
"""Settings that no panel has, and why."""


@pytest.fixture(scope="module")
def groups() -> Iterator[tuple[type, ...]]:
    """The extension's groups of properties, registered."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    addon.register()
    yield tuple(cls for cls in bpy.types.PropertyGroup.__subclasses__() if f"{cls.__module__}.".startswith("addon."))
    addon.unregister()


def names_in_panels() -> set[str]:
    """Every name that the source of the panels writes out: of properties, among others."""
    found = set()
    for file in SCREEN.glob("*_panels.py"):
        found |= {
            node.value
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        }
    return found


def test_whatever_belongs_to_body_rack_and_machine_stands_in_a_panel(groups: tuple[type, ...]) -> None:
    drawn = names_in_panels()
    for group in groups:
        if group.__name__ in {"FinishingBody", "FinishingCutter", "FinishingMachine", "FinishingProgram", "FinishingElsewhere", "FinishingKeepOut"}:
            own = {name for name in group.__annotations__ if not name.endswith((STORED, IN_MILLIMETRES))} - NOT_SHOWN
            assert own and own <= drawn, (group.__name__, own - drawn)


def keys() -> Iterator[tuple[str, str]]:
    """(path, name) of every setting."""
    for item in PLAN.settings:
        if has_record(item.kind) and item.name not in ("cutter", "following_cutters", "rack"):
            yield from ((f"{item.name}.{each.name}", each.name) for each in record_in(item.kind).settings)
        else:
            yield item.name, item.name


def test_every_setting_has_a_place_in_a_panel_or_a_reason_for_having_none() -> None:
    drawn = names_in_panels()
    for path, name in keys():
        if path in ONLY_IN_FILES or path.startswith("remaining."):
            continue
        # Records that stand in lists are drawn row by row; the region's choices of single openings and floors by the suggestions' buttons.
        by_buttons = {"keep_out", "elsewhere", "rack", "machine.name", "region.opening_choices", "region.floor_choices"}
        assert OTHERWISE_NAMED.get(path, name) in drawn or path in by_buttons, path


def remedies() -> set[str]:
    """Templates that tell what to do."""
    doing = re.compile(r"\b(Set|Raise|Lower|Take|Move|Use|Give|Leave|Let|Rough|Skip|Smooth|choose|set|raise|lower|swap)\b")
    return {text for text in message_templates.templates() if doing.search(text)}


def test_every_setting_that_a_remedy_names_can_be_set_in_a_panel(groups: tuple[type, ...]) -> None:
    labels: dict[str, set[str]] = {}
    for group in groups:
        for prop in group.bl_rna.properties:
            if prop.identifier in group.__annotations__ and prop.identifier not in NOT_SHOWN and prop.name[:1].isupper():
                labels.setdefault(re.sub(r" \(.*\)$", "", prop.name), set()).add(prop.identifier)
    drawn, named = names_in_panels(), set()
    for text in remedies():
        for label, identifiers in labels.items():
            # Labels of several words are written with capitals; of those of one word only such as stand amid a sentence.
            if re.search(rf"(?<![.] )(?<!^)\b{re.escape(label)}\b", text) or (" " in label and label in text):
                named.add(label)
                assert identifiers & drawn, (label, text)
    # What the remedies are known to name: fewer would mean that the search above finds nothing any more.
    assert named >= {
        "Chord Tolerance", "Cell", "Tolerated Height", "Tolerated Area", "Stock Margin", "Dowels", "Deepest Tip", "Wall Limit", "Rim Pass", "Flats",
        "Safe Height", "Overrun", "Channel Width", "Height in Stock", "Grain Weight", "Smoothing", "Cusp Height",
    }, named  # fmt: skip


def test_labels_and_keys_belong_to_the_same_setting(groups: tuple[type, ...]) -> None:
    names = {path: OTHERWISE_NAMED.get(path, name) for path, name in keys()}
    labels = {
        prop.identifier: re.sub(r" \(.*\)$", "", prop.name)
        for group in groups
        if group.__name__ in ("FinishingBody", "FinishingMachine")
        for prop in group.bl_rna.properties
        if prop.identifier in group.__annotations__
    }
    for label, path in KEYS.items():
        assert labels[names[path]] == label, (label, path)
    # Whatever a remedy names by its label has a key here, which the command line tells.
    for text in remedies():
        for label in set(labels.values()):
            if " " in label and label in text:
                assert any(label in longer and longer in text for longer in KEYS), (label, text)


def test_no_remedy_names_a_setting_in_other_words_than_its_label() -> None:
    words = {path.rsplit(".", 1)[-1].replace("_", " ") for path, _ in keys()}
    several = {each for each in words if " " in each}
    for text in remedies():
        for each in several:
            # A setting's name of several words in small letters is what files call it: a maker looks for the label.
            if re.search(rf"\b(?:set|raise|lower|change|smaller|finer|wider|less|more) (?:the |a )?{each}\b", text, re.IGNORECASE):
                label = each.title().replace(" In ", " in ")
                assert label in text, (each, text)
