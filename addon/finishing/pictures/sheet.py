"""The sheet of a picture: its words, its size, and where title, note, footer and legend stand on it."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.message import ENGLISH, Language, Message
from .canvas import BOLD_PEN, Canvas, TextStyle, fitted_lines
from .palette import INK, QUIET

# All lengths in pixels, chosen by eye for a picture of about 1400 x 1000: the width of an A4 page at 200 dots per inch.

MARGIN = 52
LEGEND_ROOM = 206
"""Width of the column on the right that a map's legend takes."""
FOOTER = 64
"""Height that scale bar and two lines of footer take."""
HEADING_ROOM = 142
"""Height that the margin, one line of title and one of note take."""
GAP = 20
"""Between the words and what is below them, and between a map and its legend."""
FOOTER_DROP = 16
"""How far the last line of the footer stands below the margin's edge."""
NOTE_GAP = 2
"""Between title and note, on top of their line feeds."""

TITLE_LINE, NOTE_LINE, FOOTER_LINE = 1.75, 1.7, 1.75
"""Line feeds, in heights of capitals."""
TITLE_SIZE, NOTE_SIZE, LABEL_SIZE, SMALL_SIZE = 25.0, 13.5, 13.0, 11.5
"""Heights of capitals: of the title, of note and legend titles, of ticks and keys, of the footer."""
TITLE_LEAST, NOTE_LEAST, SMALL_LEAST = 17.0, 11.5, 10.0
"""How small long words may become before they are broken into lines; below 10 they could not be read on a screen."""
TITLE_PEN = BOLD_PEN * 0.86
"""Large letters need less of the bold pen to look as heavy."""
FOOTER_SHARE = 0.62
"""Of the width between the margins; the scale bar has the rest."""

FULL_WIDTH = 1400
LEAST_WIDTH, MAP_HEIGHT = 760, 1020
"""A tall body gets a narrower sheet, on which its map is about this high."""
WIDE_BODY = 1.15
"""Height over width of a body up to which the sheet keeps its full width."""
HEIGHTS = 640, 1300
"""Least and greatest height of a map's sheet with one line of title and note."""
WORDS_HEIGHT = 280
"""What words and margins add to the height of the map."""
EMPTY_SHAPE = 0.7
"""Height over width where there is no body to show."""
CHART_HEIGHT = 860


@dataclass(frozen=True)
class Words:
    """What is written on a picture: title top left, note under it in a quieter hand, footer at the bottom right; and the language of all its words."""

    title: Message | str
    note: Message | str = ""
    footer: Message | str = ""
    language: Language = ENGLISH

    def said(self, words: Message | str) -> str:
        """Any words of the picture in its language."""
        return self.language.said(words)


@dataclass(frozen=True)
class Sheet:
    """Words on a sheet of a size in pixels."""

    words: Words
    width: int
    height: int

    @property
    def map_top(self) -> float:
        """y where the map may begin, below the title and the note."""
        lines, size = self._title_lines()
        title = len(lines) * size * TITLE_LINE
        lines, size = self._note_lines()
        return MARGIN + title + (NOTE_GAP + len(lines) * size * NOTE_LINE if self.words.note else 0.0) + GAP

    @property
    def map_bottom(self) -> float:
        """y where the map must end, above scale bar and footer."""
        return self.height - MARGIN - self.footer_room

    @property
    def map_right(self) -> int:
        """x where the map must end, before the legend."""
        return self.width - MARGIN - LEGEND_ROOM

    @property
    def footer_room(self) -> float:
        """Height at the bottom, above the margin, that scale bar and footer take."""
        lines, size = self._footer_lines()
        return FOOTER + max(len(lines) - 2, 0) * size * FOOTER_LINE

    def _title_lines(self) -> tuple[tuple[str, ...], float]:
        return fitted_lines(self.words.said(self.words.title), TITLE_SIZE, self.width - 2 * MARGIN, TITLE_LEAST)

    def _note_lines(self) -> tuple[tuple[str, ...], float]:
        return fitted_lines(self.words.said(self.words.note), NOTE_SIZE, self.width - 2 * MARGIN, NOTE_LEAST)

    def _footer_lines(self) -> tuple[tuple[str, ...], float]:
        return fitted_lines(self.words.said(self.words.footer), SMALL_SIZE, (self.width - 2 * MARGIN) * FOOTER_SHARE, SMALL_LEAST)

    def draw_words(self, canvas: Canvas) -> None:
        """Write title, note and footer."""
        y = float(MARGIN)
        lines, size = self._title_lines()
        for line in lines:
            canvas.text(line, MARGIN, y + size, TextStyle(size, INK, TITLE_PEN))
            y += size * TITLE_LINE
        lines, size = self._note_lines()
        for line in lines:
            canvas.text(line, MARGIN, y + NOTE_GAP + size, TextStyle(size, QUIET))
            y += size * NOTE_LINE
        lines, size = self._footer_lines()
        for k, line in enumerate(reversed(lines)):
            y = self.height - MARGIN + FOOTER_DROP - k * size * FOOTER_LINE
            canvas.text(line, self.width - MARGIN, y, TextStyle(size, QUIET), anchor=1)


def map_sheet(words: Words, length_x: float, length_y: float) -> Sheet:
    """The sheet for a map of these lengths in mm, 0 x 0 where there is none; words that need more lines make it higher."""
    tall = length_y / length_x if length_x > 0 and length_y > 0 else EMPTY_SHAPE
    wanted = FULL_WIDTH if tall < WIDE_BODY else MAP_HEIGHT / tall + 2 * MARGIN + LEGEND_ROOM + GAP
    width = round(min(max(wanted, LEAST_WIDTH), FULL_WIDTH))
    height = round(min(max(tall * (width - 2 * MARGIN - LEGEND_ROOM) + WORDS_HEIGHT, HEIGHTS[0]), HEIGHTS[1]))
    return _with_room(Sheet(words, width, height))


def chart_sheet(words: Words) -> Sheet:
    """The sheet for a chart; words that need more lines make it higher."""
    return _with_room(Sheet(words, FULL_WIDTH, CHART_HEIGHT))


def _with_room(sheet: Sheet) -> Sheet:
    """The sheet made higher by what its words need beyond one line of title and note and two of footer: nothing is ever cut off."""
    more = sheet.map_top - HEADING_ROOM + sheet.footer_room - FOOTER
    return Sheet(sheet.words, sheet.width, sheet.height + round(max(more, 0.0)))
