"""The extension's listing: its script makes texts and pictures from README, CHANGELOG and the pictures that are there, as the platform asks."""

from __future__ import annotations

import struct
import sys
from pathlib import Path

import numpy as np
import pytest
from readme_figures import README, ROOT

sys.path.append(str(ROOT / "blend_examples"))
import listing


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The listing as the script writes it."""
    made = tmp_path_factory.mktemp("listing") / "made"
    listing.write_listing(made)
    return made


@pytest.mark.parametrize(("name", "size"), [("icon.png", (256, 256)), ("featured.png", (1920, 1080))])
def test_pictures_have_the_sizes_that_the_platform_asks_for(folder: Path, name: str, size: tuple[int, int]) -> None:
    content = (folder / name).read_bytes()
    assert struct.unpack(">II", content[16:24]) == size
    colours = np.unique(listing.pixels_of(content).reshape(-1, 3), axis=0)
    assert len(colours) > 20  # something is drawn on it


def test_the_featured_picture_shows_the_pass_lines_of_the_demo(folder: Path) -> None:
    low, high, left, right = listing.LINES_PART
    demo = listing.pixels_of((ROOT / "blend_examples" / "carved_bass_pass_lines.png").read_bytes())[low:high, left:right].astype(int)
    shown = listing.pixels_of((folder / "featured.png").read_bytes())[270 : 270 + high - low, 80 : 80 + right - left].astype(int)
    assert np.abs(shown - demo).max() <= 1


def test_previews_are_the_screens_of_the_readme(folder: Path) -> None:
    previews = {path.name.removeprefix("preview-"): path.read_bytes() for path in folder.glob("preview-*.png")}
    assert len(previews) >= 4 and all((listing.PREVIEWS / name).read_bytes() == content for name, content in previews.items())


def test_the_description_says_what_it_does_leaves_undone_and_needs_care_with(folder: Path) -> None:
    text = (folder / "description.md").read_text(encoding="utf-8")
    assert text.startswith("You carve curved wooden bodies") and text.split("\n\n")[0] in README.read_text(encoding="utf-8")
    for told in ("Round-nose cutters only", "There is no network in it", "Nothing is written but where you say", "A router can maim"):
        assert told in text


def test_the_release_notes_are_those_of_the_newest_version_alone(folder: Path) -> None:
    notes = (folder / "release_notes.md").read_text(encoding="utf-8").strip()
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert notes.startswith("- ") and notes in changes and "## " not in notes
    assert changes.index(f"## {listing.manifest()['version']}") < changes.index(notes) < changes.index("## 0.1.0")


def test_what_the_platform_asks_of_name_and_tagline() -> None:
    facts = listing.manifest()
    assert "blender" not in facts["name"].lower() and len(facts["tagline"]) <= 64 and facts["tagline"][-1].isalnum()
