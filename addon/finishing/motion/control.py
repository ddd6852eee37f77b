"""The kinds of control: what each makes of the blocks of a program, and how quick or slow one may be that is not known well."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..core.array_types import FloatArray
from ..job.machine import CORNER_SPEED, EXACT_STOP, OVERLAP, Machine
from .corners import corner_limits, single_corner_limits
from .moves import Moves
from .overlap import CAUTIOUS, overlap_pieces
from .speed_profile import Pieces, SpeedProfile, speed_profile

FEW_BLOCKS = 16
"""Blocks that small controls look ahead: 16 to 32, as the manuals of hobby controls have it; common practice, no source."""

ACCELERATION_SPREAD = 1.25
"""How far the accelerations in a record may be off, as a factor both ways, until a timing test: common practice, no source."""


def driven(moves: Moves, machine: Machine) -> SpeedProfile:
    """How the machine's control drives the blocks of a program."""
    return speed_profile(_pieces(moves, machine), machine.blocks_ahead)


def _pieces(moves: Moves, machine: Machine) -> Pieces:
    if machine.corners == OVERLAP:
        return overlap_pieces(moves, machine)
    limits = corner_limits(moves, machine) if machine.corners == CORNER_SPEED else np.zeros(len(moves.length) + 1)
    return _whole_blocks(moves, limits)


def _whole_blocks(moves: Moves, limits: FloatArray) -> Pieces:
    """Blocks that begin where the one before ends."""
    return Pieces(block=np.arange(len(moves.length)), length=moves.length, speed=moves.speed, acceleration=moves.acceleration, limits=limits)


def driven_by_the_quickest(moves: Moves, machine: Machine) -> SpeedProfile:
    """As `driven`, by the quickest control that the record may stand for: it looks ahead over all blocks, and has quick axes.

    Corners are passed at a corner speed, which uses the whole acceleration and knows no bends, unless the record says that every block ends
    at rest.
    """
    quick = _with_accelerations(moves, machine, ACCELERATION_SPREAD)
    if machine.corners == EXACT_STOP:
        return driven(*quick)
    return speed_profile(_whole_blocks(quick[0], single_corner_limits(*quick)), None)


def driven_by_the_slowest(moves: Moves, machine: Machine) -> SpeedProfile:
    """As `driven`, by the slowest control that the record may stand for: it looks ahead over few blocks, and has slow axes.

    Corners are rounded by overlap with half of all accelerations, unless the record says that every block ends at rest.
    """
    slow_moves, slow_machine = _with_accelerations(moves, machine, 1 / ACCELERATION_SPREAD)
    if machine.corners == EXACT_STOP:
        return driven(slow_moves, slow_machine)
    return speed_profile(overlap_pieces(slow_moves, slow_machine, CAUTIOUS), min(machine.blocks_ahead, FEW_BLOCKS))


def _with_accelerations(moves: Moves, machine: Machine, factor: float) -> tuple[Moves, Machine]:
    """Moves and machine with all accelerations times a factor."""
    faster = replace(
        machine,
        acceleration_x=factor * machine.acceleration_x,
        acceleration_y=factor * machine.acceleration_y,
        acceleration_z=factor * machine.acceleration_z,
    )
    return replace(moves, acceleration=factor * moves.acceleration), faster
