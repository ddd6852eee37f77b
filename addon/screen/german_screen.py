"""The texts of panels and view in German: the order of the work, the result card, what the view shows."""

from __future__ import annotations

GERMAN_SCREEN: dict[str, str] = {
    "0.02 mm stand between the passes: little to sand": "0,02 mm bleiben zwischen den Bahnen stehen: wenig zu schleifen",
    "0.05 mm stand between the passes": "0,05 mm bleiben zwischen den Bahnen stehen",
    "0.1 mm stand between the passes: soon done, much to sand": "0,1 mm bleiben zwischen den Bahnen stehen: schnell fertig, viel zu schleifen",
    "Back: {minutes:.1f} min": "Rückseite: {minutes:.1f} min",
    "Back: {minutes:.1f} of {budget:.1f} min": "Rückseite: {minutes:.1f} von {budget:.1f} min",
    "Best Set, or": "Bester Satz, oder",
    "Body": "Körper",
    "Cancel": "Abbrechen",
    "Coarse": "Grob",
    "Cusp {cusp:.3f} mm, borders {border:.3f}": "Rillen {cusp:.3f} mm, Ränder {border:.3f}",
    "Cutter {first:g} mm": "Fräser {first:g} mm",
    "Cutters": "Fräser",
    "Cutters {first:g} and {second:g} mm": "Fräser {first:g} und {second:g} mm",
    "Cutters {first:g}, {second:g} and {third:g} mm": "Fräser {first:g}, {second:g} und {third:g} mm",
    "Fine": "Fein",
    "Finish": "Güte",
    "How fine the passes leave the ground: by name, or by the cusp height or the spacing itself":
        "Wie fein die Bahnen die Fläche hinterlassen: mit einem Namen, oder durch Kammhöhe oder Bahnabstand selbst",
    "Left: {area:.0f} mm², up to {height:.2f} mm": "Rest: {area:.0f} mm², bis {height:.2f} mm",
    "More": "Mehr",
    "Next: export both sides": "Weiter: beide Seiten exportieren",
    "Next: export, or plan the back too": "Weiter: exportieren, oder auch die Rückseite planen",
    "Next: export, or plan the top too": "Weiter: exportieren, oder auch die Oberseite planen",
    "No work is under way": "Es läuft keine Arbeit",
    "Normal": "Normal",
    "Nothing left above {height:g} mm": "Kein Rest über {height:g} mm",
    "Plan Both Sides": "Beide planen",
    "Plan both sides, the one that is set and the other one, as one job": "Beide Seiten als einen Auftrag planen, die gewählte und die andere",
    "Result": "Ergebnis",
    "Shown": "Ansicht",
    "Stop the work that is under way; what was there before stays": "Die laufende Arbeit anhalten; was vorher da war, bleibt",
    "The distance between the passes on flat ground is typed, and stays when another cutter is chosen":
        "Der Abstand der Bahnen auf ebener Fläche wird eingegeben und bleibt, wenn ein anderer Fräser gewählt wird",
    "The height that may stand between the passes is typed": "Die Höhe, die zwischen den Bahnen stehen bleiben darf, wird eingegeben",
    "Top: {minutes:.1f} min": "Oberseite: {minutes:.1f} min",
    "Top: {minutes:.1f} of {budget:.1f} min": "Oberseite: {minutes:.1f} von {budget:.1f} min",
}  # fmt: skip
