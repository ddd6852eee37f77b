"""One sentence for each thing that can be wrong with a mesh file: what it is, where, and what to do."""

from __future__ import annotations

from typing import NamedTuple

from ..core.errors import BadFile, SeveralObjects
from ..core.message import Message

MOST_SHOWN = 24
"""Characters of a file's own text that a sentence quotes: enough to find it, too few to fill the screen."""

MOST_LISTED = 8
"""Names that a sentence lists."""

EXPORT_AGAIN = Message("export the mesh again")
CUT_SHORT = Message("the file was cut short, so copy or export it again")
EXPORT_A_SURFACE = Message("export a mesh with a surface")
REPAIR = Message("repair the mesh and export it again")


class Fault(NamedTuple):
    """What is wrong, and what to do about it: the two ends of a sentence."""

    what: Message
    remedy: Message


def bad_file(file: str, what: Message, remedy: Message) -> BadFile:
    """The error for a file as a whole. what: what goes on from the file's name."""
    return BadFile("'{file}' {what}: {remedy}.", file=file, what=what, remedy=remedy)


def bad_place(file: str, place: Message, what: Message, remedy: Message) -> BadFile:
    """The error for a named place of the file."""
    return BadFile("'{file}', {place}: {what}: {remedy}.", file=file, place=place, what=what, remedy=remedy)


def bad_line(file: str, line: int, what: Message, remedy: Message) -> BadFile:
    """The error for one line of a text file, counted from 1."""
    return bad_place(file, Message("line {line}", line=line), what, remedy)


def several_objects(file: str, names: tuple[str, ...]) -> SeveralObjects:
    """The error for a file that holds several objects when none was named."""
    return SeveralObjects(
        "'{file}' holds {count} objects ({names}): choose one with --object NAME, or join them with --object all.",
        object_names=names,
        file=file,
        count=len(names),
        names=name_list(names),
    )


def too_few_corners(count: int) -> Message:
    """What is wrong with a face of so many corners."""
    return Message("a face has {count} corners, it must have 3 or more", count=count)


def shown(word: bytes) -> str:
    """A word of the file as a sentence quotes it: on one line, not too long."""
    return shortened(word[: 4 * MOST_SHOWN].decode("utf-8", "backslashreplace"), MOST_SHOWN)


def printable(text: str) -> str:
    """A text on one line: signs that cannot be printed, such as line ends, by their numbers."""
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in text)


def name_list(names: tuple[str, ...], most: int = MOST_LISTED) -> Message:
    """The first names in quotes, and how many more there are."""
    listed = tuple(Message("'{name}'", name=shortened(name, 3 * MOST_SHOWN)) for name in names[:most])
    if len(names) <= most:
        return Message("{names}", names=listed)
    return Message("{names} and {more} more", names=listed, more=len(names) - most)


def shortened(text: str, most: int = MOST_SHOWN) -> str:
    """The beginning of a text, on one line."""
    return printable(text if len(text) <= most else text[:most] + "...")
