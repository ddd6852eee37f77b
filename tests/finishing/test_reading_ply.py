"""PLY files, whole and broken: what is read is what was written, and all else is refused with a sentence that names the place."""

from __future__ import annotations

import struct

import numpy as np
import pytest
from mesh_files import FACES, NO_NUMBERS, ODD_NUMBERS, TETRAHEDRON, TRIANGLES, binary_ply, ply_head, text_ply

from addon.finishing.core.errors import BadFile
from addon.finishing.reading.ply import read_ply
from addon.finishing.reading.ply_header import LONGEST_HEAD, MOST_STATEMENTS
from addon.finishing.reading.ply_text import RUN_BYTES

TEXT = text_ply()
HEAD = ply_head()
ROWS = TEXT[len(HEAD) :]
LINES = TEXT.splitlines()
BINARY = binary_ply()
TABLE_END = BINARY.index(b"end_header\n") + 11


def changed(line: int, text: str) -> str:
    """The text with one line, counted from 1, replaced."""
    return "".join((text if number == line else own) + "\n" for number, own in enumerate(LINES, 1))


def without(*lines: int) -> str:
    """The text without some of its lines."""
    return "".join(own + "\n" for number, own in enumerate(LINES, 1) if number not in lines)


BROKEN_HEAD = {
    "nothing but ply": ("ply", "does not begin with a line 'ply'"),
    "no ply": (without(1), "does not begin with a line 'ply'"),
    "a capital PLY": ("PLY" + TEXT[3:], "does not begin with a line 'ply'"),
    "ply and more": ("plywood" + TEXT[3:], "does not begin with a line 'ply'"),
    "two bytes a letter": (TEXT.encode("utf-16"), "does not begin with a line 'ply'"),
    "no end": (TEXT.replace("end_header\n", ""), "has a head without 'end_header'"),
    "end in a comment": (TEXT.replace("end_header\n", "comment end_header\n"), "has a head without 'end_header'"),
    "cut in the head": (TEXT[:60], "has a head without 'end_header'"),
    "no format": (without(2), "has a head without a format"),
    "two formats": (changed(2, "format ascii 1.0\nformat ascii 1.0"), "line 3: the head names a second format"),
    "an unknown format": (changed(2, "format text 1.0"), "line 2: the format 'text 1.0' is unknown"),
    "an unknown version": (changed(2, "format ascii 2.0"), "line 2: the format 'ascii 2.0' is unknown"),
    "no version": (changed(2, "format ascii"), "line 2: the format 'ascii' is unknown"),
    "an unknown word": (changed(3, "elements vertex 4"), "line 3: 'elements' does not belong here"),
    "a property before its element": (changed(2, "format ascii 1.0\nproperty float a"), "line 3: 'property' does not belong here"),
    "no count": (changed(3, "element vertex"), "line 3: 'element vertex' does not name an element and a count"),
    "two counts": (changed(3, "element vertex 4 4"), "line 3: 'element vertex 4 4' does not name an element and a count"),
    "a count of letters": (changed(3, "element vertex four"), "line 3: 'element vertex four' does not name"),
    "a count below 0": (changed(3, "element vertex -4"), "line 3: 'element vertex -4' does not name"),
    "a broken count": (changed(3, "element vertex 4.0"), "line 3: 'element vertex 4.0' does not name"),
    "a count of 20 digits": (changed(3, "element vertex 99999999999999999999"), "line 3: 'element vertex 999999999..."),
    "a count of 5000 digits": (changed(3, "element vertex " + "9" * 5000), "line 3: 'element vertex 999999999..."),
    "a count of 15 digits": (changed(3, "element vertex 999999999999999"), "line 3: the head counts 999999999999999 rows of 'vertex'"),
    "twice one element": (changed(7, "element vertex 4"), "line 7: the head names the element 'vertex' twice"),
    "twice one property": (changed(5, "property float x"), "line 5: the element has two properties 'x'"),
    "an unknown type": (changed(4, "property real x"), "line 4: the type 'real' is unknown"),
    "an unknown list type": (changed(8, "property list uchar index vertex_indices"), "line 8: the type 'index' is unknown"),
    "no type": (changed(4, "property x"), "line 4: the type 'x' is unknown"),
    "no name": (changed(4, "property float"), "line 4: 'property float' does not name a type and a property"),
    "two names": (changed(4, "property float x y"), "line 4: 'property float x y' does not name a type and"),
    "a list without types": (changed(8, "property list vertex_indices"), "line 8: the type 'vertex_indices' is unknown"),
    "a list without a name": (changed(8, "property list uchar int"), "line 8: 'property list uchar int' does not name"),
    "a list of broken length": (changed(8, "property list float int vertex_indices"), "line 8: the length of the list 'vertex_indices' is not a whole"),
    "corners as broken numbers": (changed(8, "property list uchar float vertex_indices"), "line 7: the corners of the faces are not whole numbers"),
    "no z": (without(6), "line 3: the points have no coordinate 'z'"),
    "z as a list": (changed(6, "property list uchar float z"), "line 3: the points have no coordinate 'z'"),
    "x in capitals": (changed(4, "property float X"), "line 3: the points have no coordinate 'x'"),
    "no corners": (changed(8, "property list uchar int corners"), "line 7: the faces have no list 'vertex_indices'"),
    "corners without a list": (changed(8, "property int vertex_indices"), "line 7: the faces have no list 'vertex_indices'"),
    "an element of nothing": (changed(3, "element edge 3\nelement vertex 4"), "line 3: the element 'edge' has no properties"),
    "no points": (ply_head(points=0) + ROWS, "holds no points"),
    "no faces": (ply_head(faces=0) + ROWS, "holds 4 points but no faces"),
    "points alone": (HEAD[: HEAD.index("element face")] + "end_header\n" + ROWS, "holds 4 points but no faces"),
    "faces alone": ("ply\nformat ascii 1.0\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n3 0 1 2\n", "holds no points"),
    "strips": (TEXT.replace("element face 4", "element tristrips 4"), "holds strips of triangles in place of faces"),
    "line ends of two kinds": ("ply\r\n" + TEXT[4:], "has a head without 'end_header'"),
}

BROKEN_TEXT = {
    "no rows": (HEAD, "line 3: the head counts 4 rows of 'vertex', more than the file has room for"),
    "a row of points short": (without(10), "line 13: the row has 4 words where the head asks for 3"),
    "a row of faces short": (without(17), "the file ends where 1 more rows of 'face' should follow: the file was cut short"),
    "two rows of faces short": (without(16, 17), "line 16: the file ends where 2 more rows"),
    "a row too many": (TEXT + "3 0 1 2\n", "line 18: '3' stands behind the last row that the head counts"),
    "words behind": (TEXT + "end\n", "line 18: 'end' stands behind the last row"),
    "cut in the last row": (TEXT[:-3], "line 17: the row has 3 words, too few for its 'vertex_indices'"),
    "two coordinates": (changed(11, "1 2"), "line 11: the row has 2 words, too few for its 'z'"),
    "four coordinates": (changed(11, "1 2 3 4"), "line 11: the row has 4 words where the head asks for 3"),
    "a comment among rows": (changed(11, "comment 1 2"), "line 11: 'comment' is not a number"),
    "a hash among rows": (changed(11, "1 2 3 # four"), "line 11: the row has 5 words where the head asks for 3"),
    "too many corners": (changed(14, "3 0 1 2 3"), "line 14: the row has 5 words where the head asks for 4"),
    "too few corners": (changed(14, "4 0 1 2"), "line 14: the row has 4 words, too few for its 'vertex_indices'"),
    "an empty list": (changed(14, "0"), "line 14: a face has 0 corners, it must have 3 or more"),
    "a list of two": (changed(15, "2 0 1"), "line 15: a face has 2 corners"),
    "a length below 0": (changed(15, "-3 0 1 2"), "line 15: the row has 4 words, too few"),
    "a length of 20 digits": (changed(15, "99999999999999999999 0 1 2"), "line 15: '99999999999999999999' is larger than any file"),
    "a broken length": (changed(15, "3.0 0 1 2"), "line 15: '3.0' is not a whole number"),
    "a broken corner": (changed(15, "3 0 1.5 2"), "line 15: '1.5' is not a whole number"),
    "a corner of letters": (changed(15, "3 0 one 2"), "line 15: 'one' is not a number"),
    "an underscored corner": (changed(15, "3 0 0_1 2"), "line 15: '0_1' is"),
    "a corner of 5000 digits": (changed(15, "3 0 1 " + "9" * 5000), "line 15: '999999999999999999999999...' is larger"),
    "point 4 of 4": (changed(16, "3 0 4 1"), "line 16: a face names point 4, but they are numbered from 0 to 3"),
    "point -1": (changed(16, "3 0 -1 1"), "line 16: a face names point -1"),
    "counted from 1": (TEXT[: -len("3 0 3 2\n")] + "3 1 4 3\n", "line 17: a face names point 4"),
    "a zero byte": (TEXT.replace("10.0", "1\0.0", 1), "holds a byte that is not text"),
    "a bow": (text_ply(np.array([[0, 0, 0], [1, 1, 0], [1, 0, 0], [0, 1, 0.0]]), [[0, 1, 2, 3]]), "line 14: a face with 4 corners crosses itself"),
    "faces counted too high": (TEXT.replace("face 4", "face 40000000"), "line 7: the head counts 40000000 rows of 'face'"),
    "points counted too low": (TEXT.replace("vertex 4", "vertex 3"), "line 13: '0.0' is not a whole number"),
    "points counted too high": (TEXT.replace("vertex 4", "vertex 5"), "line 14: the row has 4 words where the head asks for 3"),
    "binary in a text": (TEXT.encode()[: len(HEAD)] + BINARY[TABLE_END:], "holds a byte that is not text"),
}


def with_bytes(place: int, new: bytes) -> bytes:
    """The binary file with some bytes replaced. place: from the end of the head."""
    place += TABLE_END
    return BINARY[:place] + new + BINARY[place + len(new) :]


BROKEN_BINARY = {
    "no rows": (BINARY[:TABLE_END], "line 3: the head counts 4 rows of 'vertex', which take 48 bytes or more, but the file has 0 left"),
    "a byte of points short": (BINARY[: TABLE_END + 47], "which take 48 bytes or more, but the file has 47"),
    "no faces": (BINARY[: TABLE_END + 48], "line 7: the head counts 4 rows of 'face', which take 4 bytes or more, but the file has 0"),
    "cut in a face": (BINARY[:-1], "face 3 (byte"),
    "cut before the last length": (BINARY[:-13], "face 3 (byte"),
    "cut in the first face": (BINARY[: TABLE_END + 48 + 9], "face 0 (byte"),
    "a byte behind": (BINARY + b"x", "goes on for 1 bytes behind the last row"),
    "a row behind": (BINARY + BINARY[-13:], "goes on for 13 bytes behind the last row"),
    "four line ends behind": (BINARY + b"\n\n\n\nx", "goes on for 5 bytes"),
    "points counted too low": (BINARY.replace(b"vertex 4", b"vertex 3"), "goes on for 60 bytes"),
    "points counted too high": (BINARY.replace(b"vertex 4", b"vertex 5"), "'body.ply', "),
    "faces counted too low": (BINARY.replace(b"face 4", b"face 3"), "goes on for 13 bytes"),
    "faces counted too high": (BINARY.replace(b"face 4", b"face 5"), "face 4 (byte"),
    "faces counted far too high": (BINARY.replace(b"face 4", b"face 99999999999"), "which take 99999999999 bytes or more"),
    "points counted far too high": (BINARY.replace(b"vertex 4", b"vertex 888888888888888"), "the head counts 888888888888888 rows"),
    "a point that is not a number": (with_bytes(12, np.float32(np.nan).tobytes()), f"point 1 (byte {TABLE_END + 12}): a coordinate is not a number"),
    "an infinite point": (with_bytes(44, np.float32(-np.inf).tobytes()), f"point 3 (byte {TABLE_END + 36}): a coordinate is not a number or larger"),
    "a point far out": (with_bytes(0, np.float32(1e30).tobytes()), f"point 0 (byte {TABLE_END})"),
    "point 4 of 4": (
        with_bytes(48 + 1, np.int32(4).tobytes()),
        f"face 0 (byte {TABLE_END + 49}): a face names point 4, but they are numbered from 0 to 3",
    ),
    "point -1": (with_bytes(48 + 13 + 5, np.int32(-1).tobytes()), f"face 1 (byte {TABLE_END + 62}): a face names point -1"),
    "a list of 255": (
        with_bytes(48, b"\xff"),
        f"face 0 (byte {TABLE_END + 48}): its list 'vertex_indices' has 255 items, and the file ends before them",
    ),
    "a list of 0": (with_bytes(48, b"\0"), "'body.ply'"),
    "the other byte order": (BINARY.replace(b"little", b"big"), "'body.ply', "),
    "line ends by a text transfer": (binary_ply(points=TETRAHEDRON + 2.15625).replace(b"\n", b"\r\n"), "'body.ply'"),
    "a list whose length is below 0": (
        ply_head("binary_little_endian", faces=1, count_kind="char").encode() + BINARY[TABLE_END : TABLE_END + 48] + b"\xff" + bytes(12),
        "a list cannot have -1 items",
    ),
    "a list of four thousand millions": (
        ply_head("binary_little_endian", faces=1, count_kind="uint").encode() + BINARY[TABLE_END : TABLE_END + 48] + b"\xff" * 4 + bytes(12),
        "has 4294967295 items, and the file ends before them",
    ),
    "a bow": (
        binary_ply(points=np.array([[0, 0, 0], [1, 1, 0], [1, 0, 0], [0, 1, 0.0]]), faces=[[0, 1, 2, 3]]),
        f"face 0 (byte {TABLE_END + 49}): a face with 4",
    ),
}


def refused(content: bytes | str) -> str:
    """The sentence that a file is refused with."""
    with pytest.raises(BadFile) as caught:
        read_ply(content if isinstance(content, bytes) else content.encode(), "body.ply")
    sentence = str(caught.value)
    assert sentence.startswith("'body.ply'") and sentence.endswith(".") and "\n" not in sentence and len(sentence) < 400
    return sentence


def read(content: bytes | str) -> np.ndarray:
    (part,) = read_ply(content if isinstance(content, bytes) else content.encode(), "body.ply")
    return part.triangles


@pytest.mark.parametrize("case", BROKEN_HEAD)
def test_broken_heads(case: str) -> None:
    content, said = BROKEN_HEAD[case]
    assert said in refused(content)


@pytest.mark.parametrize("case", BROKEN_TEXT)
def test_broken_text(case: str) -> None:
    content, said = BROKEN_TEXT[case]
    assert said in refused(content)


@pytest.mark.parametrize("case", BROKEN_BINARY)
def test_broken_binary(case: str) -> None:
    content, said = BROKEN_BINARY[case]
    assert said in refused(content)


@pytest.mark.parametrize("length", range(0, len(BINARY)))
def test_a_binary_file_cut_anywhere_is_refused(length: int) -> None:
    refused(BINARY[:length])


@pytest.mark.parametrize("length", range(0, len(TEXT) - 1))
def test_a_text_cut_anywhere_is_refused(length: int) -> None:
    refused(TEXT[:length])


@pytest.mark.parametrize(("word", "said"), NO_NUMBERS)
def test_words_that_are_no_coordinate(word: str, said: str) -> None:
    for line in (10, 13):
        for place in range(3):
            words = LINES[line - 1].split()
            words[place] = word
            sentence = refused(changed(line, " ".join(words)))
            assert f"line {line}: " in sentence and said in sentence


@pytest.mark.parametrize(("word", "value"), ODD_NUMBERS)
def test_odd_numbers(word: str, value: float) -> None:
    assert read(changed(10, f"{word} 2 {word}"))[0, 0].tolist() == [value, 2.0, value]


WHOLE = {
    "plain": TEXT,
    "crlf": TEXT.replace("\n", "\r\n"),
    "cr": TEXT.replace("\n", "\r"),
    "byte order mark": "\ufeff" + TEXT,
    "no last line end": TEXT.rstrip("\n"),
    "blank lines": HEAD + ROWS.replace("\n", "\n\n") + "\n\n",
    "indented": HEAD + ROWS.replace("\n", "\t\n  "),
    "comments": TEXT.replace("element", "comment end_header\nobj_info element vertex 99\nelement"),
    "a blank line in the head": TEXT.replace("element face", "\nelement face"),
    "blanks in the head": TEXT.replace("end_header", "  end_header  ").replace("element vertex", " element   vertex "),
    "names with sizes": TEXT.replace("float", "float32").replace("uchar int", "uint8 int32"),
    "the short name": TEXT.replace("vertex_indices", "vertex_index"),
    "whole coordinates": TEXT.replace("property float", "property int").replace(".0 ", " ").replace(".0\n", "\n").replace("ascii 1", "ascii 1.0"),
    "other elements": TEXT.replace("element vertex", "element a 2\nproperty uchar b\nelement vertex").replace("end_header\n", "end_header\n1\n2\n"),
    "an empty element": TEXT.replace("element vertex", "element a 0\nelement vertex"),
    "an element of lists": TEXT.replace("end_header", "element a 2\nproperty list uchar float b\nproperty double c\nend_header")
    + "0 nan\n2 .5 1e300 7\n",
    "faces first": (
        "ply\nformat ascii 1.0\nelement face 4\nproperty list uchar int vertex_indices\nelement vertex 4\nproperty float x\nproperty float y\n"
        "property float z\nend_header\n" + "".join(ROWS.splitlines(True)[4:] + ROWS.splitlines(True)[:4])
    ),
    "colours and normals": TEXT.replace("property float z\n", "property float z\nproperty float nx\nproperty uchar red\n").replace(
        ROWS, "".join(f"{line} nan 255\n" for line in ROWS.splitlines()[:4]) + "".join(ROWS.splitlines(True)[4:])
    ),
    "axes in another order": "ply\nformat ascii 1.0\nelement vertex 4\nproperty uchar a\nproperty float z\nproperty float x\nproperty float y\n"
    "element face 4\nproperty uchar flags\nproperty list uchar int vertex_indices\nproperty list uchar float uv\nend_header\n"
    + "".join(f"0 {z} {x} {y}\n" for x, y, z in TETRAHEDRON)
    + "".join(f"9 3 {a} {b} {c} 2 0.5 .25\n" for a, b, c in FACES),
}


@pytest.mark.parametrize("case", WHOLE)
def test_text_that_is_whole(case: str) -> None:
    np.testing.assert_array_equal(read(WHOLE[case]), TRIANGLES)


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("line_end", [b"\n", b"\r\n", b"\r"])
def test_binary_that_is_whole(order: str, line_end: bytes) -> None:
    content = binary_ply(order)
    head, mark, rows = content.partition(b"end_header\n")
    whole = (head + mark).replace(b"\n", line_end) + rows
    np.testing.assert_array_equal(read(whole), TRIANGLES)
    np.testing.assert_array_equal(read(whole + line_end), TRIANGLES)
    # Points that begin with a byte like a line end: 0x0a and 0x0d, read as the number that they are.
    points = TETRAHEDRON.astype(order + "f4")
    bits = points.view("u4" if order == "<" else ">u4")
    bits[0, 0] = 0x410A0D0A if order == "<" else 0x0D0A0D0A
    content = binary_ply(order, points)
    head, mark, rows = content.partition(b"end_header\n")
    np.testing.assert_array_equal(read((head + mark).replace(b"\n", line_end) + rows), points[FACES])


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("count_kind", ["char", "uchar", "short", "ushort", "int", "uint", "int8", "uint16"])
@pytest.mark.parametrize("index_kind", ["char", "uchar", "short", "ushort", "int", "uint"])
def test_all_types_of_lists(order: str, count_kind: str, index_kind: str) -> None:
    letters = {"char": "b", "uchar": "B", "short": "h", "ushort": "H", "int": "i", "uint": "I", "int8": "b", "uint16": "H"}
    head = ply_head("binary_little_endian" if order == "<" else "binary_big_endian", 4, 2, "double", count_kind, index_kind)
    rows = TETRAHEDRON.astype(order + "f8").tobytes()
    for face in ([0, 1, 2, 3], [1, 2, 3]):
        rows += struct.pack(f"{order}{letters[count_kind]}{len(face)}{letters[index_kind]}", len(face), *face)
    triangles = read(head.encode() + rows)
    assert triangles.dtype == np.float64
    np.testing.assert_array_equal(triangles, TETRAHEDRON[[[0, 1, 2], [0, 2, 3], [1, 2, 3]]])


@pytest.mark.parametrize("order", ["<", ">"])
def test_binary_with_other_elements_and_properties(order: str) -> None:
    """Lists of changing length before, among and behind what is read."""
    head = (
        f"ply\nformat binary_{'little' if order == '<' else 'big'}_endian 1.0\nelement mark 3\nproperty list uchar double a\nproperty short b\n"
        "element vertex 4\nproperty list ushort char names\nproperty double z\nproperty float x\nproperty short y\n"
        "element face 4\nproperty float quality\nproperty list int ushort vertex_index\nproperty list uchar float uv\nelement end 2\nproperty char c\n"
        "end_header\n"
    )
    rows = b"".join(struct.pack(f"{order}B{n}dh", n, *range(n), 7) for n in (0, 3, 1))
    for number, (x, y, z) in enumerate(TETRAHEDRON):
        rows += struct.pack(f"{order}H{number}bdfh", number, *range(number), z, x, int(y))
    for number, face in enumerate(FACES):
        rows += struct.pack(f"{order}fi3HB{number}f", np.nan, 3, *face, number, *range(number))
    np.testing.assert_array_equal(read(head.encode() + rows + b"xy"), TRIANGLES)
    assert "face 3 (byte" in refused(head.encode() + rows[:-4])


def test_binary_faces_of_many_sizes() -> None:
    rng = np.random.default_rng(8)
    angle = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    points = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1).astype("f4")
    faces = [sorted(rng.choice(40, rng.integers(3, 9), replace=False).tolist()) for _ in range(500)]
    triangles = read(binary_ply("<", points, faces))
    assert triangles.dtype == np.float32
    expected = [points[[face[0], face[k], face[k + 1]]] for face in faces for k in range(1, len(face) - 1)]
    np.testing.assert_array_equal(triangles, expected)
    np.testing.assert_array_equal(read(text_ply(points, faces)), np.array(expected, float))


def test_long_text_is_read_in_runs_with_the_right_lines() -> None:
    points = np.random.default_rng(7).random((70_000, 3))
    faces = np.arange(69_999).reshape(-1, 3)
    text = text_ply(points, faces)
    np.testing.assert_array_equal(read(text), points[faces])
    lines = text.splitlines()
    lines[69_000] += "\n\n"
    lines[9 + 69_999] = "1 x 3"
    assert f"line {9 + 70_000 + 2}: 'x' is not a number" in refused("\n".join(lines))
    lines[9 + 69_999] = "1 2 3"
    lines[-1] = "3 0 1 70000"
    assert f"line {len(lines) + 2}: a face names point 70000" in refused("\n".join(lines))


def test_blank_lines_without_end_are_passed_over() -> None:
    blank = "\n" * (RUN_BYTES + 10)
    np.testing.assert_array_equal(read(HEAD + blank + ROWS + blank), TRIANGLES)
    assert f"line {10 + len(blank)}: the row has 2 words" in refused(HEAD + blank + "1 2\n" + ROWS)


def test_lines_longer_than_any_face_are_refused() -> None:
    assert f"line 11: is longer than {RUN_BYTES} bytes" in refused(changed(11, "1 " * RUN_BYTES))


def test_heads_that_go_on_and_on_are_refused() -> None:
    many = "".join(f"property float p{number}\n" for number in range(MOST_STATEMENTS))
    assert f"line {MOST_STATEMENTS + 2}: the head names more than {MOST_STATEMENTS}" in refused(TEXT.replace("element face", many + "element face"))
    assert "has a head without 'end_header'" in refused(TEXT.replace("element face", "comment a\n" * LONGEST_HEAD + "element face"))
