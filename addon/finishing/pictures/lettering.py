"""Lettering for pictures: a stroke alphabet of our own, one pen width, spaced by the room between the letters.

Letters stand on the line y = 0; capitals and figures are 10 high, small letters 7, tails go down to -3. Accented letters are
put together from the letter and its mark.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from ..core.array_types import FloatArray

CAPITAL = 10.0
"""Height of capitals and figures in units of the alphabet."""

# A letter is a list of strokes separated by ";". A stroke is a list of points "x,y" and of elliptic arcs "a x,y,rx,ry,from,to"
# (centre, half axes, angles in degrees, run through in the order given), joined by straight pieces.
_STROKES: dict[str, str] = {
    "A": "0,0 4,10 8,0;1.4,3.4 6.6,3.4",
    "B": "0,0 0,10 3,10 a3,7.65,2.6,2.35,90,-90 0,5.3;3,5.3 a3.2,2.65,3,2.65,90,-90 0,0",
    "C": "a4.3,5,4.3,5.15,47,313",
    "D": "0,0 0,10 2.6,10 a2.6,5,5,5,90,-90 0,0",
    "E": "5.6,10 0,10 0,0 5.8,0;0,5.2 4.9,5.2",
    "F": "5.5,10 0,10 0,0;0,5 4.7,5",
    "G": "a4.4,5,4.4,5.15,48,322 7.87,1.83 7.87,4.6 5,4.6",
    "H": "0,0 0,10;7,0 7,10;0,5.2 7,5.2",
    "I": "0,0 0,10",
    "J": "4.2,10 4.2,2.8 a1.95,2.8,2.25,2.95,0,-145",
    "K": "0,0 0,10;6.3,10 0,3.9;2.2,6.03 6.7,0",
    "L": "0,10 0,0 5.4,0",
    "M": "0,0 0,10 4.4,3 8.8,10 8.8,0",
    "N": "0,0 0,10 7.2,0 7.2,10",
    "O": "a4.7,5,4.7,5.15,90,450",
    "P": "0,0 0,10 3.1,10 a3.1,7.2,2.9,2.8,90,-90 0,4.4",
    "Q": "a4.7,5,4.7,5.15,90,450;5.8,2.6 9,-0.8",
    "R": "0,0 0,10 3.1,10 a3.1,7.2,2.9,2.8,90,-90 0,4.4;3.2,4.4 6.5,0",
    "S": "a3.1,7.6,2.75,2.55,32,270 a3.1,2.45,3.1,2.6,90,-148",
    "T": "0,10 7.2,10;3.6,10 3.6,0",
    "U": "0,10 0,3.4 a3.4,3.4,3.4,3.55,180,360 6.8,10",
    "V": "0,10 3.8,0 7.6,10",
    "W": "0,10 2.75,0 5.5,9.2 8.25,0 11,10",
    "X": "0.2,10 7,0;6.8,10 0,0",
    "Y": "0,10 3.7,4.7 7.4,10;3.7,4.7 3.7,0",
    "Z": "0.2,10 6.6,10 0,0 6.8,0",
    "a": "0.45,5.7 a2.65,4.75,2.35,2.4,155,0 5,0;5,4.15 2.4,4.15 a2.3,2,2.3,2.15,90,270 a2.4,2.5,2.6,2.65,270,360",
    "b": "0,10.3 0,0;a2.85,3.5,2.85,3.65,180,540",
    "c": "a2.85,3.5,2.85,3.65,48,312",
    "d": "5.7,10.3 5.7,0;a2.85,3.5,2.85,3.65,0,360",
    "e": "0.03,3.75 5.6,3.75 a2.8,3.5,2.8,3.65,4,318",
    "f": "3.9,10.15 a3.5,8.1,2.1,2.1,80,180 1.4,0;0,6.8 3.6,6.8",
    "g": "a2.85,3.5,2.85,3.65,0,360;5.7,7 5.7,-0.3 a2.95,-0.3,2.75,2.8,0,-150",
    "h": "0,10.3 0,0;0,4.3 a2.6,4.4,2.6,2.75,180,0 5.2,0",
    "i": "0,7 0,0;0,9.5 0,9.7",
    "j": "1.7,7 1.7,-0.9 a0.1,-0.9,1.6,2,0,-80;1.7,9.5 1.7,9.7",
    "k": "0,10.3 0,0;4.9,7 0,2.5;1.75,4.1 5.2,0",
    "l": "0,10.3 0,1.7 a1.6,1.7,1.6,1.8,180,275",
    "m": "0,7 0,0;0,4.5 a2.3,4.6,2.3,2.55,180,0 4.6,0;4.6,4.5 a6.9,4.6,2.3,2.55,180,0 9.2,0",
    "n": "0,7 0,0;0,4.3 a2.6,4.4,2.6,2.75,180,0 5.2,0",
    "o": "a2.95,3.5,2.95,3.65,90,450",
    "p": "0,7 0,-3;a2.85,3.5,2.85,3.65,180,540",
    "q": "5.7,7 5.7,-3;a2.85,3.5,2.85,3.65,0,360",
    "r": "0,7 0,0;0,4.2 a2.6,4.3,2.6,2.85,180,68",
    "s": "a2.3,5.3,2.05,1.85,30,270 a2.3,1.65,2.3,1.8,90,-150",
    "t": "1.5,9.2 1.5,2 a3.4,2,1.9,2.15,180,285;0,6.8 3.8,6.8",
    "u": "0,7 0,2.7 a2.6,2.7,2.6,2.85,180,360;5.2,7 5.2,0",
    "v": "0,7 2.8,0 5.6,7",
    "w": "0,7 2.15,0 4.3,6.4 6.45,0 8.6,7",
    "x": "0.1,7 5.3,0;5.2,7 0,0",
    "y": "0,7 2.85,0.1;5.7,7 2.4,-1.1 a0.2,-0.9,2.4,2.1,-12,-80",
    "z": "0.1,7 5,7 0,0 5.2,0",
    "0": "a3.1,5,3.1,5.15,90,450",
    "1": "0,8 2.5,10 2.5,0",
    "2": "a3,7.2,2.85,2.95,165,-36 0,0 6,0",
    "3": "a2.8,7.6,2.55,2.55,150,-90 1.9,5.05;2.8,5.05 a2.9,2.45,3,2.6,90,-150",
    "4": "4.7,0 4.7,10 0,2.9 6.5,2.9",
    "5": "5.3,10 1,10 0.6,5.45 a2.85,3.2,3.05,3.35,138,-150",
    "6": "a5.7,3.1,5.7,7,106,180;a3.1,3.1,3.1,3.25,180,540",
    "7": "0,10 6,10 1.9,0",
    "8": "a3,7.6,2.55,2.55,90,450;a3,2.45,3,2.6,90,450",
    "9": "a0.5,6.9,5.7,7,-74,0;a3.1,6.9,3.1,3.25,0,360",
    ".": "0,0.1 0,0.3",
    ",": "0.6,0.4 0,-1.7",
    ":": "0,0.1 0,0.3;0,5.4 0,5.6",
    ";": "0.6,0.4 0,-1.7;0.6,5.4 0.6,5.6",
    "!": "0,10 0,3.2;0,0.1 0,0.3",
    "?": "a2.4,7.5,2.4,2.65,165,-48 2.4,4 2.4,3;2.4,0.1 2.4,0.3",
    "'": "0,10 0,7.4",
    '"': "0,10 0,7.4;1.9,10 1.9,7.4",
    "(": "a3.6,3.8,3.6,7.6,125,235",
    ")": "a-1.6,3.8,3.6,7.6,55,-55",
    "[": "2,11 0,11 0,-2 2,-2",
    "]": "0,11 2,11 2,-2 0,-2",
    "{": "2.4,11 a2.4,9.5,1.3,1.5,90,180 1.1,5.8 0,4.5 1.1,3.2 a2.4,-0.5,1.3,1.5,180,270",
    "}": "0,11 a0,9.5,1.3,1.5,90,0 1.3,5.8 2.4,4.5 1.3,3.2 a0,-0.5,1.3,1.5,0,-90",
    "/": "0,-1.4 4.6,10.8",
    "\\": "0,10.8 4.6,-1.4",
    "|": "0,-2 0,11",
    "_": "0,-1.6 6,-1.6",
    "-": "0,3.7 3.4,3.7",
    "–": "0,3.7 5.4,3.7",
    "—": "0,3.7 8.5,3.7",
    "−": "0,3.9 5.6,3.9",
    "+": "0,3.9 5.8,3.9;2.9,1 2.9,6.8",
    "=": "0,5.1 5.8,5.1;0,2.7 5.8,2.7",
    "±": "0,5.6 5.8,5.6;2.9,2.9 2.9,8.3;0,0.5 5.8,0.5",
    "×": "0.2,6.3 5,1.5;5,6.3 0.2,1.5",
    "÷": "0,3.9 5.8,3.9;2.9,6.4 2.9,6.6;2.9,1.2 2.9,1.4",
    "*": "1.9,10 1.9,6.2;0.3,9.1 3.5,7.1;0.3,7.1 3.5,9.1",
    "<": "5.4,6.9 0,3.9 5.4,0.9",
    ">": "0,6.9 5.4,3.9 0,0.9",
    "≤": "5.4,8 0,5.2 5.4,2.4;0,0.5 5.4,0.5",
    "≥": "0,8 5.4,5.2 0,2.4;0,0.5 5.4,0.5",
    "≈": "a1.5,5,1.5,1.1,165,15 a4.4,5,1.4,1.1,195,345;a1.5,2.4,1.5,1.1,165,15 a4.4,2.4,1.4,1.1,195,345",
    "~": "a1.5,3.7,1.5,1.1,165,15 a4.4,3.7,1.4,1.1,195,345",
    "^": "0,7.6 2.2,10 4.4,7.6",
    "`": "0,10 1.4,8.4",
    "·": "0,3.7 0,3.9",
    "•": "a0.5,3.8,0.5,0.5,0,360",
    "°": "a1.6,8.4,1.6,1.7,0,360",
    "%": "a1.9,7.8,1.9,2.3,90,450;a7.7,2.2,1.9,2.3,90,450;7.9,10 1.7,0",
    "#": "2.2,10 1.2,0;5.8,10 4.8,0;0.4,6.9 7,6.9;0,3.1 6.6,3.1",
    "&": "7.5,0 1.53,6.85 a3,8.05,1.8,2.1,215,-42 1.5,4.75 a2.75,2.5,2.75,2.65,118,300 7,4.4",
    "@": "a4.9,3.6,2.1,2.4,0,360;7,6 7,2.6 a8.2,2.6,1.2,1.5,180,330 a5,3.6,5,5.4,0,305",
    "$": "a3.1,7.4,2.75,2.35,32,270 a3.1,2.6,3.1,2.45,90,-148;3.1,11.2 3.1,-1.2",
    "→": "0,3.9 7,3.9;4.6,6.1 7,3.9 4.6,1.7",
    "←": "7,3.9 0,3.9;2.4,6.1 0,3.9 2.4,1.7",
    "µ": "0,7 0,-3;0,2.7 a2.6,2.7,2.6,2.85,180,360;5.2,7 5.2,0",
    "ß": "0,0 0,7.6 a2.3,7.6,2.3,2.55,180,-58 2.5,5.2 a2.6,2.6,2.8,2.75,88,-125",
    "ç": "a2.85,3.5,2.85,3.65,48,312;3,-0.2 2.3,-2.2",
    "Ø": "a4.7,5,4.7,5.15,90,450;0.8,-0.4 8.6,10.4",
    "ø": "a2.95,3.5,2.95,3.65,90,450;0.4,-0.4 5.5,7.4",
    "ı": "0,7 0,0",
}
_SMALL_FIGURES = {"⁰": "0", "¹": "1", "²": "2", "³": "3", "⁴": "4", "⁵": "5", "⁶": "6", "⁷": "7", "⁸": "8", "⁹": "9"}
# Marks stand on y = 0 about x = 0 and are lifted to the letter's height.
_MARKS: dict[str, str] = {
    "\u0300": "-1.1,2 0.5,0.4",
    "\u0301": "1.1,2 -0.5,0.4",
    "\u0302": "-1.5,0.4 0,2 1.5,0.4",
    "\u0303": "a-0.9,1,0.9,0.7,165,15 a0.9,1,0.9,0.7,195,345",
    "\u0308": "-1.35,0.9 -1.35,1.1;1.35,0.9 1.35,1.1",
    "\u030a": "a0,1.2,1.1,1.1,0,360",
    "\u030c": "-1.5,2 0,0.4 1.5,2",
}
_ALIASES = {"’": "'", "‘": "'", "“": '"', "”": '"', "„": '"', "μ": "µ", "⌀": "Ø", "…": "...", "\u00a0": " ", "\u202f": " ", "\t": " "}
_UNKNOWN = "0,0 5,0 5,10 0,10 0,0"

SPACE = 4.4
"""Room of a space, on top of the room that the letters on both sides of it have."""
_LEVEL = 0.5
"""Height of a level; letters are spaced by what lies between them at each level."""
_LEVELS = np.arange(-3.0, 11.01, _LEVEL)
_ROOM = 2.95
"""Mean room between two upright strokes, from pen middle to pen middle."""
_DEEPEST = 1.9
"""Room deeper than this inside a letter's side does not count: an open C is no gap."""
_LEAST_ROOM = 1.95
"""Least room between any two strokes of neighbours: bold ones, 1.65 wide, still have some paper between them."""
_LEAST_ROOM_NEAR_STOPS = 2.7
"""Stops and commas need more, so that a decimal point is never lost between its figures."""
_STOPS = frozenset(".,:;")
_AIR = 0.6
"""Room added between the smallest letters, which blur into each other on a screen."""
_AIRLESS_HEIGHT = 16.0
"""Pixels; capitals as high as this need no more air, and those _AIR_RANGE lower all of it."""
_AIR_RANGE = 7.0
_SMALL_FIGURE_SCALE, _SMALL_FIGURE_FOOT = 0.55, 4.8
"""Raised figures: a little more than half as large, their heads about level with those of capitals."""
_MARK_GAP = 1.3
"""Between a letter and the mark above it."""
_ARC_STEP = 12
"""Degrees between the points of an arc: a chord leaves the largest arc, of radius 5, by less than a tenth of the pen."""
_DENSE_STEP = 0.2
"""Between the points by which a letter's sides are found: small against a level."""


@dataclass(frozen=True)
class Glyph:
    """Strokes of a letter, each (n, 2), its width, and how far its strokes stand back from its left and right limits.

    back_left, back_right: per level of height, nan where the letter has nothing.
    """

    strokes: tuple[FloatArray, ...]
    width: float
    back_left: FloatArray
    back_right: FloatArray


def lettering(text: str, height: float) -> tuple[list[FloatArray], float]:
    """Strokes of a line of text with capitals of this height, each (n, 2) with y upwards, and the width of the line."""
    scale = height / CAPITAL
    air = _AIR * min(max((_AIRLESS_HEIGHT - height) / _AIR_RANGE, 0.0), 1.0)
    strokes: list[FloatArray] = []
    x, end, before = 0.0, 0.0, ""
    for letter in _letters(text):
        if letter == " ":
            x, before = end + (SPACE if before == "" else SPACE + _ROOM / 2), ""
            end = x
            continue
        glyph = _glyph(letter)
        if before:
            x = end + _room(before, letter) + air
        strokes += [(stroke + (x, 0)) * scale for stroke in glyph.strokes]
        end, before = x + glyph.width, letter
    return strokes, end * scale


def width_of(text: str, height: float) -> float:
    """Width of a line of text with capitals of this height."""
    return lettering(text, height)[1]


def _letters(text: str) -> list[str]:
    """The letters of a text, with their accents, after replacing what is written alike."""
    plain = "".join(_ALIASES.get(c, c) for c in unicodedata.normalize("NFC", text))
    return [c for c in plain if c == " " or c.isprintable()]


@lru_cache(maxsize=1024)
def _glyph(letter: str) -> Glyph:
    """A letter of the alphabet, put together where it has an accent; an empty box where there is none."""
    strokes = _strokes_of(letter)
    points = np.concatenate(strokes)
    low, high = points[:, 0].min(), points[:, 0].max()
    shifted = tuple(s - np.array([low, 0.0]) for s in strokes)
    dense = np.concatenate([_dense(s) for s in shifted])
    level = np.rint((dense[:, 1] - _LEVELS[0]) / _LEVEL).astype(int).clip(0, len(_LEVELS) - 1)
    left = np.full(len(_LEVELS), np.inf)
    right = np.full(len(_LEVELS), -np.inf)
    np.minimum.at(left, level, dense[:, 0])
    np.maximum.at(right, level, dense[:, 0])
    width = float(high - low)
    has = np.isfinite(left)
    return Glyph(shifted, width, np.where(has, left, np.nan), np.where(has, width - right, np.nan))


def _strokes_of(letter: str) -> list[FloatArray]:
    """Points of all strokes of a letter."""
    if letter in _STROKES:
        return _parsed(_STROKES[letter])
    if letter in _SMALL_FIGURES:
        return [s * _SMALL_FIGURE_SCALE + (0, _SMALL_FIGURE_FOOT) for s in _parsed(_STROKES[_SMALL_FIGURES[letter]])]
    parts = unicodedata.normalize("NFD", letter)
    if len(parts) > 1 and parts[0] in _STROKES and all(mark in _MARKS for mark in parts[1:]):
        base = "ı" if parts[0] == "i" else parts[0]
        strokes = _parsed(_STROKES[base])
        points = np.concatenate(strokes)
        middle, top = (points[:, 0].min() + points[:, 0].max()) / 2, points[:, 1].max()
        for mark in parts[1:]:
            strokes += [s + (middle, top + _MARK_GAP) for s in _parsed(_MARKS[mark])]
        return strokes
    return _parsed(_UNKNOWN)


def _parsed(description: str) -> list[FloatArray]:
    """Points of the strokes of a description (its form is explained above the alphabet)."""
    strokes = []
    for stroke in description.split(";"):
        pieces: list[FloatArray] = []
        for word in stroke.split():
            if word.startswith("a"):
                x, y, across, up, start, stop = (float(v) for v in word[1:].split(","))
                angle = np.radians(np.linspace(start, stop, max(2, int(abs(stop - start) / _ARC_STEP) + 1)))
                pieces.append(np.stack([x + across * np.cos(angle), y + up * np.sin(angle)], axis=1))
            else:
                pieces.append(np.array([[float(v) for v in word.split(",")]]))
        strokes.append(np.concatenate(pieces))
    return strokes


def _dense(stroke: FloatArray) -> FloatArray:
    """Points along a stroke, no farther apart than a small part of a level."""
    pieces = [a + (b - a) * np.linspace(0, 1, 2 + int(np.hypot(*(b - a)) / _DENSE_STEP))[:, None] for a, b in pairwise(stroke)]
    return np.concatenate(pieces)


@lru_cache(maxsize=8192)
def _room(before: str, after: str) -> float:
    """Distance between the limits of two neighbouring letters, so that the area between their sides looks alike everywhere."""
    a, b = _glyph(before), _glyph(after)
    both = ~(np.isnan(a.back_right) | np.isnan(b.back_left))
    if both.any():
        depth = np.minimum(a.back_right[both], _DEEPEST) + np.minimum(b.back_left[both], _DEEPEST)
        room = _ROOM - float(depth.mean())
    else:
        room = _ROOM - _DEEPEST
    # No two strokes come closer than the least room, also a little above or below each other.
    behind, ahead = _spread(a.back_right), _spread(b.back_left)
    nearest = float(np.min(np.where(np.isnan(behind + ahead), np.inf, behind + ahead)))
    least = _LEAST_ROOM_NEAR_STOPS if {before, after} & _STOPS else _LEAST_ROOM
    return max(room, least - nearest) if np.isfinite(nearest) else room


def _spread(back: FloatArray) -> FloatArray:
    """The least of each level and its neighbours, nan where all three have nothing."""
    filled = np.where(np.isnan(back), np.inf, back)
    padded = np.pad(filled, 1, constant_values=np.inf)
    least = np.minimum(np.minimum(padded[:-2], padded[2:]), filled)
    return np.where(np.isinf(least), np.nan, least)
