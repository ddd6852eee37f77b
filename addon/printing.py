"""What is printed to a terminal: every letter in some form, whatever its code page has, and no complaint when nobody reads on."""

from __future__ import annotations

import codecs
import io
import os
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager

PLAIN_LETTERS = "finishing-plain-letters"
"""Name under which Python knows `plain_letters`."""


def plain_letters(error: UnicodeError) -> tuple[str, int]:
    """For letters that an encoding lacks: the plain ones that they are made of ("mm2" for a raised 2), else their numbers (\\u4eee).

    Half a byte pair, which stands for a byte of a file name that is not UTF-8, is printed by its number too.
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_plain(letter) for letter in error.object[error.start : error.end]), error.end


def _plain(letter: str) -> str:
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode("ascii")
    return bare if bare else letter.encode("ascii", "backslashreplace").decode("ascii")


@contextmanager
def forgiving_output() -> Iterator[None]:
    """Print whatever the terminal's code page lacks in plain letters, for as long as a command runs."""
    codecs.register_error(PLAIN_LETTERS, plain_letters)
    streams = [stream for stream in (sys.stdout, sys.stderr) if isinstance(stream, io.TextIOWrapper)]
    before = [stream.errors for stream in streams]
    for stream in streams:
        stream.reconfigure(errors=PLAIN_LETTERS)
    try:
        yield
    finally:
        for stream, errors in zip(streams, before, strict=True):
            stream.reconfigure(errors=errors)


def close_unread_output() -> None:
    """After the reader of the output has gone, as `head` does: let what is left go nowhere, so that Python does not complain at its end."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)
