"""The tools in the view in German: what they are called, what they do, what they say."""

from __future__ import annotations

GERMAN_TOOLS: dict[str, str] = {
    "Done": "Fertig",
    "Mark Skip": "Aussparung markieren",
    "Mark surface that pass lines leave out: drag over the body, with Ctrl to take marks back. Enter ends":
        "Flächen markieren, die die Bahnen auslassen: über den Körper ziehen, mit Strg zum Zurücknehmen. Die Eingabetaste beendet",
    "Mark the surface under the brush to be skipped, or take its marks back":
        "Die Fläche unter dem Pinsel als ausgespart markieren oder ihre Markierung zurücknehmen",
    "Paint skipped surface with the Skip tool: drag to mark it, with Ctrl to take marks back. Press again, or Enter in the view, to end":
        "Ausgesparte Flächen mit dem Werkzeug „Aussparen“ malen: ziehen zum Markieren, mit Strg zum Zurücknehmen. "
        "Nochmals drücken oder die Eingabetaste in der Ansicht beendet",
    "Plan the surface under the brush again instead of skipping it": "Die Fläche unter dem Pinsel wieder planen, statt sie auszusparen",
    "Radius": "Radius",
    "Radius of the Skip tool's brush on the body": "Radius des Pinsels zum Aussparen auf dem Körper",
}  # fmt: skip
