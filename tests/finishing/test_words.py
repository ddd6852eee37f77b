"""One word for one thing: every text that a user can meet is read for words that mean something else here, or that belong to the code."""

from __future__ import annotations

import re

import message_templates
import pytest
from user_texts import user_texts

TEXTS = tuple(user_texts())

LINES = (
    r"pass lines?", r"rim pass(es)?", r"(a|no|the) pass (along|runs along)",  # the thing itself, and the one along rims
    r"(may|never|would|cannot|should) pass(es)? (the|a|them)", r"tip never passes", r"limit would be passed", r"passes the outline",  # the verb
)  # fmt: skip

WATCHED: dict[str, tuple[str, ...]] = {
    # A line of cutting is a pass line; what the whole run follows is its path.
    r"\bpass(es)?\b": LINES,
    r"\btool ?paths?\b|\bcutter paths?\b|\bfinishing paths?\b": (),
    r"\bcuts\b": (r"cuts it down", r"(cutter|it|edge) (really )?cuts", r"\(cuts \{", r"cuts it", r"full cuts", r"cuts \{"),
    r"\b(step-?over|step-?down|scallops?|junction|air ?cut|hookup|g-?code)\b": (),
    # What is planned is a surface; ground, foot and metric are words of the code.
    r"\bground\b": (),
    r"\b(feet|metric|closing|dilation|level set)\b": (),
    # A slot is an opening of the body; what roughing cuts round it is the channel.
    r"\bslots?\b": (r"pockets, holes and slots", r"a \*slot\* is an opening", r"^slot$"),
    # A line has an angle, cutting has a way; a lamp's light has a direction.
    r"\bdirections?\b": (r"direction to the lamp", r"direction to the low lamp", r"lamp's direction"),
    # Lifts go through the air; where the body lies in the stock is a height.
    r"\blift(s|ed|ing)?\b": (
        r"(\d|\}|no|few|fewer|and|,|exit,|entry,|links? and|lines,|or|and `) ?lifts?\b", r"a (\*)?lift", r"links?,? (or|and) lifts?",
        r"lifts? (it )?(between|in the air|over|the cutter|off)", r"entry, exit,? (or|and)? ?lifts?", r"exit. and .lift", r"^lifts?$", r"lift or entry",
    ),
    # Squares and cubes are written as such.
    r"\b[mc]m[23]\b|\bcubic\b(?!:)|\bsq\b": (r"\{cubic:",),
}  # fmt: skip
"""Words to look at, and the phrases in which they are right."""


@pytest.mark.parametrize("watched", WATCHED)
def test_words_that_mean_something_else_here_do_not_stand_in_texts(watched: str) -> None:
    allowed = re.compile("|".join(WATCHED[watched]) or r"(?!)", re.IGNORECASE)
    wrong = [(place, text) for place, text in TEXTS if re.search(watched, allowed.sub(" ", text), re.IGNORECASE)]
    assert not wrong, "\n".join(f"{place}: {text}" for place, text in wrong)


@pytest.mark.parametrize("watched", [watched for watched in WATCHED if WATCHED[watched]])
def test_no_phrase_is_allowed_that_nobody_says(watched: str) -> None:
    # A phrase that nothing needs any more would let through what was never looked at.
    for phrase in WATCHED[watched]:
        assert any(re.search(phrase, text, re.IGNORECASE) for _, text in TEXTS), phrase


def test_the_texts_are_all_there() -> None:
    assert len(TEXTS) > 1500
    known = {text for _, text in TEXTS}
    assert message_templates.to_translate() <= known
    assert any("{line_count} pass lines" in text for text in known)  # printed by the summary
    assert any("pocket" in text for place, text in TEXTS if place == "README.md")


def test_a_cutter_is_named_by_its_diameter_and_a_radius_stands_in_brackets_behind_it() -> None:
    # Radii stand alone only for what has no diameter to a maker: hollows, crowns, and the least radius of a legend.
    of_surfaces = re.compile(r"hollow|crown|curvature|^R \{radius", re.IGNORECASE)
    found = 0
    for _, text in TEXTS:
        if re.search(r"\bR \{", text) and not of_surfaces.search(text):
            assert re.search(r"\{[^}]*(diameter|radius)[^}]*\} mm \(R \{[^}]*radius[^}]*\}\)", text), text
            found += 1
    assert found >= 2


def test_roughness_is_told_in_micrometres() -> None:
    told = [text for _, text in TEXTS if re.search(r"\bR[za] ?\{", text)]
    assert len(told) >= 2
    for text in told:
        assert len(re.findall(r"\bR[za] ?\{", text)) <= len(re.findall("µm", text)), text
