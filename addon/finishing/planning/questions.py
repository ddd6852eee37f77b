"""What the graph of stages is asked: a request, its single settings by name, and the what-ifs that change one of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace

from ..core.stage_graph import WhatIf
from ..job.body import Body
from ..job.cutter import Cutter
from ..job.request import Request
from ..job.wood import hurried_feed
from ..options.budget_ladder import FINE_ENOUGH
from ..options.trade_off import GREATEST_SHARE

TABLE_CELL = 0.5
"""Cell in mm of the grid that cutters are compared and judged on, to save time, unless the plan's own cells are coarser; where it says that
a ball does not fit, `fit_steps` measures off the grid. The plan's verdict on its cutter is that of the table."""


def settings_of(request: Request) -> Mapping[str, object]:
    """The single settings of a request.

    A field has its own name; a record is there as a whole too, and its fields behind its name, as in `machine_safe_height`. A record of
    settings is named as such as a whole: `region_settings`, but `region_wall_limit`. The body has its two corners besides.
    """
    found: dict[str, object] = {}
    for item in fields(request):
        value = getattr(request, item.name)
        whole = f"{item.name}_settings" if type(value).__name__.endswith("Settings") else item.name
        found[whole] = value
        if is_dataclass(value):
            found |= {f"{item.name}_{inner.name}": getattr(value, inner.name) for inner in fields(value)}
    return found | {"body_low": request.body.low, "body_high": request.body.high}


def setting_names(body: Body) -> tuple[str, ...]:
    """The names of all settings that a request for this body can have."""
    return tuple(settings_of(Request(body, cutter=Cutter("any", 1.0))))


def unskipped(request: Request) -> Request:
    """As if no face were marked to be skipped, and no keep-out box and no tab stood there."""
    bare = unboxed(request)
    return replace(bare, body=bare.body.without_skip()) if bare.body.skip.any() else bare


def unboxed(request: Request) -> Request:
    """As if no keep-out box and no tab stood there."""
    bare = replace(request, keep_out=()) if request.keep_out else request
    return replace(bare, tabs=replace(bare.tabs, count=0)) if bare.tabs.wanted else bare


def as_laid(request: Request) -> Request:
    """What pass lines are laid for: a start from the border inward follows the skip borders; straight ones are laid as if nothing were skipped,
    and clipped, so that painting skip keeps the lines that are there.
    """
    return request if request.lines_from == "border" else unskipped(request)


def for_larger(request: Request) -> Request | None:
    """The larger cutter's own view, where a smaller one is for what that leaves."""
    return None if request.remaining is None else replace(request, cutter=request.remaining.larger, remaining=None)


def on_table(request: Request) -> Request:
    """On the cells of the fit table."""
    return request if request.cell >= TABLE_CELL else replace(request, cell=TABLE_CELL)


def each_cutter(request: Request) -> tuple[Request, ...]:
    """Every cutter of the rack on the cells of the fit table, the smallest first; none where no table is wanted."""
    if not request.rack_table:
        return ()
    table = on_table(request)
    return tuple(
        replace(table, cutter=cutter, cusp=min(request.cusp_with(cutter.radius), GREATEST_SHARE * cutter.radius), remaining=None)
        for cutter in sorted(request.rack, key=lambda cutter: cutter.diameter)
    )


def for_order(request: Request) -> Request | None:
    """As an order for minutes alone: any set of the rack, at the cusp height that ladders are made at; None without a budget or a rack."""
    if request.budget_minutes is None or not request.rack_table or not request.rack:
        return None
    return replace(request, cutter=None, following_cutters=(), cusp=FINE_ENOUGH, spacing=None, feed=None, remaining=None)


def hurried(request: Request) -> Request:
    """With every cutter of the rack at its fastest feed."""
    rack = tuple(replace(cutter, feed=hurried_feed(cutter, request.bite.wood, request.machine)) for cutter in request.rack)
    return replace(request, rack=rack, feed=None)


WHAT_IFS: tuple[WhatIf[Request], ...] = (
    WhatIf("unskipped_", unskipped),
    WhatIf("unboxed_", unboxed),
    WhatIf("laid_", as_laid, reads=("lines_from",)),
    WhatIf("larger_", for_larger, reads=("remaining",)),
    WhatIf("table_", on_table, reads=("cell",)),
    WhatIf("order_", for_order, reads=("budget_minutes", "rack_table", "rack", "cutter", "following_cutters", "cusp", "spacing", "feed", "remaining")),
    WhatIf("hurried_", hurried, reads=("rack", "bite", "machine", "feed")),
    WhatIf("each_cutter_", each_cutter, reads=("rack", "rack_table", "cell", "cusp", "spacing")),
)
"""The prefixes that parameters of stages may carry."""
