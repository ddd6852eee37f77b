"""README: its figures are those of the command that it names, its files exist, its drawings are those that their script makes."""

from __future__ import annotations

import json
import re
import sys
import tomllib
from pathlib import Path

import readme_figures
from readme_figures import README, ROOT

from addon.command import run
from addon.finishing.files.path_csv import header
from addon.finishing.files.written_unit import written_unit

sys.path.append(str(ROOT / "blend_examples"))
import drawings


def test_the_worked_example_prints_the_figures_that_the_readme_quotes(tmp_path: Path) -> None:
    quoted = readme_figures.quoted_lines()
    assert len(quoted) >= 20
    printed = readme_figures.demo_lines(tmp_path / "out")
    missing = [line for line in quoted if line not in printed]
    assert not missing, "python tests/finishing/readme_figures.py FOLDER renews them"


def test_every_file_that_the_readme_points_at_is_there() -> None:
    text = README.read_text(encoding="utf-8")
    files = re.findall(r"\]\(([^)#:]+)\)", text)
    assert len(files) > 10
    assert all((ROOT / file).is_file() for file in files), [file for file in files if not (ROOT / file).is_file()]


def test_the_columns_are_those_of_the_csv() -> None:
    section = README.read_text(encoding="utf-8").split("Columns of the pass lines' CSV")[1].split("\n## ")[0]
    named = [name for row in re.findall(r"^\| (`.*?) \|", section, re.MULTILINE) for name in re.findall(r"`([a-z_]+)`", row)]
    assert named == list(header(written_unit("mm")))


def test_every_option_that_the_readme_names_is_there(capsys) -> None:  # noqa: ANN001
    from addon.command_options import command_parser

    parser = command_parser("build.py")
    known = {
        option
        for action in parser._actions
        if action.choices and action.dest == "command"
        for each in action.choices.values()
        for option in each._option_string_actions
    }
    text = README.read_text(encoding="utf-8")
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", text)) - {"--version"} <= known


def test_the_drawings_are_those_of_their_script() -> None:
    folder = ROOT / "blend_examples" / "drawings"
    assert {path.stem for path in folder.glob("*.svg")} == set(drawings.DRAWINGS)
    assert all((folder / f"{name}.svg").read_text(encoding="utf-8") == draw() for name, draw in drawings.DRAWINGS.items())


def test_the_version_has_one_source(capsys) -> None:  # noqa: ANN001
    version = tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))["version"]
    try:
        run(["--version"], "build.py")
    except SystemExit as left:
        assert not left.code
    assert capsys.readouterr().out == f"Curved Body Finishing {version}\n"
    newest = re.search(r"^## (.*)$", (ROOT / "CHANGELOG.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert newest is not None and newest[1] == version
    assert "version" not in tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8")).get("project", {})
    assert json.dumps(version) not in (ROOT / "build.py").read_text(encoding="utf-8")
