"""How many broken inputs the tests hold, each with the sentence that it is refused with."""

from __future__ import annotations

import test_reading_obj
import test_reading_ply
import test_reading_stl
from mesh_files import NO_NUMBERS

LEAST = 300


def test_the_corpus_of_broken_inputs_is_large() -> None:
    tables: tuple[dict[str, tuple], ...] = (
        test_reading_stl.BROKEN_TEXT,
        test_reading_stl.BROKEN_BINARY,
        test_reading_obj.BROKEN,
        test_reading_ply.BROKEN_HEAD,
        test_reading_ply.BROKEN_TEXT,
        test_reading_ply.BROKEN_BINARY,
    )
    contents = {
        (number, content if isinstance(content, bytes) else content.encode("utf-8", "surrogateescape"))
        for number, table in enumerate(tables)
        for content, _ in table.values()
    }
    assert all(said for table in tables for _, said in table.values())
    # Words that are no coordinate are tried in every place of a corner, in each of the three formats.
    assert len(contents) + 3 * len(dict(NO_NUMBERS)) >= LEAST
