"""A small PNG reader of its own for the tests of pictures (ISO/IEC 15948): checks every CRC and undoes the row filter."""

from __future__ import annotations

import struct
import zlib

import numpy as np


def pixels_of(data: bytes) -> np.ndarray:
    """Pixels (rows, columns, 3) uint8 of a PNG of 8 bits and three colours whose rows are all filtered by the row above."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        (crc,) = struct.unpack(">I", data[at + 8 + length : at + 12 + length])
        assert crc == zlib.crc32(kind + body)
        chunks[kind] = body
        at += 12 + length
    width, height, depth, colour_type = struct.unpack(">IIBB", chunks[b"IHDR"][:10])
    assert (depth, colour_type) == (8, 2) and b"IEND" in chunks
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(height, 1 + 3 * width)
    assert np.all(rows[:, 0] == 2)
    return np.cumsum(rows[:, 1:], axis=0, dtype=np.uint8).reshape(height, width, 3)


def share_of(pixels: np.ndarray, colour: tuple[float, ...] | np.ndarray, tolerance: float = 0.02) -> float:
    """Share of pixels of a colour, given from 0 to 1."""
    return float(np.mean(np.abs(pixels / 255 - np.array(colour)).max(axis=-1) < tolerance))


def border_of(pixels: np.ndarray, width: int = 12) -> np.ndarray:
    """The pixels (n, 3) along the top, the left and the right border."""
    return np.concatenate([pixels[:width].reshape(-1, 3), pixels[:, :width].reshape(-1, 3), pixels[:, -width:].reshape(-1, 3)])
