"""Errors in German."""

from __future__ import annotations

GERMAN_ERRORS: dict[str, str] = {
    # Sets of cutters.
    "Smaller cutters are named, but not the one that they follow: name it too.":
        "Kleinere Fräser sind genannt, aber nicht der, dem sie folgen: auch ihn nennen.",
    "The cutters of a set must be of different diameters, the largest first: name them so.":
        "Die Fräser eines Fräsersatzes müssen verschiedene Durchmesser haben, der größte zuerst: sie so nennen.",
    "There is no cutter of {diameter} mm on the rack: name the diameters of cutters that are there.":
        "Im Bestand ist kein Fräser von {diameter} mm: Durchmesser von Fräsern nennen, die da sind.",
    "There is no cutter {given} on the rack: give a diameter in mm, or a name of the rack ({names}).":
        "Im Bestand ist kein Fräser {given}: einen Durchmesser in mm oder einen Namen aus dem Bestand angeben ({names}).",
    "Several cutters of the rack are {diameter:g} mm: give the name of the one that you mean ({names}).":
        "Mehrere Fräser des Bestands haben {diameter:g} mm: den Namen dessen angeben, der gemeint ist ({names}).",
    "Several cutters of the rack are called {name}: give each a name of its own.":
        "Mehrere Fräser des Bestands heißen {name}: jedem einen eigenen Namen geben.",
    # The run log.
    "'{text}' is not a number.": "„{text}“ ist keine Zahl.",
    "A cutter that measures {measured:g} mm is not the {diameter:g} mm cutter: enter it as one of its own.":
        "Ein Fräser, der {measured:g} mm misst, ist nicht der {diameter:g}-mm-Fräser: ihn als eigenen eintragen.",
    "A half angle below {least:g} degrees is no taper: enter 0 for a straight cutter.":
        "Ein halber Kegelwinkel unter {least:g} Grad ist kein Kegel: für einen geraden Fräser 0 eintragen.",
    "The {diameter:g} mm cutter has a top diameter but no half angle: enter the half angle of its taper, or 0 for the top diameter.":
        "Der {diameter:g}-mm-Fräser hat einen oberen Durchmesser, aber keinen halben Kegelwinkel: den halben Winkel seines Kegels eintragen, oder 0 "
        "als oberen Durchmesser.",
    "The taper of the {diameter:g} mm cutter would end at {top:g} mm, thinner than its ball: enter the diameter at which it ends.":
        "Der Kegel des {diameter:g}-mm-Fräsers würde bei {top:g} mm enden, dünner als seine Kugel: den Durchmesser eintragen, bei dem er endet.",
    "The taper of the {diameter:g} mm cutter would reach {top:g} mm only {height:.1f} mm above the tip, beyond the usable length of {length:g} mm: "
    "check half angle, top diameter and usable length.":
        "Der Kegel des {diameter:g}-mm-Fräsers würde {top:g} mm erst {height:.1f} mm über der Spitze erreichen, jenseits der nutzbaren Länge von "
        "{length:g} mm: halben Kegelwinkel, oberen Durchmesser und nutzbare Länge prüfen.",
    "Give the minutes that the run took: --minutes.": "Die Minuten angeben, die der Lauf gedauert hat: --minutes.",
    "Heights can be shown up to 1000 times, not {value:g}: give 1 for the true form.":
        "Höhen lassen sich bis zu 1000-fach überhöhen, nicht {value:g}-fach: 1 zeigt die wahre Form.",
    "Name the plan.json of the plan that was run.": "Die plan.json des Plans nennen, der gelaufen ist.",
    "Nothing can be kept in no log: name a file, or leave --log out.":
        "Ohne Laufprotokoll lässt sich nichts festhalten: eine Datei nennen oder --log weglassen.",
    "Row {number} of the run log '{file}' cannot be read: {error} Mend it or take it out.":
        "Zeile {number} des Laufprotokolls „{file}“ lässt sich nicht lesen: {error} Sie berichtigen oder herausnehmen.",
    "The lamp must stand above 0 and up to 90 degrees over the surface, not at {value:g}.":
        "Das Streiflicht muss aus mehr als 0 und höchstens 90 Grad über der Fläche kommen, nicht aus {value:g}.",
    "The lamp's direction must lie between -360 and 360 degrees, not at {value:g}.":
        "Die Richtung des Streiflichts muss zwischen -360 und 360 Grad liegen, nicht bei {value:g}.",
    "The run log '{file}' cannot be read: {error}. Check the rights, or name another log.":
        "Das Laufprotokoll „{file}“ lässt sich nicht lesen: {error}. Rechte prüfen oder ein anderes Protokoll nennen.",
    "The run log '{file}' is not a CSV: {error}. Mend it, or name another log.":
        "Das Laufprotokoll „{file}“ ist keine CSV: {error}. Es berichtigen oder ein anderes Protokoll nennen.",
    "The run log '{file}' must begin with the row {header}: mend it, or name another log.":
        "Das Laufprotokoll „{file}“ muss mit der Zeile {header} beginnen: es berichtigen oder ein anderes Protokoll nennen.",
    "This is not the plan.json of a plan that could be run: give the file that was written with its paths.":
        "Das ist nicht die plan.json eines Plans, der gelaufen sein kann: die Datei angeben, die mit seinen Bahnen geschrieben wurde.",
    "it has {count} columns, not {wanted}.": "sie hat {count} Spalten statt {wanted}.",
    # Test coupons.
    "Give {count} lengths in mm with commas between them, not '{given}'.": "{count} Längen in mm mit Kommas dazwischen angeben, nicht „{given}“.",
    "Name the coupon that was measured: --measured coupon.json.": "Das Probestück nennen, das gemessen wurde: --measured coupon.json.",
    "Name the cutter of the coupon: --cutter MM or --cutter NAME.": "Den Fräser des Probestücks nennen: --cutter MM oder --cutter NAME.",
    "Nothing was measured: give --groove, --step, --seconds or --field.":
        "Es wurde nichts gemessen: --groove, --step, --seconds oder --field angeben.",
    "The coupon for the {diameter:g} mm cutter is cut {depth:.1f} mm deep: take scrap of {least:.0f} mm or more, and a cutter that reaches.":
        "Das Probestück für den {diameter:g}-mm-Fräser wird {depth:.1f} mm tief gefräst: ein Reststück von {least:.0f} mm oder mehr nehmen und einen "
        "Fräser, der so tief reicht.",
    "The coupon is too short for the {diameter:g} mm cutter: take scrap at least {least:.0f} mm long.":
        "Das Probestück ist für den {diameter:g}-mm-Fräser zu kurz: ein Reststück von mindestens {least:.0f} mm Länge nehmen.",
    "This is not the coupon.json of a test coupon: give the file that was written with its program.":
        "Das ist nicht die coupon.json eines Probestücks: die Datei angeben, die mit seinem Programm geschrieben wurde.",
    # The body.
    "'{body}' has coordinates that are not numbers: clean the mesh and try again.":
        "„{body}“ hat Koordinaten, die keine Zahlen sind: das Mesh bereinigen und es noch einmal versuchen.",
    "'{body}' has no face with any area: check the mesh and its scale.":
        "„{body}“ hat keine Fläche, die größer als null ist: das Mesh und seinen Maßstab prüfen.",
    "'{body}' has no faces: choose a mesh with a surface.": "„{body}“ hat keine Flächen: ein Mesh mit einer Oberfläche wählen.",
    "'{body}' has {marks} skip marks for {faces} faces: there must be one for each; mark the faces again.":
        "„{body}“ hat {marks} Aussparungsmarken für {faces} Flächen: Es muss eine für jede sein; die Flächen neu markieren.",
    "'{body}' is not a mesh: choose a mesh object.": "„{body}“ ist kein Mesh: ein Mesh-Objekt wählen.",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm if one unit is 1 mm, too small for a body. Give the unit that makes sense "
    "of it, {guesses}; --unit mm takes it as it is.":
        "„{body}“ misst {length:.1f} x {width:.1f} x {height:.1f} mm, wenn eine Einheit 1 mm ist, zu klein für einen Körper. Die Einheit "
        "angeben, mit der er Sinn ergibt, {guesses}; --unit mm nimmt ihn, wie er ist.",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm if one unit is 1 mm: say with --unit what one unit means; --unit mm takes it as "
    "it is.":
        "„{body}“ misst {length:.1f} x {width:.1f} x {height:.1f} mm, wenn eine Einheit 1 mm ist: mit --unit sagen, was eine Einheit bedeutet; "
        "--unit mm nimmt ihn, wie er ist.",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, less than the cutter's diameter of {diameter:g} mm. {hint}":
        "„{body}“ misst {length:.1f} x {width:.1f} x {height:.1f} mm, weniger als der Fräserdurchmesser von {diameter:g} mm. {hint}",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, more than the machine's {bed_x:g} x {bed_y:g} x {travel_z:g} mm. {hint}":
        "„{body}“ misst {length:.1f} x {width:.1f} x {height:.1f} mm, mehr als die {bed_x:g} x {bed_y:g} x {travel_z:g} mm der Maschine. {hint}",
    "--unit {unit} ({length:.0f} x {width:.0f} x {height:.0f} mm)": "--unit {unit} ({length:.0f} x {width:.0f} x {height:.0f} mm)",
    "A unit is given for '{file}', which the folder does not hold: check the name.":
        "Eine Einheit ist für „{file}“ angegeben, die der Ordner nicht enthält: den Namen prüfen.",
    "In {meant}, not {taken}, it would measure {length:.0f} x {width:.0f} x {height:.0f} mm: set the unit of the file (--unit) or of the scene (Unit "
    "Scale).":
        "In {meant} statt in {taken} würde er {length:.0f} x {width:.0f} x {height:.0f} mm messen: die Einheit der Datei (--unit) oder der Szene "
        "(Einheitenmaßstab) setzen.",
    "It stands on its edge: set Face Up (--up) to {axis}, and it fits.":
        "Er steht auf der Kante: Oben liegt (--up) auf {axis} stellen, dann passt er.",
    "No other unit makes sense of it: take a body or a machine of another size.":
        "Keine andere Einheit ergibt Sinn: einen Körper oder eine Maschine anderer Größe nehmen.",
    "One unit of '{file}' counts as {millimetres:g} mm, as --unit says.": "Eine Einheit von „{file}“ zählt als {millimetres:g} mm, wie --unit sagt.",
    "One unit of '{file}' counts as {millimetres:g} mm, as its scene says.":
        "Eine Einheit von „{file}“ zählt als {millimetres:g} mm, wie seine Szene sagt.",
    "One unit of '{file}' counts as {millimetres:g} mm: the file names no unit, and no --unit was given.":
        "Eine Einheit von „{file}“ zählt als {millimetres:g} mm: Die Datei nennt keine Einheit, und kein --unit wurde angegeben.",
    "The measured time makes the machine's time factor {factor:.2g}, outside {least:g} to {greatest:g}: check that it belongs to this run.":
        "Die gemessene Zeit ergibt einen Zeitfaktor von {factor:.2g}, außerhalb von {least:g} bis {greatest:g}: prüfen, ob sie zu diesem Lauf "
        "gehört.",
    "The mesh has another attribute named '{name}': rename it first.": "Das Mesh hat ein anderes Attribut namens „{name}“: es erst umbenennen.",
    "The smoothing must be a greatest deviation in mm or auto, not '{given}'.":
        "Die Glättung muss eine größte Abweichung in mm oder auto sein, nicht „{given}“.",
    "centimetres": "Zentimetern",
    "inches": "Zoll",
    "metres": "Metern",
    "millimetres": "Millimetern",
    # An object that Blender does not show as a whole.
    "'{body}' is hidden, so that Blender does not evaluate it: show the object and its collection.":
        "„{body}“ ist ausgeblendet, sodass Blender es nicht auswertet: das Objekt und seine Sammlung einblenden.",
    "'{body}' is in Edit Mode, which leaves out {modifiers}: go back to Object Mode.":
        "„{body}“ ist im Bearbeitungsmodus, der {modifiers} auslässt: in den Objektmodus zurückgehen.",
    "'{body}' is the same without {modifiers}: mend the modifier, or switch it off in the viewport.":
        "„{body}“ ändert sich ohne {modifiers} nicht: den Modifikator in Ordnung bringen oder im Ansichtsfenster ausschalten.",
    "'{body}' lies in a collection that the view layer excludes: tick the collection in the outliner.":
        "„{body}“ liegt in einer Sammlung, die die Ansichtsebene ausschließt: die Sammlung in der Übersicht ankreuzen.",
    "'{body}' lies in no scene: link it to a collection.": "„{body}“ liegt in keiner Szene: es mit einer Sammlung verknüpfen.",
    "'{body}' lies in the scene {scenes}, but '{current}' is the current one: change to that scene.":
        "„{body}“ liegt in der Szene {scenes}, „{current}“ ist aber die aktuelle: zu jener Szene wechseln.",
    "'{body}' lies so far from its origin that its points come in steps of {step:.2g} mm: set its origin to its geometry.":
        "„{body}“ liegt so weit von seinem Ursprung, dass seine Punkte in Stufen von {step:.2g} mm liegen: den Ursprung auf die Geometrie setzen.",
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
    "'{file}' cannot be opened as a .blend file: {error}. Save it anew in Blender, or give another file.":
        "„{file}“ lässt sich nicht als .blend-Datei öffnen: {error}. Sie in Blender neu speichern oder eine andere Datei angeben.",
    "'{file}' cannot be read: {error}. Check the file and the rights to it.":
        "„{file}“ lässt sich nicht lesen: {error}. Datei und Rechte prüfen.",
    "'{file}' holds settings but no plan: give the plan.json that was written with a path.":
        "„{file}“ enthält Einstellungen, aber keinen Plan: die plan.json angeben, die mit einer Bahn geschrieben wurde.",
    "'{file}' holds {count} objects ({names}): give a stock file with one object.":
        "„{file}“ enthält {count} Objekte ({names}): eine Rohlingdatei mit einem Objekt angeben.",
    "'{file}' is already in '{folder}': choose another folder, or add --replace.":
        "„{file}“ ist schon in „{folder}“: einen anderen Ordner wählen oder --replace angeben.",
    "'{file}' is already in '{folder}': choose another folder, or allow replacing.":
        "„{file}“ ist schon in „{folder}“: einen anderen Ordner wählen oder das Ersetzen erlauben.",
    "'{file}' names no CSV of its pass lines: write the plan again.": "„{file}“ nennt keine CSV ihrer Fräsbahnen: den Plan noch einmal schreiben.",
    "'{folder}' holds no body files ({endings}): choose one that does.":
        "„{folder}“ enthält keine Körperdateien ({endings}): einen Ordner mit solchen wählen.",
    "'{folder}' is not a folder: give a folder to write to.": "„{folder}“ ist kein Ordner: einen Ordner zum Schreiben angeben.",
    "A .blend file has units of its own: leave --unit out.": "Eine .blend-Datei hat eigene Einheiten: --unit weglassen.",
    "Nothing could be written to '{folder}': {error}. Check the rights and the room on the disk, or choose another folder.":
        "Nach „{folder}“ konnte nichts geschrieben werden: {error}. Rechte und freien Platz prüfen oder einen anderen Ordner wählen.",
    "Row {number} of the CSV cannot be read: {error}. Write the plan again.":
        "Zeile {number} der CSV lässt sich nicht lesen: {error}. Den Plan neu schreiben.",
    "The folder '{folder}' cannot be made: {error}. Check the rights, or choose another folder.":
        "Der Ordner „{folder}“ lässt sich nicht anlegen: {error}. Rechte prüfen oder einen anderen Ordner wählen.",
    "The plan holds no figures to compare: write it again.": "Der Plan enthält keine Zahlen zum Vergleichen: ihn neu schreiben.",
    "The kept plan '{plan}' cannot be used: {reason} Remove it, and keep a plan anew.":
        "Der aufgehobene Plan „{plan}“ ist nicht zu gebrauchen: {reason} Ihn entfernen und einen Plan neu aufheben.",
    "The settings file cannot be used: {error} Mend it in the file.":
        "Die Einstellungsdatei lässt sich nicht verwenden: {error} Das in der Datei berichtigen.",
    "The settings file has layout {layout}, newer than this version reads ({newest}): install the newer version, or give another file.":
        "Die Einstellungsdatei hat den Aufbau {layout}, neuer als diese Version liest ({newest}): die neuere Version installieren oder eine "
        "andere Datei angeben.",
    "The settings file is not JSON: {error}. Mend it, or give a plan.json as it was written.":
        "Die Einstellungsdatei ist kein JSON: {error}. Sie berichtigen oder eine plan.json angeben, wie sie geschrieben wurde.",
    "The settings file must hold one JSON object: give a plan.json, or a part of its settings.":
        "Die Einstellungsdatei muss ein JSON-Objekt enthalten: eine plan.json angeben oder einen Teil ihrer Einstellungen.",
    "The settings file's 'settings' must be a JSON object: give a plan.json as it was written.":
        "„settings“ in der Einstellungsdatei muss ein JSON-Objekt sein: eine plan.json angeben, wie sie geschrieben wurde.",
    "The unit must be one of {choices}, not '{given}'.": "Die Einheit muss eine von {choices} sein, nicht „{given}“.",
    "There are no dowel holes to write a program for: set Dowels to two or four.":
        "Es gibt keine Dübellöcher für ein Programm: Dübel auf zwei oder vier stellen.",
    "There are no pass lines to write a program for: plan a side first.": "Es gibt keine Fräsbahnen für ein Programm: erst eine Seite planen.",
    "There is no file '{file}': check the name.": "Es gibt keine Datei „{file}“: den Namen prüfen.",
    "There is no folder '{folder}': check the name.": "Es gibt keinen Ordner „{folder}“: den Namen prüfen.",
    "There is no plan to write: plan a side first.": "Es ist noch nichts geplant, was sich schreiben ließe: erst eine Seite planen.",
    "This is not a CSV of pass lines: its first row must be {header}. Give the file as it was written.":
        "Dies ist keine CSV von Fräsbahnen: Ihre erste Zeile muss {header} sein. Die Datei angeben, wie sie geschrieben wurde.",
    "This is not a CSV of pass lines: {error}. Give the file as it was written.":
        "Dies ist keine CSV von Fräsbahnen: {error}. Die Datei angeben, wie sie geschrieben wurde.",
    "it has {count} columns, not {wanted}": "sie hat {count} Spalten, nicht {wanted}",
    # Bodies from .blend files.
    "'{file}' can only be read by Blender, and there is none: put Blender on the path, run me with Python {older} or {newer} (for which its bpy "
    "exists), or export the body as .stl, .obj or .ply.":
        "„{file}“ kann nur Blender lesen, und es ist keins da: Blender in den Suchpfad aufnehmen, mit Python {older} oder {newer} starten (für die "
        "es bpy gibt) oder den Körper als .stl, .obj oder .ply exportieren.",
    "'{file}' could not be read by Blender, which said '{said}': open the file in Blender and see.":
        "„{file}“ konnte von Blender nicht gelesen werden, es meldete „{said}“: die Datei in Blender öffnen und nachsehen.",
    "'{file}' in '{folder}' cannot be read as a plan, and names no files as its own: look through the folder before you run anything of it.":
        "„{file}“ in „{folder}“ ist nicht als Plan lesbar und nennt keine Dateien als seine: den Ordner durchsehen, bevor etwas daraus läuft.",
    "'{file}' brought Blender down while it was read, so it is most likely damaged: take a backup of it, or open it in Blender and save it anew.":
        "„{file}“ hat Blender beim Lesen zum Absturz gebracht, ist also wahrscheinlich beschädigt: eine Sicherung davon nehmen oder sie in "
        "Blender öffnen und neu speichern.",
    "'{file}' has '{body}' with a modifier '{modifier}' that changes nothing: mend it, or switch it off in viewport and renders.":
        "„{file}“ hat in „{body}“ einen Modifikator „{modifier}“, der nichts ändert: ihn in Ordnung bringen oder im Ansichtsfenster und beim Rendern "
        "ausschalten.",
    "'{file}' has '{body}' with its modifier '{modifier}' on for renders but off for the viewport: switch both on or both off.":
        "„{file}“ hat in „{body}“ den Modifikator „{modifier}“ beim Rendern an, im Ansichtsfenster aber aus: beides an- oder beides ausschalten.",
    "'{file}' has '{body}' with its modifier '{modifier}' on for the viewport but off for renders: switch both on or both off.":
        "„{file}“ hat in „{body}“ den Modifikator „{modifier}“ im Ansichtsfenster an, beim Rendern aber aus: beides an- oder beides ausschalten.",
    "'{file}' has no mesh object in its scene '{scene}' but elsewhere ({names}): save it with that scene current.":
        "„{file}“ hat kein Mesh-Objekt in der Szene „{scene}“, aber anderswo ({names}): mit jener Szene offen speichern.",
    "'{file}' holds no mesh object: add the body, and apply it if it is made of instances.":
        "„{file}“ enthält kein Mesh-Objekt: den Körper hinzufügen und, wenn er aus Instanzen besteht, diese real machen.",
    "'{file}' holds no object '{name}': choose another file.": "„{file}“ enthält kein Objekt „{name}“: eine andere Datei wählen.",
    "'{file}' shows no mesh with faces: choose {names} with --object NAME, or show it in viewport and renders.":
        "„{file}“ zeigt kein Mesh mit Flächen: {names} mit --object NAME wählen oder es im Ansichtsfenster und beim Rendern einblenden.",
    # What cannot be planned.
    "A cell of {cell:g} mm would take about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: use a coarser cell.":
        "Eine Zelle von {cell:g} mm bräuchte etwa {needed:.0f} MiB, mehr als die Grenze von {limit:.0f} MiB: eine gröbere Zelle nehmen.",
    "A job holds one plan for each side, and those of smaller cutters for what it leaves: leave the others out.":
        "Ein Auftrag enthält einen Plan für jede Seite und die der kleineren Fräser für das, was er stehen lässt: die anderen weglassen.",
    "A mesh of {triangles} triangles takes about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: export it again with {most} triangles "
    "at most, or raise memory_limit_mib in a settings file.":
        "Ein Mesh aus {triangles} Dreiecken braucht etwa {needed:.0f} MiB, mehr als die Grenze von {limit:.0f} MiB: mit höchstens {most} Dreiecken neu "
        "exportieren oder memory_limit_mib in einer Einstellungsdatei erhöhen.",
    "A mesh of {triangles} triangles takes about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB, whatever the cell: raise "
    "memory_limit_mib in a settings file.":
        "Ein Mesh aus {triangles} Dreiecken braucht etwa {needed:.0f} MiB, mehr als die Grenze von {limit:.0f} MiB, wie grob die Zelle auch ist: "
        "memory_limit_mib in einer Einstellungsdatei erhöhen.",
    "No pass line fits on the planned surface: it is too narrow. Take a smaller cutter or Cusp Height.":
        "Auf die geplante Fläche passt keine Fräsbahn: Sie ist zu schmal. Einen kleineren Fräser oder eine kleinere Kammhöhe nehmen.",
    "Nothing is left to plan: all of it is skipped, steeper than Wall Limit or out of reach. Skip less, raise Wall Limit, or take a smaller cutter.":
        "Es bleibt nichts zu planen: Alles ist ausgespart, steiler als die Wandgrenze oder außer Reichweite. Weniger aussparen, die Wandgrenze heben "
        "oder einen kleineren Fräser nehmen.",
    "The two sides were planned for different bodies: plan both again.":
        "Die beiden Seiten wurden für verschiedene Körper geplant: beide neu planen.",
    "The two sides were planned for stock of different size or zeros: plan both again.":
        "Die beiden Seiten wurden für Rohlinge verschiedener Größe oder Nullpunkte geplant: beide neu planen.",
    "The work stopped at '{stage}' ({kind}: {defect}). Plan again; if it stops again, report it with these words.":
        "Die Arbeit brach bei „{stage}“ ab ({kind}: {defect}). Neu planen; bricht sie wieder ab, mit diesen Worten melden.",
    "The {diameter:g} mm cutter reaches all of the planned surface: leave the smaller one out.":
        "Der {diameter:g}-mm-Fräser erreicht die ganze geplante Fläche: den kleineren weglassen.",
    # Settings.
    "Cusp height and spacing are two ways to say one thing: give --cusp or --spacing, not both.":
        "Kammhöhe und Bahnabstand sagen dasselbe auf zwei Arten: --cusp oder --spacing angeben, nicht beides.",
    "Dowel {number} of {diameter:g} mm at X {x:.1f}, Y {y:.1f} mm would be drilled {depth:.1f} mm into the body, which reaches from {low_x:.1f} to "
    "{high_x:.1f} mm along X and from {low_y:.1f} to {high_y:.1f} mm along Y. Move it, or use a wider Stock Margin.":
        "Dübel {number} mit {diameter:g} mm bei X {x:.1f}, Y {y:.1f} mm würde {depth:.1f} mm in den Körper gebohrt, der entlang X von {low_x:.1f} "
        "bis {high_x:.1f} mm und entlang Y von {low_y:.1f} bis {high_y:.1f} mm reicht. Ihn versetzen oder einen breiteren Rand des Rohlings nehmen.",
    "Give a measured time above 0 minutes, of a plan that takes some.":
        "Eine gemessene Zeit über 0 Minuten angeben, für einen Plan, der Zeit braucht.",
    "Lines are laid from best, edge, middle or border, not from '{given}': choose one of these.":
        "Bahnen werden von best, edge, middle oder border aus gelegt, nicht von „{given}“: eines davon wählen.",
    "Machine: Least Spindle is above Greatest Spindle: swap them.": "Maschine: Die Mindestdrehzahl liegt über der Höchstdrehzahl: beide tauschen.",
    "The cusp height must be below half of the cutter's diameter of {diameter:g} mm (R {radius:g}): lower it, or take a larger cutter.":
        "Die Kammhöhe muss unter dem halben Fräserdurchmesser von {diameter:g} mm (R {radius:g}) liegen: sie verringern oder einen größeren "
        "Fräser nehmen.",
    "The cusp height must lie above 0 and not above the cutter's radius: change it, or take a larger cutter.":
        "Die Kammhöhe muss über 0 und darf nicht über dem Fräserradius liegen: sie ändern oder einen größeren Fräser nehmen.",
    "The keep-out box '{box}' lies outside the stock: along {axis} it reaches from {box_low:.1f} to {box_high:.1f} mm, the stock from "
    "{stock_low:.1f} to {stock_high:.1f} mm, from zero of the {side} side. Move the box, or leave it out.":
        "Der Sperrkasten „{box}“ liegt außerhalb des Rohlings: Entlang {axis} reicht er von {box_low:.1f} bis {box_high:.1f} mm, der Rohling von "
        "{stock_low:.1f} bis {stock_high:.1f} mm, vom Nullpunkt der Seite „{side}“ aus. Den Sperrkasten versetzen oder weglassen.",
    "The low corner of the keep-out box '{box}' must be below its high corner in X, Y and Z: swap what is not.":
        "Die untere Ecke des Sperrkastens „{box}“ muss in X, Y und Z unter seiner oberen Ecke liegen: tauschen, was es nicht tut.",
    "The rack is empty: add a cutter, or name one.": "Der Bestand ist leer: einen Fräser anlegen oder nennen.",
    "The spacing must be below the cutter's diameter of {diameter:g} mm, not {value:g} mm: lower it, or take a larger cutter.":
        "Der Bahnabstand muss unter dem Fräserdurchmesser von {diameter:g} mm liegen und darf nicht {value:g} mm sein: ihn verringern oder "
        "einen größeren Fräser nehmen.",
    "The spacing must lie above 0 and not above the cutter's diameter: change it, or take a larger cutter.":
        "Der Bahnabstand muss über 0 und darf nicht über dem Fräserdurchmesser liegen: ihn ändern oder einen größeren Fräser nehmen.",
    "The stock does not hold the body: along {axis} the body reaches from {body_low:.2f} to {body_high:.2f} mm, the stock only from {stock_low:.2f} "
    "to {stock_high:.2f} mm, in the body's own axes. Give the stock its real size, or change Height in Stock.":
        "Der Rohling fasst den Körper nicht: Entlang {axis} reicht der Körper von {body_low:.2f} bis {body_high:.2f} mm, der Rohling nur von "
        "{stock_low:.2f} bis {stock_high:.2f} mm, in den Achsen des Körpers. Dem Rohling seine wahre Größe geben oder die Höhe im Rohling ändern.",
    "The wood must be one of {choices}, not '{given}'.": "Das Holz muss eines von {choices} sein, nicht „{given}“.",
    "There is no cutter '{cutter}' on the rack: choose another one.": "Im Bestand gibt es keinen Fräser „{cutter}“: einen anderen wählen.",
    "{complaint}; see {program} --help.": "{complaint}; siehe {program} --help.",
    # Maps and pictures.
    "'{file}' is not a plan as it was written: {complaint}. Write the plan again.":
        "„{file}“ ist kein Plan, wie er geschrieben wurde: {complaint}. Den Plan neu schreiben.",
    "'{text}' is not a kind of move": "„{text}“ ist keine Art von Weg",
    "'{text}' is not a number that a machine could run to": "„{text}“ ist keine Zahl, auf die eine Maschine fahren könnte",
    "'{text}' is not the number of a line": "„{text}“ ist nicht die Nummer einer Bahn",
    "A legend needs a range from a lower to a higher value, not {low} to {high}.":
        "Eine Legende braucht einen Bereich von einem kleineren zu einem größeren Wert, nicht {low} bis {high}.",
    "A timing test has {count} times, not {given}: give one for each pattern.":
        "Ein Zeittest hat {count} Zeiten, nicht {given}: eine für jedes Muster angeben.",
    "The chart line '{line}' has {x} x values and {y} y values.": "Die Diagrammlinie „{line}“ hat {x} x-Werte und {y} y-Werte.",
    "The heights have the shape {shape}, the grid {grid}.": "Die Höhen haben die Form {shape}, das Raster {grid}.",
    "The least radius of a curvature legend must be above 0 mm, not {radius}.":
        "Der kleinste Radius einer Krümmungslegende muss über 0 mm liegen, nicht bei {radius}.",
    "The plan's figures cannot be compared: {complaint}. Write the plan again.":
        "Die Kennzahlen des Plans lassen sich nicht vergleichen: {complaint}. Den Plan neu schreiben.",
    "The smoothing of the maps must be 0 mm or more, not {value}.": "Die Glättung der Karten muss 0 mm oder mehr sein, nicht {value}.",
    "The times must be seconds with commas between them, not '{given}'.": "Die Zeiten müssen Sekunden mit Kommas dazwischen sein, nicht „{given}“.",
    "The times of a timing test must be above 0 seconds: give what the stopwatch showed.":
        "Die Zeiten eines Zeittests müssen über 0 Sekunden liegen: angeben, was die Stoppuhr zeigte.",
    "The {array} of the picture have the shape {shape}, the grid {grid}.": "{array} des Bilds haben die Form {shape}, das Raster {grid}.",
    "its figures": "seine Kennzahlen",
    "its {key}": "sein {key}",
    "{label} must be an object with one of the keys {choices}, not {given}":
        "{label} muss ein Objekt mit einem der Schlüssel {choices} sein, nicht {given}",
    # Settings: which of them, and what is wrong with its value.
    "'{text}'": "„{text}“",
    "Planned surface": "Geplante Fläche",
    "Keep-out box": "Sperrkasten",
    "Other operation": "Anderer Arbeitsgang",
    "Remaining": "Restfläche",
    "Roughing": "Schruppen",
    "The settings file cannot be used: {error}. Mend it in the file.":
        "Die Einstellungsdatei lässt sich nicht verwenden: {error}. Das in der Datei berichtigen.",
    "The settings file is not JSON that can be read: it is nested too deeply; give a plan.json as it was written.":
        "Die Einstellungsdatei ist kein lesbares JSON: zu tief verschachtelt; eine plan.json angeben, wie sie geschrieben wurde.",
    "The {setting}": "{setting}",
    "a list of {count}": "eine Liste von {count}",
    "a number of more than {count} digits": "eine Zahl von mehr als {count} Stellen",
    "a number that is not finite": "eine Zahl, die nicht endlich ist",
    "an object": "ein Objekt",
    "false": "false",
    "high": "obere Ecke",
    "it": "sie",
    "larger": "größerer Fräser",
    "low": "untere Ecke",
    "nothing": "nichts",
    "overlap": "Überlappung",
    "place": "Position",
    "true": "true",
    "{label} has an unknown key {given}": "{label} hat einen unbekannten Schlüssel {given}",
    "{label} lacks the key '{key}'": "{label}: der Schlüssel „{key}“ fehlt",
    "{label} must be a line of at most {most} characters, not {given}": "{label} muss eine Zeile von höchstens {most} Zeichen sein, nicht {given}",
    "{label} must be a list of at most {most} values, not {given}": "{label} muss eine Liste von höchstens {most} Werten sein, nicht {given}",
    "{label} must be a list of {count} values, not {given}": "{label} muss eine Liste von {count} Werten sein, nicht {given}",
    "{label} must be a number, not {given}": "{label} muss eine Zahl sein, nicht {given}",
    "{label} must be a whole number, not {given}": "{label} muss eine ganze Zahl sein, nicht {given}",
    "{label} must be an object with keys, not {given}": "{label} muss ein Objekt mit Schlüsseln sein, nicht {given}",
    "{label} must be one of {choices}, not {given}": "{label}: zur Wahl stehen {choices}, nicht {given}",
    "{label} must be true or false, not {given}": "{label} muss true oder false sein, nicht {given}",
    "{label} must lie between {least:.10g} and {greatest:.10g} {unit}, not at {given}":
        "{label} muss zwischen {least:.10g} und {greatest:.10g} {unit} liegen, nicht bei {given}",
    "{label} must lie between {least:.10g} and {greatest:.10g}, not at {given}":
        "{label} muss zwischen {least:.10g} und {greatest:.10g} liegen, nicht bei {given}",
}  # fmt: skip
"""Template: what is shown for it. The places are the same, in the order that German wants."""
