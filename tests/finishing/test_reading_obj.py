"""OBJ files, whole and broken: what is read is what was written, and all else is refused with a sentence that names the line."""

from __future__ import annotations

import numpy as np
import pytest
from mesh_files import FACES, NO_NUMBERS, ODD_NUMBERS, TETRAHEDRON, TRIANGLES, obj, obj_faces, obj_points

from addon.finishing.core.errors import BadFile
from addon.finishing.reading.obj import RUN_BYTES, read_obj
from addon.finishing.reading.obj_faces import FaceLines, _columns
from addon.finishing.reading.part import MeshPart

POINTS = obj_points()
SHEET = "v 0 0 0\nv 1 0 0\nv 0 1 0\n"
"""Points of one triangle, lines 1 to 3."""

BROKEN = {
    "nothing": ("", "holds 0 points but no faces"),
    "only a comment": ("# made by hand\n", "holds 0 points but no faces"),
    "points alone": (POINTS, "holds 4 points but no faces"),
    "lines alone": (POINTS + "l 1 2 3 4\n", "holds 4 points but no faces"),
    "faces alone": ("f 1 2 3\n", "line 1: point 3 is named, but the file has 0"),
    "one coordinate": (SHEET + "v 1\nf 1 2 3\n", "line 4: 'v' has 1 numbers where 3 or 4 or 6 or 7 were expected"),
    "two coordinates": (SHEET + "v 1 2\nf 1 2 3\n", "line 4: 'v' has 2 numbers"),
    "no coordinates": (SHEET + "v\nf 1 2 3\n", "line 4: 'v' has 0 numbers"),
    "five numbers": (SHEET + "v 1 2 3 4 5\nf 1 2 3\n", "line 4: 'v' has 5 numbers"),
    "eight numbers": (SHEET + "v 1 2 3 4 5 6 7 8\nf 1 2 3\n", "line 4: 'v' has 8 numbers"),
    "a comment for a coordinate": ("v 0 0 #0\n" + SHEET + "f 1 2 3\n", "line 1: 'v' has 2 numbers"),
    "two coordinates and then four": (SHEET + "v 1 2\nv 1 2 3 4\nf 1 2 3\n", "line 4: 'v' has 2 numbers"),
    "a texture point of four": (SHEET + "vt 1 2 3 4\nf 1 2 3\n", "line 4: 'vt' has 4 numbers where 1 or 2 or 3"),
    "a texture point of none": (SHEET + "vt\nf 1 2 3\n", "line 4: 'vt' has 0 numbers"),
    "a texture point of words": (SHEET + "vt 0 a\nf 1 2 3\n", "line 4: 'a' is not a number"),
    "a normal of two": (SHEET + "vn 1 2\nf 1 2 3\n", "line 4: 'vn' has 2 numbers where 3"),
    "a normal with commas": (SHEET + "vn 0,5 0 1\nf 1 2 3\n", "line 4: '0,5' is written with a comma"),
    "an infinite normal": (SHEET + "vn 0 inf 1\nf 1 2 3\n", "line 4: 'inf' is not a number"),
    "a parameter of words": (SHEET + "vp u v\nf 1 2 3\n", "line 4: 'u' is not a number"),
    "a face of none": (SHEET + "f 1 2 3\nf\n", "line 5: a face has 0 corners"),
    "a face of one": (SHEET + "f 1\nf 1 2 3\n", "line 4: a face has 1 corners"),
    "a face of two": (SHEET + "f 1 2 3\nf 1 2\n", "line 5: a face has 2 corners, it must have 3 or more"),
    "a face cut by a comment": (SHEET + "f 1 2 #3\n", "line 4: a face has 2 corners"),
    "point 0": (SHEET + "f 0 1 2\n", "line 4: point 0 is named, but they are counted from 1"),
    "point 4 of 3": (SHEET + "f 1 2 3\nf 1 2 4\n", "line 5: point 4 is named, but the file has 3: the file was cut short"),
    "point -4 of 3": (SHEET + "f 1 2 3\nf -1 -2 -4\n", "line 5: 4 points are counted back, but there are only 3 so far"),
    "back before any": ("f -1 -2 -3\n" + SHEET, "line 1: 1 points are counted back, but there are only 0"),
    "a point of 20 digits": (SHEET + "f 1 2 10000000000000000000\n", "line 4: '10000000000000000000' is larger than any file"),
    "a point of 5000 digits": (SHEET + "f 1 2 " + "9" * 5000 + "\n", "line 4: '999999999999999999999999...' is larger than any file"),
    "a point of 18 digits": (SHEET + "f 1 2 999999999999999999\n", "line 4: point 999999999999999999 is named"),
    "a broken point": (SHEET + "f 1 2 3.0\n", "line 4: '3.0' is not a whole number"),
    "a point of letters": (SHEET + "f a b c\n", "line 4: 'a' is not a whole number"),
    "an underscored point": (SHEET + "f 1 2 0_3\n", "line 4: '0_3' is not a whole number"),
    "a point with a plus and minus": (SHEET + "f 1 2 +-3\n", "line 4: '+-3' is not a whole number"),
    "commas between": (SHEET + "f 1,2,3\n", "line 4: a face has 1 corners"),
    "a point with an exponent": (SHEET + "f 1 2 3e0\n", "line 4: '3e0' is not a whole number"),
    "texture 1 of none": (SHEET + "f 1/1 2/1 3/1\n", "line 4: texture point 1 is named, but the file has 0"),
    "texture 2 of 1": (SHEET + "vt 0 0\nf 1/1 2/1 3/2\n", "line 5: texture point 2 is named, but the file has 1"),
    "normal 2 of 1": (SHEET + "vn 0 0 1\nf 1//1 2//2 3//1\n", "line 5: normal 2 is named, but the file has 1"),
    "normal 2 of 1 with texture": (SHEET + "vt 0 0\nvn 0 0 1\nf 1/1/1 2/1/1 3/1/2\n", "line 6: normal 2 is named"),
    "normal 0": (SHEET + "vn 0 0 1\nf 1//1 2//0 3//1\n", "line 5: normal 0 is named"),
    "texture -2 of 1": (SHEET + "vt 0 0\nf 1/-1 2/-2 3/-1\n", "line 5: 2 texture points are counted back, but there are only 1"),
    "an open slash": (SHEET + "f 1/ 2/ 3/\n", "line 4: '1/' is not a corner of a face"),
    "two open slashes": (SHEET + "f 1// 2// 3//\n", "line 4: '1//' is not a corner of a face"),
    "texture, no normal": (SHEET + "vt 0 0\nf 1/1/ 2/1/ 3/1/\n", "line 5: '1/1/' is not a corner"),
    "three slashes": (SHEET + "f 1/1/1/1 2/1/1/1 3/1/1/1\n", "line 4: '1/1/1/1' is not a corner of a face"),
    "unequal slashes that add up": (SHEET + "f 1/2/3/1 5/6 3/1/1\n", "line 4: '1/2/3/1' is not a corner of a face"),
    "a slash in front": (SHEET + "f /1 /2 /3\n", "line 4: '' is not a whole number"),
    "blanks round slashes": (SHEET + "vt 0 0\nf 1 / 1 2 / 1 3 / 1\n", "line 5: '/' is not a corner of a face"),
    "backslashes within": (SHEET + "f 1\\1 2\\1 3\\1\n", "line 4: '1\\1' is not a whole number"),
    "a line without points": (SHEET + "l\nf 1 2 3\n", "line 4: a line or point names no point"),
    "a line to nowhere": (SHEET + "l 1 9\nf 1 2 3\n", "line 4: point 9 is named, but the file has 3"),
    "a line of words": (SHEET + "l one two\nf 1 2 3\n", "line 4: 'one' is not a whole number"),
    "a single point 0": (SHEET + "p 0\nf 1 2 3\n", "line 4: point 0 is named"),
    "an unknown word": (SHEET + "frobnicate 1\nf 1 2 3\n", "line 4: 'frobnicate' is not a statement of an OBJ file"),
    "a capital V": ("V 0 0 0\n" + SHEET + "f 1 2 3\n", "line 1: 'V' is not a statement"),
    "a word without blank": ("v0 0 0\n" + SHEET + "f 1 2 3\n", "line 1: 'v0' is not a statement"),
    "a comment without its sign": ("made by hand\n" + obj(), "line 1: 'made' is not a statement"),
    "text STL": ("solid body\nfacet normal 0 0 1\n", "line 1: 'solid' is not a statement"),
    "a page of the web": ("<!DOCTYPE html>\n" + obj(), "line 1: '<!DOCTYPE' is not a statement"),
    "a curve": (SHEET + "cstype bspline\ncurv 0 1 1 2 3\nend\nf 1 2 3\n", "line 4: 'cstype' belongs to a free-form curve or surface"),
    "a surface": (SHEET + "surf 0 1 0 1 1 2 3\n", "line 4: 'surf' belongs to a free-form"),
    "an old patch": (SHEET + "bzp 1 2 3\n", "line 4: 'bzp' belongs to a free-form"),
    "another file called in": (SHEET + "call more.obj\nf 1 2 3\n", "line 4: 'call' calls in another file"),
    "a command called": (SHEET + "csh -rm all\nf 1 2 3\n", "line 4: 'csh' calls in another file"),
    "a zero byte": (SHEET + "f 1 2 3\n\0", "line 5: holds a byte that is not text (0)"),
    "two bytes a letter": (obj().encode("utf-16"), "two bytes for each letter"),
    "nothing behind the backslash": (SHEET + "f 1 2 3 \\", "line 4: ends with a backslash, but no line follows"),
    "a backslash within a number": (SHEET + "f 1 2 \\\n3\nv 1\\\n0 0 0\n", "line 6: the backslash at its end joins two words"),
    "a backslash and a blank": (SHEET + "f 1 2 \\ \n3\n", "line 4: '\\' is not a whole number"),
    "a comment that goes on": ("# first \\\nsecond\n" + obj(), "line 2: 'second' is not a statement"),
    "cut within the faces": (obj_points(np.vstack([TETRAHEDRON, [[5, 5, 5]]])) + obj_faces(FACES[:3]), "has 3 open edges, and 1 of its 5 points"),
    "cut within the points": (obj_points(TETRAHEDRON[:3]) + obj_faces(), "line 5: point 4 is named, but the file has 3"),
    "crossed by itself": ("v 0 0 0\nv 1 1 0\nv 1 0 0\nv 0 1 0\nf 1 2 3 4\n", "line 5: a face with 4 corners crosses itself"),
    "a star": ("".join(f"v {np.cos(a)} {np.sin(a)} 0\n" for a in np.arange(5) * 0.8 * np.pi) + "f 1 2 3 4 5\n", "line 6: a face with 5 corners"),
    "a bow of no area": ("v 0 0 0\nv 1 1 0\nv 0 1 0\nv 1 0 0\nf 1 2 4 3\nf 1 2 3 4\n", "crosses itself"),
}


def refused(content: bytes | str) -> str:
    """The sentence that a file is refused with."""
    with pytest.raises(BadFile) as caught:
        read_obj(content if isinstance(content, bytes) else content.encode(), "body.obj")
    sentence = str(caught.value)
    assert sentence.startswith("'body.obj'") and sentence.endswith(".") and "\n" not in sentence and len(sentence) < 400
    return sentence


def parts(content: bytes | str) -> list[MeshPart]:
    return read_obj(content if isinstance(content, bytes) else content.encode(), "body.obj")


def read(content: bytes | str) -> np.ndarray:
    """The triangles of a file of one part."""
    (part,) = parts(content)
    return part.triangles


@pytest.mark.parametrize("case", BROKEN)
def test_broken(case: str) -> None:
    content, said = BROKEN[case]
    assert said in refused(content)


@pytest.mark.parametrize(("word", "said"), [pair for pair in NO_NUMBERS if pair[0] != "#"])
def test_words_that_are_no_coordinate(word: str, said: str) -> None:
    for place in range(3):
        coordinates = ["1", "2", "3"]
        coordinates[place] = word
        sentence = refused(SHEET + "f 1 2 3\nv " + " ".join(coordinates) + "\n")
        assert "line 5: " in sentence and said in sentence
        sentence = refused(SHEET + "f 1 2 3\nv 1 2 3 " + " ".join(coordinates) + "\n")  # a colour is checked too
        assert "line 5: " in sentence and said in sentence


@pytest.mark.parametrize(("word", "value"), ODD_NUMBERS)
def test_odd_numbers(word: str, value: float) -> None:
    assert read(f"v {word} 2 {word}\n{SHEET}f 1 2 3\nf 2 3 4\n")[0, 0].tolist() == [value, 2.0, value]


WHOLE = {
    "plain": obj(),
    "crlf": obj().replace("\n", "\r\n"),
    "cr": obj().replace("\n", "\r"),
    "no last line end": obj().rstrip("\n"),
    "byte order mark": "\ufeff" + obj(),
    "indented": obj().replace("v ", "  v\t").replace("f ", "\t f  "),
    "faces before their points": obj_faces() + POINTS,
    "faces among their points": "".join(POINTS.splitlines(True)[:2]) + obj_faces() + "".join(POINTS.splitlines(True)[2:]),
    "counted back": POINTS + obj_faces(FACES, -4),
    "counted back, points behind": POINTS + obj_faces(FACES, -4) + "v 0 0 0\np 5\n",
    "comments": "# a\n" + obj().replace("\n", " # b\n# c\n\n"),
    "a comment with a backslash": "# C:\\\n" + obj(),
    "continued": obj().replace("v 10.0", "v \\\n10.0").replace("f 1 3", "f 1\\\n 3 \\\n"),
    "continued at the end": obj().replace("v 10.0 0.0 0.0\n", "v 10.0 0.0 0.0 \\\n\n"),
    "weights": POINTS.replace("\n", " 1.0\n") + obj_faces(),
    "colours": POINTS.replace("\n", " 0.5 .5 1\n") + obj_faces(),
    "weights and colours": POINTS.replace("\n", " 1 0.5 .5 1\n") + obj_faces(),
    "some weights": POINTS.replace("\n", " 1\n", 2) + obj_faces(),
    "all else": "mtllib a b.mtl\ng\ns off\nusemtl wood\nmg 1 0.5\nlod 3\nbevel on\n"
    + obj().replace("f ", "s 1\nusemtl x\nf ")
    + "p 1\nl 1 2/1 3\nvt 0\n",
    "parameters": "vp 0.5\nvp 1 2\nvp 1 2 3\n" + obj(),
    "fo": obj().replace("f ", "fo "),
    "a plus": obj().replace("f 1 ", "f +1 "),
    "loose points of a closed body": "v 5 5 5\n" + POINTS + obj_faces(FACES, 2),
    "a number of many digits": obj().replace("10.0", "10." + "0" * 5000),
    "a name with braces": "o {0}\n" + obj(),
}


@pytest.mark.parametrize("case", WHOLE)
def test_files_that_are_whole(case: str) -> None:
    np.testing.assert_array_equal(read(WHOLE[case]), TRIANGLES)


@pytest.mark.parametrize("form", ["{0}", "{0}/{1}", "{0}//{2}", "{0}/{1}/{2}", "{0}/-1", "{0}//-1", "-{3}/-1/-2", "mixed"])
def test_forms_of_corners(form: str) -> None:
    rows = []
    for face in FACES:
        row = []
        for corner in face:
            own = ("{0}", "{0}/{1}", "{0}//{2}")[len(row)] if form == "mixed" else form
            row.append(own.format(corner + 1, 2, 1, 4 - corner))
        rows.append("f " + " ".join(row))
    np.testing.assert_array_equal(read(POINTS + "vt 0 0\nvt 1 1\nvn 0 0 1\nvn nan nan nan\n" + "\n".join(rows) + "\n"), TRIANGLES)


def test_points_and_normals_that_take_turns() -> None:
    mixed = "".join(f"vn 0 0 1\nvt 0 1\nv {x} {y} {z}\n" for x, y, z in TETRAHEDRON)
    np.testing.assert_array_equal(read(mixed + obj_faces()), TRIANGLES)


def test_counted_back_means_back_from_there() -> None:
    # Two triangles, each behind its own points.
    np.testing.assert_array_equal(read(SHEET + "f -3 -2 -1\n" + SHEET.replace("v 0", "v 9") + "f -3 -2 -1\n")[1], [[9, 0, 0], [1, 0, 0], [9, 1, 0]])


def test_polygons_become_triangles() -> None:
    square = "v 0 0 0\nv 2 0 0\nv 2 2 0\nv 0 2 0\nv 1 3 0\n"
    np.testing.assert_array_equal(
        read(square + "f 1 2 3 4\nf 4 3 5\n")[:, :, :2], [[[0, 0], [2, 0], [2, 2]], [[0, 0], [2, 2], [0, 2]], [[0, 2], [2, 2], [1, 3]]]
    )
    assert len(read(square + "f 1 2 3 5 4\n")) == 3
    assert len(read(square + "f 1 2 2 3 4 4\nf 3 5 4\n")) == 4 + 1  # corners given twice make triangles without area


def named(*lines: str) -> list[tuple[str, int]]:
    """Names and numbers of triangles of the parts of a file: A B C D are triangles apart from each other, E touches A."""
    corners = {"A": "1 2 3", "B": "4 5 6", "C": "7 8 9", "D": "10 11 12", "E": "1 3 13"}
    points = "".join(SHEET.replace(" 0\n", f" {number}\n") for number in range(4)) + "v 0 0 -1\n"
    marks = "".join(f"p {number}\n" for number in range(1, 14))
    text = "".join(f"f {corners[line]}\n" if line in corners else line + "\n" for line in lines)
    return [(part.name, len(part.triangles)) for part in parts(points + text + marks)]


def test_objects_are_parts() -> None:
    assert named("o body", "A", "o screw", "B") == [("body", 1), ("screw", 1)]
    assert named("o body", "A", "o screw", "B", "o body", "C") == [("body", 2), ("screw", 1)]
    assert named("A", "o screw", "B") == [("default", 1), ("screw", 1)]
    assert named("o body", "A", "E", "o", "B") == [("body", 2), ("default", 1)]
    assert named("o body", "A", "o touching", "E") == [("body", 1), ("touching", 1)]
    assert named("o body  of wood # 2", "A") == [("body  of wood # 2", 1)]
    assert named("o empty", "o body", "A", "o lines", "l 1 2") == [("body", 1)]
    assert named("o \u00e4", "g x", "A", "g y", "B") == [("\u00e4", 2)]  # groups do not divide an object
    assert named("A", "B") == [("", 2)]


def test_groups_are_parts_unless_they_touch() -> None:
    assert named("g body", "A", "g screw", "B") == [("body", 1), ("screw", 1)]
    assert named("g top", "A", "g back", "E") == [("top", 2)]
    assert named("g top", "A", "g back", "E", "g screw", "B") == [("top", 1), ("back", 1), ("screw", 1)]
    assert named("g top left", "A") == [("top left", 1)]
    assert named("g a", "A", "g", "B") == [("a", 1), ("default", 1)]


def test_groups_touch_by_equal_places_too() -> None:
    again = "v 1 0 0\nv 0 1 0\nv 1 1 0\n"
    (part,) = parts(SHEET + again + "g a\nf 1 2 3\ng b\nf 4 6 5\n")
    assert part.name == "a" and len(part.triangles) == 2


def test_a_thousand_groups_in_a_chain() -> None:
    count = 3000
    points = "".join(f"v {i} {i % 2} 0\n" for i in range(count + 2))
    faces = "".join(f"g g{i}\nf {i + 1} {i + 2} {i + 3}\n" for i in range(count))
    (part,) = parts(points + faces)
    assert len(part.triangles) == count


def box_of_squares() -> tuple[np.ndarray, np.ndarray]:
    """Points and faces of a closed box: bottom, top, walls."""
    x, y = np.meshgrid(np.arange(9), np.arange(9))
    square = (np.arange(72).reshape(8, 9)[:, :8] + np.array([0, 1, 10, 9])[:, None, None]).reshape(4, -1).T
    low, high = np.stack([x, y, 0 * x], -1).reshape(-1, 3), np.stack([x, y, 0 * x + 5], -1).reshape(-1, 3)
    ring = np.concatenate([np.arange(9), np.arange(17, 81, 9), np.arange(79, 71, -1), np.arange(63, 0, -9)])
    walls = np.stack([ring, np.roll(ring, -1), np.roll(ring, -1) + 81, ring + 81], 1)
    return np.concatenate([low, high]).astype(float), np.concatenate([square[:, ::-1], square + 81, walls])


def test_a_closed_body_without_its_last_faces_is_refused() -> None:
    text = obj(*box_of_squares())
    assert len(read(text)) == len(read(text.rstrip("\n"))) == 2 * (64 + 64 + 32)
    cut = text.rstrip("\n").rsplit("\n", 1)[0]
    assert "has 4 open edges, and its last line has no end" in refused(cut)
    for lost, edges in ((1, 4), (2, 6), (5, 12)):
        short = text.rstrip("\n").rsplit("\n", lost)[0]
        assert f"has a hole with {edges} open edges right behind its last face" in refused(short + "\n")


def test_surfaces_that_are_open_all_round_or_elsewhere_are_whole() -> None:
    points, faces = box_of_squares()
    used = np.flatnonzero(points[:, 2] == 5)
    top = obj(points[used], faces[64:128] - 81)
    assert len(read(top)) == 2 * 64
    used = np.unique(faces[64:])
    number = np.zeros(len(points), int)
    number[used] = np.arange(len(used))
    bottomless = obj(points[used], number[faces[64:]])
    assert len(read(bottomless)) == 2 * 96
    with_hole = obj(points, np.delete(faces, 64 + 27, axis=0))
    assert len(read(with_hole)) == 2 * 159


def test_long_files_are_read_in_runs_with_the_right_lines() -> None:
    count = 120_000
    rng = np.random.default_rng(5)
    points = rng.random((count, 3))
    faces = np.arange(count).reshape(-1, 3)
    text = obj(points, faces)
    assert len(text) > 1 << 22
    np.testing.assert_array_equal(read(text), points[faces])
    lines = text.splitlines()
    lines[count - 7] = "v 1 2"
    assert f"line {count - 6}: 'v' has 2 numbers" in refused("\n".join(lines))
    lines[count - 7] = "v 1 2 \\\n 3"
    lines[-1] = "f 1 2 x"
    assert f"line {len(lines) + 1}: 'x' is not a whole number" in refused("\n".join(lines))


def test_fast_and_slow_reading_of_corners_agree() -> None:
    # The quick split by strides against the plain one, corner by corner.
    rng = np.random.default_rng(6)
    for form in ("{0}", "{0}/{1}", "{0}//{2}", "{0}/{1}/{2}"):
        rows = [[form.format(v, v + 1, v + 2).encode() for v in row] for row in rng.integers(1, 50, (40, 3))]
        quick = _columns([word for row in rows for word in row])
        slow = FaceLines("a")._slow_columns([(number, b"") for number in range(40)], rows, 3)
        assert quick is not None
        for column, own in zip(quick, slow, strict=True):
            np.testing.assert_array_equal(np.zeros(len(own)) if column is None else column, own)


def test_lines_longer_than_any_face_are_refused() -> None:
    assert f"line 1: is longer than {RUN_BYTES} bytes" in refused("f " + "1 " * RUN_BYTES)


def test_blank_lines_and_continuations_without_end() -> None:
    blank = "\n" * (RUN_BYTES + 10)
    np.testing.assert_array_equal(read(POINTS + blank + obj_faces()), TRIANGLES)
    np.testing.assert_array_equal(read(obj().replace("f 1 ", "f \\\n" + " \\\n" * 100_000 + " 1 ")), TRIANGLES)
