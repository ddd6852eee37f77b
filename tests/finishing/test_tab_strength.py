"""What tabs bear: sections, strengths and loads against tables and closed forms of beams."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from rim_bodies import ellipse, plate

from addon.finishing.core.errors import BadRequest
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.tabs import Tab
from addon.finishing.job.wood import WOODS
from addon.finishing.job.wood_strength import STRENGTHS, WoodStrength, at_angle, strength_named
from addon.finishing.tooling.tab_strength import HeldBody, angle_to_grain, borne_by, finishing_force, weight_of

MODULI = {"elastic_along": 9000.0, "elastic_across": 9000.0, "rigid_along": 1e12, "rigid_across": 1e12}

EVEN = WoodStrength("even", 10.0, 10.0, 1e9, 1e9, 500.0, **MODULI)
"""A wood without grain that never shears."""

B, H, L = 22.0, 8.0, 25.0


def ring(count: int, radius: float) -> list[Tab]:
    """Tabs evenly round a disc about zero."""
    ways = [(math.cos(2 * math.pi * k / count), math.sin(2 * math.pi * k / count)) for k in range(count)]
    return [Tab(k + 1, (radius * x, radius * y), (x, y), B, L, -H / 2, H / 2) for k, (x, y) in enumerate(ways)]


def disc(radius: float, places: np.ndarray, weight: float = 0.0, highest: float = 0.0) -> HeldBody:
    """A body that is pushed at some places."""
    return HeldBody(places, 0.0, highest, np.zeros(2), weight)


MIDDLE = np.zeros((1, 2))


def test_weight_alone_bends_four_tabs_as_beams_held_at_both_ends() -> None:
    # F/4 on each; a beam whose ends are held and moved apart across has the moment V L / 2 at each (any table of beams); b h^2 / 6; 3/2 V / A.
    for one in borne_by(ring(4, 150.0), disc(150.0, MIDDLE, weight=40.0), 0.0, replace(EVEN, along=10.0), None):
        assert one.force == pytest.approx(10.0)
        assert one.bending == pytest.approx(10.0 * L / 2 / (B * H**2 / 6))
        assert one.shear == pytest.approx(1.5 * 10.0 / (B * H))
        assert one.times == pytest.approx(10.0 / one.bending)


def test_shear_alone_decides_where_bending_bears_everything() -> None:
    strong = WoodStrength("strong", 1e9, 1e9, 3.0, 3.0, 500.0, **MODULI)
    one = borne_by(ring(4, 150.0), disc(150.0, MIDDLE, weight=40.0), 0.0, strong, 0.0)[0]
    assert one.times == pytest.approx(3.0 / (1.5 * 10.0 / (B * H)))


def test_a_push_down_at_one_tab_tilts_the_disc_as_the_closed_form_says() -> None:
    # Four tabs at radius r on the axes; the disc sinks by a and tilts by t about Y. The two tabs on X move by a +- r t with the slope +- t, those on
    # Y by a: with k the stiffness of a beam's end, 4 * 12 a = F L^3 / EI and t * 2 (12 r^2 / L^3 + 12 r / L^2 + 4 / L) = F x / EI.
    r = 150.0
    found = borne_by(ring(4, r), disc(r, np.array([[r, 0.0]])), 1e-9, EVEN, None)
    down = L**3 / 48
    tilt = r / (2 * (12 * r**2 / L**3 + 12 * r / L**2 + 4 / L))
    share = 12 / L**3 * (down + r * tilt) + 6 / L**2 * tilt
    assert found[0].share == pytest.approx(share)
    assert found[2].share == pytest.approx(share - 0.5)  # lifted: the sum of the two is half the force
    assert found[1].share == pytest.approx(0.25)


def test_a_tab_that_shears_gives_way_as_a_beam_with_its_shear() -> None:
    # A cantilever of a wood without grain under a force at its end, by any table: w = F (L^3 / 3 EI + L / (5/6 G A)), slope F L^2 / 2 EI, and under a
    # moment M: w = M L^2 / 2 EI, slope M L / EI. The disc is pushed over one tab: the springs of the tilt are those, turned round.
    soft = replace(EVEN, elastic_along=900.0, elastic_across=900.0, rigid_along=60.0, rigid_across=60.0)
    bending, shearing, r = 900.0 * B * H**3 / 12, 5 / 6 * 60.0 * B * H, 30.0
    gives = np.array([[L**3 / 3 / bending + L / shearing, -(L**2) / 2 / bending], [-(L**2) / 2 / bending, L / bending]])
    spring = np.linalg.inv(gives)
    found = borne_by(ring(4, r), disc(r, np.array([[r, 0.0]])), 1e-9, soft, None)
    down = 1 / (4 * spring[0, 0])
    tilt = r / (2 * np.array([r, 1.0]) @ spring @ np.array([r, 1.0]))
    assert found[0].share == pytest.approx(spring[0, 0] * (down + r * tilt) + spring[0, 1] * tilt)
    assert found[2].share == pytest.approx(found[0].share - 0.5) and found[1].share == pytest.approx(0.25)
    stiff = borne_by(ring(4, r), disc(r, np.array([[r, 0.0]])), 1e-9, EVEN, None)
    assert abs(stiff[0].share - found[0].share) > 0.01  # the formula without shear would be told from it


def test_tabs_share_a_load_by_their_stiffness_along_the_grain_and_across() -> None:
    # Four tabs on the axes, grain along X; the weight in the middle sinks all by the same: each takes by 12 E I / L^3 / (1 + 12 E I / (5/6 G A L^2)).
    oak = WoodStrength("oak", 10.0, 10.0, 1e9, 1e9, 500.0, elastic_along=12000.0, elastic_across=800.0, rigid_along=700.0, rigid_across=200.0)

    def upright(elastic: float, rigid: float) -> float:
        bending = elastic * B * H**3 / 12
        return 12 * bending / L**3 / (1 + 12 * bending / (5 / 6 * rigid * B * H * L**2))

    along, across = upright(12000.0, 700.0), upright(800.0, 200.0)
    found = borne_by(ring(4, 150.0), disc(150.0, MIDDLE, weight=40.0), 0.0, oak, 0.0)
    assert [one.force for one in found] == pytest.approx([40 * k / (2 * along + 2 * across) for k in (along, across, along, across)])
    assert found[0].force > 3 * found[1].force
    # Turned with the grain, the others take it; unknown, all take as much.
    assert [one.force for one in borne_by(ring(4, 150.0), disc(150.0, MIDDLE, weight=40.0), 0.0, oak, 90.0)] == pytest.approx(
        [found[k].force for k in (1, 0, 1, 0)]
    )
    assert [one.force for one in borne_by(ring(4, 150.0), disc(150.0, MIDDLE, weight=40.0), 0.0, oak, None)] == pytest.approx([10.0] * 4)


def test_a_wider_tab_takes_by_its_own_section() -> None:
    # One tab of twice the width among four, and its like across: by b h^3, which is twice as much.
    tabs = [replace(tab, width=(2 if tab.number in (1, 3) else 1) * B) for tab in ring(4, 150.0)]
    found = borne_by(tabs, disc(150.0, MIDDLE, weight=60.0), 0.0, EVEN, None)
    assert [one.force for one in found] == pytest.approx([20.0, 10.0, 20.0, 10.0])
    thick = [replace(tab, high=(2 if tab.number in (1, 3) else 1) * H - H / 2) for tab in ring(4, 150.0)]
    found = borne_by(thick, disc(150.0, MIDDLE, weight=90.0), 0.0, EVEN, None)
    assert [one.force for one in found] == pytest.approx([40.0, 5.0, 40.0, 5.0])  # 2^3


def test_far_out_the_shares_are_those_of_a_rigid_plate_on_springs() -> None:
    # Where tabs are short against the disc, turning them costs nothing: F/n (1 + 2 cos(angle between)) for a push over one of n of them.
    n, r = 6, 5000.0
    found = borne_by(ring(n, r), disc(r, np.array([[r, 0.0]])), 1e-9, EVEN, None)
    for k, one in enumerate(found):
        assert one.share == pytest.approx(abs(1 + 2 * math.cos(2 * math.pi * k / n)) / n, abs=0.02)


def test_a_push_sideways_pulls_the_tabs_in_its_way_and_bends_the_others() -> None:
    # Along X: two tabs are pulled, two bent sideways: E A / L against 12 E I / L^3 (I = h b^3 / 12), as springs side by side.
    pulled, bent = B * H / L, H * B**3 / L**3
    one = borne_by(ring(4, 150.0), disc(150.0, MIDDLE), 30.0, EVEN, None)[0]
    share = pulled / (2 * pulled + 2 * bent)
    down = 30.0 / 4 * L / 2 / (B * H**2 / 6)
    across = 30.0 * bent / pulled * share * L / 2 / (H * B**2 / 6)
    at_each_angle = [30.0 * share * abs(math.cos(t)) / (B * H) + across * abs(math.sin(t)) + down for t in 2 * np.pi * np.arange(16) / 16]
    assert one.bending == pytest.approx(max(at_each_angle))


def test_a_push_high_above_the_tabs_tilts_the_body() -> None:
    low, high = (borne_by(ring(4, 100.0), disc(100.0, MIDDLE, highest=height), 10.0, EVEN, None)[0].force for height in (0.0, 40.0))
    r = 100.0
    tilt = 10.0 * 40.0 / (2 * (12 * r**2 / L**3 + 12 * r / L**2 + 4 / L))
    assert low == pytest.approx(2.5)
    assert high == pytest.approx(2.5 + 12 / L**3 * r * tilt + 6 / L**2 * tilt)


def test_forces_are_in_balance_for_tabs_anywhere() -> None:
    rng = np.random.default_rng(5)
    tabs = []
    for k in range(5):
        angle, turn = 2 * np.pi * k / 5 + rng.uniform(-0.4, 0.4), rng.uniform(-0.3, 0.3)
        place = rng.uniform(80, 160) * np.array([np.cos(angle), np.sin(angle)])
        tabs.append(Tab(k + 1, tuple(place), (math.cos(angle + turn), math.sin(angle + turn)), B, L, 0.0, H))
    shares = [one.share for one in borne_by(tabs, disc(100.0, np.array([[20.0, -10.0]])), 1.0, EVEN, None)]
    assert sum(shares) == pytest.approx(1.0)  # pushed well within them, none is lifted


def test_strength_falls_from_along_to_across_the_grain_as_hankinson_says() -> None:
    # P Q / (P sin^n + Q cos^n), n = 1.5; ends by definition.
    assert at_angle(60.0, 2.4, 0.0) == pytest.approx(60.0)
    assert at_angle(60.0, 2.4, 90.0) == pytest.approx(2.4)
    half = math.sqrt(0.5) ** 1.5
    assert at_angle(60.0, 2.4, 45.0) == pytest.approx(60.0 * 2.4 / (half * 62.4))
    values = [at_angle(60.0, 2.4, float(angle)) for angle in range(91)]
    assert all(after < before for before, after in zip(values, values[1:], strict=False))
    east = Tab(1, (0.0, 0.0), (1.0, 0.0), B, L, 0.0, H)
    assert [angle_to_grain(east, grain) for grain in (0.0, 180.0, 30.0, -30.0, 90.0, None)] == pytest.approx([0, 0, 30, 30, 90, 90])


def test_tabs_along_the_grain_bear_more_than_those_across() -> None:
    hard = strength_named("hardwood")
    found = borne_by(ring(4, 150.0), disc(150.0, MIDDLE, weight=40.0), 0.0, hard, 0.0)
    force = [one.force for one in found]
    assert sum(force) == pytest.approx(40.0) and force[0] > 5 * force[1]  # and are the stiffer
    bending = [each * L / 2 / (B * H**2 / 6) for each in force]
    assert [found[1].times, found[3].times] == pytest.approx([2.4 / bending[1]] * 2)
    # Wood Handbook (FPL-GTR-190, 2010), table 5-3a, American basswood at 12 %: rupture 60 000, shear 6 800, tension across 2 400 kPa.
    assert [found[0].times, found[2].times] == pytest.approx([min(60.0 / bending[0], 6.8 / (1.5 * force[0] / (B * H)))] * 2)


def test_every_wood_has_a_strength() -> None:
    assert [one.name for one in STRENGTHS] == [wood.name for wood in WOODS]
    cedar = strength_named("softwood")
    assert (cedar.along, cedar.across, cedar.shear) == (51.7, 1.5, 6.8)  # western redcedar, same table: 51 700, 1 500 and 6 800 kPa
    assert all(one.across <= one.along and one.rolling <= one.shear for one in STRENGTHS)
    assert all(one.elastic_across <= one.elastic_along and one.rigid_across <= one.rigid_along for one in STRENGTHS)
    with pytest.raises(BadRequest, match="must be one of hardwood"):
        strength_named("marble")


def test_the_cutters_force_is_pressure_times_chip_times_edge() -> None:
    # A ball of R 8, 0.5 mm deep: arc R arccos(1 - a / R); 3600 mm/min at 18000 1/min and two teeth are 0.1 mm a tooth.
    force = finishing_force(Cutter("sixteen", 16.0, flutes=2, spindle_speed=18000.0), "hardwood", 3600.0, 0.5)
    assert force == pytest.approx(40.0 * 0.1 * 8 * math.acos(1 - 0.5 / 8))


def test_weight_and_its_middle_are_those_of_the_solid() -> None:
    triangles = plate(ellipse(200.0, 120.0), 200.0, 30.0) + [5.0, -3.0, 40.0]
    solid = trimesh.Trimesh(*_welded(triangles))
    weight, middle = weight_of(triangles, EVEN)
    assert weight == pytest.approx(solid.volume * 1e-9 * 500.0 * 9.81, rel=1e-6)
    assert middle == pytest.approx(solid.center_mass[:2], abs=1e-3)
    sheet = np.array([[[0, 0, 0], [10, 0, 0], [0, 10, 0]], [[0, 0, 2], [0, 10, 2], [10, 0, 2]]], float)[::-1, ::-1]
    assert weight_of(sheet, EVEN)[0] > 0  # an open mesh is weighed by its box at most


def _welded(triangles: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    points, number = np.unique(np.round(triangles.reshape(-1, 3), 6), axis=0, return_inverse=True)
    return points, number.reshape(-1, 3)
