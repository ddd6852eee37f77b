"""The tabs of a plan in plan.json, in the summary, and on the bench sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from ..core.message import Message, in_a_row, word
from ..planning.result import Plan
from ..planning.tab_stages import Held
from ..tooling.tab_strength import SAFETY
from .page import Cell, Page


def tabs_record(held: Held | None) -> dict[str, Any] | None:
    """The tabs in job mm, what they bear, and what of the planned surface lies in them; None where there are none."""
    if held is None:
        return None
    tabs = [
        asdict(tab) | {"bears": asdict(borne), "planned_surface": asdict(ground)}
        for tab, borne, ground in zip(held.tabs, held.borne, held.ground, strict=True)
    ]
    kept = ("wanted", "curved", "thin", "skipped", "narrow", "barred", "end_grain", "gap", "grain")
    layout = {name: getattr(held.layout, name) for name in kept}
    return {"tabs": tabs, "cutter_force": held.force, "weight": held.layout.hung.weight, "safety": SAFETY, "layout": layout}


def tab_lines(plan: Plan) -> list[str]:
    """What the command line prints of the tabs, a line each."""
    if plan.held is None:
        return []
    return [
        f"Tab {tab.number}: x {tab.place[0]:.1f}, y {tab.place[1]:.1f}, z {tab.low:.1f} to {tab.high:.1f}, {tab.width:g} x {tab.height:g} mm, "
        f"{tab.length:g} mm long; bears {borne.times:.1f} times its load"
        for tab, borne in zip(plan.held.tabs, plan.held.borne, strict=True)
    ]


def tab_table(page: Page, plans: Sequence[Plan]) -> list[str]:
    """The tabs of every side with what they bear, under a heading; nothing where there are none."""
    rows: list[tuple[Cell, ...]] = []
    for plan in plans:
        if plan.held is None or plan.request.remaining is not None:
            continue
        for tab, borne, ground in zip(plan.held.tabs, plan.held.borne, plan.held.ground, strict=True):
            hand: Cell = ""
            if ground.area > 0:
                hand = Message("{area:.0f} mm², {volume:.0f} mm³", area=ground.area, volume=ground.volume)
            rows.append(
                (
                    word(plan.request.side),
                    str(tab.number),
                    *(_tenths(value) for value in (*tab.place, tab.low, tab.high)),
                    Message("{width:g} x {height:g} x {length:g}", width=tab.width, height=tab.height, length=tab.length),
                    Message("{share:.0%}", share=borne.share),
                    _tenths(borne.times),
                    hand,
                )
            )
    if not rows:
        return []
    held = next(plan.held for plan in plans if plan.held is not None)
    place = (Message("X mm"), Message("Y mm"), Message("From Z mm"), Message("To Z mm"))
    load = (Message("Share of a push"), Message("Bears, times"))
    header = (Message("Side"), Message("Tab"), *place, Message("Width, height, length mm"), *load, Message("Hand work in it"))
    words = Message(
        "Share of a push: the most of the cutter's push down that the tab takes, wherever on the body that is. Bears: by how many times more than the "
        "cutter's {force:.0f} N, down and sideways, and the {weight:.0f} N of the body; it should be {safety:g}.",
        force=held.force,
        weight=held.layout.hung.weight,
        safety=SAFETY,
    )
    last = Message("Both sides done, saw the tabs through beside the body and work their stubs down by hand.")
    return [page.heading(Message("Tabs")), page.table(header, rows, numbers=(1, 2, 3, 4, 5, 7, 8)), page.paragraph(in_a_row(words, last))]


def _tenths(value: float) -> Message:
    return Message("{value:.1f}", value=value)
