"""Files that chance has damaged, for tests of everything that reads one."""

from __future__ import annotations

from hypothesis import strategies as st

SPICES = [
    b"\n",
    b"\r",
    b" ",
    b"\0",
    b"\xff",
    b"\\\n",
    b"#",
    b"-",
    b",",
    b".",
    b"e",
    b"9",
    b"1e999",
    b"nan",
    b"solid ",
    b"endsolid\n",
    b"f ",
    b"v ",
    b"/",
    b"//",
    b"vertex",
    b"element x 3\n",
    b"property list char char q\n",
    b"end_header\n",
    b"comment ",
    b"o x\n",
    b"g y\n",
    b"999999999999",
    b"\x7f" * 4,
    b"[[[[",
    b"{",
    b"}",
    b'"',
    b"null",
    b"true",
    b"-0",
    b",,,",
    b"\r\n",
]
"""Bytes that mean something in one of the formats."""


@st.composite
def damaged(draw: st.DrawFn, seeds: list[bytes]) -> bytes:
    """A file after up to six changes: bytes replaced, put in, taken out, moved, cut off."""
    content = bytearray(draw(st.sampled_from(seeds)))
    for _ in range(draw(st.integers(0, 6))):
        kind = draw(st.sampled_from(["replace", "insert", "remove", "copy", "cut", "flip"]))
        place = draw(st.integers(0, max(0, len(content) - 1)))
        length = draw(st.integers(1, 40))
        if kind == "replace":
            spice = draw(st.sampled_from(SPICES))
            content[place : place + len(spice)] = spice
        elif kind == "insert":
            content[place:place] = draw(st.sampled_from(SPICES))
        elif kind == "remove":
            del content[place : place + length]
        elif kind == "copy":
            target = draw(st.integers(0, max(0, len(content) - 1)))
            content[target:target] = content[place : place + length]
        elif kind == "flip" and content:
            content[place] ^= 1 << draw(st.integers(0, 7))
        elif kind == "cut":
            del content[place:]
    return bytes(content)


def as_bytes(seeds: list[str | bytes]) -> list[bytes]:
    return [seed if isinstance(seed, bytes) else seed.encode() for seed in seeds]
