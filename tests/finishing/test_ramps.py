"""Colour ramps: safe for colour-blind eyes, inside the screen's range, and what nan and the ends give."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from addon.finishing.pictures import ramps

# Full protanopia, deuteranopia and tritanopia on linear sRGB (published: Machado, Oliveira, Fernandes 2009, IEEE TVCG 15:1291).
BLINDNESS = {
    "none": np.eye(3),
    "protanopia": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "deuteranopia": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "tritanopia": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}
RAMPS = [value for value in vars(ramps).values() if isinstance(value, ramps.Ramp)]
"""Every ramp of the module, so that a new one is tested too."""
SEQUENTIAL = [ramp for ramp in RAMPS if not ramp.diverging]


def linear_from_srgb(srgb: np.ndarray) -> np.ndarray:
    """Linear light of sRGB colours (IEC 61966-2-1, its own direction of the transfer function)."""
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


def lab(srgb: np.ndarray, matrix: np.ndarray | None = None) -> np.ndarray:
    """CIELAB (CIE 15, D65) of sRGB colours (n, 3) as seen with the given colour blindness."""
    linear = np.clip(linear_from_srgb(np.asarray(srgb, float)) @ (np.eye(3) if matrix is None else matrix).T, 0, 1)
    to_xyz = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]])
    xyz = linear @ to_xyz.T / to_xyz.sum(axis=1)
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1)


@pytest.mark.parametrize("eyes", BLINDNESS)
@pytest.mark.parametrize("ramp", SEQUENTIAL, ids=lambda r: r.name)
def test_sequential_ramps_fall_in_lightness_for_all_eyes(ramp: ramps.Ramp, eyes: str) -> None:
    seen = lab(ramp.table()[:, :3], BLINDNESS[eyes])
    lightness = seen[:, 0]
    assert np.all(np.diff(lightness) < 0)
    assert lightness[0] - lightness[-1] > 40
    # Nine steps of the ramp are easily distinguished: CIE76 differences of 5 and more (2.3 is just noticeable: Mahy, Van Eycken and
    # Oosterlinck 1994, Color Res. Appl. 19:105).
    nine = seen[np.linspace(0, 255, 9).astype(int)]
    assert np.linalg.norm(np.diff(nine, axis=0), axis=1).min() > 5


@pytest.mark.parametrize("eyes", BLINDNESS)
def test_hollows_and_crowns_are_distinguished_by_all_eyes(eyes: str) -> None:
    table = lab(ramps.CURVATURE.table()[:, :3], BLINDNESS[eyes])
    hollow, crown = table[127::-1], table[128:]
    # Lightness falls from the middle to both ends, so tight curvature stands out.
    assert np.all(np.diff(hollow[:, 0]) < 0) and np.all(np.diff(crown[:, 0]) < 0)
    # Equal curvature of either sign differs in colour alone, without lightness, from a quarter of the ramp's arm on.
    colour_only = np.linalg.norm(hollow[32:, 1:] - crown[32:, 1:], axis=1)
    assert colour_only.min() > 15


@pytest.mark.parametrize("ramp", RAMPS, ids=lambda r: r.name)
def test_control_colours_lie_inside_the_screen_range(ramp: ramps.Ramp) -> None:
    for stop in ramp.stops:
        angle = np.radians(stop.hue)
        rgb = ramps.srgb_from_oklab(np.array([stop.lightness, stop.chroma * np.cos(angle), stop.chroma * np.sin(angle)]))
        assert rgb.min() > -0.002 and rgb.max() < 1.002


def test_oklab_against_published_values() -> None:
    # Published check (Ottosson 2020): white is (1, 0, 0); sRGB red is about (0.62796, 0.22486, 0.12585).
    assert np.allclose(ramps.srgb_from_oklab(np.array([1.0, 0.0, 0.0])), 1, atol=1e-4)
    assert np.allclose(ramps.srgb_from_oklab(np.array([0.62796, 0.22486, 0.12585])), [1, 0, 0], atol=3e-3)


def test_colours_of_values() -> None:
    table = ramps.SLOPE.table()
    found = ramps.SLOPE.colours(np.array([[-5.0, 0, 45], [90, 200, np.nan]]), 0, 90)
    assert found.shape == (2, 3, 4) and found.dtype == np.float32
    assert np.array_equal(found[0, 0], table[0]) and np.array_equal(found[1, 1], table[-1])
    assert np.allclose(found[0, 2], table[[127, 128]].mean(axis=0), atol=0.01)
    assert np.array_equal(found[1, 2], [0, 0, 0, 0])
    assert np.array_equal(ramps.SLOPE.colours(np.array([3.0]), 5, 5), table[:1])
    assert np.array_equal(ramps.SLOPE.colours(np.array([np.inf, -np.inf]), 0, 1), table[[-1, 0]])


def test_ramp_tables_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        ramps.CUSP.table()[0, 0] = 0.5


def test_skip_hatch_is_seen_on_its_ground() -> None:
    ground, hatch = lab(np.array([ramps.SKIP_COLOUR, ramps.SKIP_HATCH]))
    assert ground[0] - hatch[0] > 20


@given(st.lists(st.floats(-10, 10), min_size=2, max_size=8), st.integers(0, 2**32 - 1))
def test_curves_do_not_overshoot(values: list[float], seed: int) -> None:
    # Fritsch and Butland 1984: the curve passes through its points and stays between neighbours; scipy's PCHIP is another such curve.
    x = np.cumsum(np.random.default_rng(seed).uniform(0.1, 2.0, len(values)))
    y, fine = np.array(values), np.linspace(x[0], x[-1], 201)
    curve = ramps.monotone_cubic(x, y, fine)
    np.testing.assert_allclose(ramps.monotone_cubic(x, y, x), y, atol=1e-9)
    k = np.clip(np.searchsorted(x, fine, side="right") - 1, 0, len(x) - 2)
    assert (curve >= np.minimum(y[k], y[k + 1]) - 1e-9).all() and (curve <= np.maximum(y[k], y[k + 1]) + 1e-9).all()
    inner = (fine > x[1]) & (fine < x[-2]) if len(x) > 4 else np.zeros(201, bool)
    # Inside, both take the weighted harmonic mean of the slopes on both sides; at the ends they differ by their end conditions.
    np.testing.assert_allclose(curve[inner], PchipInterpolator(x, y)(fine[inner]), atol=1e-9)
