"""The run list: what is cut in which order, with its file, zero and minutes; work made elsewhere has its rows too."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RunListRow:
    """One piece of work in running order.

    number: from 1. side: "top" or "back". work: what is done, in words. file: name of the file to run, "" for work made elsewhere.
    cutter: its name. diameter, stick_out: mm, None where unknown. xy_zero, z_zero: where zero is, in the words of the stock.
    minutes: run time without tool changes. digest: of the body and settings that the file was made from, "" for work made elsewhere.
    """

    number: int
    side: str
    work: str
    file: str
    cutter: str
    diameter: float | None
    stick_out: float | None
    xy_zero: str
    z_zero: str
    minutes: float
    digest: str
