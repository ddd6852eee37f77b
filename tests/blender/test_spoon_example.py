"""The salad spoon: two cutters of one diameter on the rack, a tapered one in the groove, both sides in order, and tabs that hold."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from addon.command_options import asked_request, command_parser
from addon.finishing.core.errors import BadRequest
from addon.finishing.core.path import CUT
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.files.plan_record import read_record_file
from addon.finishing.job.request import Request
from addon.finishing.planning.both_sides import BothSides, both_sides_steps
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.tooling.tab_strength import SAFETY
from addon.scene.file_reading import read_file

EXAMPLES = Path(__file__).parents[2] / "blend_examples"


def asked(*options: str) -> Request:
    """The request of a command with the example's own settings, on coarse cells."""
    words = ["plan", "salad_spoon.blend", "--cell", "0.5", "--start", "edge", *options]
    request = asked_request(read_file(EXAMPLES / "salad_spoon.blend"), command_parser("finishing").parse_args(words), SETTINGS)
    return replace(request, rack_table=False, line_angle=0.0)


SETTINGS = read_record_file(EXAMPLES / "salad_spoon.json")


@pytest.fixture(scope="module")
def both() -> BothSides:
    return finished(both_sides_steps(asked(), ResultStore()))


def test_the_spoon_is_closed_and_small() -> None:
    body = read_file(EXAMPLES / "salad_spoon.blend")
    mesh = trimesh.Trimesh(body.triangles.reshape(-1, 3), np.arange(3 * len(body.triangles)).reshape(-1, 3))
    mesh.merge_vertices(digits_vertex=3)
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 1e5
    assert (EXAMPLES / "salad_spoon.blend").stat().st_size < 2**20 and body.size == pytest.approx([236, 66, 18.9], abs=0.2)


def test_its_settings_call_cutters_by_name_since_two_have_3_mm() -> None:
    request = asked()
    assert request.cutter is not None and [request.cutter.name, *(c.name for c in request.following_cutters)] == ["Round-nose 10", "Tapered 3"]
    with pytest.raises(BadRequest, match="Several cutters of the rack are 3 mm"):
        asked("--cutters", "10,3")
    assert asked("--cutters", "10,tapered 3").following_cutters == request.following_cutters


def test_both_sides_run_in_their_order_and_only_the_top_needs_the_tapered_cutter(both: BothSides) -> None:
    runs = [(plan.request.side, plan.cutter.name) for plan in both.in_running_order]
    assert runs == [("back", "Round-nose 10"), ("top", "Round-nose 10"), ("top", "Tapered 3")]
    # Most of what the tapered cutter cuts lies in the groove, which is 2 mm in radius and where its ball of 3 mm goes down to the bottom.
    last = both.in_running_order[-1]
    points = last.path.points[last.path.kind == CUT] @ np.linalg.inv(last.job_from_body)[:3, :3].T + np.linalg.inv(last.job_from_body)[:3, 3]
    along_handle = (points[:, 0] > 112) & (points[:, 0] < 222) & (np.abs(points[:, 1]) < 5)
    assert along_handle.mean() > 0.8 and last.proof.worst_gouge <= 0.002 and last.fit.fits


def test_its_tabs_hold_both_sides_where_they_are_kept_clear(both: BothSides) -> None:
    for plan in both.in_running_order:
        assert plan.held is not None and all(borne.times >= SAFETY for borne in plan.held.borne)
        assert not any(finding.hits for finding in plan.findings)
        assert not {"tab-off-rim", "tab-at-end-grain", "tab-in-the-way"} & {finding.key for finding in plan.findings}


def test_the_taper_bends_less_than_the_straight_cutter_of_its_ball(both: BothSides) -> None:
    straight = finished(side_plans(asked("--cutters", "10,Round-nose 3", "--side", "top"), ResultStore()))[-1]
    tapered = both.in_running_order[-1]
    assert straight.cutter.name == "Round-nose 3" and tapered.bite.bend.max() < 0.6 * straight.bite.bend.max()
