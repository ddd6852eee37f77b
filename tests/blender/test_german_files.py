"""Files for people in German: the bench sheet and the pictures hold no English, with decimal commas; files for programs are the same in any."""

from __future__ import annotations

import re
import sys
import threading
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from addon.finishing.core.message import ENGLISH, Language, Message
from addon.finishing.files.coupon_files import coupon_files
from addon.finishing.files.job_files import FinishedView, JobFiles, job_files
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.pictures.canvas import Canvas
from addon.screen import language
from addon.screen.translations import ALL_GERMAN

sys.path.append(str(Path(__file__).parents[1] / "finishing"))
from small_jobs import two_sides, with_smaller_cutter
from test_coupon import NO_BODY, coupon_for

ENGLISH_WORDS = re.compile(
    r"\b(the|of|and|is|are|with|from|by|that|this|where|which|minutes|cutters?|sides?|stock|surface|pass|lines?|run|at|to|on|not|it|uncut|left|cusp|above)\b",
    re.IGNORECASE,
)
"""Words that no German text has."""

NAMES = re.compile(r"[\w-]+\.(nc|csv|html|png)|--[a-z][a-z-]+|\b[0-9a-f]{12,}\b|<clamp>|=cmd.*\"Body\"|Dented")
"""Names of files, of options, digests, and what the jobs' bodies and clamps are called."""

ALIKE = re.compile(r"^[\W\d_]*((mm|mm²|cm²|min|Rz|Ra|R|X|Y|Z|x|y|z|MDF|µm)[\W\d_]*)*$")
"""What is written alike in both languages: numbers, units, axes."""


class Texts(HTMLParser):
    """Texts of a page, and those of its attributes that are read out."""

    def __init__(self, content: bytes) -> None:
        super().__init__()
        self.found: list[str] = []
        self.language = ""
        self.feed(re.sub(rb"<style>.*?</style>|base64,[^\"]*", b"", content, flags=re.DOTALL).decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [value or "" for name, value in attrs if name in ("alt", "aria-label", "title")]
        self.language = dict(attrs).get("lang") or self.language if tag == "html" else self.language

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.found.append(data.strip())


@pytest.fixture
def german(monkeypatch: pytest.MonkeyPatch) -> Language:
    """The language of a Blender that speaks German; bpy's wheel speaks English alone."""
    main = threading.current_thread()

    def looked_up(text: str, context: str) -> str:
        # Blender translates in its main thread alone; files are made in another.
        return ALL_GERMAN.get(text, text) if threading.current_thread() is main else text

    monkeypatch.setattr(language, "pgettext_iface", looked_up)
    return language.users_language()


def written(spoken: Language, monkeypatch: pytest.MonkeyPatch) -> tuple[dict[str, bytes], list[str]]:
    """All files of a job of two sides and of one with a smaller cutter, and the texts that were drawn on their pictures."""
    drawn: list[str] = []
    draw = Canvas.text

    def noted(canvas: Canvas, text: str, *more: object, **others: object) -> None:
        drawn.append(text)
        draw(canvas, text, *more, **others)  # type: ignore[arg-type]

    files: dict[str, bytes] = {}
    with monkeypatch.context() as patched:
        patched.setattr(Canvas, "text", noted)
        for plans in (two_sides(), with_smaller_cutter()):
            files |= job_files(plans, JobFiles(programs=True, finished=FinishedView(), despite=("keep-out", "channel"), language=spoken))
    return files, drawn


def without_names(text: str) -> str:
    return NAMES.sub("", text)


def not_translated(pairs: Iterator[tuple[str, str]]) -> list[str]:
    """Texts that are the same in both languages and should not be, or that have an English word or a decimal point."""
    wrong = []
    for english, shown in pairs:
        bare = without_names(shown)
        if ALIKE.match(bare) and not re.search(r"\d\.\d", bare):
            continue
        # Titles of columns and keys of one word may be the same in both languages: none is.
        if english == shown or ENGLISH_WORDS.search(bare) or re.search(r"\d\.\d", bare):
            wrong.append(shown)
    return wrong


def test_sheets_and_pictures_hold_no_english_and_other_files_no_german(german: Language, monkeypatch: pytest.MonkeyPatch) -> None:
    plain, plain_drawn = written(ENGLISH, monkeypatch)
    files, drawn = written(german, monkeypatch)
    assert list(files) == list(plain)
    for name, content in files.items():
        if name.endswith((".csv", ".nc", ".json")):
            assert content == plain[name], name  # what programs read does not depend on who asks for it
    # Pictures.
    assert len(drawn) > 200  # not as many as in English: long words are broken into lines
    plain_texts = set(plain_drawn)
    assert not_translated((text if text in plain_texts else "", text) for text in drawn) == []
    assert any("nicht erreicht" in text for text in drawn) and "minutes" in plain_drawn and "Minuten" in drawn
    # Sheets.
    sheets = [name for name in files if name.endswith(".html")]
    assert len(sheets) == 2
    for name in sheets:
        english, shown = Texts(plain[name]), Texts(files[name])
        assert (english.language, shown.language) == ("en", "de")
        assert len(shown.found) == len(english.found) > 100
        assert not_translated(zip(english.found, shown.found, strict=True)) == []
        assert any("Wenn ein Lauf stehen bleibt" in text for text in shown.found)


def test_the_test_itself_sees_what_is_not_translated() -> None:
    assert not_translated(iter([("Side", "Side"), ("a", "Der cutter"), ("0.5 mm", "0.5 mm"), ("Side", "Seite"), ("0.5 mm", "0,5 mm")])) == [
        "Side", "Der cutter", "0.5 mm",
    ]  # fmt: skip


def test_the_language_of_files_is_that_of_the_panels(german: Language, monkeypatch: pytest.MonkeyPatch) -> None:
    assert str(german.said("Kopf")) == "Kopf" and german.code == "de"
    heading, said = Message("Bench sheet: {body}", body="0.5 mm"), []
    maker = threading.Thread(target=lambda: said.append((german.said(heading), german.said(Message("{value:.1f} m", value=1.5)))))
    maker.start()
    maker.join()
    assert said == [("Werkblatt: 0.5 mm", "1,5 m")]
    monkeypatch.setattr(language, "pgettext_iface", lambda text, context: text)
    assert language.users_language().code == "en"


def test_the_sheet_of_a_coupon_holds_no_english(german: Language) -> None:
    coupon = coupon_for(Cutter("Round-nose 16", 16.0))
    request = Request(NO_BODY, cutter=coupon.cutter)
    plain, files = (coupon_files(coupon, request, language=spoken) for spoken in (ENGLISH, german))
    assert plain["coupon.json"] == files["coupon.json"] and plain["coupon.nc"] == files["coupon.nc"]
    english, shown = (Texts(made["coupon-sheet.html"]) for made in (plain, files))
    assert (english.language, shown.language) == ("en", "de") and len(shown.found) == len(english.found) > 30
    commands = {text for text in english.found if text.startswith("build.py ")}
    assert len(commands) == 2 and commands <= set(shown.found)
    pairs = zip(english.found, shown.found, strict=True)
    assert not_translated((before, after) for before, after in pairs if after not in commands and after != "s") == []
    assert "Kugelfräser 16" in shown.found[0] and any("16,00 mm bei einem Fräser" in text for text in shown.found)
