"""Every number in README is held by something: the output that it quotes, a command that takes it, a constant of the code, a standard, a count."""

from __future__ import annotations

import re
import shlex
import tomllib
from collections.abc import Iterator

import numpy as np
import pytest
from readme_figures import BLOCK, README, ROOT

import build
from addon.command import DONE, FINDINGS, INTERRUPTED, WRONG_USE, run
from addon.command_options import command_parser
from addon.finishing.core.errors import FinishingError
from addon.finishing.core.path import CUT, Path
from addon.finishing.files.job_files import PATH_FILES
from addon.finishing.files.path_csv import path_csv
from addon.finishing.job.apart import APART
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.machine import Machine
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.options.coupon import CouponSettings
from addon.finishing.reading.thinning import MOST_TRIANGLES, SCAN_DEVIATIONS, WITHIN
from addon.finishing.simulation.proof import PERCENTILES
from addon.finishing.surface.smooth_form import LARGE_BALL, LEAST_WIDTH, LEAST_WIDTH_OF_LARGE, SMOOTH_ANGLE
from addon.finishing.tooling.tab_strength import SAFETY

TEXT = README.read_text(encoding="utf-8")
PROSE = BLOCK.sub("", TEXT)
"""README without the output that it quotes, which `test_readme.py` compares with what the demo prints."""

NUMBER = r"(?<![\w.-])\d+(?:[.,]\d+)*(?!\w)"
WORD = r"\b(half|two|three|four|five|six|seven|eight|nine|ten|dozen|fifths?|thirds?|quarters?|hundreds?|thousand\w*)\b"

COMMANDS = r"`[^`\n]*(?:--|python )[^`\n]*`|^ {4}\S.*$"
"""Commands, in a line of their own or amid a sentence: their numbers are examples of what to give."""

MARKS = r"^\d+\. |\]\([^)]*\)|`[\w.*-]+\.(?:png|csv|nc|json|html)`|`-[\w-]+\.nc`"
"""Numbers of items, files that are pointed at, names of files."""

STANDARDS = {"ISO 6983", "RS-274", "RFC 4180", "(EU) 2017/2398"}
"""What README names by its number, each named in the code that follows it."""


def manifest(key: str) -> str:
    return str(tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))[key])


def least_python() -> str:
    return ".".join(map(str, build.OLDEST_PYTHON))


def size_of_coupon() -> str:
    coupon = CouponSettings()
    return f"{coupon.length:g} x {coupon.width:g} x {coupon.thickness:g}"


def first_numbers() -> tuple[str, str]:
    """The first line and the first point of a CSV."""
    cut = np.full(2, CUT, np.uint8)
    rows = path_csv(Path(np.zeros((2, 3)), cut, np.ones(2, np.int32), np.full(2, 1000.0)), "mm").decode().splitlines()
    line, point, *_ = rows[1].split(",")
    return line, point


def items(heading: str) -> int:
    """Numbered items below a heading."""
    return len(re.findall(r"^\d+\. ", TEXT.split(f"## {heading}\n")[1].split("\n## ")[0], re.MULTILINE))


def panels() -> int:
    """Panels of the tab that lie in no other one."""
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "addon" / "screen").glob("*_panels.py"))
    classes = re.split(r"^class ", source, flags=re.MULTILINE)[1:]
    return sum("bl_order" in body and "bl_parent_id" not in body for body in classes)


def played_share() -> str:
    """At what share of its time the script of the pictures shows the run."""
    script = (ROOT / "tests" / "window" / "readme_pictures.py").read_text(encoding="utf-8")
    found = re.search(r"view\.played_share = .*?([\d.]+)$", script, re.MULTILINE)
    return found[1] if found else ""


def says(words: str, *values: object) -> tuple[str, tuple[object, ...]]:
    return words, values


HELD = (
    says("In Blender {} or later", manifest("blender_version_min").removesuffix(".0")),
    says("With Python {} or later", least_python()),
    says("a test coupon of {} mm scrap", size_of_coupon()),
    says("Exit codes: {} done, {} bad input (one sentence, nothing written), {} planned", DONE, WRONG_USE, FINDINGS),
    says("one word and exit code {};", INTERRUPTED),
    says("how much for {} of the surface, for {} % and for all", "half" if 50.0 in PERCENTILES else None, 99.9 if 99.9 in PERCENTILES else None),
    says("number of the pass line, from {} in running order", first_numbers()[0]),
    says("number of the point in its line, from {}", first_numbers()[1]),
    says("Walls of {:g} degrees and steeper", RegionSettings().wall_limit),
    says("(`blocks_per_second`, {} unless you say otherwise)", Machine().blocks_per_second),
    says("more than {:g} mm away from the body", APART),
    says(
        "wider than {:g} mm, for cutters from {:g} mm on wider than {:g} mm, that meet at less than {:g} degrees",
        *(LEAST_WIDTH, 2 * LARGE_BALL, LEAST_WIDTH_OF_LARGE, SMOOTH_ANGLE),
    ),
    says("more than {:,} triangles is thinned", MOST_TRIANGLES),
    says("more than {:g} times the scatter from the thinned mesh", SCAN_DEVIATIONS),
    says("lies at most {:g} mm from the given one", WITHIN),
    says("roughing leaves about {} a millimetre", {0.5: "half"}[RoughingSettings().allowance]),
    says("## {} steps in Blender", {10: "Ten"}[items("Ten steps in Blender")]),
    says("## {} steps on the command line", {10: "Ten"}[items("Ten steps on the command line")]),
    says("Body Finishing: {} panels in the order of the work", {7: "seven"}[panels()]),
    says("The run at {} fifths of its time", {"0.4": "two"}[played_share()]),
    says("The coupon holds {} cusp heights", {3: "three"}[len(CouponSettings().cusps)]),
    says("the body's weight {:g} times over", SAFETY),
    says("and {} dry runs", {2: "two"}[sum("dry-run" in file.ending for file in PATH_FILES)]),
    says("## {} commands", {2: "Two"}[len(re.findall(r"^ {4}python", TEXT.split("## Two commands")[1].split("\n## ")[0], re.MULTILINE))]),
    says("stay within {} minutes", (re.search(r"`--budget (\d+)`", TEXT) or [""])[1]),
)  # fmt: skip
"""What README says, and what it is taken from."""

PLAIN = (r"three-axis|three axes", r"line beside line. Between\s+two lines", r"a \*link\* joins two", r"limit for hardwood dust is 2 mg/m3")
"""No figures of ours: how many axes a router has, between how many lines a ridge stands, and the limit of the directive that is named beside it."""


@pytest.mark.parametrize(("words", "values"), HELD, ids=[words for words, _ in HELD])
def test_what_readme_says_is_so(words: str, values: tuple[object, ...]) -> None:
    assert words.format(*values) in " ".join(PROSE.split())


def test_every_number_is_held() -> None:
    left = re.sub(f"{COMMANDS}|{MARKS}", " ", PROSE, flags=re.MULTILINE)
    left = " ".join(left.split())
    for words, values in HELD:
        left = left.replace(words.format(*values), " ")
    for standard in STANDARDS:
        left = left.replace(standard, " ")
    left = re.sub("|".join(PLAIN), " ", left)
    assert [left[max(found.start() - 40, 0) : found.end() + 30] for found in re.finditer(f"{NUMBER}|{WORD}", left, re.IGNORECASE)] == []


def test_standards_are_named_where_they_are_followed() -> None:
    source = " ".join(path.read_text(encoding="utf-8") for path in (ROOT / "addon" / "finishing").rglob("*.py"))
    assert all(standard in " ".join(PROSE.split()) and standard in source for standard in STANDARDS)
    assert all(re.search(plain, " ".join(PROSE.split())) for plain in PLAIN)


def commands() -> Iterator[list[str]]:
    """The words of every command that README gives, without its comment."""
    for line in re.findall(r"python build\.py ((?:plan|batch|read|compare|coupon|log|timing-test)\b[^`#\n]*)", PROSE):
        yield shlex.split(line)


def test_every_command_is_one() -> None:
    given = list(commands())
    assert len(given) > 10
    for words in given:
        try:
            command_parser("build.py").parse_args(words)
        except SystemExit as left:  # --explain-settings and the like say what they have to say, and end
            assert not left.code, words


def test_options_that_stand_alone_take_what_is_given_with_them() -> None:
    alone = [shlex.split(text) for text in re.findall(r"`(--[a-z][^`]* [^`]+)`", PROSE)]
    assert len(alone) >= 10
    for words in alone:
        assert any(_parses([*command, *words]) for command in (["plan", "body.stl"], ["timing-test"], ["coupon"])), words


def _parses(words: list[str]) -> bool:
    try:
        command_parser("build.py").parse_args(words)
    except FinishingError:
        return False
    return True


def test_the_stopwatch_times_are_those_of_a_machine(tmp_path, capsys) -> None:  # noqa: ANN001
    times = re.search(r"`--times ([\d.,]+)`", PROSE)
    assert times is not None
    assert run(["timing-test", "--times", times[1], "--out", str(tmp_path / "out")], "build.py") == DONE, capsys.readouterr()
    assert (tmp_path / "out" / "machine.json").is_file()
