"""Steps of a plan, as users are told of them: every stage belongs to one, and none of the code's own words is among them."""

from __future__ import annotations

from collections import Counter

from addon.finishing.planning.plan_graph import STAGES
from addon.finishing.planning.stage_words import STEPS, step_words

CODE_WORDS = {
    "stage",
    "graph",
    "tree",
    "triangle",
    "grid",
    "cell",
    "array",
    "metric",
    "field",
    "matrix",
    "digest",
    "row",
    "floor",
    "settings",
    "region",
    "proof",
}
"""Words of stages' names that mean something to the code alone."""

NO_STAGES = {"body", "files"}
"""What is told before the first stage and after the last one."""


def test_every_stage_belongs_to_one_step() -> None:
    titles = Counter(title for _, own in STEPS for title in own)
    assert set(titles) == {stage.__name__.replace("_", " ") for stage in STAGES} | NO_STAGES
    assert max(titles.values()) == 1
    assert len({str(words) for words, _ in STEPS}) == len(STEPS) <= 15


def test_no_word_of_the_code_stands_in_a_step() -> None:
    of_stages = {word for stage in STAGES for word in stage.__name__.split("_")}
    assert len(CODE_WORDS & of_stages) > 8
    for words, _ in STEPS:
        shown = str(words)
        assert shown == shown.lower() and not CODE_WORDS & {one for word in shown.split() for one in (word, word.rstrip("s"))}


def test_a_stage_is_told_by_its_step() -> None:
    assert str(step_words("triangle tree")) == "heights of the body"
    assert str(step_words("steepness")) == "steepness"  # a stage that somebody has added
