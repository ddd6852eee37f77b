"""Stages that gather what a plan has to tell its user."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..ball.fit import Fit, LargestRadius
from ..core.finding import Finding
from ..core.grid import FloatArray, Grid
from ..core.masks import Mask, grown
from ..core.path import Path
from ..job.bite_settings import BiteSettings
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.dowels import DowelSettings, dowel_findings
from ..job.ground_settings import FitSettings
from ..job.keep_out import KeepOut, keep_out_findings
from ..job.machine import Machine
from ..job.roughing import RoughingSettings
from ..job.stock import Stock
from ..job.turning import stock_findings
from ..options.fit_table import RackRow
from ..options.flats import Flat, flat_findings
from ..simulation.proof import Proof
from ..surface.ground import Ground
from ..surface.side import Side
from ..tooling.bite import Bite, bite_findings
from ..tooling.clearance import Contact, clearance_findings

SMALL_AREA = 1.0
"""mm2; less undercut than this is not worth a word."""

INSIDE_STEP = 1.0
"""mm between the points that stand for a body's inside."""

OF_A_FIRST_CUTTER = (
    "fit_findings", "budget_findings", "gouge_findings", "free_findings", "load_findings", "stock_and_zero_findings", "dowels_findings",
    "keep_out_box_findings", "left_out_findings", "level_findings",
)  # fmt: skip
"""The stages whose findings a plan tells, in this order."""

OF_A_SMALLER_CUTTER = (
    "fit_findings", "gouge_findings", "free_findings", "load_findings", "stock_and_zero_findings", "dowels_findings", "keep_out_box_findings",
)  # fmt: skip
"""The same for a cutter that takes what a larger one has left, whose plan has told the rest."""


def most_important_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that must be seen before the others."""
    return tuple(sorted(findings, key=lambda finding: not finding.must_see))


def fit_findings(
    fit: Fit, cutter_diameter: float, fit_settings: FitSettings, fit_table: tuple[RackRow, ...], largest: LargestRadius | None
) -> tuple[Finding, ...]:
    """What the cutter leaves, and what would fit."""
    if fit.fits:
        if fit.area <= 0:
            return ()
        return (
            Finding(
                "hollows-left",
                f"The {cutter_diameter:g} mm cutter leaves {fit.area:.0f} mm2 higher than {fit_settings.uncut_height:g} mm, "
                f"{fit.height:.2f} mm at most; you tolerate {fit_settings.uncut_area:g} mm2.",
                "A smaller cutter reaches more of it.",
                fit.place,
            ),
        )
    radius = largest.radius if largest is not None else None
    would_do = f"A radius of {radius:.2f} mm would do." if radius else "No radius that was tried would do."
    nothing = bool(fit_table) and not any(row.fits for row in fit_table)
    which = "No cutter on the rack fits the whole planned ground" if nothing else "The cutter does not fit the whole planned ground"
    return (
        Finding(
            "no-cutter-fits" if nothing else "cutter-too-large",
            f"{which}: the {cutter_diameter:g} mm one leaves {fit.area:.0f} mm2 higher than {fit_settings.uncut_height:g} mm, "
            f"up to {fit.height:.2f} mm.",
            would_do + " Skip the hollow, tolerate more, or take a smaller cutter.",
            fit.place,
            must_see=True,
        ),
    )


def free_findings(contacts: tuple[Contact, ...], cutter: Cutter, roughing_settings: RoughingSettings) -> tuple[Finding, ...]:
    """Where the tool does not run free."""
    return tuple(clearance_findings(contacts, cutter, roughing_settings.slot))


def load_findings(bite: Bite, bite_settings: BiteSettings, cutter_spindle_speed: float, machine: Machine) -> tuple[Finding, ...]:
    """Bite and spindle speed against their limits."""
    found = list(bite_findings(bite, bite_settings))
    if not machine.spindle_least <= cutter_spindle_speed <= machine.spindle_greatest:
        found.append(
            Finding(
                "spindle-speed",
                f"The cutter's spindle speed of {cutter_spindle_speed:.0f} 1/min lies outside the machine's "
                f"{machine.spindle_least:.0f} to {machine.spindle_greatest:.0f}.",
                "Set a speed that the machine has and the cutter's maker allows.",
                must_see=True,
            )
        )
    return tuple(found)


def gouge_findings(proof: Proof, chord_tolerance: float) -> tuple[Finding, ...]:
    """Whether the simulated cut runs below the body."""
    if proof.worst_gouge <= chord_tolerance:
        return ()
    return (
        Finding(
            "gouge",
            f"The simulated cut runs {proof.worst_gouge:.4f} mm below the body, more than {chord_tolerance:g} mm.",
            "Use a finer cell or a smaller chord tolerance.",
            proof.worst_gouge_place,
            must_see=True,
        ),
    )


def stock_and_zero_findings(placed_stock: Stock, side: str, job_body: Body, path: Path) -> tuple[Finding, ...]:
    """What is wrong with stock and zeros."""
    return tuple(stock_findings(placed_stock, side, job_body, path))


def dowels_findings(
    dowels_settings: DowelSettings,
    placed_stock: Stock,
    side: str,
    path: Path,
    heights: Side,
    job_body: Body,
    ball_radius: float,
    keep_out: tuple[KeepOut, ...],
) -> tuple[Finding, ...]:
    """What is wrong with the dowels."""
    outline = points_of_body(heights.heights > -np.inf, heights.grid) if dowels_settings.count else np.zeros((0, 2))
    low = path.points[path.points[:, 2] <= job_body.high[2] + 1e-6, :2]
    return tuple(dowel_findings(dowels_settings, placed_stock, side, low, outline, ball_radius, keep_out))


def keep_out_box_findings(path: Path, ball_radius: float, keep_out: tuple[KeepOut, ...]) -> tuple[Finding, ...]:
    """Boxes that the ball touches on its way."""
    return tuple(keep_out_findings(path, ball_radius, keep_out))


def points_of_body(body: Mask, grid: Grid) -> FloatArray:
    """Points (n, 2) of a body's cells: its whole border, and inside so many that no dowel fits between them, one a mm or a cell."""
    shown = body & grown(~body, grid.cell, grid.cell)
    step = max(1, int(INSIDE_STEP / grid.cell))
    shown[::step, ::step] = body[::step, ::step]
    return grid.middles(*np.nonzero(shown))


def left_out_findings(hidden_area: float, ground: Ground, region_wall_limit: float) -> tuple[Finding, ...]:
    """What no path goes over."""
    found = []
    if hidden_area > SMALL_AREA:
        found.append(
            Finding(
                "undercut",
                f"{hidden_area:.0f} mm2 of the body are undercut: neither side can reach them.",
                "They are left out; finish them by hand.",
            )
        )
    if ground.wall_area > SMALL_AREA:
        found.append(
            Finding(
                "walls",
                f"{ground.wall_area:.0f} mm2 are as steep as {region_wall_limit:g} degrees or steeper and left out.",
                "They are work for a flat cutter.",
            )
        )
    for opening in ground.openings:
        treated = {"skip": "left out", "bridge": "bridged", "follow": "followed"}[opening.treatment]
        depth = "through" if opening.depth is None else f"{opening.depth:.1f} mm deep"
        found.append(
            Finding(
                "opening",
                f"Opening {opening.number}, a {opening.kind} {opening.width:.1f} mm wide and {depth}, is {treated}.",
                place=opening.place,
            )
        )
    return tuple(found)


def level_findings(flats: tuple[Flat, ...]) -> tuple[Finding, ...]:
    """Level ground that is planned."""
    return tuple(flat_findings(flats))


STAGES = (
    fit_findings, free_findings, load_findings, gouge_findings, stock_and_zero_findings, dowels_findings, keep_out_box_findings,
    left_out_findings, level_findings,
)  # fmt: skip
