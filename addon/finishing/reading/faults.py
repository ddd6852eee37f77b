"""One sentence for each thing that can be wrong with a mesh file: what it is, where, and what to do."""

from __future__ import annotations

from ..core.errors import BadFile

MOST_SHOWN = 24
"""Characters of a file's own text that a sentence quotes: enough to find it, too few to fill the screen."""

EXPORT_AGAIN = "export the mesh again"
CUT_SHORT = "the file was cut short, so copy or export it again"


class SeveralObjects(BadFile):
    """The file holds several bodies and none was named. file: its name; names: what they are called, in the file's order."""

    def __init__(self, file: str, names: tuple[str, ...]) -> None:
        self.file, self.names = file, names
        super().__init__(
            "'{file}' holds {count} objects ({names}): choose one with --object NAME, or join them with --object all.",
            file=printable(file),
            count=len(names),
            names=name_list(names),
        )


def bad_file(file: str, what: str) -> BadFile:
    """The error for a file as a whole. what: the rest of the sentence, without its full stop.

    What is wrong within a file is told on the command line alone, which speaks English: it is not translated.
    """
    return BadFile("'{file}' {what}.", file=printable(file), what=what)


def bad_place(file: str, place: str, what: str) -> BadFile:
    """The error for a named place of the file."""
    return BadFile("'{file}', {place}: {what}.", file=printable(file), place=place, what=what)


def bad_line(file: str, line: int, what: str) -> BadFile:
    """The error for one line of a text file, counted from 1."""
    return bad_place(file, f"line {line}", what)


def no_file(path: object) -> BadFile:
    """The error for a file that is not there."""
    return BadFile("There is no file '{file}': check the name.", file=printable(str(path)))


def printable(name: str) -> str:
    """A name on one line: what cannot be printed is escaped."""
    return repr(name)[1:-1]


def shown(word: bytes) -> str:
    """A word of the file as a sentence quotes it: in quotes, on one line, not too long."""
    text = word[: 4 * MOST_SHOWN].decode("utf-8", "backslashreplace")
    return repr(text if len(text) <= MOST_SHOWN else text[:MOST_SHOWN] + "...")


def name_list(names: tuple[str, ...], most: int = 8) -> str:
    """The first names in quotes, and how many more there are."""
    listed = ", ".join(repr(name if len(name) <= 3 * MOST_SHOWN else name[: 3 * MOST_SHOWN] + "...") for name in names[:most])
    return listed if len(names) <= most else f"{listed} and {len(names) - most} more"
