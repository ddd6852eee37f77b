"""Ground that neither side can reach, on bodies whose hidden area is known by construction."""

from __future__ import annotations

import re

import numpy as np
import pytest
from shapes import block

from addon.finishing.core.path import CUT
from addon.finishing.job.body import Body, make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.planning.plan import make_plan
from addon.finishing.surface.undercut import undercut_area


def patch(corner: tuple[float, float, float], along: tuple[float, float, float], across: tuple[float, float, float]) -> np.ndarray:
    """A parallelogram in triangles of about 1 mm, its normal along x across."""
    n, m = (int(np.ceil(np.linalg.norm(v))) for v in (along, across))
    u, v = np.meshgrid(np.linspace(0, 1, n + 1), np.linspace(0, 1, m + 1), indexing="ij")
    p = np.array(corner) + u[..., None] * np.array(along) + v[..., None] * np.array(across)
    a, b, c, d = p[:-1, :-1], p[1:, :-1], p[1:, 1:], p[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], axis=2), np.stack([a, c, d], axis=2)]).reshape(-1, 3, 3)


def extruded(profile: list[tuple[float, float]], ends: list[tuple[float, float, float, float]]) -> Body:
    """A body 30 mm long in y of an outline (x, z) that runs anticlockwise seen from y = 0, closed by rectangles x, z, width, height."""
    parts = []
    for (x0, z0), (x1, z1) in zip(profile, profile[1:] + profile[:1], strict=True):
        parts.append(patch((x0, 30, z0), (x1 - x0, 0, z1 - z0), (0, -30, 0)))
    for x, z, width, height in ends:
        parts.append(patch((x, 0, z), (width, 0, 0), (0, 0, height)))
        parts.append(patch((x, 30, z), (0, 0, height), (width, 0, 0)))
    return make_body("extruded", np.concatenate(parts))


def grooved(depth: float) -> Body:
    """A block 40 x 30 x 20 mm with a groove of 4 mm height pressed into its side at x = 40, along y."""
    profile = [(0, 0), (40, 0), (40, 8), (40 - depth, 8), (40 - depth, 12), (40, 12), (40, 20), (0, 20)]
    return extruded(profile, [(0, 0, 40, 8), (0, 8, 40 - depth, 4), (0, 12, 40, 8)])


def test_the_faces_of_a_side_groove_are_hidden() -> None:
    # Floor and roof of the groove, 20 x 30 mm each, and its back, 4 x 30 mm, lie between body above and body below.
    assert undercut_area(grooved(20.0).triangles) == pytest.approx(2 * 20 * 30 + 4 * 30, rel=0.1)
    assert undercut_area(grooved(10.0).triangles) == pytest.approx(2 * 10 * 30 + 4 * 30, rel=0.15)


def test_a_body_without_overhang_hides_nothing() -> None:
    assert undercut_area(make_body("block", block(lambda x, y: 10 + np.sin(x / 5), 40, 30, 1.0)).triangles) == 0


def test_undercut_is_named_and_left_out() -> None:
    body = grooved(20.0)
    made = make_plan(Request(body, cutter=Cutter("Round-nose 6", 6.0), lines_from="edge", line_angle=0.0, rack_table=False, cell=0.5))
    # The area as above, by construction.
    (found,) = [f for f in made.findings if f.key == "undercut"]
    (area,) = re.findall(r"([\d.]+) mm²", str(found.sentence))
    assert float(area) == pytest.approx(2 * 20 * 30 + 4 * 30, rel=0.1)
    # The passes run over the top at 20 mm, or beside the block, never inside the groove.
    cut = made.path.points[made.path.kind == CUT] - made.job_from_body[:3, 3]
    over = (cut[:, 0] > 1) & (cut[:, 0] < 39) & (cut[:, 1] > 1) & (cut[:, 1] < 29)
    assert over.any() and (np.abs(cut[over, 2] - 20) < 0.01).all()


def test_an_overhang_that_the_other_side_reaches_is_not_hidden() -> None:
    # By construction: a table on one leg. Its underside lies under the top, but the back side sees it.
    profile = [(0, 15), (16, 15), (16, 0), (24, 0), (24, 15), (40, 15), (40, 20), (0, 20)]
    assert undercut_area(extruded(profile, [(16, 0, 8, 15), (0, 15, 40, 5)]).triangles) == 0
