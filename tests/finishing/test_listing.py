"""The extension's listing: texts and pictures are those that their script makes from today's README, CHANGELOG and pictures."""

from __future__ import annotations

import struct
import sys
from pathlib import Path

import numpy as np
import pytest
from readme_figures import ROOT

sys.path.append(str(ROOT / "blend_examples"))
import listing

AGAIN = "python blend_examples/listing.py makes them anew"


@pytest.mark.parametrize("name", listing.TEXTS)
def test_texts_are_those_of_readme_and_changelog(name: str) -> None:
    assert (listing.FOLDER / name).read_text(encoding="utf-8") == listing.TEXTS[name](), AGAIN


@pytest.mark.parametrize("name", listing.PICTURES)
def test_pictures_are_those_of_the_script(name: str) -> None:
    # Pixels, not bytes: another release of zlib may pack them otherwise, and another numpy may round a pixel by one step.
    kept, made = (listing.pixels_of(content).astype(int) for content in ((listing.FOLDER / name).read_bytes(), listing.PICTURES[name]()))
    assert kept.shape == made.shape and np.abs(kept - made).max() <= 2, AGAIN


@pytest.mark.parametrize(("name", "size"), [("icon.png", (256, 256)), ("featured.png", (1920, 1080))])
def test_pictures_have_the_sizes_that_the_platform_asks_for(name: str, size: tuple[int, int]) -> None:
    assert struct.unpack(">II", (listing.FOLDER / name).read_bytes()[16:24]) == size


def test_previews_are_there() -> None:
    assert len(list((ROOT / "blend_examples" / "in_blender").glob("*.png"))) >= 4


def test_the_folder_holds_nothing_else_and_none_of_it_goes_into_the_zip() -> None:
    assert {path.name for path in listing.FOLDER.iterdir()} == {*listing.TEXTS, *listing.PICTURES}
    assert ROOT / "addon" not in listing.FOLDER.parents


def test_what_the_platform_asks_of_name_and_tagline() -> None:
    facts = listing.manifest()
    assert "blender" not in facts["name"].lower() and len(facts["tagline"]) <= 64 and facts["tagline"][-1].isalnum()
    text = (listing.FOLDER / "description.md").read_text(encoding="utf-8")
    for told in ("Round-nose cutters only", "There is no network in it", "Nothing is written but where you say", "A router can maim"):
        assert told in text  # no surprises: the listing says what the extension does, leaves undone and needs care with
    assert Path(listing.FOLDER / "release_notes.md").read_text(encoding="utf-8").strip()
