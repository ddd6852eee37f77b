"""Parts of a mesh that lie apart: strays are named and left out, whole bodies are planned, and what is one part is never torn."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pytest
from mesh_files import binary_stl
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree
from shapes import block
from small_jobs import TWELVE, arched

from addon.command import run
from addon.finishing.job.apart import APART, parts_of, without_strays
from addon.finishing.job.body import make_body
from addon.finishing.job.request import Request
from addon.finishing.job.strays import Apart
from addon.finishing.planning.plan import make_plan

SPECK = np.array([[[0, 0, 0], [0.5, 0, 0], [0, 0.5, 0.2]]])
"""A face that was left behind somewhere."""


def body_with(*others: np.ndarray) -> np.ndarray:
    return np.concatenate([block(arched, 60, 40, 2.0), *others])


def test_a_body_alone_is_one_part() -> None:
    body = make_body("body", body_with())
    assert without_strays(body).apart == Apart()
    assert without_strays(body).triangles is body.triangles


@pytest.mark.parametrize("place", [(150, 10, 5), (-30, -30, 0), (30, 20, 25), (1000, 2000, -500), (10_000, 0, 0), (30, 20, -60)])
def test_a_stray_is_left_out_and_named(place: tuple[float, float, float]) -> None:
    alone = make_body("body", body_with())
    body = without_strays(make_body("body", body_with(SPECK + place)))
    assert np.array_equal(body.triangles, alone.triangles)
    (stray,) = body.apart.strays
    np.testing.assert_allclose(stray.middle, np.array(place) + (0.25, 0.25, 0.1), atol=1e-9)
    assert (stray.size, stray.faces) == ((pytest.approx(0.5), pytest.approx(0.5), pytest.approx(0.2)), 1)


def test_strays_near_and_very_far_are_found_together() -> None:
    body = without_strays(make_body("body", body_with(SPECK + (20_000, 0, 0), SPECK + (70, 20, 5), SPECK + (75, 20, 5))))
    assert len(body.triangles) == len(body_with()) and sum(stray.faces for stray in body.apart.strays) == 3


def test_marks_stay_with_their_faces() -> None:
    triangles = np.concatenate([SPECK + (200, 0, 0), body_with()])
    body = without_strays(make_body("body", triangles, np.arange(len(triangles)) % 3 == 0))
    assert np.array_equal(body.skip, np.arange(1, len(triangles)) % 3 == 0)


def test_what_lies_near_belongs_to_the_body() -> None:
    # An inlay that stands free of its recess by half a mm, and a plug a little farther off.
    body = make_body("body", body_with(block(lambda x, y: 2 + 0 * x, 4, 4, 1.0) + (60.5, 10, 0), SPECK + (30, 20, 15 + APART / 2)))
    assert without_strays(body).apart == Apart()


def test_large_parts_are_all_kept() -> None:
    body = without_strays(make_body("body", body_with(body_with() + (360, 0, 0))))
    assert body.apart == Apart(2) and len(body.triangles) == 2 * len(body_with())


@pytest.mark.parametrize("seed", range(6))
def test_parts_against_a_search_among_all_points(seed: int) -> None:
    """Points nearer than APART are one part whatever the boxes; points farther than two boxes' diagonal are not (scipy's graph of near points)."""
    rng = np.random.default_rng(seed)
    triangles = rng.uniform(0, 120, (60, 1, 3)) + rng.uniform(-1.5, 1.5, (60, 3, 3))
    found = parts_of(triangles)

    def components(reach: float) -> np.ndarray:
        pairs = cKDTree(triangles.reshape(-1, 3)).query_pairs(reach, output_type="ndarray") // 3
        links = np.concatenate([pairs, pairs[:, ::-1]]).T
        return connected_components(coo_array((np.ones(links.shape[1]), links), shape=(60, 60)))[1]

    for reach, finer in ((APART, True), (2 * APART * np.sqrt(3), False)):
        other = components(reach)
        one, two = (other, found) if finer else (found, other)
        assert all(len(np.unique(two[one == number])) == 1 for number in np.unique(one))


def test_large_faces_hold_a_part_together() -> None:
    slab = block(lambda x, y: 5 + 0 * x, 300, 200, 300.0)
    assert len(slab) < 20
    assert without_strays(make_body("slab", slab)).apart == Apart()


@pytest.mark.filterwarnings("error")
def test_two_bodies_far_apart_are_planned_and_told() -> None:
    body = without_strays(make_body("two", body_with(body_with() + (360, 0, 0))))
    plan = make_plan(Request(body, cutter=TWELVE, lines_from="edge", rack_table=False, cell=1.0, cusp=0.2))
    (told,) = [finding for finding in plan.findings if finding.key == "parts-apart"]
    assert "2 parts" in str(told.sentence) and not told.must_see
    x = plan.path.points[plan.path.kind == 0, 0]
    assert (x < 100).any() and (x > 330).any()
    assert plan.proof.worst_gouge <= 0.002


def test_a_stray_makes_neither_stock_nor_path_larger(tmp_path: Path, capsys: pytest.CaptureFixture) -> None:
    asked = ["--unit", "mm", "--cutter", "12", "--cell", "1", "--cusp", "0.2", "--lines-from", "edge"]
    codes, paths = [], []
    for name, triangles in (("alone", body_with()), ("stray", body_with(SPECK + (210, 10, 30)))):
        (tmp_path / name).mkdir()
        (tmp_path / name / "body.stl").write_bytes(binary_stl(triangles))
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            codes.append(run(["plan", str(tmp_path / name / "body.stl"), *asked, "--out", str(tmp_path / name)]))
        paths.append(next((tmp_path / name).glob("*.csv")).read_bytes())
    assert codes == [0, 3]
    assert paths[0] == paths[1]
    assert "left out: 1 with 1 faces" in capsys.readouterr().out
