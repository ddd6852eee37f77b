"""Sentences of findings and suggestions in the user's language.

The computation tells its findings in English sentences that hold numbers. Here every such sentence is found again by its words, and
told with the same numbers in the words that the translations have for it.
"""

from __future__ import annotations

import re

from bpy.app.translations import pgettext_iface

SENTENCES = (
    # fit
    "The {} mm cutter leaves {} mm2 higher than {} mm, {} mm at most; you tolerate {} mm2.",
    "A smaller cutter reaches more of it.",
    "No cutter on the rack fits the whole planned ground: the {} mm one leaves {} mm2 higher than {} mm, up to {} mm.",
    "The cutter does not fit the whole planned ground: the {} mm one leaves {} mm2 higher than {} mm, up to {} mm.",
    "A radius of {} mm would do.",
    "No radius that was tried would do.",
    "Skip the hollow, tolerate more, or take a smaller cutter.",
    # time
    "The run takes {} minutes, {} more than the budget of {} that is left of {}.",
    "The run takes {} minutes, {} more than the budget of {}.",
    "Work made elsewhere and its tool changes take {} of the side's {} minutes: none are left.",
    "Work made elsewhere takes {} of this side's {} minutes: none are left for finishing.",
    "Give the side more minutes, or take work off it.",
    "In {} minutes {} leaves a cusp height of about {} mm, the finest that meets it.",
    "No cutter that fits finishes this side in {} minutes.",
    "What helps most: {}",
    "A cusp height of about {} mm: {} minutes.",
    "Feed {} mm/min, within the chip load of {} and the axes' speed: {} minutes.",
    "No overrun beyond the outline: {} minutes.",
    "A wall limit of {} degrees: {} minutes.",
    "{}, which leaves {} mm2 uncut: {} minutes.",
    "{}: {} minutes.",
    "Skipping {} cm2 here saves about {} minutes.",
    "The overrun beyond the outline takes about {} minutes.",
    "With the smaller cutters and their tool changes the side takes {} minutes, {} more than the budget of {}.",
    "Leave the rest to sanding, or choose a smaller cutter at once.",
    # proof, bite, running free
    "The simulated cut runs {} mm below the body, more than {} mm.",
    "Use a finer cell or a smaller chord tolerance.",
    "The bite is too large over {} of the passes: at worst {} mm deep and {} mm wide, {} at {} mm/min.",
    "The feed is lowered there, to {} mm/min at the worst place.",
    "Feed {} mm/min there, rough closer, or take a stiffer cutter.",
    "The cutter's spindle speed of {} 1/min lies outside the machine's {} to {}.",
    "Set a speed that the machine has and the cutter's maker allows.",
    "The slot of {} mm beside the body is too narrow: the {} mm cutter rubs {}, {} mm deep.",
    "Rough a slot wider than {} mm, take a smaller cutter, or overrun less.",
    "The shank of {} mm goes {} mm into {}.",
    "Take a cutter usable over {} mm, or a thinner shank.",
    "The collet nut goes {} mm into {} with the cutter sticking out {} mm.",
    "Let it stick out {} mm or more, within the cutter's own limits for grip.",
    "The cutter runs {} mm into {}.",
    "Move the clamp or tab, skip the ground beside it, or lift the safe height above it.",
    # stock, zeros, dowels
    "The body stands {} mm out of the stock.",
    "Give the stock its real size, or lift the body in it.",
    "The path runs {} mm below the stock's bottom, more than the {} mm allowed.",
    "Raise the lowest depth, or check where the body lies in the stock.",
    "The zeros of the two sides touch different faces of the stock: stock {} mm thicker than nominal parts the sides by {} mm.",
    "Zero the first side on the spoilboard and the second on the stock's top.",
    "Dowel {} does not lie inside the stock.",
    "Dowel {} lies under {}.",
    "Dowel {} lies {} mm too close to {}.",
    "Turned over about {}, dowel {} misses every hole by {} mm.",
    "Move it inwards or take larger stock.",
    "Move the clamp or the dowel.",
    "Place the dowels on the turn axis or in pairs that mirror each other in it.",
    "Take a wider margin of stock, thinner dowels, or less overrun.",
    # grain, and what is left out
    "The passes run only {} along the grain: the quickest start wins even so.",
    "The passes run {} along the grain and take about {} minutes more than the quickest start, which runs {} along it.",
    "Give the grain less weight for the quickest start.",
    "Give the grain more weight to have them along it.",
    "{} mm2 of the body are undercut: neither side can reach them.",
    "They are left out; finish them by hand.",
    "{} mm2 are as steep as {} degrees or steeper and left out.",
    "They are work for a flat cutter.",
    "A flat of {} cm2 is planned with the round-nose cutter.",
    "It is work for a flat cutter: skip it, and finish it in the same run as its neighbours.",
    "Opening {}, a {} {} mm wide and {}, is {}.",
    "Opening {}, a {} {} mm wide, {}.",
    "A flat of {} cm2: a flat cutter does it better.",
    "Walls steeper than {} degrees, {} cm2: the side of a flat cutter does them better.",
)
"""Every sentence that the computation tells, with places for its numbers and names; the more special ones first."""

FRAGMENTS = (
    "chips of {} mm, more than the {} mm that {} bears", "the tip bends by {} mm, more than {} mm", "{} mm deep", "through", "pocket", "hole",
    "slot", "left out", "bridged", "followed", "the body", "stock that still stands", "the cutter's way", "hardwood", "softwood", "plywood",
)  # fmt: skip
"""Words that stand within sentences."""


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile("(.+?)".join(re.escape(part) for part in text.split("{}")) + "$", re.DOTALL)


PATTERNS = tuple((text, _pattern(text)) for text in (*SENTENCES, *FRAGMENTS))
SENTENCE_END = re.compile(r"(?<=\.)\s+(?=[A-Z])")


def in_users_language(text: str) -> str:
    """Sentences of the computation in the user's language; as they are where that is English or has no words for them."""
    if pgettext_iface("Findings") == "Findings":
        return text
    return " ".join(_translated(sentence) for sentence in SENTENCE_END.split(text))


def _translated(text: str) -> str:
    """One sentence or fragment. The first pattern that holds counts; what stands in its places is looked up too."""
    for template, pattern in PATTERNS:
        found = pattern.match(text)
        if found is None:
            continue
        shown = pgettext_iface(template)
        if shown == template and "{}" in template:
            continue
        return shown.format(*(_translated(part) for part in found.groups()))
    return text
