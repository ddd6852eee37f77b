"""Messages: templates are written out and whole, values reach their places, and records hold both."""

from __future__ import annotations

import json
import random

import message_templates
import numpy as np
import pytest

from addon.finishing.core.errors import BadFile, BadRequest, FinishingError
from addon.finishing.core.finding import Finding, finding_record
from addon.finishing.core.message import Message, in_a_row, setting_name, word

CALLS = tuple(message_templates.calls_with_templates())
TEMPLATES = sorted(message_templates.templates())


def test_every_message_and_error_has_its_template_written_out() -> None:
    # Templates put together at run time would be found in no language's table.
    assert len(TEMPLATES) > 150
    assert [found.place for found in CALLS if found.text is None] == []


@pytest.mark.parametrize("template", TEMPLATES)
def test_templates_are_filled_without_a_rest(template: str) -> None:
    rng = random.Random(template)
    for _ in range(5):
        values = message_templates.some_values(template, rng)
        shown = str(Message(template, **values))
        assert "{" not in shown and "}" not in shown
        for name, form in message_templates.places(template).items():
            assert name.isidentifier()  # named, so that a language may use another order
            if "{" not in form and name not in message_templates.names_in_formats(template):
                assert format(values[name], form) in shown


def test_each_kind_of_value_is_shown_as_what_it_is() -> None:
    message = Message(
        "{wood}, '{name}', {count}, {length:.2f} mm, {share:.0%}, {list}",
        wood=word("hardwood"),
        name="1.5 {odd}",
        count=3,
        length=np.float64(1.5),
        share=0.12,
        list=("a", word("soft"), 0.5),
    )
    assert str(message) == "hardwood, '1.5 {odd}', 3, 1.50 mm, 12%, a, soft, 0.5"
    # In another language words and numbers change, names of the user's do not.
    texts = {message.template: "{list}; {share:.0%}; {length:.1f}; {count}; „{name}“; {wood}", "hardwood": "Hartholz", "soft": "weich"}
    shown = message.rendered(lambda text: texts.get(text, text), lambda number: number.replace(".", ",").replace("%", " %"))
    assert shown == "a, weich, 0,5; 12 %; 1,5; 3; „1.5 {odd}“; Hartholz"


def test_messages_are_equal_by_what_they_say() -> None:
    assert Message("{a}", a=1) == Message("{a}", a=1) != Message("{a}", a=2)
    assert hash(Message("{a}", a=1)) == hash(Message("{a}", a=1))
    assert str(Message("100 % {plain}")) == "100 % {plain}"  # without values nothing is filled in


def test_sentences_in_a_row() -> None:
    assert str(in_a_row(Message("It is so."), None, Message("Take {n}.", n=2))) == "It is so. Take 2."
    assert str(setting_name("spin_up_seconds")) == "spin up seconds"


def test_errors_carry_their_message() -> None:
    with pytest.raises(FinishingError, match=r"^The feed must be above 0 mm/min, not -1\.5\.$") as raised:
        raise BadRequest("The feed must be above 0 mm/min, not {value}.", value=-1.5)
    assert raised.value.message == Message("The feed must be above 0 mm/min, not {value}.", value=-1.5)
    # An error that another one was raised from keeps its template, so that it is translated with it; others stand for their words.
    outer = BadFile("The settings file cannot be used: {error}", error=raised.value)
    assert dict(outer.message.values)["error"] == raised.value.message
    assert str(outer) == "The settings file cannot be used: The feed must be above 0 mm/min, not -1.5."
    assert str(BadFile("'{file}' cannot be read: {error}.", file="a", error=ValueError("no {digits}"))) == "'a' cannot be read: no {digits}."


def test_the_record_of_a_finding_has_words_template_and_values() -> None:
    wood = word("hardwood")
    finding = Finding("bite", Message("{share:.0%} in {wood}.", share=0.5, wood=wood), Message("Rough closer."), (1.0, 2.0, 3.0), must_see=True)
    assert str(finding.words) == "50% in hardwood. Rough closer."
    record = json.loads(json.dumps(finding_record(finding)))
    # What readers of the first layout look for, as it was.
    first = {"key": "bite", "sentence": "50% in hardwood.", "remedy": "Rough closer.", "place": [1.0, 2.0, 3.0], "must_see": True}
    assert {name: record[name] for name in first} == first
    sentence = record["message"]["sentence"]
    assert sentence["template"] == "{share:.0%} in {wood}." and sentence["values"]["share"] == 0.5
    assert sentence["values"]["wood"] == {"template": "hardwood", "values": {}}
    bare = finding_record(Finding("flat", Message("A flat.")))
    assert bare["remedy"] == "" and bare["message"] == {"sentence": {"template": "A flat.", "values": {}}, "remedy": None}
