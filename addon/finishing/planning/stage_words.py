"""What a plan is busy with, in a maker's words: stages are named after what they compute, and several of them are one step to whoever waits."""

from __future__ import annotations

from ..core.message import Message, word

STEPS: tuple[tuple[Message, tuple[str, ...]], ...] = (
    (
        Message("body and stock"),
        (
            "body", "laid", "roughness", "smoothed", "placed stock", "turned", "top of stock", "stock face", "body digest", "job triangles", "job body",
            "stock box", "boxes here", "stock given", "stock before",
            "tab room", "rack force", "tab layout", "tabs here", "tab boxes", "own force", "tab ground", "held",
        ),
    ),
    (Message("heights of the body"), ("hidden area", "heights", "form width", "form", "skipped cells", "triangle tree")),
    (Message("slopes and hollows"), ("maps", "shown maps", "hollows", "ball radius", "flank")),
    (
        Message("what the cutter reaches"),
        (
            "left by larger", "ground", "tip surface", "form surface", "barred by boxes", "region", "reached ground", "proved ground", "floor",
            "flank tip",
            "surface",
            "fit", "judged fit", "fit row", "reach", "largest radius",
        ),
    ),
    (
        Message("pass lines"),
        (
            "single start", "starts tried", "pass ground", "crest meter", "distance field", "pass lines", "exact heights", "skip borders", "run lines",
            "line spacing",
            "laid field length", "trial run", "share across grain", "least length",
        ),
    ),
    (Message("rim passes"), ("rim lines", "rim", "timed rim", "rim heights", "rim findings")),
    (Message("links and lifts"), ("safe z", "route settings", "route", "path")),
    (Message("clearance"), ("still standing", "tool outline", "free height", "beside work", "contacts", "obstacles ahead", "contacts ahead")),
    (Message("bite and feed"), ("engagement", "asked feed", "wood over leads", "fed route", "bite", "eased")),
    (Message("run time"), ("experience", "run time", "flat minutes", "dowel minutes", "ground minutes", "ground costs", "overhead")),
    (Message("simulated cut"), ("feet", "proof samples", "proof", "hand work")),
    (
        Message("cutters of the rack"),
        ("fit table", "set costs", "named set", "cutter sets", "weighed cutter sets", "cutter reaches", "missing cutter", "other sets"),
    ),
    (
        Message("time budget"),
        (
            "budget ladders", "minutes for finishing", "faster feed", "coarser cusp", "less ground", "measures", "recommended", "budget",
            "budget findings",
        ),
    ),
    (
        Message("findings"),
        (
            "flats", "suggestions", "fit findings", "missing cutter findings", "true cutter findings", "free findings", "unroughed findings",
            "load findings", "gouge findings",
            "stock and zero findings", "dowels findings", "keep out box findings", "entry findings", "lying findings", "strays findings",
            "open border findings", "thinned findings", "rough mesh findings",
            "left out findings", "level findings", "logged findings", "measured findings", "first side findings", "tab findings",
        ),
    ),
    (Message("files"), ("files",)),
)  # fmt: skip
"""The steps that users are told of, and the titles of the stages that belong to each."""


def step_words(title: str) -> Message:
    """The step that a stage belongs to, by the stage's title; the title itself for a stage of somebody else's."""
    return next((words for words, titles in STEPS if title in titles), word(title))
