"""Errors in German."""

from __future__ import annotations

GERMAN_ERRORS: dict[str, str] = {
    # The body.
    "'{body}' is not a mesh: choose a mesh object.": "„{body}“ ist kein Mesh: ein Mesh-Objekt wählen.",
    "'{body}' has no faces: choose a mesh with a surface.": "„{body}“ hat keine Flächen: ein Mesh mit einer Oberfläche wählen.",
    "'{body}' has coordinates that are not numbers: clean the mesh and try again.":
        "„{body}“ hat Koordinaten, die keine Zahlen sind: das Mesh bereinigen und es noch einmal versuchen.",
    "'{body}' has {marks} skip marks for {faces} faces: there must be one for each.":
        "„{body}“ hat {marks} Aussparungsmarken für {faces} Flächen: Es muss eine für jede sein.",
    "'{body}' has no face with any area: check the mesh and its scale.":
        "„{body}“ hat keine Fläche, die größer als null ist: das Mesh und seinen Maßstab prüfen.",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, more than the machine's {bed_x:g} x {bed_y:g} x {travel_z:g} mm. {hint}":
        "„{body}“ misst {length:.1f} x {width:.1f} x {height:.1f} mm, mehr als die {bed_x:g} x {bed_y:g} x {travel_z:g} mm der Maschine. {hint}",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, less than the cutter's diameter of {diameter:g} mm. {hint}":
        "„{body}“ misst {length:.1f} x {width:.1f} x {height:.1f} mm, weniger als der Fräserdurchmesser von {diameter:g} mm. {hint}",
    "Machine: blocks ahead must be a whole number of at least 1, not {given}.":
        "Maschine: Die Sätze voraus müssen eine ganze Zahl von mindestens 1 sein, nicht {given}.",
    "Machine: corners must be one of {choices}, not '{given}'.": "Maschine: Die Ecken müssen eines von {choices} sein, nicht „{given}“.",
    "Machine: {setting} must be 0 or more, not {value}.": "Maschine: {setting} muss 0 oder mehr sein, nicht {value}.",
    "The measured time makes the machine's time factor {factor:.2g}, outside {least:g} to {greatest:g}: check that it belongs to this run.":
        "Die gemessene Zeit ergibt einen Zeitfaktor von {factor:.2g}, außerhalb von {least:g} bis {greatest:g}: prüfen, ob sie zu diesem Lauf gehört.",
    "{times:g} times larger it would fit: check the unit of the file or the scene.":
        "{times:g}-mal größer würde er passen: die Einheit der Datei oder der Szene prüfen.",
    "Check the unit of the file or the scene.": "Die Einheit der Datei oder der Szene prüfen.",
    # An object that Blender does not show as a whole.
    "'{body}' is hidden, so that Blender does not evaluate it: show the object and its collection.":
        "„{body}“ ist ausgeblendet, sodass Blender es nicht auswertet: das Objekt und seine Sammlung einblenden.",
    "'{body}' is in Edit Mode, which leaves out {modifiers}: go back to Object Mode.":
        "„{body}“ ist im Bearbeitungsmodus, der {modifiers} auslässt: in den Objektmodus zurückgehen.",
    "'{body}' is the same without {modifiers}: mend the modifier, or switch it off in the viewport.":
        "„{body}“ ist ohne {modifiers} dasselbe: den Modifikator in Ordnung bringen oder im Ansichtsfenster ausschalten.",
    "'{body}' lies in a collection that the view layer excludes: tick the collection in the outliner.":
        "„{body}“ liegt in einer Sammlung, die die Ansichtsebene ausschließt: die Sammlung in der Übersicht ankreuzen.",
    "'{body}' lies in no scene: link it to a collection.": "„{body}“ liegt in keiner Szene: es mit einer Sammlung verknüpfen.",
    "'{body}' lies in the scene {scenes}, but '{current}' is the current one: change to that scene.":
        "„{body}“ liegt in der Szene {scenes}, „{current}“ ist aber die aktuelle: zu jener Szene wechseln.",
    "'{body}' lies so far from its origin that its points come in steps of {step:.2g} mm: set its origin to its geometry.":
        "„{body}“ liegt so weit von seinem Ursprung, dass seine Punkte in Schritten von {step:.2g} mm kommen: den Ursprung auf die Geometrie setzen.",
    "'{body}' makes instances, which are not part of its mesh: realize them (Realize Instances, Make Instances Real).":
        "„{body}“ erzeugt Instanzen, die nicht zu seinem Mesh gehören: sie real machen (Instanzen realisieren).",
    "The modifier '{modifier}' of '{body}' {fault}, or switch it off in the viewport.":
        "Der Modifikator „{modifier}“ von „{body}“ {fault} oder ihn im Ansichtsfenster ausschalten.",
    "has no cache file: choose one": "hat keine Cache-Datei: eine wählen",
    "has no collection to work with: choose one": "hat keine Sammlung, mit der er arbeitet: eine wählen",
    "has no curve to fit: choose one": "hat keine Kurve, an die er sich anpasst: eine wählen",
    "has no node group: choose one": "hat keine Knotengruppe: eine wählen",
    "has no object for its offset: choose one": "hat kein Objekt für seinen Versatz: eines wählen",
    "has no object to work with: choose one": "hat kein Objekt, mit dem er arbeitet: eines wählen",
    "has no target: choose one": "hat kein Ziel: eines wählen",
    "is not bound: bind it": "ist nicht gebunden: ihn binden",
    "reports '{error}': mend its nodes": "meldet „{error}“: seine Knoten in Ordnung bringen",
    "works with the collection '{name}', which holds no mesh: choose another one":
        "arbeitet mit der Sammlung „{name}“, die kein Mesh enthält: eine andere wählen",
    # Files and folders.
    "'{file}' holds {count} objects ({names}): give a stock file with one object.":
        "„{file}“ enthält {count} Objekte ({names}): eine Rohlingdatei mit einem Objekt angeben.",
    "'{file}' cannot be opened as a .blend file: {error}.": "„{file}“ lässt sich nicht als .blend-Datei öffnen: {error}.",
    "'{file}' cannot be read: {error}.": "„{file}“ lässt sich nicht lesen: {error}.",
    "'{file}' holds settings but no plan: give the plan.json that was written with a path.":
        "„{file}“ enthält Einstellungen, aber keinen Plan: die plan.json angeben, die mit einer Bahn geschrieben wurde.",
    "'{file}' is already in '{folder}': choose another folder, or add --replace.":
        "„{file}“ ist schon in „{folder}“: einen anderen Ordner wählen oder --replace angeben.",
    "'{file}' is already in '{folder}': choose another folder, or allow replacing.":
        "„{file}“ ist schon in „{folder}“: einen anderen Ordner wählen oder das Ersetzen erlauben.",
    "'{file}' is not a body file: give a .blend, .stl, .obj or .ply.": "„{file}“ ist keine Körperdatei: eine .blend, .stl, .obj oder .ply angeben.",
    "'{file}' names no CSV of its path.": "„{file}“ nennt keine CSV ihrer Bahn.",
    "'{folder}' holds no body files ({endings}).": "„{folder}“ enthält keine Körperdateien ({endings}).",
    "'{folder}' is not a folder: give a folder to write to.": "„{folder}“ ist kein Ordner: einen Ordner zum Schreiben angeben.",
    "A .blend file has units of its own: leave --unit out.": "Eine .blend-Datei hat eigene Einheiten: --unit weglassen.",
    "Nothing could be written to '{folder}': {error}.": "Nach „{folder}“ konnte nichts geschrieben werden: {error}.",
    "Paths are written in mm or in, not '{given}'.": "Bahnen werden in mm oder in geschrieben, nicht in „{given}“.",
    "Programs are written in mm or in, not '{given}'.": "Programme werden in mm oder in geschrieben, nicht in „{given}“.",
    "Row {number} of the CSV cannot be read: {error}.": "Zeile {number} der CSV lässt sich nicht lesen: {error}.",
    "it does not have 7 columns": "sie hat nicht 7 Spalten",
    "a value is not finite": "ein Wert ist nicht endlich",
    "The folder '{folder}' cannot be made: {error}.": "Der Ordner „{folder}“ lässt sich nicht anlegen: {error}.",
    "The plan holds no figures to compare: write it again.": "Der Plan enthält keine Zahlen zum Vergleichen: ihn neu schreiben.",
    "The settings file '{file}' cannot be read: {error}.": "Die Einstellungsdatei „{file}“ lässt sich nicht lesen: {error}.",
    "The settings file cannot be used: {error}": "Die Einstellungsdatei lässt sich nicht verwenden: {error}",
    "The settings file has an unknown key '{key}'.": "Die Einstellungsdatei hat einen unbekannten Schlüssel „{key}“.",
    "The settings file has layout {layout}, newer than this version reads ({newest}).":
        "Die Einstellungsdatei hat den Aufbau {layout}, neuer als diese Version liest ({newest}).",
    "The settings file is not JSON: {error}.": "Die Einstellungsdatei ist kein JSON: {error}.",
    "The settings file must hold one JSON object.": "Die Einstellungsdatei muss ein JSON-Objekt enthalten.",
    "The settings file's '{key}' cannot be used: {error}": "„{key}“ in der Einstellungsdatei lässt sich nicht verwenden: {error}",
    "it has an unknown key '{key}'.": "unbekannter Schlüssel „{key}“.",
    "The unit must be one of {choices}, not '{given}'.": "Die Einheit muss eine von {choices} sein, nicht „{given}“.",
    "There are no dowel holes to write a program for.": "Es gibt keine Dübellöcher, für die ein Programm zu schreiben wäre.",
    "There is no file '{file}': check the name.": "Es gibt keine Datei „{file}“: den Namen prüfen.",
    "There is no folder '{folder}': check the name.": "Es gibt keinen Ordner „{folder}“: den Namen prüfen.",
    "There is no path to write a program for.": "Es gibt keine Bahn, für die ein Programm zu schreiben wäre.",
    "There is no plan to write.": "Es gibt keinen Plan zu schreiben.",
    "This is not a CSV of finishing paths: its first row must be {header}.":
        "Dies ist keine CSV von Schlichtbahnen: Ihre erste Zeile muss {header} sein.",
    "This is not a CSV of finishing paths: {error}.": "Dies ist keine CSV von Schlichtbahnen: {error}.",
    # What cannot be planned.
    "A cell of {cell:g} mm would take about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: use a coarser cell.":
        "Eine Zelle von {cell:g} mm bräuchte etwa {needed:.0f} MiB, mehr als die Grenze von {limit:.0f} MiB: eine gröbere Zelle nehmen.",
    "A job holds one plan for each side, and those of smaller cutters for what it leaves.":
        "Ein Auftrag enthält einen Plan für jede Seite und die der kleineren Fräser für das, was er stehen lässt.",
    "No pass line fits on the planned ground: it is narrower than the spacing of the passes.":
        "Auf die geplante Fläche passt keine Fräsbahn: Sie ist schmaler als der Bahnabstand.",
    "Nothing is left to plan: all ground is skipped, steeper than the wall limit or out of the cutter's reach.":
        "Nichts bleibt zu planen: Alles ist ausgespart, steiler als die Wandgrenze oder außer Reichweite des Fräsers.",
    "The two sides were planned for different bodies: plan both again.":
        "Die beiden Seiten wurden für verschiedene Körper geplant: beide neu planen.",
    "The two sides were planned for stock of different size or zeros: plan both again.":
        "Die beiden Seiten wurden für Rohlinge verschiedener Größe oder Nullpunkte geplant: beide neu planen.",
    "The {diameter:g} mm cutter reaches all of the planned ground: nothing is left for a smaller one.":
        "Der {diameter:g}-mm-Fräser erreicht die ganze geplante Fläche: Für einen kleineren bleibt nichts übrig.",
    "The work stopped at '{stage}': {kind}: {defect}": "Die Arbeit brach bei „{stage}“ ab: {kind}: {defect}",
    # Settings.
    "Calibrating needs an estimated and a measured time above 0.": "Zum Eichen müssen die geschätzte und die gemessene Zeit über 0 liegen.",
    "Cutter '{cutter}': a cutter has at least one flute.": "Fräser „{cutter}“: Ein Fräser hat mindestens eine Schneide.",
    "Cutter '{cutter}': {setting} must be above 0, not {value}.": "Fräser „{cutter}“: {setting} muss über 0 liegen, nicht bei {value}.",
    "Dowels: {setting} must be above 0, not {value}.": "Dübel: {setting} muss über 0 liegen, nicht bei {value}.",
    "Machine: the least spindle speed is above the greatest one.": "Maschine: Die kleinste Drehzahl liegt über der größten.",
    "Machine: {setting} must be above 0, not {value}.": "Maschine: {setting} muss über 0 liegen, nicht bei {value}.",
    "Operation '{name}' must be on the side top or back, before or after the finishing.":
        "Die Arbeit „{name}“ muss auf der Seite top oder back liegen, vor oder nach dem Schlichten.",
    "Operation '{name}' must take 0 minutes or more, not {value}.": "Die Arbeit „{name}“ muss 0 Minuten oder mehr dauern, nicht {value}.",
    "Roughing: {setting} must be above 0 mm, not {value}.": "Schruppen: {setting} muss über 0 mm liegen, nicht bei {value}.",
    "Stock: {setting} must be above 0 mm, not {value}.": "Rohling: {setting} muss über 0 mm liegen, nicht bei {value}.",
    "Stock: {setting} must be one of {choices}, not '{given}'.": "Rohling: Für {setting} gibt es {choices}, nicht „{given}“.",
    "The allowance that roughing leaves must be 0 mm or more, not {value}.":
        "Das Aufmaß, das das Schruppen lässt, muss 0 mm oder mehr sein, nicht {value}.",
    "The clearance of dowels must be 0 mm or more, not {value}.": "Der Abstand der Dübel muss 0 mm oder mehr sein, nicht {value}.",
    "The cusp height must be below the cutter's radius of {radius:g} mm.": "Die Kammhöhe muss unter dem Fräserradius von {radius:g} mm liegen.",
    "The cusp height must lie above 0 and not above the cutter's radius.": "Die Kammhöhe muss über 0 und darf nicht über dem Fräserradius liegen.",
    "The cutter must be a diameter in mm or auto, not '{given}'.": "Der Fräser muss ein Durchmesser in mm oder auto sein, nicht „{given}“.",
    "The feed must be above 0 mm/min, not {value}.": "Der Vorschub muss über 0 mm/min liegen, nicht bei {value}.",
    "The greatest bend must be above 0 mm, not {value}.": "Die größte Biegung muss über 0 mm liegen, nicht bei {value}.",
    "The low corner of the keep-out box '{box}' must be below its high corner in x, y and z.":
        "Die untere Ecke des Sperrkastens „{box}“ muss in x, y und z unter seiner oberen Ecke liegen.",
    "The rack is empty: add a cutter, or name one.": "Der Bestand ist leer: einen Fräser anlegen oder nennen.",
    "The spacing must lie above 0 and not above the cutter's diameter.":
        "Der Bahnabstand muss über 0 und darf nicht über dem Fräserdurchmesser liegen.",
    "The start must be best, edge, middle or border, not '{given}'.": "Der Anfang muss best, edge, middle oder border sein, nicht „{given}“.",
    "The time budget must be above 0 minutes, not {value}.": "Das Zeitbudget muss über 0 Minuten liegen, nicht bei {value}.",
    "The treatment of openings must be one of {choices}, not '{given}'.":
        "Die Behandlung der Öffnungen muss eine von {choices} sein, nicht „{given}“.",
    "The wall limit must lie between 5 and 89 degrees, not {value:g}.": "Die Wandgrenze muss zwischen 5 und 89 Grad liegen, nicht bei {value:g}.",
    "The wood must be one of {choices}, not '{given}'.": "Das Holz muss eines von {choices} sein, nicht „{given}“.",
    "The {setting} must be 0 or more, not {value}.": "{setting} muss 0 oder mehr sein, nicht {value}.",
    "The {setting} must be above 0, not {value}.": "{setting} muss über 0 liegen, nicht bei {value}.",
    "The {setting} must be one of {choices}, not '{given}'.": "Für {setting} gibt es {choices}, nicht „{given}“.",
    "There can be 0, 2 or 4 dowels, not {count}.": "Es kann 0, 2 oder 4 Dübel geben, nicht {count}.",
    "There is no cutter '{cutter}' on the rack: choose another one.": "Im Bestand gibt es keinen Fräser „{cutter}“: einen anderen wählen.",
    "{complaint}; see {program} --help.": "{complaint}; siehe {program} --help.",
    # Maps and pictures.
    "A legend needs a range from a lower to a higher value, not {low} to {high}.":
        "Eine Legende braucht einen Bereich von einem kleineren zu einem größeren Wert, nicht {low} bis {high}.",
    "A picture needs at least 640 x 480 pixels, not {width} x {height}.": "Ein Bild braucht mindestens 640 x 480 Bildpunkte, nicht {width} x {height}.",
    "The chart line '{line}' has {x} x values and {y} y values.": "Die Linie „{line}“ hat {x} x-Werte und {y} y-Werte.",
    "The heights have the shape {shape}, the grid {grid}.": "Die Höhen haben die Form {shape}, das Raster {grid}.",
    "The least radius of a curvature legend must be above 0 mm, not {radius}.":
        "Der kleinste Radius einer Krümmungslegende muss über 0 mm liegen, nicht bei {radius}.",
    "The smoothing of the maps must be 0 mm or more, not {value}.": "Die Glättung der Karten muss 0 mm oder mehr sein, nicht {value}.",
    "The {array} of the picture have the shape {shape}, the grid {grid}.": "{array} des Bilds haben die Form {shape}, das Raster {grid}.",
    "{times:g} times smaller it would fit: check the unit of the file or the scene.":
        "{times:g}-mal kleiner würde er passen: Einheit der Datei oder Szene prüfen.",
}  # fmt: skip
"""Template: what is shown for it. The places are the same, in the order that German wants."""
