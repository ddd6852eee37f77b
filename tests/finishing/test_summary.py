"""The summary that the command line prints, read again as numbers."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from small_jobs import two_sides, with_smaller_cutter

from addon.finishing.ball.fit import LargestRadius
from addon.finishing.core.finding import Finding
from addon.finishing.core.message import Message
from addon.finishing.core.path import CUT, LIFT
from addon.finishing.files.summary import summary
from addon.finishing.job.cautions import CAUTIONS


def numbers(line: str) -> list[float]:
    """All numbers of a line, in order; those of names and units too."""
    return [float(text) for text in re.findall(r"-?\d+(?:\.\d+)?", line)]


def line_with(text: str, words: str) -> str:
    found = [line for line in text.split("\n") if words in line]
    assert len(found) == 1, words
    return found[0]


def test_size_and_ground() -> None:
    plan = with_smaller_cutter()[0]
    text = summary(plan)
    # By construction: 60 x 40 mm, the highest grid point of the arch 15 mm up.
    assert text.split("\n")[0] == f"Dented, top side: 60.0 x 40.0 x 15.0 mm, {len(plan.request.body.triangles)} triangles"
    assert numbers(line_with(text, "Planned surface"))[0] == pytest.approx(plan.ground.planned_area / 100, abs=0.5)


def test_the_rack_table_has_a_row_for_every_cutter() -> None:
    plan = with_smaller_cutter()[0]
    lines = summary(plan).split("\n")
    head = next(k for k, line in enumerate(lines) if line.split()[:2] == ["cutter", "mm"])
    for row, line in zip(plan.rack, lines[head + 1 :], strict=False):
        cells = line.split()
        assert cells[:2] == [f"{row.cutter.diameter:g}", "yes" if row.fits else "no"]
        assert float(cells[3]) == pytest.approx(row.uncut_area, abs=0.051) and float(cells[6]) == pytest.approx(row.minutes, abs=0.051)
    assert lines[head + 1 + len(plan.rack)].startswith("Largest cutter that fits")
    assert "cutter mm" not in summary(two_sides()[0])  # planned without a rack table


def test_the_largest_radius_may_be_a_bound_or_have_a_place() -> None:
    plan = two_sides()[0]
    assert "Largest cutter" not in summary(replace(plan, largest=None))
    bound = summary(replace(plan, largest=LargestRadius(radius=40.0, place=None, is_bound=True)))
    assert "Largest cutter that fits: at least 80.0 mm (R 40.00)\n" in bound
    found = summary(replace(plan, largest=LargestRadius(radius=7.254, place=(1.0, 2.0, 3.0), is_bound=False)))
    assert "Largest cutter that fits: 14.5 mm (R 7.25) (stopped at x 1.0, y 2.0)\n" in found


def test_passes_time_and_proof() -> None:
    plan = two_sides()[0]
    text = summary(plan)
    lines, cut, ratio, least, lifts = numbers(line_with(text, "pass lines,"))
    assert (lines, lifts) == (plan.path.line_count, np.count_nonzero(plan.path.kind == LIFT))
    assert cut == pytest.approx(plan.path.length_of(CUT) / 1000, abs=0.005) and least == pytest.approx(plan.least_length / 1000, abs=0.005)
    assert ratio == pytest.approx(cut / least, abs=0.01)
    assert numbers(line_with(text, "Run time"))[:3] == pytest.approx((plan.run_time.minutes, *plan.run_time.range_minutes), abs=0.05)
    percentiles = dict(plan.proof.cusp_percentiles)
    assert numbers(line_with(text, "Simulated cusp"))[0] == pytest.approx(percentiles[50.0], abs=5e-5)
    assert numbers(line_with(text, "Simulated cusp"))[-1] == pytest.approx(percentiles[100.0], abs=5e-5)
    assert numbers(line_with(text, "Simulated gouge"))[0] == pytest.approx(plan.proof.worst_gouge, abs=5e-5)
    assert numbers(line_with(text, "Bite in"))[0] == pytest.approx(plan.bite.engagement.depth.max(), abs=0.05)
    assert text.split("\n")[-1] == CAUTIONS[-1]


def test_without_a_bite_nothing_is_said_of_it() -> None:
    plan = two_sides()[0]
    nothing = {name: getattr(plan.bite, name)[:0] for name in ("chip", "bend", "allowed")}
    assert "Bite in" not in summary(replace(plan, bite=replace(plan.bite, **nothing)))


def test_budget_and_findings_stand_at_the_end() -> None:
    plan = with_smaller_cutter()[0]
    assert plan.budget is not None and str(plan.budget.words) in summary(plan).split("\n")
    finding = Finding("key", Message("This is so."), Message("Do that."))
    text = summary(replace(plan, findings=(finding, replace(finding, remedy=None))))
    assert text.endswith(f"\n\n- This is so. Do that.\n- This is so.\n\n{CAUTIONS[-1]}")
    assert "\n- " not in summary(replace(plan, findings=()))
