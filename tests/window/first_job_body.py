"""The body of the first job, written as an STL file in mm."""

import struct
from pathlib import Path

import numpy as np


def write_body(path: Path, along: int = 131, across: int = 91) -> None:
    """A body of 260 x 180 mm with a wide dome and a hollow, and a shallower dome on its back, as binary STL in mm.

    along, across: points of its grid.
    """
    u, v = np.meshgrid(np.linspace(-1, 1, along), np.linspace(-1, 1, across), indexing="ij")
    round_plan = np.stack([130 * u * np.sqrt(1 - v**2 / 2), 90 * v * np.sqrt(1 - u**2 / 2)], axis=-1)
    dome = (1 - u**2) * (1 - v**2)
    top = np.dstack([round_plan, 14 + 14 * dome - 6 * np.exp(-((u - 0.3) ** 2 + v**2) / 0.06)])
    back = np.dstack([round_plan, -4 - 5 * dome])
    out = []
    for grid, turn in ((top, 1), (back, -1)):
        a, b, c, d = grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]
        both = np.concatenate([np.stack([a, b, c], -2).reshape(-1, 3, 3), np.stack([a, c, d], -2).reshape(-1, 3, 3)])
        out.append(both[:, ::turn])
    for above, below in ((top[:, 0], back[:, 0]), (top[-1], back[-1]), (top[::-1, -1], back[::-1, -1]), (top[0, ::-1], back[0, ::-1])):
        out += [np.stack([below[:-1], below[1:], above[1:]], -2), np.stack([below[:-1], above[1:], above[:-1]], -2)]
    triangles = np.concatenate(out)
    rows = np.zeros(len(triangles), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")]))
    rows["corners"] = triangles
    path.write_bytes(bytes(80) + struct.pack("<I", len(rows)) + rows.tobytes())
