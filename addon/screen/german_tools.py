"""The tools in the view in German: what they are called, what they do, what they say."""

from __future__ import annotations

GERMAN_TOOLS: dict[str, str] = {
    "'{box}': X {x:.1f}, Y {y:.1f} mm": "„{box}“: X {x:.1f}, Y {y:.1f} mm",
    "'{box}': {height:.1f} mm high": "„{box}“: {height:.1f} mm hoch",
    "'{box}': {x:.1f} x {y:.1f} mm": "„{box}“: {x:.1f} x {y:.1f} mm",
    "Another body is selected too: '{body}' is planned": "Ein anderer Körper ist auch gewählt: „{body}“ wird geplant",
    "Choose map, pass lines, side and playing from a pie menu; right-click this entry to give it a key of your own":
        "Karte, Bahnen, Seite und Abspielen in einem Kreismenü wählen; ein Rechtsklick auf diesen Eintrag gibt ihm eine eigene Taste",
    "Clamp": "Spannpratze",
    "End": "Beenden",
    "Dowel {number}: X {x:.1f}, Y {y:.1f} mm": "Dübel {number}: X {x:.1f}, Y {y:.1f} mm",
    "Finishing": "Schlichten",
    "Finishing Divider": "Trennlinie beim Schlichten",
    "Finishing Pie Menu": "Kreismenü zum Schlichten",
    "Finishing Stock and Zero": "Rohling und Nullpunkt beim Schlichten",
    "Grain {angle:.1f}°": "Maserung {angle:.1f}°",
    "Mark Skip": "Aussparung markieren",
    "Mark surface that pass lines leave out: drag over the body, with Ctrl to take marks back. Enter ends":
        "Flächen markieren, die die Bahnen auslassen: über den Körper ziehen, mit Strg zum Zurücknehmen. Die Eingabetaste beendet",
    "Mark the surface under the brush to be skipped, or take its marks back":
        "Die Fläche unter dem Pinsel als ausgespart markieren oder ihre Markierung zurücknehmen",
    "Move Stock and Zero": "Rohling und Nullpunkt verschieben",
    "Move stock, zero, dowels, tabs, keep-out boxes and grain by handles in the view. Press again, or Enter in the view, to end":
        "Rohling, Nullpunkt, Dübel, Stege, Sperrkästen und Maserung an Griffen in der Ansicht verschieben. "
        "Nochmals drücken oder die Eingabetaste in der Ansicht beendet",
    "Move stock, zero, dowels, tabs, boxes and grain by handles: Ctrl moves in steps, Shift slowly, figures are typed while the mouse is held":
        "Rohling, Nullpunkt, Dübel, Stege, Sperrkästen und Maserung an Griffen verschieben: Strg in Schritten, Umschalt langsam, Zahlen werden "
        "bei gehaltener Maustaste getippt",
    "Paint skipped surface with the Skip tool: drag to mark it, with Ctrl to take marks back. Press again, or Enter in the view, to end":
        "Ausgesparte Flächen mit dem Werkzeug „Aussparen“ malen: ziehen zum Markieren, mit Strg zum Zurücknehmen. "
        "Nochmals drücken oder die Eingabetaste in der Ansicht beendet",
    "Move a dowel first: all are where they were placed": "Erst einen Dübel verschieben: Alle sind, wo sie verteilt wurden",
    "Place Dowels Anew": "Dübel neu verteilen",
    "Plan the surface under the brush again instead of skipping it": "Die Fläche unter dem Pinsel wieder planen, statt sie auszusparen",
    "Put the dowels back into the margin of the stock, where they were before they were moved":
        "Die Dübel zurück in den Rand des Rohlings setzen, wo sie vor dem Verschieben waren",
    "Number of the finding of the plan that is looked at, from 0": "Nummer des Befunds des betrachteten Plans, ab 0",
    "Radius": "Radius",
    "Radius of the Skip tool's brush on the body": "Radius des Pinsels zum Aussparen auf dem Körper",
    "Read Finding": "Befund lesen",
    "Read the finding that this pin stands for": "Den Befund lesen, für den diese Nadel steht",
    "Stock length {length:.1f} mm": "Länge des Rohlings {length:.1f} mm",
    "Stock thickness {thickness:.2f} mm": "Dicke des Rohlings {thickness:.2f} mm",
    "Stock width {width:.1f} mm": "Breite des Rohlings {width:.1f} mm",
    "'{body}' is scaled to nothing: give it a size first.": "„{body}“ ist auf nichts skaliert: Erst eine Größe geben.",
    "The body is hidden: show it first": "Der Körper ist ausgeblendet: Erst einblenden",
    "The faces of '{body}' come from its modifiers: apply them before you paint.":
        "Die Flächen von „{body}“ stammen von seinen Modifikatoren: Vor dem Malen anwenden.",
    "X of the dowel hole in the body's axes": "X des Dübellochs in den Achsen des Körpers",
    "Y of the dowel hole in the body's axes": "Y des Dübellochs in den Achsen des Körpers",
    "Zero: centre, spoilboard": "Nullpunkt: Mitte, Opferplatte",
    "Zero: centre, stock top": "Nullpunkt: Mitte, Oberseite des Rohlings",
    "Zero: lower left corner, spoilboard": "Nullpunkt: untere linke Ecke, Opferplatte",
    "Zero: lower left corner, stock top": "Nullpunkt: untere linke Ecke, Oberseite des Rohlings",
}  # fmt: skip
