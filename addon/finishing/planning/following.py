"""What a smaller cutter of a side is asked for: the ground that a larger one leaves."""

from __future__ import annotations

from dataclasses import replace

from ..job.cutter import Cutter
from ..job.request import Remaining, Request
from ..options.cutter_sets import FOLLOWING_CUSP


def following_request(request: Request, larger: Cutter, cutter: Cutter, feed: float | None = None) -> Request:
    """The request for what a larger cutter leaves. request: the larger one's. feed: mm/min, None for the cutter's own.

    Its lines follow the border of that ground whatever the first cutter's start: creases and ledges are long and narrow, and lines from side to
    side across them would be hundreds of short ones with a turn or a hop after each.
    """
    return replace(
        request,
        cutter=cutter,
        following_cutters=(),
        cutter_in_spindle=None,
        cusp=min(request.cusp, FOLLOWING_CUSP * cutter.radius),
        spacing=None,
        remaining=Remaining(larger, request.overlap_with_larger),
        lines_from="border",
        rack_table=False,
        budget_minutes=None,
        meet_budget=False,
        feed=feed,
        tried_sets=(),
        rim_pass="off",  # what is left for it has no rim but that of its overlap
    )
