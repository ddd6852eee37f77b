"""What is wrong with mesh files, in German."""

from __future__ import annotations

GERMAN_MESH_FILES: dict[str, str] = {
    # Mesh files: the sentences as wholes.
    "'{file}' holds no object '{name}': choose {names}.": "„{file}“ enthält kein Objekt „{name}“: {names} wählen.",
    "'{file}' holds {count} objects ({names}): choose one with --object NAME, or join them with --object all.":
        "„{file}“ enthält {count} Objekte ({names}): eins mit --object NAME wählen oder sie mit --object all zusammenfassen.",
    "'{file}' is not a PLY file: it does not begin with a line 'ply'; {remedy}.":
        "„{file}“ ist keine PLY-Datei: Sie beginnt nicht mit einer Zeile „ply“; {remedy}.",
    "'{file}' is not a body file: give one of {endings}.": "„{file}“ ist keine Körperdatei: eine von {endings} angeben.",
    "'{file}' is not a mesh file: give one of {endings}.": "„{file}“ ist keine Mesh-Datei: eine von {endings} angeben.",
    "'{file}' is not a whole STL file: as a binary one it would hold {count} triangles in {whole} bytes, but it has {size}; {remedy}.":
        "„{file}“ ist keine vollständige STL-Datei: Als binäre enthielte sie {count} Dreiecke in {whole} Byte, sie hat aber {size}; {remedy}.",
    "'{file}' is not an STL file: it does not begin with 'solid', and its {size} bytes are too few for a binary one; export the mesh again as STL.":
        "„{file}“ ist keine STL-Datei: Sie beginnt nicht mit „solid“, und für eine binäre sind ihre {size} Byte zu wenig; das Mesh neu als "
        "STL exportieren.",
    "'{file}' is not an STL file: it is text that does not begin with 'solid'; export the mesh again as STL.":
        "„{file}“ ist keine STL-Datei: Sie ist Text, der nicht mit „solid“ beginnt; das Mesh neu als STL exportieren.",
    "'{file}' {what}: {remedy}.": "„{file}“ {what}: {remedy}.",
    "'{file}', {place}: {what}: {remedy}.": "„{file}“, {place}: {what}: {remedy}.",
    "'{name}'": "„{name}“",
    "{names} and {more} more": "{names} und {more} weitere",
    # Mesh files: places.
    "face {face} (byte {byte})": "Fläche {face} (Byte {byte})",
    "line {line}": "Zeile {line}",
    "normal": "Normale",
    "normals": "Normalen",
    "point": "Punkt",
    "point {point} (byte {byte})": "Punkt {point} (Byte {byte})",
    "points": "Punkte",
    "texture point": "Texturpunkt",
    "texture points": "Texturpunkte",
    "{element} {row} (byte {byte})": "{element} {row} (Byte {byte})",
    # Mesh files: what is wrong.
    "'solid' stands where 'endsolid' alone was expected": "„solid“ steht, wo „endsolid“ allein erwartet wurde",
    "'{keyword}' belongs to a free-form curve or surface": "„{keyword}“ gehört zu einer Freiformkurve oder -fläche",
    "'{keyword}' calls in another file": "„{keyword}“ ruft eine andere Datei auf",
    "'{keyword}' has {count} numbers where {wanted} were expected": "„{keyword}“ hat {count} Zahlen, erwartet wurden {wanted}",
    "'{keyword}' is not a statement of an OBJ file": "„{keyword}“ ist keine Anweisung einer OBJ-Datei",
    "'{statement}' does not name a type and a property": "„{statement}“ nennt keinen Typ mit einer Eigenschaft",
    "'{statement}' does not name an element and a count of up to 15 digits":
        "„{statement}“ nennt kein Element mit einer Anzahl von höchstens 15 Stellen",
    "'{word}' does not belong here in the head of a PLY file": "„{word}“ gehört nicht hierher in den Kopf einer PLY-Datei",
    "'{word}' is a number with something behind it": "„{word}“ ist eine Zahl, hinter der noch etwas steht",
    "'{word}' is larger than any body": "„{word}“ ist größer als jeder Körper",
    "'{word}' is larger than any file can hold": "„{word}“ ist größer, als eine Datei fassen kann",
    "'{word}' is not a corner of a face (point/texture/normal)": "„{word}“ ist keine Ecke einer Fläche (Punkt/Textur/Normale)",
    "'{word}' is not a number": "„{word}“ ist keine Zahl",
    "'{word}' is not a whole number": "„{word}“ ist keine ganze Zahl",
    "'{word}' is written with a comma": "„{word}“ ist mit Komma geschrieben",
    "'{word}' stands behind the last row that the head counts": "„{word}“ steht hinter der letzten Reihe, die der Kopf zählt",
    "'{word}' stands where '{wanted}' was expected": "„{word}“ steht, wo „{wanted}“ erwartet wurde",
    "a coordinate is not a number or larger than any body": "eine Koordinate ist keine Zahl oder größer als jeder Körper",
    "a face has {count} corners, it must have 3 or more": "eine Fläche hat {count} Ecken, es müssen 3 oder mehr sein",
    "a face names point {point}, but they are numbered from 0 to {last}": "eine Fläche nennt Punkt {point}, die Punkte zählen aber von 0 bis {last}",
    "a face with {count} corners crosses itself": "eine Fläche mit {count} Ecken überschneidet sich selbst",
    "a face with {count} corners that is not convex is too much work here": "eine nicht konvexe Fläche mit {count} Ecken macht hier zu viel Arbeit",
    "a facet is not whole, it lacks '{word}'": "ein Dreieck ist unvollständig, ihm fehlt „{word}“",
    "a line or point names no point": "eine Linie oder ein Einzelpunkt nennt keinen Punkt",
    "a list cannot have {count} items": "eine Liste kann nicht {count} Einträge haben",
    "cannot be read ({error})": "lässt sich nicht lesen ({error})",
    "ends with a backslash, but no line follows": "endet mit einem umgekehrten Schrägstrich, es folgt aber keine Zeile",
    "ends without 'endsolid' after line {line}": "endet nach Zeile {line} ohne „endsolid“",
    "goes on for {count} bytes behind the last row that its head counts": "geht hinter der letzten Reihe, die ihr Kopf zählt, {count} Byte weiter",
    "has a coordinate that is not a number or larger than any body in triangle {triangle} (byte {byte})":
        "hat in Dreieck {triangle} (Byte {byte}) eine Koordinate, die keine Zahl ist oder größer als jeder Körper",
    "has a head without 'end_header'": "hat einen Kopf ohne „end_header“",
    "has a head without a format": "hat einen Kopf ohne Format",
    "has {count} bytes, more than this machine's memory can work on": "hat {count} Byte, mehr als der Speicher dieses Rechners verarbeiten kann",
    "has {edges} open edges, and its last line has no end": "hat {edges} offene Kanten, und ihrer letzten Zeile fehlt das Ende",
    "has {edges} open edges, and {unused} of its {points} points belong to no face":
        "hat {edges} offene Kanten, und {unused} ihrer {points} Punkte gehören zu keiner Fläche",
    "holds a byte that is not text (0)": "enthält ein Byte, das kein Text ist (0)",
    "holds no points": "enthält keine Punkte",
    "holds no triangles": "enthält keine Dreiecke",
    "holds strips of triangles in place of faces": "enthält Dreiecksstreifen statt Flächen",
    "holds {count} points but no faces": "enthält {count} Punkte, aber keine Flächen",
    "is empty": "ist leer",
    "is longer than {count} bytes": "ist länger als {count} Byte",
    "is not a file but a folder or a device": "ist keine Datei, sondern ein Ordner oder Gerät",
    "is not a name that a file can have": "ist kein Name, den eine Datei haben kann",
    "is written in two bytes for each letter (UTF-16)": "ist mit zwei Byte je Zeichen geschrieben (UTF-16)",
    "its '{property}' is cut off": "„{property}“ ist abgeschnitten",
    "its list '{property}' has {count} items, and the file ends before them":
        "die Liste „{property}“ hat {count} Einträge, und die Datei endet vor ihnen",
    "lies so far from the origin that its coordinates come in steps of {step:.2g} mm":
        "liegt so weit vom Ursprung, dass ihre Koordinaten in Stufen von {step:.2g} mm liegen",
    "says that it holds no triangles, but {count} bytes follow": "nennt als Anzahl keine Dreiecke, es folgen aber {count} Byte",
    "the backslash at its end joins two words of which nobody knows whether they are one":
        "der umgekehrte Schrägstrich am Ende verbindet zwei Wörter, von denen niemand weiß, ob sie eins sind",
    "the corners of the faces are not whole numbers": "die Ecken der Flächen sind keine ganzen Zahlen",
    "the element '{element}' has no properties": "das Element „{element}“ hat keine Eigenschaften",
    "the element has two properties '{property}'": "das Element hat zwei Eigenschaften „{property}“",
    "the faces have no list '{property}'": "die Flächen haben keine Liste „{property}“",
    "the file ends where {count} more rows of '{element}' should follow": "die Datei endet, wo noch {count} Reihen von „{element}“ folgen müssten",
    "the format '{format}' is unknown": "das Format „{format}“ ist unbekannt",
    "the head counts {count} rows of '{element}', more than the file has room for":
        "der Kopf zählt {count} Reihen von „{element}“, mehr als in die Datei passen",
    "the head counts {count} rows of '{element}', which take {least} bytes or more, but the file has {there} left for them":
        "der Kopf zählt {count} Reihen von „{element}“, die {least} Byte oder mehr brauchen, die Datei hat aber nur noch {there}",
    "the head names a second format": "der Kopf nennt ein zweites Format",
    "the head names more than {most} elements and properties": "der Kopf nennt mehr als {most} Elemente und Eigenschaften",
    "the head names the element '{element}' twice": "der Kopf nennt das Element „{element}“ zweimal",
    "the length of the list '{property}' is not a whole number": "die Länge der Liste „{property}“ ist keine ganze Zahl",
    "the points have no coordinate '{axis}'": "die Punkte haben keine Koordinate „{axis}“",
    "the row has {count} words where the head asks for {wanted}": "die Reihe hat {count} Wörter, der Kopf verlangt {wanted}",
    "the row has {count} words, too few for its '{property}'": "die Reihe hat {count} Wörter, zu wenig für „{property}“",
    "the type '{type}' is unknown": "der Typ „{type}“ ist unbekannt",
    "{kind} 0 is named, but they are counted from 1": "{kind} 0 ist genannt, gezählt wird aber von 1 an",
    "{kind} {number} is named, but the file has {count}": "{kind} {number} ist genannt, die Datei hat aber {count}",
    "{number} {kind} are counted back, but there are only {count} so far":
        "{number} {kind} werden zurückgezählt, bis hierher gibt es aber nur {count}",
    "{one} or {other}": "{one} oder {other}",
    # Mesh files: what to do.
    "check the name": "den Namen prüfen",
    "check the name and the rights": "den Namen und die Rechte prüfen",
    "check the unit, or export the mesh again": "die Einheit prüfen oder das Mesh neu exportieren",
    "copy or export it again": "sie neu kopieren oder exportieren",
    "export a mesh": "ein Mesh exportieren",
    "export a mesh with a surface": "ein Mesh mit einer Oberfläche exportieren",
    "export a mesh with fewer faces": "ein Mesh mit weniger Flächen exportieren",
    "export as ascii or binary {format}": "als {format}, ascii oder binär, exportieren",
    "export the mesh again": "das Mesh neu exportieren",
    "export the mesh again with bare numbers": "das Mesh mit bloßen Zahlen neu exportieren",
    "export the mesh again with decimal points": "das Mesh mit Dezimalpunkten neu exportieren",
    "export the mesh as single faces": "das Mesh in einzelnen Flächen exportieren",
    "export the mesh as triangles": "das Mesh in Dreiecken exportieren",
    "export the mesh into one file": "das Mesh in eine einzige Datei exportieren",
    "give a file": "eine Datei angeben",
    "move the body to the origin and export it again": "den Körper zum Ursprung schieben und neu exportieren",
    "repair the mesh (look for faces without area) and export it again": "das Mesh reparieren (nach Flächen ohne Inhalt suchen) und neu exportieren",
    "repair the mesh and export it again": "das Mesh reparieren und neu exportieren",
    "repair the mesh, or export it again as triangles": "das Mesh reparieren oder in Dreiecken neu exportieren",
    "save it as plain text (UTF-8)": "sie als reinen Text (UTF-8) speichern",
    "the file was cut short, so copy or export it again": "die Datei wurde abgeschnitten, also neu kopieren oder exportieren",
    "the file was cut short, so copy or export it again; if it is whole, delete the loose points first":
        "die Datei wurde abgeschnitten, also neu kopieren oder exportieren; ist sie vollständig, erst die losen Punkte löschen",
    "the file was cut short, so copy or export it again; if it is whole, put an empty line at its end":
        "die Datei wurde abgeschnitten, also neu kopieren oder exportieren; ist sie vollständig, eine leere Zeile ans Ende setzen",
}  # fmt: skip
"""Sentence, or a part of one: what is shown for it."""
