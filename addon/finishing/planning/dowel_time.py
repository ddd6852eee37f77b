"""The dowel holes of a job: the way of the drill on one side, and its minutes."""

from __future__ import annotations

from ..core.path import Path
from ..core.stage_graph import Small
from ..job.clear_height import clear_height
from ..job.dowel_path import dowel_path
from ..job.dowels import DowelSettings, dowel_places, in_job
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from ..job.stock import Stock, stock_top
from ..motion.run_time import run_time


def dowel_path_on(side: str, dowels: DowelSettings, stock: Stock, machine: Machine, keep_out: tuple[KeepOut, ...]) -> Path:
    """The way of the drill through all dowel holes on a side; between holes it keeps above stock and boxes."""
    holes = in_job(dowel_places(dowels, stock), stock, side)
    clear = clear_height(stock, side, machine.safe_height, keep_out)
    return dowel_path(holes, dowels, stock_top(stock, side), stock.spoilboard(side), clear, machine.air_feed)


def minutes_of_drilling(minutes: float, tool_change_minutes: float) -> float:
    """What dowel holes of some minutes take from a time budget: the change from the drill to the cutter counts too; 0 where there are none."""
    return minutes + tool_change_minutes if minutes > 0 else 0.0


def dowel_minutes(side: str, dowels_settings: DowelSettings, placed_stock: Stock, machine: Machine, keep_out: tuple[KeepOut, ...]) -> Small[float]:
    """Minutes of the dowel holes on a side, with one start of the spindle; 0 where there are none: they are drilled on the first side."""
    path = dowel_path_on(side, dowels_settings, placed_stock, machine, keep_out)
    if len(path) == 0 or side != placed_stock.settings.first_side:
        return 0.0
    return run_time(path, machine).minutes + machine.spin_up_seconds / 60
