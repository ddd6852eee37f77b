"""Every message that stops says what to do next: read from the source, template by template."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import message_templates
import pytest
from message_templates import HOME, MADE_BY_CODE

from addon.finishing.core import errors

KINDS = {kind.__name__ for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, errors.FinishingError)}

DOING = (
    "add", "apply", "allow", "ask", "change", "check", "choose", "clean", "close", "copy", "delete", "do", "enter", "export", "give", "go", "install",
    "keep", "leave", "link", "look", "lower",
    "make", "mark", "measure", "mend", "move", "name", "open", "plan", "press", "put", "raise", "realize", "rename", "repair", "save",
    "say", "see", "select", "set", "show", "skip", "swap", "switch", "take", "thin", "tick", "time", "trim", "use", "wait", "write",
)  # fmt: skip
"""What can be done about something, as an order."""

TELLS = re.compile(rf"(?:^|: |; |\. |\}} |, or |, and )(?:{'|'.join(DOING)})\b", re.IGNORECASE)
"""An order at the beginning of a sentence, or behind what is wrong."""

SAYS_WHAT_IS_ALLOWED = re.compile(r"\bmust (be|lie|stand) .*, not (at )?'?\{\w+(:\w+)?\}'?\.?$")
"""The value that was given, and what it must be: another value is the remedy."""

PASSED_ON = {
    "{complaint}.": "what a setting must be: `test_complaints_of_settings_say_what_is_allowed`",
    "{reason}": "why there is no program, which says what to do",
    "{sentence}": "a sentence of a Blender that read the file, which is an error of this list itself",
    "'{file}' {what}: {remedy}.": "every fault of a mesh file has its remedy: `test_faults_of_mesh_files_have_a_remedy`",
    "'{file}', {place}: {what}: {remedy}.": "as the one before",
    "'{file}' is not a PLY file: it does not begin with a line 'ply'; {remedy}.": "as the one before",
    "'{file}' is not a whole STL file: as a binary one it would hold {count} triangles in {whole} bytes, but it has {size}; {remedy}.": "as before",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, less than the cutter's diameter of {diameter:g} mm. {hint}":
        "the hint is a remedy",
    "'{body}' measures {length:.1f} x {width:.1f} x {height:.1f} mm, more than the machine's {bed_x:g} x {bed_y:g} x {travel_z:g} mm. {hint}":
        "the hint is a remedy",
}  # fmt: skip
"""Templates that hand on what another one says, and where that is held."""

WITHIN_ANOTHER = {
    "'{text}' is not a kind of move", "'{text}' is not a number that a machine could run to", "'{text}' is not the number of a line",
    "it has {count} columns, not {wanted}",
    "'{text}' is not a number.", "it has {count} columns, not {wanted}.",
}  # fmt: skip
"""What is wrong with a row; "Row ... cannot be read" takes it up and says what to do."""

FOR_PROGRAMMERS = {
    "A legend needs a range from a lower to a higher value, not {low} to {high}.",
    "The chart line '{line}' has {x} x values and {y} y values.",
    "The heights have the shape {shape}, the grid {grid}.",
    "The least radius of a curvature legend must be above 0 mm, not {radius}.",
    "The smoothing of the maps must be 0 mm or more, not {value}.",
    "The {array} of the picture have the shape {shape}, the grid {grid}.",
}
"""What only a caller of the computation can meet: no setting leads there."""

NOTHING_TO_DO = {"No work is under way", "The body lies flat already"}
"""Why a button is grey where nothing is amiss."""


def calls(names: set[str]) -> Iterator[tuple[ast.Call, str]]:
    """Calls of some functions in the extension's source, with file and line."""
    for file in sorted(HOME.rglob("*.py")):
        place = file.relative_to(HOME.parent).as_posix()
        if place not in MADE_BY_CODE:
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) in names:
                    yield node, f"{place}:{node.lineno}"


def errors_raised() -> dict[str, str]:
    """Templates of all errors, with a place where each is raised."""
    return {text: place for node, place in calls(KINDS) for text in message_templates._texts(node.args[0] if node.args else None) if text is not None}


ERRORS = errors_raised()


def tells(text: str) -> bool:
    return bool(TELLS.search(text) or SAYS_WHAT_IS_ALLOWED.search(text))


@pytest.mark.parametrize("template", sorted(set(ERRORS) - set(PASSED_ON) - WITHIN_ANOTHER - FOR_PROGRAMMERS))
def test_every_error_says_what_to_do_next(template: str) -> None:
    assert tells(template), ERRORS[template]


def test_the_exceptions_are_still_raised_and_none_is_needed_no_more() -> None:
    assert len(ERRORS) > 140
    exceptions = set(PASSED_ON) | WITHIN_ANOTHER | FOR_PROGRAMMERS
    assert exceptions <= set(ERRORS)
    assert not [text for text in exceptions - FOR_PROGRAMMERS if tells(text)]


def test_what_only_programmers_meet_is_raised_where_pictures_and_maps_are_made() -> None:
    places = {ERRORS[text].rsplit("/", 1)[0] for text in FOR_PROGRAMMERS}
    assert places <= {"addon/finishing/pictures", "addon/finishing/surface"}


def test_complaints_of_settings_say_what_is_allowed() -> None:
    complaints = {text for text in message_templates.templates() if text.startswith("{label} ")}
    assert len(complaints) > 10
    # A key too many or one that is missing can only stand in a file, whose error says to mend it there.
    in_files = {"{label} has an unknown key {given}", "{label} lacks the key '{key}'"}
    assert in_files <= complaints
    assert all(re.search(r" must (be|lie) .*, not (at )?\{given\}$", text) for text in complaints - in_files)


def test_faults_of_mesh_files_have_a_remedy() -> None:
    # The last argument of each of these is the remedy: a message written out there, or under a name.
    given = [node.args[-1] for node, _ in calls({"bad_file", "bad_place", "bad_line", "refusal", "fault"}) if node.args]
    names = {node.id for node in given if isinstance(node, ast.Name)}
    remedies = {text for node in given if isinstance(node, ast.Call) for text in message_templates._texts(node.args[0])}
    for file in sorted((HOME / "finishing" / "reading").glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Assign)
                and isinstance(node.value, ast.Call)
                and {target.id for target in node.targets if isinstance(target, ast.Name)} & names
            ):
                remedies |= set(message_templates._texts(node.value.args[0]))
    assert len(given) > 20 and len(remedies) > 12
    assert not [text for text in remedies if text is None or not TELLS.search(text.replace(", so ", ": "))]


def test_hints_about_a_size_are_remedies() -> None:
    hints = {text for text in message_templates.templates() if text.startswith(("In {meant}", "It stands on its edge: set", "No other unit"))}
    assert len(hints) == 3 and all(tells(text) for text in hints)


def test_a_button_that_is_grey_says_what_to_do_first() -> None:
    reasons = {node.args[0].value: place for node, place in calls({"poll_message_set"}) if isinstance(node.args[0], ast.Constant)}
    assert len(reasons) > 12 and set(reasons) >= NOTHING_TO_DO
    silent = {text: place for text, place in reasons.items() if not TELLS.search(text)}
    assert set(silent) == NOTHING_TO_DO


def test_every_finding_that_must_be_seen_has_a_remedy() -> None:
    seen = 0
    for node, place in calls({"Finding"}):
        must = next((keyword.value for keyword in node.keywords if keyword.arg == "must_see"), None)
        if must is not None and not (isinstance(must, ast.Constant) and must.value is False):
            seen += 1
            assert len(node.args) >= 3 or any(keyword.arg == "remedy" for keyword in node.keywords), place
    assert seen > 12
