"""Tabs in German: settings, findings, errors, and what the bench sheet says of them."""

from __future__ import annotations

GERMAN_TABS: dict[str, str] = {
    # Settings.
    "As Many as Hold": "So viele, wie halten",
    "As few as bear the cutter's push and the body's weight, spread round the outline":
        "So wenige, wie den Druck des Fräsers und das Gewicht des Körpers tragen, um den Umriss verteilt",
    "Bridges of wood that hold the body in its stock; the cutter keeps off them":
        "Brücken aus Holz, die den Körper im Rohling halten; der Fräser bleibt ihnen fern",
    "Height of a tab, along Z": "Höhe eines Stegs, entlang Z",
    "Height of the tabs' undersides above the stock's bottom": "Höhe der Unterseiten der Stege über der Unterseite des Rohlings",
    "How many tabs hold the body in its stock": "Wie viele Stege den Körper im Rohling halten",
    "No tabs: the cutter knows of none": "Keine Stege: Der Fräser weiß von keinen",
    "Number of Tabs": "Anzahl der Stege",
    "Say at which height the tabs lie instead of where the rim holds them best":
        "Angeben, auf welcher Höhe die Stege liegen, statt dort, wo der Rand sie am besten hält",
    "So many, spread round the outline": "So viele, um den Umriss verteilt",
    "Move a tab first: all are where they were placed": "Erst einen Steg verschieben: Alle sind, wo sie verteilt wurden",
    "Place Tabs Anew": "Stege neu verteilen",
    "Spread the tabs round the outline again, as they were before they were moved":
        "Die Stege wieder um den Umriss verteilen, wie sie waren, ehe sie verschoben wurden",
    "Tab {number}: X {x:.1f}, Y {y:.1f} mm": "Steg {number}: X {x:.1f}, Y {y:.1f} mm",
    "Tab Height": "Steghöhe",
    "Tab Level": "Lage der Stege",
    "Tab Width": "Stegbreite",
    "Width of a tab, along the outline": "Breite eines Stegs, entlang des Umrisses",
    "X of the tab in the body's axes": "X des Stegs in den Achsen des Körpers",
    "Y of the tab in the body's axes": "Y des Stegs in den Achsen des Körpers",
    "Tabs": "Stege",
    "tabs": "Stege",
    "height": "Höhe",
    # Findings.
    "A clamp, a dowel or the stock's edge is in the way of tabs ({numbers}).":
        "Eine Spannpratze, ein Dübel oder die Kante des Rohlings ist Stegen im Weg ({numbers}).",
    "Keep-out boxes and tabs keep the cutter off {area:.0f} mm² of the planned surface.":
        "Sperrkästen und Stege halten den Fräser von {area:.0f} mm² der geplanten Fläche fern.",
    "Lower Tab Height, set Tab Level lower, or leave it to hand work.":
        "Die Steghöhe verringern, die Lage der Stege tiefer setzen oder diese Fläche der Handarbeit überlassen.",
    "Lower Tab Height, set Tab Level to where the rim is upright, or move these tabs.":
        "Die Steghöhe verringern, die Lage der Stege dorthin setzen, wo der Rand senkrecht ist, oder diese Stege versetzen.",
    "Lower Tab Height, set Tab Level, or move the tabs to where the rim is thicker.":
        "Die Steghöhe verringern, die Lage der Stege einstellen oder die Stege dorthin versetzen, wo der Rand dicker ist.",
    "Move the tab or what is in its way.": "Den Steg versetzen oder das, was ihm im Weg ist.",
    "Move them, or finish the surface beside them.": "Sie versetzen oder die Fläche neben ihnen schlichten.",
    "Put a tab between them, or spread the tabs evenly.": "Einen Steg dazwischen setzen oder die Stege gleichmäßig verteilen.",
    "Raise Tab Height, which counts most, Tab Width or Number of Tabs, or take a narrower Channel Width.":
        "Die Steghöhe vergrößern, was am meisten hilft, die Stegbreite oder die Anzahl der Stege, oder eine schmalere Kanalbreite nehmen.",
    "Saw from the body's face inwards, and leave a little to file.": "Von der Fläche des Körpers nach innen sägen und etwas zum Feilen stehen lassen.",
    "Set Grain Angle: as long as it is not known, every tab is taken as lying across the grain. Else raise Tab Height or Number of Tabs.":
        "Die Richtung der Maserung einstellen: Solange sie nicht bekannt ist, gilt jeder Steg als quer dazu. Sonst die Steghöhe oder die "
        "Anzahl der Stege vergrößern.",
    "Skipped surface lies beside tabs ({numbers}): what is left of them there must be cleaned up by hand.":
        "Neben Stegen ({numbers}) liegt ausgesparte Fläche: Was dort von ihnen bleibt, ist von Hand zu verputzen.",
    "Tab {number} may break: it would bear only {times:.1f} times the {force:.0f} N of the cutter, down and sideways, and the {weight:.0f} N that "
    "the body weighs; it should bear {safety:g} times as much.":
        "Steg {number} kann brechen: Er trüge nur das {times:.1f}-fache der {force:.0f} N des Fräsers, nach unten und zur Seite, und der "
        "{weight:.0f} N, die der Körper wiegt; er soll das {safety:g}-fache tragen.",
    "Tabs ({numbers}) stand at end grain: it tears when they are sawn off, and takes longest to clean.":
        "Stege ({numbers}) stehen am Hirnholz: Es reißt beim Absägen aus und ist am mühsamsten zu verputzen.",
    "Tabs keep the cutter off {area:.0f} mm² of the planned surface.": "Stege halten den Fräser von {area:.0f} mm² der geplanten Fläche fern.",
    "Planned surface lies in tabs ({numbers}): {area:.0f} mm² of it, under {volume:.0f} mm³ of wood, are left to hand work.":
        "Geplante Fläche liegt in Stegen ({numbers}): {area:.0f} mm² davon, unter {volume:.0f} mm³ Holz, bleiben der Handarbeit.",
    "The outline is curved where tabs stand ({numbers}): sawing them off straight takes or leaves more than {bow:g} mm.":
        "Der Umriss ist gekrümmt, wo Stege stehen ({numbers}): Gerade abgesägt nimmt oder lässt das mehr als {bow:g} mm.",
    "The rim is thinner than the tabs are high, or lies at another height ({numbers}).":
        "Der Rand ist dünner, als die Stege hoch sind, oder liegt auf anderer Höhe ({numbers}).",
    "The stock behind tabs ({numbers}) is narrower than they are high: it may break before they do.":
        "Der Rohling hinter Stegen ({numbers}) ist schmaler, als sie hoch sind: Er kann vor ihnen brechen.",
    "There is no room for a single tab: the stock ends or something stands in the way all round the body.":
        "Für keinen einzigen Steg ist Platz: Rings um den Körper endet der Rohling oder ist etwas im Weg.",
    "There is room for {count} tabs, not for {wanted}.": "Es ist Platz für {count} Stege, nicht für {wanted}.",
    "Two neighbouring tabs are {share:.0%} of the outline apart: the body may rock between them.":
        "Zwei benachbarte Stege sind {share:.0%} des Umrisses auseinander: Der Körper kann zwischen ihnen kippeln.",
    "Use a wider Stock Margin or a narrower Channel Width, or move clamps and dowels.":
        "Einen breiteren Rand des Rohlings oder eine schmalere Kanalbreite nehmen oder Spannpratzen und Dübel versetzen.",
    "Use a wider Stock Margin or narrower tabs, or move clamps and dowels.":
        "Einen breiteren Rand des Rohlings oder schmalere Stege nehmen oder Spannpratzen und Dübel versetzen.",
    "Use a wider Stock Margin, or a narrower Channel Width.": "Einen breiteren Rand des Rohlings oder eine schmalere Kanalbreite nehmen.",
    "Use narrower or fewer tabs, or move them to a straighter stretch.":
        "Schmalere oder weniger Stege nehmen oder sie auf ein geraderes Stück versetzen.",
    "{count} tabs hold the body: they would bear {times:.1f} times the {force:.0f} N of the cutter, down and sideways, and the {weight:.0f} N "
    "that the body weighs.":
        "{count} Stege halten den Körper: Sie trügen das {times:.1f}-fache der {force:.0f} N des Fräsers, nach unten und zur Seite, und der "
        "{weight:.0f} N, die der Körper wiegt.",
    # Errors.
    "The tabs must be off, auto or a number, not '{given}'.": "Die Stege müssen „off“, „auto“ oder eine Zahl sein, nicht „{given}“.",
    "The tabs would stand out of the stock: their tops would be {top:g} mm above its bottom, and it is {thickness:g} mm thick. "
    "Lower Tab Height or Tab Level.":
        "Die Stege stünden aus dem Rohling heraus: Ihre Oberseiten lägen {top:g} mm über seiner Unterseite, und er ist {thickness:g} mm dick. Die "
        "Steghöhe oder die Lage der Stege verringern.",
    # The bench sheet.
    "Bears, times": "Trägt, mal",
    "Both sides done, saw the tabs through beside the body and work their stubs down by hand.":
        "Sind beide Seiten fertig, die Stege neben dem Körper durchsägen und ihre Stümpfe von Hand verputzen.",
    "From Z mm": "Von Z mm",
    "Hand work in it": "Handarbeit darin",
    "Share of a push": "Anteil am Druck",
    "Share of a push: the most of the cutter's push down that the tab takes, wherever on the body that is. Bears: by how many times more than the "
    "cutter's {force:.0f} N, down and sideways, and the {weight:.0f} N of the body; it should be {safety:g}.":
        "Anteil am Druck: das meiste vom Druck des Fräsers nach unten, das der Steg aufnimmt, wo auch immer auf dem Körper er fräst. Trägt: das "
        "Wievielfache der {force:.0f} N des Fräsers, nach unten und zur Seite, und der {weight:.0f} N des Körpers; {safety:g} sollten es sein.",
    "Tab": "Steg",
    "To Z mm": "Bis Z mm",
    "Width, height, length mm": "Breite, Höhe, Länge mm",
    "{area:.0f} mm², {volume:.0f} mm³": "{area:.0f} mm², {volume:.0f} mm³",
}  # fmt: skip
