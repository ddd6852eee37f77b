"""German: every text has one, its places are those of the English, sentences of findings read as they should, and numbers have a comma."""

from __future__ import annotations

import ast
import random
import re
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import message_templates
import pytest
from blender_process import fresh_profile

from addon.finishing.core.errors import BadBody, BadFile, BadRequest
from addon.finishing.core.finding import Finding
from addon.finishing.core.message import Message, word
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.keep_out import KeepOut
from addon.finishing.job.machine import Machine
from addon.finishing.options.grain import GrainChoice, grain_findings
from addon.finishing.pictures.legend import curvature_legend, fit_legend, order_legend, slope_legend
from addon.finishing.planning.sanding_advice import SandedArea
from addon.finishing.reading.faults import several_objects
from addon.finishing.reading.obj import read_obj
from addon.finishing.reading.ply import read_ply
from addon.finishing.reading.stl import read_stl
from addon.finishing.tooling.clearance import Contact, clearance_findings
from addon.screen import language
from addon.screen.german_errors import GERMAN_ERRORS
from addon.screen.german_findings import GERMAN_FINDINGS
from addon.screen.german_mesh_files import GERMAN_MESH_FILES
from addon.screen.translations import ALL_GERMAN, TABLES

ROOT = Path(__file__).parents[2]
NBSP = "\N{NO-BREAK SPACE}"


@pytest.fixture
def german(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look texts up as Blender does when it speaks German; bpy's wheel speaks English alone."""

    def look_up(text: str, context: str) -> str:
        assert context == language.CONTEXT
        return ALL_GERMAN.get(text, text)

    monkeypatch.setattr(language, "pgettext_iface", look_up)
    monkeypatch.setattr(language, "pgettext_rpt", look_up)


SCRIPT = """
import os, sys
sys.path[:0] = [sys.argv[1], *(os.path.join(sys.argv[1], "tests", part) for part in ("finishing", "blender"))]
import bpy, addon
addon.register()
from addon.screen.german import GERMAN
from addon.screen.german_actions import GERMAN_ACTIONS
from addon.screen.german_screen import GERMAN_SCREEN
from addon.screen.german_settings import GERMAN_SETTINGS
from addon.screen.translations import ALL_GERMAN
from interface_texts import interface_texts
texts = interface_texts()
assert len(texts) > 600 and not texts - set(ALL_GERMAN), sorted(texts - set(ALL_GERMAN))
shown = set(GERMAN) | set(GERMAN_ACTIONS) | set(GERMAN_SCREEN) | set(GERMAN_SETTINGS)
assert not shown - texts, ("nothing shows these any more", sorted(shown - texts))
addon.unregister()
print("all done", flush=True)
os._exit(0)  # bpy 4.2 and 4.5 as modules may hang when the interpreter ends after add-ons were in use
"""


def test_every_text_of_the_interface_has_a_german_one_and_none_is_left_over(tmp_path: Path) -> None:
    script = tmp_path / "gather.py"
    script.write_text(textwrap.dedent(SCRIPT))
    command = [sys.executable, str(script), str(ROOT)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=200, cwd=tmp_path, env=fresh_profile(tmp_path), check=False)
    assert "all done" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]


def test_every_message_has_a_german_one_and_none_is_left_over() -> None:
    wanted = message_templates.to_translate()
    assert sorted(wanted - set(ALL_GERMAN)) == []
    assert sorted((set(GERMAN_FINDINGS) | set(GERMAN_ERRORS) | set(GERMAN_MESH_FILES)) - wanted) == []
    assert sum(len(table) for table in TABLES) == len(set().union(*TABLES))  # each text stands in one table only


@pytest.mark.parametrize("table", TABLES)
def test_places_and_formats_are_those_of_the_english(table: dict[str, str]) -> None:
    for english, shown in table.items():
        assert message_templates.places(shown) == message_templates.places(english), english
        assert shown.strip() and shown == shown.strip(), english


@pytest.mark.parametrize("template", sorted(message_templates.templates()))
def test_german_templates_are_filled_without_a_rest(template: str, german: None) -> None:
    rng = random.Random(template)
    for _ in range(5):
        values = message_templates.some_values(template, rng)
        shown = language.in_users_language(Message(template, **values))
        assert "{" not in shown and "}" not in shown
        # No number keeps its decimal point, and every value is there.
        assert not re.search(r"\d\.\d", shown), shown
        for name, form in message_templates.places(template).items():
            if "{" not in form and name not in message_templates.names_in_formats(template):
                number = not isinstance(values[name], str)
                text = format(values[name], form)
                assert (text.replace(".", ",").replace("%", f"{NBSP}%") if number else text) in shown


def test_numbers_are_written_as_the_language_writes_them(german: None, monkeypatch: pytest.MonkeyPatch) -> None:
    message = Message("{minutes:.1f} minutes, within about {share:.0%}", minutes=12.34, share=0.05)
    assert language.in_users_language(message) == f"12,3 Minuten, auf etwa 5{NBSP}% genau"
    assert language.for_report(message) == language.in_users_language(message)
    assert language.in_users_language(Message("{x:.1f} x {y:g} mm", x=1.0, y=1e-5)) == "1,0 x 1e-05 mm"
    assert language.in_users_language(Message("{name}: {value}", name="R 1.5%", value=0.5)) == "R 1.5%: 0,5"  # a name stays what it is
    # A language that the extension has no texts for gets the English, with its decimal point.
    monkeypatch.setattr(language, "pgettext_iface", lambda text, context: text)
    assert language.in_users_language(message) == str(message) == "12.3 minutes, within about 5%"


def test_findings_in_german(german: None) -> None:
    cutter = Cutter("Round-nose 16", 16.0, shank_diameter=12.0, stick_out=60.0)
    place = (0.0, 0.0, 0.0)

    def shown(finding: Finding) -> str:
        return language.in_users_language(finding.words)

    touching = (Contact("shank", "body", 1.25, place), Contact("collet nut", "stock", 2.5, place), Contact("cutter", "stock", 0.5, place))
    assert [shown(finding) for finding in clearance_findings(touching, cutter, 16.2)] == [
        "Der Schaft von 12 mm geht 1,2 mm in den Körper. Einen Fräser mit 51 mm nutzbarer Länge nehmen oder einen mit dünnerem Schaft.",
        "Bei 60 mm Ausspannlänge geht die Spannmutter 2,5 mm in den stehenden Rohling. Den Fräser mit 63 mm Ausspannlänge oder mehr spannen, "
        "soweit seine Einspannlänge in der Spannzange es erlaubt.",
        "Der Kanal von 16,2 mm neben dem Körper ist zu schmal: Der 16-mm-Fräser reibt 0,5 mm tief am stehenden Rohling. Einen Kanal breiter als "
        "16,5 mm schruppen (Kanalbreite), einen kleineren Fräser nehmen oder weniger Überlauf einstellen.",
    ]
    (grain,) = grain_findings(GrainChoice(0.25, 0.9, 1.5))
    assert shown(grain) == (
        f"Die Bahnen laufen zu 75{NBSP}% mit der Maserung und brauchen etwa 1,5 Minuten länger als die schnellsten, die zu "
        f"10{NBSP}% mit ihr laufen. Gewicht der Maserung senken, um die schnellsten Fräsbahnen zu bekommen."
    )
    left = SandedArea("hand", area=34.0, height=0.4, volume=120.0, grit=None, place=(20.0, 31.4, 12.0))
    assert language.in_users_language(left.words) == ("Von Hand: 34 mm² bei X 20, Y 31, bis 0,40 mm hoch, 120,0 mm³: zuerst abziehen oder abstechen.")


def test_errors_in_german(german: None) -> None:
    with pytest.raises(BadRequest) as raised:
        Machine(spin_up_seconds=-0.5)
    assert language.for_report(raised.value.message) == "Maschine: Hochlaufzeit der Spindel muss zwischen 0 und 120 s liegen, nicht bei -0,5."
    assert str(raised.value) == "Machine: spin up seconds must lie between 0 and 120 s, not at -0.5."
    with pytest.raises(BadRequest) as raised:
        KeepOut("left clamp", (0.0, 0.0, 0.0), (0.0, 1.0, 1.0))
    assert language.for_report(raised.value.message) == (
        "Die untere Ecke des Sperrkastens „left clamp“ muss in X, Y und Z unter seiner oberen Ecke liegen: tauschen, was es nicht tut."
    )
    nested = BadBody("'{body}' has no faces: choose a mesh with a surface.", body="a {b}")
    assert language.for_report(nested.message) == "„a {b}“ hat keine Flächen: ein Mesh mit einer Oberfläche wählen."


def test_errors_of_mesh_files_in_german(german: None) -> None:
    def shown(read: Callable[[bytes, str], object], content: bytes) -> str:
        with pytest.raises(BadFile) as raised:
            read(content, "a.b")
        return language.for_report(raised.value.message)

    points = b"v 0 0 0\nv 1 0 0\nv 0 1 0\n"
    again = "das Mesh neu exportieren."
    # A place, what is wrong there and what to do each come from a table of their own; words of the file stay what they are.
    assert shown(read_obj, points + b"f 1 2 3.0\n") == f"„a.b“, Zeile 4: „3.0“ ist keine ganze Zahl: {again}"
    assert shown(read_obj, points + b"vt 1 2 3 4\n") == f"„a.b“, Zeile 4: „vt“ hat 4 Zahlen, erwartet wurden 1 oder 2 oder 3: {again}"
    assert shown(read_obj, points + b"f -1 -2 -4\n") == (f"„a.b“, Zeile 4: 4 Punkte werden zurückgezählt, bis hierher gibt es aber nur 3: {again}")
    assert shown(read_stl, bytes(84)) == "„a.b“ enthält keine Dreiecke: ein Mesh mit einer Oberfläche exportieren."
    assert shown(read_ply, b"ply\nformat ascii 2.0\n\nend_header\n") == (
        "„a.b“, Zeile 2: das Format „ascii 2.0“ ist unbekannt: als PLY 1.0, ascii oder binär, exportieren."
    )
    many = several_objects("a.b", tuple(f"p{n}" for n in range(10)))
    assert language.for_report(many.message) == (
        "„a.b“ enthält 10 Objekte („p0“, „p1“, „p2“, „p3“, „p4“, „p5“, „p6“, „p7“ und 2 weitere): eins mit --object NAME wählen oder sie mit "
        "--object all zusammenfassen."
    )


def test_legends_in_german(german: None) -> None:
    def ticks(legend) -> list[str]:  # noqa: ANN001
        return [language.in_users_language(tick.label) for tick in legend.ticks]

    assert ticks(curvature_legend(8))[0] == "Mulde R 8" and "eben" in ticks(curvature_legend(8)) and "Wölbung R 8" in ticks(curvature_legend(8))
    assert ticks(fit_legend(0.05, 0.25)) == ["geeignet, bis 0,05", "0,10", "0,15", "0,20", "0,25"]
    assert ticks(order_legend(164)) == ["erste", "50", "100", "164 letzte"]
    assert ticks(slope_legend())[1] == "15°"
    assert language.in_users_language(slope_legend().title) == "Neigung gegen die Waagrechte"


def test_words_within_sentences_are_translated_too(german: None) -> None:
    status = Message("{work}: {stage}, {share:.0%}    ESC: Stop", work=Message("Planning"), stage=word("pass lines"), share=0.42)
    assert language.in_users_language(status) == f"Planen: Fräsbahnen, 42{NBSP}%    ESC: Anhalten"


def panels_of_the_tab() -> list[str]:
    """Labels of the panels that lie in no other one, in their order, as the source has them."""
    found = []
    for file in sorted((ROOT / "addon" / "screen").glob("*_panels.py")):
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef):
                assigned = [part for part in node.body if isinstance(part, ast.Assign)]
                values = {part.targets[0].id: part.value.value for part in assigned if isinstance(part.value, ast.Constant)}  # type: ignore[attr-defined]
                if "bl_order" in values and "bl_parent_id" not in values:
                    found.append((values["bl_order"], values["bl_label"]))
    return [label for _, label in sorted(found)]


@pytest.mark.parametrize(("guide", "texts"), [("guide.html", {}), ("guide_de.html", ALL_GERMAN)])
def test_guides_head_their_parts_as_the_panels_are_called(guide: str, texts: dict[str, str]) -> None:
    labels = panels_of_the_tab()
    heads = re.findall(r"<h2>(.*?)</h2>", (ROOT / "addon" / "guide" / guide).read_text(encoding="utf-8"))
    assert len(labels) == 7 and heads == [f"{number}. {texts.get(label, label)}" for number, label in enumerate(labels, 1)]
    # What is to be pressed is called as it is on the screen.
    for pressed in ("Import Body", "Plan Finishing", "Plan Both Sides", "More"):
        assert f"<b>{texts.get(pressed, pressed)}</b>" in (ROOT / "addon" / "guide" / guide).read_text(encoding="utf-8")


LARGEST_PICTURE = 200_000
"""Bytes of a picture of the guide, which comes along in every zip."""


def test_pictures_of_the_guides_are_there_small_and_shown() -> None:
    folder = ROOT / "addon" / "guide"
    guides = ("guide.html", "guide_de.html")
    shown = {guide: re.findall(r'<img src="(.*?)" alt=".+?">', (folder / guide).read_text(encoding="utf-8")) for guide in guides}
    assert len(shown["guide.html"]) == 3 and shown["guide_de.html"] == [name.replace(".png", "_de.png") for name in shown["guide.html"]]
    assert sorted(sum(shown.values(), [])) == sorted(file.name for file in folder.glob("*.png"))
    for file in folder.glob("*.png"):
        data = file.read_bytes()
        assert data.startswith(b"\x89PNG") and len(data) < LARGEST_PICTURE and int.from_bytes(data[16:20], "big") == 900, file
