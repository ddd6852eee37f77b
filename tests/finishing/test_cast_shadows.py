"""Shadows under a low lamp: lengths against the closed form h / tan(e), whole fields against rays that are followed step by step."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import map_coordinates

from addon.finishing.pictures.cast_shadows import cast_shadows
from addon.finishing.pictures.raking_light import RakingLight, lit

CELL = 0.1


@pytest.mark.parametrize("above", [3.0, 12.0, 40.0])
@pytest.mark.parametrize("turn", [0.0, 25.0, 45.0, 80.0, 90.0, 160.0, 180.0, 230.0, 315.0])
def test_a_ridge_throws_a_shadow_of_its_height_over_the_tangent(above: float, turn: float) -> None:
    # A knife-edged ridge of height h, square to the light, on level ground: dark are h / tan(e) behind it, and nothing before it.
    height, half = 0.4, 9.0
    y, x = np.mgrid[-half : half + CELL / 2 : CELL, -half : half + CELL / 2 : CELL]
    to_lamp = x * np.cos(np.radians(turn)) + y * np.sin(np.radians(turn))
    flank = 2 * CELL
    level = np.maximum(height * (1 - np.abs(to_lamp) / flank), 0.0).astype(np.float32)
    dark = cast_shadows(level, np.ones(level.shape, bool), CELL, turn, above)
    length = height / np.tan(np.radians(above))
    inner = np.hypot(x, y) < half - 1  # rays that cross the whole ridge
    before = inner & (to_lamp > flank)
    behind = inner & (to_lamp < -flank)
    assert dark[before].max(initial=0.0) == 0.0
    # The ridge as sampled may be lower than its edge by half a cell of its flank; a shadow's end is a cell wide.
    away = -to_lamp[behind]
    low = (height - height / flank * CELL / 2 * 1.5) / np.tan(np.radians(above))
    assert dark[behind][away < low - 2 * CELL].min(initial=1.0) > 0.99
    assert dark[behind][away > length + CELL].max(initial=0.0) == 0.0


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0, 100.0, 190.0, 260.0, 300.0])
def test_shadows_of_any_field_are_those_of_rays_followed_step_by_step(turn: float) -> None:
    rng = np.random.default_rng(4)
    y, x = np.mgrid[:60, :80].astype(float)
    level = sum(12 * np.exp(-((x - a) ** 2 + (y - b) ** 2) / 60) for a, b in rng.uniform((10, 10), (70, 50), (4, 2)))
    known = np.hypot(x - 40, y - 30) < 36
    dark = cast_shadows(level.astype(np.float32), known, 1.0, turn, 12.0)
    slow, rise = np.zeros(level.shape), np.tan(np.radians(12.0))
    standing = np.where(known, level, -1e4)
    for way in np.arange(0.1, 100.0, 0.1):
        seen = map_coordinates(standing, [y + way * np.sin(np.radians(turn)), x + way * np.cos(np.radians(turn))], order=1, cval=-1e4)
        slow = np.maximum(slow, seen - way * rise - level)
    well_inside = known & (slow > 2 * rise)
    lit_cells = known & (slow == 0)
    assert well_inside.sum() / known.sum() > 0.02 and lit_cells.sum() > 200
    assert (dark[well_inside] > 0.99).mean() > 0.99 and (dark[lit_cells] < 0.01).mean() > 0.99
    assert ((dark >= 0) & (dark <= 1)).all()


def test_crests_throw_shadows_on_each_other_only_where_the_lamp_is_lower_than_they_are_steep() -> None:
    # Passes of a ball of radius R, s apart, leave crests s^2 / (8 R) high whose flanks rise by asin(s / 2R) (closed form). A lamp above that throws
    # no shadow; one below it throws one from each crest that ends on the far flank of the same valley.
    radius, spacing = 4.0, 3.0
    x = np.arange(0.0, 30.0, 0.05)
    offset = (x + spacing / 2) % spacing - spacing / 2
    profile = radius - np.sqrt(radius**2 - offset**2)
    level = np.tile(profile, (5, 1)).astype(np.float32)
    steepest = np.degrees(np.arcsin(spacing / 2 / radius))
    known = np.ones(level.shape, bool)
    assert cast_shadows(level, known, 0.05, 0.0, steepest + 0.5).max() < 0.05
    above = np.radians(10.0)
    dark = cast_shadows(level, known, 0.05, 0.0, 10.0)[2]
    # Along X from a crest at c towards -X: the ray that touches it goes down by tan(e); it meets the valley's arc about (c - s/2, R).
    ways = np.linspace(0, spacing, 200001)[1:]
    ray = profile.max() - ways * np.tan(above)
    arc = radius - np.sqrt(np.maximum(radius**2 - (spacing / 2 - ways) ** 2, 0.0))
    length = ways[np.argmax(arc > ray)]
    valley = dark[(x > 12) & (x < 12 + 4 * spacing)]
    assert valley.mean() == pytest.approx(length / spacing, abs=0.03)


def test_what_lies_in_shadow_is_dark_and_the_rest_is_lit_as_before() -> None:
    level = np.zeros((20, 200))
    level[:, 150:160] = 1.0
    light = RakingLight(0.0, 12.0)
    bright = lit(level, CELL, light)
    length = 1.0 / np.tan(np.radians(12.0))
    shadow = (150 - np.arange(150)) * CELL
    assert (bright[:, :150][:, shadow < length - 2 * CELL] < 0.01).all() and (bright[:, 2:150][:, shadow[2:] > length + 2 * CELL] == 0.5).all()
    assert (bright[:, 161:-1] == 0.5).all()
    level[:, 150:160] = -np.inf  # what is not there throws none
    assert (lit(level, CELL, light)[:, 2:148] == 0.5).all()
