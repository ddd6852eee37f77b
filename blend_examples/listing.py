"""Makes what the extensions platform shows beside the extension: icon, featured picture, previews, description and release notes.

Run it without arguments, with numpy, for a release: everything is made from today's README, CHANGELOG and pictures, into `dist/listing/`.
"""

from __future__ import annotations

import re
import struct
import sys
import tomllib
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

ROOT = Path(__file__).parents[1]
sys.path.append(str(ROOT))

from addon.finishing.pictures.canvas import BOLD_PEN, Canvas, TextStyle, fitted_lines  # noqa: E402
from addon.finishing.pictures.palette import BODY, INK, PAPER, QUIET  # noqa: E402
from addon.finishing.pictures.ramps import LINES  # noqa: E402

HERE = Path(__file__).parent
FOLDER = ROOT / "dist" / "listing"
PREVIEWS = HERE / "in_blender"
"""Screens of a real window, which `tests/window/readme_pictures.py` takes."""

ICON, FEATURED = (256, 256), (1920, 1080)
"""Pixels that the platform's form asks for."""

Pixels = NDArray[np.uint8]

LINES_PART = (140, 892, 44, 1156)
"""Rows and columns of the demo's picture of its pass lines that show the body."""
CUT_PART = (220, 420, 236, 536)
"""Rows and columns of its picture of the finished surface that show the carved hollow."""

SAYS = ("Constant cusp height, however the body bends", "The surface as it will be cut, before any wood is cut", "Minutes for every cutter on the rack")

FINER = 4
"""The icon is drawn so many times as large, and made smaller: its borders come out soft."""


def manifest() -> dict[str, str]:
    """Name, tagline and version."""
    return tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))


def pixels_of(content: bytes) -> Pixels:
    """The pixels (rows, columns, 3) of a PNG that the extension's own canvas has written, whose rows are filtered by the row above."""
    width, height = struct.unpack(">II", content[16:24])
    at, packed = 8, b""
    while at < len(content):
        (length,) = struct.unpack(">I", content[at : at + 4])
        if content[at + 4 : at + 8] == b"IDAT":
            packed += content[at + 8 : at + 8 + length]
        at += length + 12
    rows = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(height, 1 + 3 * width)
    if (rows[1:, 0] != 2).any() or rows[0, 0] not in (0, 2):
        raise ValueError("this PNG is not one of the extension's own")
    return np.cumsum(rows[:, 1:], axis=0, dtype=np.uint8).reshape(height, width, 3)


def part_of(name: str, part: tuple[int, int, int, int]) -> NDArray[np.float32]:
    """Some rows and columns of a picture of the demo, as colours from 0 to 1."""
    low, high, left, right = part
    return (pixels_of((HERE / name).read_bytes())[low:high, left:right] / np.float32(255)).astype(np.float32)


def featured() -> bytes:
    """The featured picture: name and tagline, the pass lines of the demo, and the surface as they cut it."""
    width, height = FEATURED
    canvas = Canvas(width, height, PAPER)
    facts = manifest()
    canvas.text(facts["name"], 80, 130, TextStyle(54, INK, BOLD_PEN))
    canvas.text(facts["tagline"], 82, 196, TextStyle(25, QUIET))
    _put(canvas, part_of("carved_bass_pass_lines.png", LINES_PART), 80, 270)
    carved = part_of("carved_bass_finished.png", CUT_PART)
    larger = np.repeat(np.repeat(carved, 2, axis=0), 2, axis=1)
    _put(canvas, larger, 1250, 300)
    for number, words in enumerate(SAYS):
        (line,), size = fitted_lines(words, 21, 600, 16, 1)
        canvas.text(line, 1250, 770 + 70 * number, TextStyle(size, INK))
    return canvas.png()


def _put(canvas: Canvas, colours: NDArray[np.float32], left: int, top: int) -> None:
    rows, columns = colours.shape[:2]
    canvas.blend(slice(top, top + rows), slice(left, left + columns), colours, np.ones((rows, columns), np.float32))


def icon() -> bytes:
    """The icon: the round end of a cutter in the last of its hollows, with the cusps between them."""
    size = ICON[0] * FINER
    y, x = (np.mgrid[0:size, 0:size].astype(np.float32) + 0.5) / size
    spacing, radius = 0.24, 0.22
    centres = np.array([-0.28, -0.04, 0.2, 0.44, 0.68])
    # The tip follows a gentle arch, and the material is what no ball has taken.
    tips = 0.62 - 0.14 * (1 - ((centres - 0.46) / 0.9) ** 2)
    cut = np.zeros_like(x, bool)
    for centre, tip in zip(centres, tips, strict=True):
        cut |= ((x - centre) ** 2 + (y - (tip - radius)) ** 2 < radius**2) | ((np.abs(x - centre) < spacing / 2) & (y < tip - radius))
    rough = 0.5 - 0.1 * np.exp(-(((x - 0.9) / 0.4) ** 2))
    wood = (y > np.where(x < centres[-1], 0.0, rough)) & ~cut
    ball = ((x - centres[-1]) ** 2 + (y - (tips[-1] - radius)) ** 2 < radius**2) | ((np.abs(x - centres[-1]) < radius) & (y < tips[-1] - radius))
    colours = np.empty((size, size, 3), np.float32)
    colours[:] = PAPER
    colours[wood] = (0.80, 0.66, 0.47)
    violet = LINES.colours(np.array([0.45]), 0, 1)[0, :3]
    colours[ball] = violet
    shine = ball & (x < centres[-1] - 0.12)
    colours[shine] = violet * 0.6 + np.array(BODY) * 0.4
    soft = colours.reshape(ICON[1], FINER, ICON[0], FINER, 3).mean(axis=(1, 3)).astype(np.float32)
    canvas = Canvas(*ICON, PAPER)
    _put(canvas, soft, 0, 0)
    return canvas.png()


def description() -> str:
    """The listing's text: what README says first, its limits, promises and cautions."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    first = readme.split("\n\n")[1]
    parts = [first, *(f"## {head}\n\n{section(readme, head)}" for head in ("Limits", "Promises", "Cautions"))]
    return "\n\n".join(parts) + "\n"


def release_notes() -> str:
    """What is new in the newest version."""
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    return section(changes, manifest()["version"]) + "\n"


def section(text: str, head: str) -> str:
    """What stands below a heading."""
    found = re.search(rf"^## {re.escape(head)}\n\n(.*?)(?=\n## |\Z)", text, re.MULTILINE | re.DOTALL)
    if found is None:
        raise ValueError(f"there is no part '{head}'")
    return found[1].strip()


PICTURES = {"icon.png": icon, "featured.png": featured}
TEXTS = {"description.md": description, "release_notes.md": release_notes}
"""Files of the listing, and what makes them."""


def write_listing(folder: Path) -> None:
    """Write all of them into a folder, with the previews."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, draw in PICTURES.items():
        (folder / name).write_bytes(draw())
    for name, write in TEXTS.items():
        (folder / name).write_text(write(), encoding="utf-8")
    for screen in sorted(PREVIEWS.glob("*.png")):
        (folder / f"preview-{screen.name}").write_bytes(screen.read_bytes())


if __name__ == "__main__":
    write_listing(FOLDER)
