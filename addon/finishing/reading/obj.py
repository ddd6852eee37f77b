"""OBJ: points and faces in lines of text, in named objects and groups.

Source: Wavefront Technologies, Advanced Visualizer Manual, Appendix B1, Object Files (.obj), about 1992. Read: v and f; o and g divide the faces.
Checked and then left alone: texture points, normals, lines, points. Left alone: smoothing, materials, display settings. Refused: free-form curves and
surfaces, other files called in, and every line that is no statement of the format. Faces may stand before their points; numbers below 0 count
back from the last point so far. A backslash at the end of a line joins the next one to it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import reduce
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from ..core.message import Message
from .faults import CUT_SHORT, EXPORT_A_SURFACE, EXPORT_AGAIN, bad_file, bad_line, shown
from .obj_faces import Counts, FaceLines
from .obj_groups import DEFAULT, parts_of
from .obj_wholeness import check_whole
from .part import MeshPart
from .polygons import triangulated
from .text import loose_numbers, number_fault, numbers, plain_text, words_before_comment

POINT, TEXTURE, NORMAL, PARAMETER = b"v", b"vt", b"vn", b"vp"
WIDTHS = {POINT: (3, 4, 6, 7), TEXTURE: (1, 2, 3), NORMAL: (3,), PARAMETER: (1, 2, 3)}
"""How many numbers each may have. A point: x y z, then a weight that only free-form surfaces use, then a colour, which many writers add."""

FACE = (b"f", b"fo")
"""fo is the older name."""

MARKS = frozenset((b"l", b"p"))
LEFT_ALONE = frozenset(b"s mg usemtl mtllib usemap maplib bevel c_interp d_interp lod shadow_obj trace_obj ctech stech".split())
FREE_FORM = frozenset(b"cstype deg bmat step curv curv2 surf parm trim hole scrv sp end con bsp bzp cdc cdp res".split())
CALLS = frozenset((b"call", b"csh"))

RUN_BYTES = 1 << 22
"""Text that is split into lines and words at a time: words take about ten times the memory of their text."""

CONTINUED = re.compile(rb"\\\n")
Line = tuple[int, bytes]


def read_obj(content: bytes, file: str) -> list[MeshPart]:
    """The objects of an OBJ file, or its groups where it has no objects and they do not touch. Raises BadFile."""
    reader = _Reader(file)
    text = plain_text(content, file)
    del content  # the text takes as much, and what is made of it more
    line_ended = text.endswith(b"\n")
    text = _joined_lines(text, file)
    for lines in _runs_of_lines(text, file):
        reader.take(lines)
    del text
    return reader.parts(line_ended)


class _Reader:
    """What has been read so far."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._points: list[NDArray[np.float64]] = []
        self._counts = Counts()
        self._faces = FaceLines(file)
        self._object: str | None = None
        self._group = DEFAULT

    def take(self, lines: list[Line]) -> None:
        """Read a run of lines that are neither blank nor a comment. Raises BadFile.

        Points, texture points and normals of the run come first, whatever stands among them: a face that counts back goes by its line.
        """
        by_keyword: dict[bytes, list[Line]] = {}
        others: list[Line] = []
        for pair in lines:
            keyword = pair[1].split(None, 1)[0]
            if keyword in WIDTHS:
                by_keyword.setdefault(keyword, []).append(pair)
            elif keyword not in LEFT_ALONE:
                others.append(pair)
        for keyword, own in by_keyword.items():
            values = _rows(own, keyword, self.file)
            if keyword == POINT:
                self._points.append(values[:, :3])
        self._counts.begin_run(*([number for number, _line in by_keyword.get(keyword, ())] for keyword in (POINT, TEXTURE, NORMAL)))
        for kind, run in groupby(others, _kind):
            if kind == "faces":
                self._faces.take(list(run), self._counts, (self._object, self._group))
            elif kind == "marks":
                self._faces.take_marks(list(run), self._counts)
            else:
                for number, line in run:
                    self._take_other(number, line)

    def parts(self, line_ended: bool) -> list[MeshPart]:
        """The parts of the whole file. line_ended: whether its last line has an end.

        Raises BadFile when it has no faces, or faces with points that are not there, or seems cut short.
        """
        totals = self._counts.totals()
        if not self._faces.count:
            raise bad_file(self.file, Message("holds {count} points but no faces", count=totals[0]), EXPORT_A_SURFACE)
        faces = self._faces.resolved(totals)
        points = np.concatenate(self._points)

        def refusal(face: int, what: Message, remedy: Message) -> Exception:
            return bad_line(self.file, int(faces.lines[face]), what, remedy)

        triangles, owner = triangulated(points, faces.corners, faces.sizes, refusal)
        check_whole(self.file, points, triangles, self._faces.marked, line_ended)
        return parts_of(points, triangles, faces.owners[owner], self._faces.owner_names)

    def _take_other(self, number: int, line: bytes) -> None:
        """A line that is neither a point nor a face."""
        words = line.split(None, 1)
        keyword = shown(words[0])
        rest = words[1].strip() if len(words) > 1 else b""
        if words[0] == b"o":
            self._object = rest.decode("utf-8", "backslashreplace") or DEFAULT
        elif words[0] == b"g":
            self._group = rest.decode("utf-8", "backslashreplace") or DEFAULT
        elif words[0] in FREE_FORM:
            raise bad_line(self.file, number, Message("'{keyword}' belongs to a free-form curve or surface", keyword=keyword), Message("export a mesh"))
        elif words[0] in CALLS:
            raise bad_line(self.file, number, Message("'{keyword}' calls in another file", keyword=keyword), Message("export the mesh into one file"))
        else:
            raise bad_line(self.file, number, Message("'{keyword}' is not a statement of an OBJ file", keyword=keyword), EXPORT_AGAIN)


def _kind(line: Line) -> str:
    """What a line that holds no point is read as."""
    keyword = line[1].split(None, 1)[0]
    return "faces" if keyword in FACE else "marks" if keyword in MARKS else "other"


def _rows(lines: list[Line], keyword: bytes, file: str) -> NDArray[np.float64]:
    """The numbers of lines of one keyword, (lines, 3) for points and anything for the rest. Raises BadFile."""
    rows = [line.split() for _number, line in lines]
    width = len(rows[0])
    if width - 1 in WIDTHS[keyword] and all(len(row) == width for row in rows):
        words = [word for row in rows for word in row[1:]]
        if keyword == POINT:
            values = numbers(words)
            if values is not None:
                return values.reshape(-1, width - 1)
        elif loose_numbers(words) is not None:
            return np.zeros((0, 3))
    # Lines of different widths, with a comment behind them, or wrong: one by one.
    return np.array([_row(number, line, keyword, file) for number, line in lines])


def _row(number: int, line: bytes, keyword: bytes, file: str) -> list[float]:
    """The first three numbers of one line, filled up with 0. Raises BadFile."""
    words = words_before_comment(line)[1:]
    if len(words) not in WIDTHS[keyword]:
        first, *others = WIDTHS[keyword]
        wanted = reduce(lambda one, other: Message("{one} or {other}", one=one, other=other), others, Message("{count}", count=first))
        what = Message("'{keyword}' has {count} numbers where {wanted} were expected", keyword=shown(keyword), count=len(words), wanted=wanted)
        raise bad_line(file, number, what, EXPORT_AGAIN)
    for word in words:
        if (fault := number_fault(word, loose=keyword != POINT)) is not None:
            raise bad_line(file, number, *fault)
    return [*(float(word) for word in words), 0.0, 0.0][:3]


def _runs_of_lines(text: bytes, file: str) -> Iterator[list[Line]]:
    """The lines that are neither blank nor a comment, with their numbers, some megabytes at a time. Raises BadFile for a longer line."""
    place, number = 0, 1
    while place < len(text):
        end = text.rfind(b"\n", place, place + RUN_BYTES) if len(text) - place > RUN_BYTES else len(text)
        if end < 0:
            raise bad_line(file, number, Message("is longer than {count} bytes", count=RUN_BYTES), EXPORT_AGAIN)
        lines = text[place:end].split(b"\n")
        yield [pair for pair in enumerate(map(bytes.strip, lines), number) if pair[1] and pair[1][:1] != b"#"]
        place, number = end + 1, number + len(lines)


def _joined_lines(text: bytes, file: str) -> bytes:
    """The text with every continued line in one, and blank lines after it so that the lines behind keep their numbers. Raises BadFile.

    Nothing says what a backslash does within a number or at the end of a comment. A comment ends with its line here: were the next line
    meant to belong to it, it would be no statement and refused, while the other reading could lose a point without a word.
    """
    if CONTINUED.search(text) is None and not text.endswith(b"\\"):
        return text
    done: list[bytes] = []
    held: list[bytes] = []
    for number, line in enumerate(text.split(b"\n"), 1):
        if held and line and not (held[-1][-1:].isspace() or line[:1].isspace()):
            what = Message("the backslash at its end joins two words of which nobody knows whether they are one")
            raise bad_line(file, number - 1, what, EXPORT_AGAIN)
        if line.endswith(b"\\") and b"#" not in line:
            held.append(line[:-1] or b" ")
            continue
        done.append(b"".join([*held, line]))
        done += [b""] * len(held)
        held = []
    if held:
        raise bad_line(file, text.count(b"\n") + 1, Message("ends with a backslash, but no line follows"), CUT_SHORT)
    return b"\n".join(done)
