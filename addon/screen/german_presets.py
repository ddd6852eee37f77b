"""What is said of presets and of files that the system refuses, in German."""

from __future__ import annotations

GERMAN_PRESETS: dict[str, str] = {
    "'{file}' cannot be used: {error}. Check its name, the rights and the room on the disk.":
        "„{file}“ lässt sich nicht verwenden: {error}. Namen, Rechte und freien Platz prüfen.",
    "'{file}' shows instances of collections ({names}), which are no objects of their own: make them real (Make Instances Real), or choose an object "
    "with --object NAME.":
        "„{file}“ zeigt Instanzen von Sammlungen ({names}), die keine eigenen Objekte sind: sie real machen (Instanzen realisieren) oder mit "
        "--object NAME ein Objekt wählen.",
    "A preset as Blender writes it": "Eine Vorgabe, wie Blender sie schreibt",
    "Apply Preset": "Vorgabe anwenden",
    "Cutters of the rack": "Fräser des Bestands",
    "Kind": "Art",
    "Machine and its control": "Maschine und ihre Steuerung",
    "Preset '{name}' taken": "Vorgabe „{name}“ übernommen",
    "Rack": "Fräserbestand",
    "Take the values of this preset. They are read as data: nothing in the file is run":
        "Die Werte dieser Vorgabe übernehmen. Sie wird als Daten gelesen: Nichts in der Datei wird ausgeführt",
    "The folder '{folder}' cannot be read: {error}. Check the rights, or choose another folder.":
        "Der Ordner „{folder}“ lässt sich nicht lesen: {error}. Rechte prüfen oder einen anderen Ordner wählen.",
    "The preset '{file}' cannot be used: {why}. Choose another one, or save it anew.":
        "Die Vorgabe „{file}“ lässt sich nicht verwenden: {why}. Eine andere wählen oder sie neu speichern.",
    "The rack's text does not describe cutters: take a rack preset, or enter the cutters.":
        "Der Text des Fräserbestands beschreibt keine Fräser: eine Bestandsvorgabe nehmen oder die Fräser eintragen.",
    "The scene is linked from another file: change its rack and machine there":
        "Die Szene ist aus einer anderen Datei verknüpft: Fräserbestand und Maschine dort ändern",
    "The system refused: {error}. Check the rights and the room on the disk.":
        "Das System hat abgelehnt: {error}. Rechte und freien Platz prüfen.",
    "There is not enough memory for this: use a coarser cell, or close other programs.":
        "Der Arbeitsspeicher reicht dafür nicht: eine gröbere Zelle nehmen oder andere Programme schließen.",
    "What the preset is of": "Wovon die Vorgabe ist",
    "has a hole with {edges} open edges right behind its last face": "hat ein Loch mit {edges} offenen Kanten gleich hinter der letzten Fläche",
    "it holds no cutters": "sie enthält keine Fräser",
    "it is larger than any preset": "sie ist größer als jede Vorgabe",
    "it is not made of the lines of a preset": "sie besteht nicht aus den Zeilen einer Vorgabe",
    "line {line} is not one of a preset, and nothing of it was run": "Zeile {line} gehört in keine Vorgabe, und nichts davon wurde ausgeführt",
    "the file was cut short, so copy or export it again; if the hole is meant, export it as PLY or STL":
        "die Datei ist abgeschnitten, also neu kopieren oder exportieren; ist das Loch gewollt, als PLY oder STL exportieren",
}  # fmt: skip
"""Text or template: what is shown for it. The places are the same, in the order that German wants."""
