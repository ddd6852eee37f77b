"""The cautions: complete, and the same words in the README, on the bench sheet and at the head of every program."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from small_jobs import two_sides

from addon.finishing.files.job_files import JobFiles, job_files
from addon.finishing.files.timing_program import timing_program
from addon.finishing.job.cautions import CAUTIONS

README = Path(__file__).parents[2] / "README.md"

SUBJECTS = (
    "eye and ear", "gloves", "jewellery", "loose clothing", "hair", "mask", "hardwood", "softwood", "MDF", "fire", "Clamp the stock", "turning it over",
    "metal", "dowels", "Unplug", "speed marked", "collet", "preview", "dry run", "reduced feed", "switch the router", "running alone", "stop switch",
    "hands away", "local codes", "manual", "cutter's maker",
)  # fmt: skip
"""What a word must be said about: ISO 19085-3, Directive (EU) 2017/2398 and common practice."""


def words(text: str) -> str:
    """A text as its letters and digits alone, so that line breaks and signs do not count."""
    return " ".join(re.findall(r"[A-Za-z0-9]+", text))


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_subject_has_its_caution(subject: str) -> None:
    assert sum(subject in caution for caution in CAUTIONS) == 1


def test_the_readme_lists_them_word_for_word() -> None:
    section = README.read_text(encoding="utf-8").split("## Cautions")[1].split("##")[0]
    assert tuple(re.findall(r"^- (.*)$", section, re.MULTILINE)) == CAUTIONS


def test_every_program_begins_with_them_and_the_sheet_shows_them() -> None:
    files = job_files(two_sides(), JobFiles(pictures=False, programs=True)) | {"timing-test.nc": timing_program()}
    programs = [content for name, content in files.items() if name.endswith(".nc")]
    assert len(programs) > 5
    for program in programs:
        head = program.decode("ascii").split("G17")[0]
        assert words(" ".join(CAUTIONS)) in words(head)
    sheet = next(content for name, content in files.items() if name.endswith(".html")).decode("utf-8")
    for caution in CAUTIONS:
        assert f"<li>{caution}</li>" in sheet.replace("&#x27;", "'")
