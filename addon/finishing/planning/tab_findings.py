"""What is to be said of the tabs: whether they hold, where they stand badly, and what of the planned surface lies in them."""

from __future__ import annotations

from collections.abc import Iterator

from ..core.finding import Finding
from ..core.message import Message
from ..core.place import Place
from ..job.tabs import Tab
from ..options.tab_places import MOST_APART, MOST_BOW
from ..tooling.tab_strength import SAFETY
from .tab_stages import Held

LEAST_GROUND = 1.0
"""mm2; less planned surface in the tabs is gone with their stubs."""


def tab_findings(held: Held | None) -> tuple[Finding, ...]:
    """All that is to be said of a plan's tabs."""
    if held is None:
        return ()
    if not held.tabs:
        sentence = Message("There is no room for a single tab: the stock ends or something stands in the way all round the body.")
        return (
            Finding("no-tabs", sentence, Message("Use a wider Stock Margin or a narrower Channel Width, or move clamps and dowels."), must_see=True),
        )
    return tuple([*_strength(held), *_ground(held), *_places(held)])


def place_of_tab(tab: Tab) -> Place:
    """Where a finding about a tab points, job mm."""
    return (*tab.place, tab.high)


def _place(held: Held, numbers: tuple[int, ...]) -> Place:
    """Where a finding about several tabs points: at the first of them."""
    return place_of_tab(held.tabs[numbers[0] - 1])


def _strength(held: Held) -> Iterator[Finding]:
    """Whether they hold."""
    worst, tab = held.borne[held.weakest], held.tabs[held.weakest]
    asked = {"force": held.force, "weight": held.layout.hung.weight, "times": worst.times}
    if worst.holds:
        sentence = Message(
            "{count} tabs hold the body: they would bear {times:.1f} times the {force:.0f} N of the cutter, down and sideways, and the {weight:.0f} N "
            "that the body weighs.",
            count=len(held.tabs),
            **asked,
        )
        yield Finding("tabs", sentence)
        return
    sentence = Message(
        "Tab {number} may break: it would bear only {times:.1f} times the {force:.0f} N of the cutter, down and sideways, and the {weight:.0f} N that "
        "the body weighs; it should bear {safety:g} times as much.",
        number=tab.number,
        safety=SAFETY,
        **asked,
    )
    remedy = Message("Raise Tab Height, which counts most, Tab Width or Number of Tabs, or take a narrower Channel Width.")
    if held.layout.grain is None:
        remedy = Message(
            "Set Grain Angle: as long as it is not known, every tab is taken as lying across the grain. Else raise Tab Height or Number of Tabs."
        )
    yield Finding("tab-weak", sentence, remedy, place_of_tab(tab), must_see=True)


def _ground(held: Held) -> Iterator[Finding]:
    """Planned surface that lies in the tabs."""
    found = tuple(one for one in held.ground if one.area > 0)
    area = sum(one.area for one in found)
    if area <= LEAST_GROUND:
        return
    numbers = tuple(one.number for one in found)
    sentence = Message(
        "Planned surface lies in tabs ({numbers}): {area:.0f} mm² of it, under {volume:.0f} mm³ of wood, are left to hand work.",
        numbers=numbers,
        area=area,
        volume=sum(one.volume for one in found),
    )
    remedy = Message("Lower Tab Height, set Tab Level to where the rim is upright, or move these tabs.")
    yield Finding("tab-ground", sentence, remedy, _place(held, numbers), must_see=True)


def _places(held: Held) -> Iterator[Finding]:
    """Where they stand badly."""
    layout = held.layout
    if layout.wanted is not None and len(held.tabs) < layout.wanted:
        sentence = Message("There is room for {count} tabs, not for {wanted}.", count=len(held.tabs), wanted=layout.wanted)
        yield Finding("fewer-tabs", sentence, Message("Use a wider Stock Margin or narrower tabs, or move clamps and dowels."), must_see=True)
    if layout.barred:
        sentence = Message("A clamp, a dowel or the stock's edge is in the way of tabs ({numbers}).", numbers=layout.barred)
        yield Finding("tab-in-the-way", sentence, Message("Move the tab or what is in its way."), _place(held, layout.barred), must_see=True)
    if layout.thin:
        sentence = Message("The rim is thinner than the tabs are high, or lies at another height ({numbers}).", numbers=layout.thin)
        remedy = Message("Lower Tab Height, set Tab Level, or move the tabs to where the rim is thicker.")
        yield Finding("tab-off-rim", sentence, remedy, _place(held, layout.thin), must_see=True)
    if layout.curved:
        sentence = Message(
            "The outline is curved where tabs stand ({numbers}): sawing them off straight takes or leaves more than {bow:g} mm.",
            numbers=layout.curved,
            bow=MOST_BOW,
        )
        yield Finding(
            "tab-on-curve", sentence, Message("Use narrower or fewer tabs, or move them to a straighter stretch."), _place(held, layout.curved)
        )
    if layout.narrow:
        sentence = Message("The stock behind tabs ({numbers}) is narrower than they are high: it may break before they do.", numbers=layout.narrow)
        remedy = Message("Use a wider Stock Margin, or a narrower Channel Width.")
        yield Finding("tab-frame", sentence, remedy, _place(held, layout.narrow), must_see=True)
    if layout.skipped:
        sentence = Message(
            "Skipped surface lies beside tabs ({numbers}): what is left of them there must be cleaned up by hand.", numbers=layout.skipped
        )
        yield Finding("tab-at-skip", sentence, Message("Move them, or finish the surface beside them."), _place(held, layout.skipped))
    if layout.end_grain:
        sentence = Message(
            "Tabs ({numbers}) stand at end grain: it tears when they are sawn off, and takes longest to clean.", numbers=layout.end_grain
        )
        yield Finding(
            "tab-at-end-grain", sentence, Message("Saw from the body's face inwards, and leave a little to file."), _place(held, layout.end_grain)
        )
    if len(held.tabs) > 1 and layout.gap > MOST_APART / len(held.tabs):
        sentence = Message("Two neighbouring tabs are {share:.0%} of the outline apart: the body may rock between them.", share=layout.gap)
        yield Finding("tabs-apart", sentence, Message("Put a tab between them, or spread the tabs evenly."))


STAGES = (tab_findings,)
"""The one stage."""
