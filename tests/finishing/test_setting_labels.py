"""The keys of settings that remedies name by their labels: found in sentences, and told on the command line."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from readme_figures import ROOT, RUNNER

from addon.finishing.files.setting_labels import KEYS, keys_named
from addon.finishing.job.request import PLAN
from addon.finishing.job.setting_kinds import has_record, record_in


def test_every_key_is_one_of_a_settings_file() -> None:
    known = {item.name for item in PLAN.settings}
    known |= {f"{item.name}.{each.name}" for item in PLAN.settings if has_record(item.kind) for each in record_in(item.kind).settings}
    assert set(KEYS.values()) <= known


@pytest.mark.parametrize(
    ("sentence", "said"),
    [
        ("Lower Wall Limit to 40 degrees.", "In a settings file Wall Limit is region.wall_limit."),
        ("Set a finer Cell or a smaller Chord Tolerance.", "In a settings file Cell is cell, Chord Tolerance is chord_tolerance."),
        ("Rim Pass is off.", "In a settings file Rim Pass is rim_pass."),
        ("Flats are left out. Cells are squares.", ""),  # the words themselves, not the settings
        ("Nothing is wrong.", ""),
    ],
)
def test_settings_are_found_in_sentences(sentence: str, said: str) -> None:
    assert keys_named([sentence]) == said


def test_the_command_line_tells_the_key_of_what_an_error_names(tmp_path: Path) -> None:
    body = tmp_path / "sheet.stl"
    # Two triangles, steep everywhere: nothing is left to plan.
    facet = "facet normal 0 0 1\nouter loop\nvertex {}\nvertex {}\nvertex {}\nendloop\nendfacet\n"
    body.write_text("solid a\n" + facet.format("0 0 0", "100 0 0", "100 20 60") + facet.format("0 0 0", "100 20 60", "0 20 60") + "endsolid a\n")
    words = ["plan", str(body), "--cutter", "8", "--cell", "1", "--up", "z", "--out", str(tmp_path / "out")]
    done = subprocess.run([sys.executable, "-c", RUNNER, *words], capture_output=True, text=True, check=False, cwd=ROOT)
    assert done.returncode == 2 and done.stderr.count("\n") == 1
    assert "raise Wall Limit" in done.stderr and done.stderr.endswith("In a settings file Wall Limit is region.wall_limit.\n"), done.stderr
