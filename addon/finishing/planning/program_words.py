"""How heavy the program of a plan is for a control, in words."""

from __future__ import annotations

from ..core.message import Message
from ..motion.block_load import BlockLoad, block_load
from .result import Plan

UNSEEN_SECONDS = 0.5
"""s; what costs less is not worth a word."""


def program_load(plan: Plan) -> BlockLoad:
    """The blocks of a plan's program."""
    return block_load(plan.path, plan.run_time.at, plan.request.program.fusing_tolerance)


def program_words(plan: Plan, program_bytes: int) -> tuple[Message, ...]:
    """Blocks, size and the busiest second of a plan's program, and what eased feeds cost."""
    load = program_load(plan)
    values = {"blocks": load.blocks, "busiest": load.busiest_second, "mean": load.blocks / max(plan.run_time.total_seconds, 1.0)}
    words = [
        Message(
            "Program of {blocks} blocks and {size} bytes, {busiest} blocks in its busiest second, {mean:.0f} on average", size=program_bytes, **values
        )
    ]
    rate = plan.request.machine.blocks_per_second
    if plan.eased.seconds >= UNSEEN_SECONDS:
        words.append(
            Message(
                "Feeds are eased on {length:.2f} m so that no second holds more than the control takes, {rate} blocks: {minutes:.2f} minutes more",
                length=plan.eased.length / 1000,
                rate=rate,
                minutes=plan.eased.seconds / 60,
            )
        )
    if load.busiest_second > rate:
        words.append(
            Message("The control takes {rate} blocks in a second: where it stutters, lower the feed or allow a greater fusing tolerance", rate=rate)
        )
    return tuple(words)
