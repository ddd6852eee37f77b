"""STL files, whole and broken: what is read is what was written, and all else is refused with a sentence that names the place."""

from __future__ import annotations

import numpy as np
import pytest
from mesh_files import NO_NUMBERS, ODD_NUMBERS, TRIANGLES, binary_stl, facet, text_stl

from addon.finishing.core.errors import BadFile
from addon.finishing.reading.stl import read_stl
from addon.finishing.reading.stl_text import RUN_BYTES

TEXT = text_stl()
LINES = TEXT.splitlines()


def without(*lines: int) -> str:
    """The text without some of its lines, counted from 1."""
    return "".join(line + "\n" for number, line in enumerate(LINES, 1) if number not in lines)


def changed(line: int, text: str) -> str:
    """The text with one line, counted from 1, replaced."""
    return "".join((text if number == line else own) + "\n" for number, own in enumerate(LINES, 1))


BROKEN_TEXT = {
    "a word": ("solid", "ends without 'endsolid' after line 1"),
    "only a name": ("solid body\nendsolid body\n", "holds no triangles"),
    "two empty solids": ("solid a\nendsolid\nsolid b\nendsolid\n", "holds no triangles"),
    "no end": (without(len(LINES)), "ends without 'endsolid' after line 29: the file was cut short"),
    "no end after the first line": ("solid body\n", "ends without 'endsolid' after line 1"),
    "cut within a facet": (TEXT[: len(TEXT) // 2], "ends without 'endsolid'"),
    "cut within a number": (TEXT[: TEXT.index("10.0") + 2], "ends without 'endsolid'"),
    "cut within endsolid": (TEXT[: TEXT.index("endsolid") + 6], "ends without 'endsolid'"),
    "no solid": (without(1), "text that does not begin with 'solid'"),
    "a word before solid": ("my " + TEXT, "text that does not begin with 'solid'"),
    "joined to its name": ("solid_body" + TEXT[10:], "line 1: 'solid_body' stands where 'solid'"),
    "joined end": (TEXT.replace("endsolid body", "endsolidbody"), "line 30: 'solid' stands where 'endsolid' alone"),
    "spaced end": (TEXT.replace("endsolid", "end solid"), "line 30: 'solid' stands where 'endsolid' alone"),
    "a solid within a solid": (changed(16, "solid two"), "line 16: 'solid' stands where 'endsolid' alone"),
    "text after the end": (TEXT + "and more\n", "line 31: 'and' stands where 'solid' was expected"),
    "a facet after the end": (TEXT + facet(TRIANGLES[0]), "line 31: 'facet' stands where 'solid' was expected"),
    "no facet": (without(2), "line 2: 'outer' stands where 'facet' was expected"),
    "no normal": (changed(2, "facet"), "line 3: 'outer' stands where 'normal' was expected"),
    "a short normal": (changed(2, "facet normal 0 0"), "line 3: 'outer' is not a number"),
    "a long normal": (changed(2, "facet normal 0 0 1 0"), "line 2: '0' stands where 'outer' was expected"),
    "no outer": (changed(3, "loop"), "line 3: 'loop' stands where 'outer' was expected"),
    "inner loop": (changed(3, "inner loop"), "line 3: 'inner' stands where 'outer' was expected"),
    "no loop": (changed(3, "outer"), "line 4: 'vertex' stands where 'loop' was expected"),
    "two corners": (without(5), "line 6: 'endloop' stands where 'vertex'"),
    "four corners": (changed(6, LINES[5] + "\n" + LINES[5]), "line 7: 'vertex' stands where 'endloop' was expected"),
    "two coordinates": (changed(4, "vertex 1 2"), "line 5: 'vertex' is not a number"),
    "four coordinates": (changed(4, "vertex 1 2 3 4"), "line 4: '4' stands where 'vertex' was expected"),
    "vertex misspelled": (changed(5, "vertx 1 2 3"), "line 5: 'vertx' stands where 'vertex' was expected"),
    "number at vertex": (changed(5, "vertex1 2 3 4"), "line 5: 'vertex1' stands where 'vertex' was expected"),
    "no endloop": (without(7), "line 7: 'endfacet' stands where 'endloop' was expected"),
    "no endfacet": (without(8), "line 8: 'facet' stands where 'endfacet' was expected"),
    "no endfacet in the last": (without(29), "a facet is not whole, it lacks 'endfacet'"),
    "no endloop in the last": (without(28, 29), "a facet is not whole, it lacks 'endloop'"),
    "a comment": (changed(9, "# " + LINES[8]), "line 9: '#' stands where 'facet' was expected"),
    "a colour": (changed(9, "color 1 0 0\n" + LINES[8]), "line 9: 'color' stands where 'facet' was expected"),
    "a zero byte": (TEXT.replace("vertex 10.0", "vertex 1\x00.0", 1), "line 6: holds a byte that is not text"),
    "binary within": (TEXT.replace("vertex 10.0", "vertex \xff\xfe", 1), "line 6: '\u00ff\u00fe' is not a number"),
    "a page end within a number": (TEXT.replace("10.0", "1\x0c0.0", 1), "line 5: '0.0' stands where"),
    "a very long word": (changed(5, "vertex " + "x" * 100_000 + " 2 3"), "line 5: '" + "x" * 24 + "...' is not a number"),
    "quotes and braces": (changed(5, "vertex {0}'\" 2 3"), "line 5: '{0}'\"' is not a number"),
    "a page of the web": ("<!DOCTYPE html>\n<html><body>Not found</body></html>\n" * 3, "text that does not begin with 'solid'"),
    "two bytes a letter": (TEXT.encode("utf-16"), "two bytes for each letter"),
    "two bytes a letter, great end first": (b"\xfe\xff" + TEXT.encode("utf-16-be"), "two bytes for each letter"),
}

BROKEN_BINARY = {
    "two bytes": (b"\x01\x02", "is not an STL file"),
    "a byte short of a head": (bytes(83), "83 bytes are too few"),
    "only a head": (bytes(84), "holds no triangles"),
    "a head that says solid": (b"solid".ljust(84, b"\0"), "holds no triangles"),
    "no count, but triangles": (binary_stl(count=0), "says that it holds no triangles, but 200 bytes follow"),
    "no count, one byte": (bytes(85), "says that it holds no triangles, but 1 bytes follow"),
    "count too great by one": (binary_stl(count=5), "hold 5 triangles in 334 bytes, but it has 284; the file was cut short"),
    "count beyond all memory": (binary_stl(count=2**32 - 1), "hold 4294967295 triangles"),
    "cut by a byte": (binary_stl()[:-1], "in 284 bytes, but it has 283"),
    "cut within the first": (binary_stl()[:100], "but it has 100"),
    "cut, with solid in the head": (binary_stl(head=b"solid cut")[:-1], "but it has 283"),
    "great end first": (b"\0" * 80 + b"\0\0\0\4" + bytes(200), "hold 67108864 triangles"),
}


def bad_corner(value: float, triangle: int, corner: int, axis: int) -> bytes:
    triangles = TRIANGLES.copy()
    triangles[triangle, corner, axis] = value
    return binary_stl(triangles)


BAD_CORNERS = [
    (value, triangle, corner, axis) for value in (np.nan, np.inf, -np.inf, 2e9, -3e38) for triangle, corner, axis in ((0, 0, 0), (1, 2, 1), (3, 1, 2))
]


def refused(content: bytes | str) -> str:
    """The sentence that a file is refused with."""
    with pytest.raises(BadFile) as caught:
        read_stl(content if isinstance(content, bytes) else content.encode("utf-8", "surrogateescape"), "body.stl")
    sentence = str(caught.value)
    assert sentence.startswith("'body.stl'") and sentence.endswith(".") and "\n" not in sentence and len(sentence) < 400
    return sentence


def read(content: bytes | str) -> np.ndarray:
    """The triangles of a file of one part."""
    (part,) = read_stl(content if isinstance(content, bytes) else content.encode(), "body.stl")
    return part.triangles


@pytest.mark.parametrize("case", BROKEN_TEXT)
def test_broken_text(case: str) -> None:
    content, said = BROKEN_TEXT[case]
    assert said in refused(content)


@pytest.mark.parametrize("case", BROKEN_BINARY)
def test_broken_binary(case: str) -> None:
    content, said = BROKEN_BINARY[case]
    assert said in refused(content)


@pytest.mark.parametrize(("value", "triangle", "corner", "axis"), BAD_CORNERS)
def test_a_corner_that_is_nowhere(value: float, triangle: int, corner: int, axis: int) -> None:
    assert f"in triangle {triangle + 1} (byte {84 + 50 * triangle})" in refused(bad_corner(value, triangle, corner, axis))


@pytest.mark.parametrize(("word", "said"), NO_NUMBERS)
@pytest.mark.parametrize("line", [4, 13, 27])
def test_words_that_are_no_coordinate(word: str, said: str, line: int) -> None:
    for place in (1, 2, 3):
        words = LINES[line - 1].split()
        words[place] = word
        sentence = refused(changed(line, " ".join(words)))
        assert f"line {line}: " in sentence and said in sentence


@pytest.mark.parametrize(("word", "said"), NO_NUMBERS)
def test_words_in_a_normal(word: str, said: str) -> None:
    content = changed(9, f"facet normal 0 {word} 1")
    if word.lower().lstrip("+-") == "nan" or word == "1e10":  # nothing reads the normal: a face without area has none, and its length is free
        assert len(read(content)) == 4
    else:
        assert said in refused(content)


@pytest.mark.parametrize(("word", "value"), ODD_NUMBERS)
def test_odd_numbers(word: str, value: float) -> None:
    assert read(changed(4, f"vertex {word} 2 {word}"))[0, 0].tolist() == [value, 2.0, value]


@pytest.mark.parametrize(
    "content",
    [
        TEXT,
        TEXT.upper(),
        TEXT.replace("\n", "\r\n"),
        TEXT.replace("\n", "\r"),
        TEXT.rstrip("\n"),
        "\n \n" + TEXT + "\n\n",
        "\ufeff" + TEXT,
        TEXT.replace("\n", "\n\n"),
        TEXT.replace(" ", "\t"),
        TEXT.replace("solid body", "solid"),
        TEXT.replace("solid body", "solid facet normal 1 2"),
        TEXT.replace("solid body", "solid the solid's endsolid"),
        TEXT.replace("solid body", "solid " + "\u00fc" * 100),
        TEXT.replace("facet normal 0 0 1\n", "facet normal 0 0 1 "),
        TEXT.replace("endloop\n", "endloop "),
    ],
    ids=[
        "plain",
        "capitals",
        "crlf",
        "cr",
        "no last line end",
        "blank lines round it",
        "byte order mark",
        "blank lines",
        "tabs",
        "no name",
        "a name of words",
        "a name with endsolid",
        "a long name",
        "facet and loop in a line",
        "ends in a line",
    ],
)
def test_text_that_is_whole(content: str) -> None:
    np.testing.assert_array_equal(read(content), TRIANGLES)


@pytest.mark.parametrize(
    "content",
    [
        binary_stl(),
        binary_stl(head=b"solid of some binary writer"),
        binary_stl(head=b"  SOLID\n facet normal"),
        binary_stl(head=b"x" * 80),
        binary_stl(behind=b"\0"),
        binary_stl(behind=b"COLOR=" + bytes(range(256)) * 9),
        binary_stl(head=b"solid", behind=b"and a remark"),
        binary_stl(head=b"\xff\xfe"),
    ],
    ids=["plain", "solid", "solid facet", "full head", "a byte behind", "bytes behind", "solid and bytes behind", "a head like UTF-16"],
)
def test_binary_that_is_whole(content: bytes) -> None:
    np.testing.assert_array_equal(read(content), TRIANGLES)


def test_normals_and_attributes_of_binary_are_not_read() -> None:
    content = bytearray(binary_stl())
    content[84:96] = np.full(3, np.nan, "<f4").tobytes()
    content[132:134] = b"\xff\xff"
    np.testing.assert_array_equal(read(bytes(content)), TRIANGLES)


def test_several_solids_are_parts() -> None:
    shifted = TRIANGLES + 100
    parts = read_stl((text_stl() + text_stl(shifted, "screw") + text_stl(TRIANGLES, "") + text_stl(shifted, "screw")).encode(), "a.stl")
    assert [part.name for part in parts] == ["body", "screw", "solid 3", "screw (2)"]
    np.testing.assert_array_equal(parts[1].triangles, shifted)


def test_a_solid_without_facets_is_no_part() -> None:
    (part,) = read_stl(("solid\nendsolid\n" + text_stl(name="b")).encode(), "a.stl")
    assert part.name == "b"


def test_long_text_is_read_in_runs_with_the_right_lines() -> None:
    # Several runs of words; the fault lies in the last of them.
    triangles = np.arange(9 * 40_000, dtype=float).reshape(-1, 3, 3) / 8
    text = text_stl(triangles)
    np.testing.assert_array_equal(read(text), triangles)
    lines = text.splitlines()
    number = 2 + 7 * 39_990 + 3
    lines[number - 1] = "vertex 1 x 3"
    assert f"line {number}: 'x' is not a number" in refused("\n".join(lines))


def test_blank_lines_and_words_without_end() -> None:
    blank = "\n" * (RUN_BYTES + 10)
    np.testing.assert_array_equal(read(TEXT.replace("endfacet\n", "endfacet\n" + blank, 2)), TRIANGLES)
    assert "line 2: 'x' stands where 'facet' was expected" in refused("solid\n" + "x " * RUN_BYTES + "\nendsolid\n")
