"""A body on its way from a process that has Blender to one that has not: one line of what the former prints.

Nothing is written to a folder on the way, which would stay there when either of them is killed.
"""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Sequence
from dataclasses import astuple

import numpy as np

from ..finishing.job.body import Body
from ..finishing.job.thinned import Thinned

BODY_MARK, FAULT_MARK = "finishing body: ", "finishing fault: "
"""How the lines begin, among whatever else Blender prints."""


def body_line(body: Body, millimetres: float) -> str:
    """A body, and millimetres for one unit of its scene."""
    arrays = io.BytesIO()
    np.savez(
        arrays,
        triangles=body.triangles,
        skip=body.skip,
        name=np.array(body.name),
        millimetres=np.array(millimetres),
        thinned=np.array(() if body.thinned is None else astuple(body.thinned)),
    )
    return BODY_MARK + base64.b64encode(arrays.getbuffer()).decode("ascii")


def fault_line(sentence: str, names: Sequence[str]) -> str:
    """What is wrong with a file; names: of its objects, where it holds several and one must be named."""
    return FAULT_MARK + json.dumps({"sentence": sentence, "names": list(names)})


def handed_body(said: str) -> tuple[Body, float] | None:
    """The body in what was printed, and millimetres for one unit of its scene; None where there is none in it."""
    content = _marked(said, BODY_MARK)
    if content is None:
        return None
    with np.load(io.BytesIO(base64.b64decode(content)), allow_pickle=False) as arrays:
        thinned = None
        if arrays["thinned"].size:
            given, kept, *distances = arrays["thinned"].tolist()
            thinned = Thinned(int(given), int(kept), *distances)
        return Body(str(arrays["name"]), arrays["triangles"], arrays["skip"], thinned=thinned), float(arrays["millimetres"])


def handed_fault(said: str) -> tuple[str, tuple[str, ...]] | None:
    """The sentence in what was printed, and the names of several objects; None where there is none in it."""
    content = _marked(said, FAULT_MARK)
    if content is None:
        return None
    record = json.loads(content)
    return record["sentence"], tuple(record["names"])


def _marked(said: str, mark: str) -> str | None:
    """What follows a mark on the line that begins with it; None where there is no such line, or its end is missing."""
    begin = said.rfind("\n" + mark) + 1
    end = said.find("\n", begin) if begin else -1
    return None if end < 0 else said[begin + len(mark) : end]
