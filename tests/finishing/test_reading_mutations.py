"""Files that chance has damaged: they are read, or refused with one sentence; nothing else is raised, and no coordinate is made up."""

from __future__ import annotations

import re

import numpy as np
import pytest
from damage import as_bytes, damaged
from hypothesis import given, settings
from hypothesis import strategies as st
from mesh_files import FACES, TETRAHEDRON, binary_ply, binary_stl, obj, obj_faces, obj_points, text_ply, text_stl

from addon.finishing.core.errors import BadFile
from addon.finishing.reading.mesh_file import READERS

SEEDS = {
    "stl": [text_stl(), text_stl() + text_stl(name="two"), binary_stl(), binary_stl(head=b"solid", behind=b"more")],
    "obj": [obj(), "o a\n" + obj_points() + "vt 0 0\nvn 0 0 1\ng b\nusemtl c\n" + obj_faces().replace(" 1", " 1/1/1") + "l 1 2\nf -1 -2 \\\n -3 -4\n"],
    "ply": [text_ply(), text_ply(TETRAHEDRON, [[0, 1, 2, 3], [0, 1, 2]]), binary_ply(), binary_ply(">", TETRAHEDRON, [[0, 1, 2, 3], [0, 1, 2]])],
}


def triangles_or_none(ending: str, content: bytes) -> np.ndarray | None:
    """All triangles of a file, None when it is refused, which must be by one sentence."""
    try:
        parts = READERS[f".{ending}"](content, f"body.{ending}")
    except BadFile as error:
        sentence = str(error)
        assert sentence.startswith(f"'body.{ending}'") and sentence.endswith(".") and "\n" not in sentence and len(sentence) < 500
        return None
    assert parts and all(part.triangles.ndim == 3 and len(part.triangles) for part in parts)
    assert len({part.name for part in parts}) == len(parts)
    triangles = np.concatenate([part.triangles for part in parts])
    assert np.isfinite(triangles).all() and len(triangles) <= len(content)
    return triangles


@settings(max_examples=1500, deadline=20_000)
@given(damaged(as_bytes(SEEDS["stl"])))
def test_stl(content: bytes) -> None:
    triangles_or_none("stl", content)


@settings(max_examples=1500, deadline=20_000)
@given(damaged(as_bytes(SEEDS["obj"])))
def test_obj(content: bytes) -> None:
    triangles_or_none("obj", content)


@settings(max_examples=1500, deadline=20_000)
@given(damaged(as_bytes(SEEDS["ply"])))
def test_ply(content: bytes) -> None:
    triangles_or_none("ply", content)


@settings(max_examples=300, deadline=20_000)
@given(st.sampled_from(["stl", "obj", "ply"]), st.binary(max_size=400), st.sampled_from([b"", b"solid x\n", b"ply\nformat ascii 1.0\n", b"v 0 0 0\n"]))
def test_bytes_at_random(ending: str, content: bytes, begin: bytes) -> None:
    triangles_or_none(ending, begin + content)


@settings(max_examples=600, deadline=20_000)
@given(st.sampled_from(["stl", "obj", "ply"]), st.data())
def test_every_coordinate_stands_in_the_text(ending: str, data: st.DataObject) -> None:
    # By Python's own float of every word that looks like a number: a reader that makes something of half a word gives others.
    seeds = [seed.encode() for seed in SEEDS[ending] if isinstance(seed, str)]
    content = data.draw(damaged(seeds))
    triangles = triangles_or_none(ending, content)
    if triangles is not None and content[:84].count(b"\0") == 0:
        words = re.split(rb"[\s\x0b\x0c]+|\\\n", content)
        there = {float(word) for word in words if re.fullmatch(rb"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", word)}
        assert set(np.unique(triangles).tolist()) <= there


@pytest.mark.parametrize("ending", ["stl", "obj", "ply"])
def test_the_seeds_themselves_are_read(ending: str) -> None:
    for content in as_bytes(SEEDS[ending]):
        triangles = triangles_or_none(ending, content)
        assert triangles is not None and len(triangles) >= 3
    assert len(FACES) == 4
