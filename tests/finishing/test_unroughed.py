"""Hollows that the flat cutter of roughing does not come into are told, with how much wood may stand in them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapes import block

from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.ground_settings import RegionSettings
from addon.finishing.job.request import Request
from addon.finishing.job.roughing import RoughingSettings
from addon.finishing.planning.plan import make_plan
from addon.finishing.planning.result import Plan
from addon.finishing.tooling.clearance import Contact, clearance_findings

BALL = Cutter("Round-nose 6", 6.0, shank_diameter=6.0, stick_out=60.0)
DEPTH = 7.0


def pocketed(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A level top with a level pocket of 24 x 17 mm."""
    return np.where((np.abs(x - 30) < 12) & (np.abs(y - 20) < 8.5), 15.0 - DEPTH, 15.0 + 0 * x)


def planned(flat: float, **changes: object) -> Plan:
    body = make_body("pocket", block(pocketed, 60.0, 40.0, 0.5))
    region = RegionSettings(openings="follow", flats="follow")
    rough = RoughingSettings(cutter_diameter=flat, channel_width=22.0)
    asked = Request(body, cutter=BALL, rack_table=False, cell=0.5, cusp=0.15, lines_from="edge", line_angle=0.0, region=region, roughing=rough)
    return make_plan(replace(asked, **changes))


def told(plan: Plan) -> list[str]:
    return [str(finding.sentence) for finding in plan.findings if finding.key == "unroughed" and finding.must_see]


def test_a_pocket_narrower_than_the_flat_cutter_is_full_of_wood() -> None:
    # By construction: a disc of 22 mm nowhere lies within the pocket, so that all of it stands to the top, where the stock ends.
    (words,) = told(planned(22.0))
    assert "The flat cutter of 22 mm that roughs" in words and f"up to {DEPTH:.1f} mm of wood" in words and "radius of the 6 mm cutter" in words
    area = float(words.split(" on ")[1].split(" mm²")[0])
    # The floor that the ball finishes ends about at its radius from the walls.
    assert (24 - 6) * (17 - 6) <= area <= 24 * 17


@pytest.mark.parametrize("changes", [{"flat": 10.0}, {"flat": 22.0, "region": RegionSettings(openings="skip", flats="follow")}])
def test_nothing_is_told_where_the_flat_cutter_comes_in_or_the_pocket_is_left_out(changes: dict[str, object]) -> None:
    assert told(planned(**changes)) == []  # type: ignore[arg-type]


def test_stock_that_was_given_is_not_said_to_have_a_channel() -> None:
    contact = Contact("cutter", "stock", 3.0, (0.0, 0.0, 0.0))
    (given,), (roughed,) = (clearance_findings((contact,), BALL, channel) for channel in (None, 22.0))
    assert "channel of 22 mm" in str(roughed.sentence) and "channel" not in str(given.sentence) and "the given stock" in str(given.sentence)
    assert given.hits and given.key == roughed.key
