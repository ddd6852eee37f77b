"""Programs read word by word and run, independent of what writes them: words of ISO 6983 and RS-274, with the rules of RS-274 for what may stand
together in a block. Whatever is not known here is an error, as it would be on a small control."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

Place = tuple[float, float, float]

MODAL_GROUPS = (
    {"G0", "G1"}, {"G17"}, {"G20", "G21"}, {"G90"}, {"G94"}, {"G40"}, {"G49"}, {"G80"}, {"G54"}, {"G61", "G64"}, {"G53", "G4"},
    {"M0", "M30"}, {"M3", "M5"},
)  # fmt: skip
"""No block may hold two words of one group (NIST RS274/NGC, table 4)."""


@dataclass
class Step:
    """One block with a motion. start, end: mm, nan where not known. fast: G0. feed: mm/min. line: number of the last comment that named one.
    spindle: whether it turns. letters: of the words that the block names.
    """

    start: Place
    end: Place
    fast: bool
    feed: float
    line: int
    spindle: bool
    letters: str


@dataclass
class Run:
    """What a control does with a program. events: words but moves, in order, with the number of steps before each; notes: comments in order."""

    steps: list[Step] = field(default_factory=list)
    events: list[tuple[str, int]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def words(self) -> list[str]:
        """The words but moves, in order."""
        return [word for word, _ in self.events]


def read(program: bytes) -> Run:
    """Run a program. Raises AssertionError for anything that a control could take wrongly."""
    assert program.endswith(b"M30\r\n")
    control = _Control()
    for text in program.decode("ascii").split("\r\n"):
        if text:
            assert len(text) <= 80, text
            control.comment(text) if text[0] == "(" else control.block(text)
    assert not control.spindle
    return control.run


class _Control:
    """What a control remembers from block to block."""

    def __init__(self) -> None:
        self.run = Run()
        self.at = [math.nan] * 3
        self.feed = math.nan
        self.scale = math.nan
        self.line = 0
        self.spindle = False

    def comment(self, text: str) -> None:
        """A comment: harmless signs alone; one that names a line is remembered."""
        note = re.fullmatch(r"\(([A-Za-z0-9 .,:+\-/=_']{1,70})\)", text)
        assert note, text
        self.run.notes.append(note[1])
        number = re.fullmatch(r"(?:Line|Hole) (\d+)", note[1])
        self.line = int(number[1]) if number else self.line

    def block(self, text: str) -> None:
        """A block of words: never an exponent, a sign alone, an empty number, a letter or a modal group twice."""
        assert re.fullmatch(r"(?:[A-Z]-?\d+(?:\.\d+)?)(?: [A-Z]-?\d+(?:\.\d+)?)*", text), text
        words = text.split(" ")
        codes = [each for each in words if each[0] in "GM"]
        values = {each[0]: float(each[1:]) for each in words if each[0] not in "GM"}
        assert len(values) == len(words) - len(codes) and set(values) <= set("XYZFSPQ"), text
        assert all(sum(code in group for group in MODAL_GROUPS) == 1 for code in codes if code not in ("G0", "G1")) or "G53" in codes, text
        assert all(len(group & set(codes)) <= 1 for group in MODAL_GROUPS), text
        for code in codes:
            self._code(code)
        for letter, beside in (("S", {"M3"}), ("P", {"G4", "G64"}), ("Q", {"G64"})):
            if letter in values:
                assert beside & set(codes), text
                if letter != "Q":
                    self.run.events.append((f"{letter}{values[letter]:g}", len(self.run.steps)))
        if "G53" in codes:
            assert words == ["G53", "G0", "Z0"]
            self.at[2] = math.nan  # the top of the travel, wherever that is
        else:
            self._motion(text, codes, values)

    def _code(self, code: str) -> None:
        if code not in ("G0", "G1"):
            self.run.events.append((code, len(self.run.steps)))
        self.scale = {"G21": 1.0, "G20": 25.4}.get(code, self.scale)
        self.spindle = {"M3": True, "M5": False}.get(code, self.spindle)

    def _motion(self, text: str, codes: list[str], values: dict[str, float]) -> None:
        axes = [letter for letter in "XYZ" if letter in values]
        word = [code for code in codes if code in ("G0", "G1")]
        assert bool(axes) == bool(word), text  # RS-274: a motion word without an axis is an error; an axis without one goes by what was last
        if not axes:
            assert "F" not in values, text
            return
        if "F" in values:
            assert word == ["G1"] and values["F"] > 0, text
            self.feed = values["F"] * self.scale
        assert word == ["G0"] or self.feed > 0, text
        start = (self.at[0], self.at[1], self.at[2])
        for letter in axes:
            self.at["XYZ".index(letter)] = values[letter] * self.scale
        end, letters = (self.at[0], self.at[1], self.at[2]), "".join(each[0] for each in text.split(" "))
        self.run.steps.append(Step(start, end, word == ["G0"], self.feed, self.line, self.spindle, letters))


def cut_of_lines(run: Run, first_cut: dict[int, Place]) -> dict[int, list[tuple[Place, float]]]:
    """For every line: the places and feeds of its blocks from where it is first cut on, as far as they are moves at feed.

    first_cut: the place of each line's first point, as programs write it.
    """
    found: dict[int, list[tuple[Place, float]]] = {}
    for step in run.steps:
        own = found.get(step.line)
        begun = own is not None or step.end == first_cut.get(step.line)
        if step.line and not step.fast and begun:
            found.setdefault(step.line, []).append((step.end, 0.0 if own is None else step.feed))
    return found


def known(steps: Sequence[Step]) -> list[Step]:
    """The steps whose ends are known on all axes."""
    return [step for step in steps if not any(math.isnan(value) for value in step.end)]
