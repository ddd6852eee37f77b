"""Stages of the tabs: where they go, what they keep the cutter off, what they bear, and what of the planned surface lies in them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..ball.cutter_view import CutterView
from ..core.array_types import FloatArray, Mask
from ..core.stage_graph import Small
from ..job.cutter import Cutter
from ..job.dowels import DowelSettings, dowel_places
from ..job.keep_out import KeepOut, TurnedBox, boxes_on
from ..job.roughing import RoughingSettings
from ..job.stock import SIDES, Stock, grain_on, job_from_body
from ..job.tabs import Tab, TabSettings, tabs_in_stock
from ..job.wood_strength import strength_named
from ..options.tab_layout import TabLayout, TabRoom, laid_out
from ..options.tab_places import InTheWay
from ..surface.ground import Ground
from ..tooling.tab_ground import TabGround
from ..tooling.tab_ground import tab_ground as ground_in
from ..tooling.tab_strength import Borne, finishing_force


@dataclass(frozen=True)
class Held:
    """What the tabs of a plan bear. tabs: in job mm of its side. borne: by each. force: N of the cutter, at its feed. ground: planned surface in each.
    layout: where they were put.
    """

    tabs: tuple[Tab, ...]
    borne: tuple[Borne, ...]
    force: float
    ground: tuple[TabGround, ...]
    layout: TabLayout

    @property
    def weakest(self) -> int:
        """Place in the list of the tab that bears the fewest times more."""
        return min(range(len(self.borne)), key=lambda k: self.borne[k].times)


def rack_force(rack: tuple[Cutter, ...], cutter: Cutter | None, bite_wood: str, roughing_settings: RoughingSettings) -> Small[float]:
    """The greatest force in N of any cutter at hand at its own feed, so that the same tabs hold whichever is chosen, on both sides."""
    at_hand = rack if rack or cutter is None else (cutter,)
    depth = layer_depth(roughing_settings)
    return max((finishing_force(one, bite_wood, one.feed, depth) for one in at_hand), default=0.0)


def layer_depth(roughing: RoughingSettings) -> float:
    """The deepest layer in mm that roughing leaves where it comes to: its allowance, or a terrace."""
    return max(roughing.allowance, roughing.terrace_height or 0.0)


def tab_room(
    placed_stock: Stock,
    keep_out: tuple[KeepOut, ...],
    dowels_settings: DowelSettings,
    roughing_settings: RoughingSettings,
    grain_angle: float | None,
    stock_first_side: str,
) -> Small[TabRoom]:
    """What the job leaves for tabs. The grain was measured on the side that is cut first: turned over, its angle has the other sign."""
    boxes = []
    for side in SIDES:
        back = np.linalg.inv(job_from_body(placed_stock, side))
        for box in boxes_on(keep_out, placed_stock, side):
            corners = np.array([box.low[:2], box.high[:2]]) @ back[:2, :2].T + back[:2, 3]
            boxes.append([corners.min(axis=0), corners.max(axis=0)])
    places = dowel_places(dowels_settings, placed_stock)
    around = InTheWay(
        stock_low=np.array(placed_stock.low[:2]),
        stock_high=np.array(placed_stock.high[:2]),
        boxes=np.array(boxes, np.float64).reshape(-1, 2, 2),
        holes=np.column_stack([places, np.full(len(places), dowels_settings.diameter / 2)]),
    )
    grain = grain_on("top", stock_first_side, grain_angle)
    return TabRoom(around=around, low=placed_stock.low[2], high=placed_stock.high[2], length=roughing_settings.channel, grain=grain)


def tab_layout(
    body_triangles: FloatArray,
    body_skip: Mask,
    laid: FloatArray,
    tabs_settings: TabSettings,
    tab_room: TabRoom,
    rack_force: float,
    bite_wood: str,
) -> Small[TabLayout | None]:
    """The tabs of both sides; None where there are to be none."""
    if not tabs_settings.wanted:
        return None
    return laid_out(body_triangles @ laid[:3, :3].T, body_skip, tabs_settings, tab_room, rack_force, strength_named(bite_wood))


def tabs_here(tab_layout: TabLayout | None, placed_stock: Stock, side: str) -> Small[tuple[Tab, ...]]:
    """The tabs in job mm of the side."""
    return () if tab_layout is None else tabs_in_stock(tab_layout.tabs, placed_stock, side)


def tab_boxes(tabs_here: tuple[Tab, ...], tab_layout: TabLayout | None, side: str) -> Small[tuple[TurnedBox, ...]]:
    """What the cutter must stay out of: each tab, with what of it stands over the body's edge."""
    if tab_layout is None:
        return ()
    inward = tab_layout.inward[SIDES.index(side)]
    return tuple(tab.box(f"Tab {tab.number}", reach, side) for tab, reach in zip(tabs_here, inward, strict=True))


def own_force(cutter: Cutter, bite_wood: str, asked_feed: float, roughing_settings: RoughingSettings) -> Small[float]:
    """The force in N of the cutter at the feed that is asked for."""
    return finishing_force(cutter, bite_wood, asked_feed, layer_depth(roughing_settings))


def tab_ground(tabs_here: tuple[Tab, ...], ground: Ground, tip_surface: CutterView) -> tuple[TabGround, ...]:
    """Planned surface that lies in the tabs."""
    return tuple(ground_in(tab, tip_surface.grid, ground.heights, ground.planned) for tab in tabs_here)


def held(tab_layout: TabLayout | None, tabs_here: tuple[Tab, ...], tab_ground: tuple[TabGround, ...], own_force: float, bite_wood: str) -> Held | None:
    """What the tabs bear at this plan's cutter and feed; None where there are to be none."""
    if tab_layout is None:
        return None
    borne = tab_layout.borne(own_force, strength_named(bite_wood))
    return Held(tabs=tabs_here, borne=borne, force=own_force, ground=tab_ground, layout=tab_layout)


STAGES = (rack_force, tab_room, tab_layout, tabs_here, tab_boxes, own_force, tab_ground, held)
"""From the settings to what a plan says of its tabs."""
