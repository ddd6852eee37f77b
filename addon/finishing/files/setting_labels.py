"""What remedies call a setting, which is its label in the panel, and the key that it has in a settings file: so that whoever works on the command
line finds it as well.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

KEYS: dict[str, str] = {
    "Cell": "cell",
    "Channel Width": "roughing.channel_width",
    "Chord Tolerance": "chord_tolerance",
    "Cusp Height": "cusp",
    "Deepest Tip": "region.deepest_tip",
    "Dowels": "dowels.count",
    "Face Up": "up",
    "First Side": "stock.first_side",
    "Flats": "region.flats",
    "Grain Angle": "grain_angle",
    "Grain Weight": "grain_share",
    "Greatest Spindle": "machine.spindle_greatest",
    "Height in Stock": "stock.height_in_stock",
    "Least Spindle": "machine.spindle_least",
    "Number of Tabs": "tabs.count",
    "Overrun": "region.overrun",
    "Rim Pass": "rim_pass",
    "Roughing Cutter": "roughing.cutter_diameter",
    "Safe Height": "machine.safe_height",
    "Smoothing": "smooth",
    "Stock Margin": "stock.margin",
    "Tab Height": "tabs.height",
    "Tab Level": "tabs.height_in_stock",
    "Tab Width": "tabs.width",
    "Tolerated Area": "fit.uncut_area",
    "Tolerated Height": "fit.uncut_height",
    "Wall Limit": "region.wall_limit",
}
"""Label of the panel: path of the key, for every setting that a sentence names."""


def keys_named(sentences: Iterable[str]) -> str:
    """What the settings that some sentences name are called in a settings file, in a line of words; "" where they name none."""
    text = "\n".join(sentences)
    named = [f"{label} is {key}" for label, key in KEYS.items() if re.search(_amid_a_sentence(label), text)]
    return f"In a settings file {', '.join(named)}." if named else ""


def _amid_a_sentence(label: str) -> str:
    """A word at the beginning of a sentence has a capital anyway: only labels of several words are found there."""
    before = "" if " " in label else r"(?<=[a-z,] )"
    return rf"{before}\b{re.escape(label)}\b"
