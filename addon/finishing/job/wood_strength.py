"""What kinds of wood and board bear, along the grain and across it, how stiff they are, and what they weigh.

Solid wood: Wood Handbook (USDA Forest Products Laboratory, FPL-GTR-190, 2010), chapter 5, table 5-3a, means of clear wood at 12 % moisture. A kind
stands for many woods: it has the strength of a weak one that bodies are made of, and the weight of a heavy one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..core.errors import BadRequest

HANKINSON_POWER = 1.5
"""Power n of sine and cosine in Hankinson's formula. The Wood Handbook (table 5-11, from memory) gives 1.5 to 2 for bending and tension: the least
is on the safe side."""

STIFFNESS_POWER = 2.0
"""The same power for moduli (Wood Handbook, table 5-11, from memory)."""

ROLLING_SHARE = 0.18
"""Strength of shear that rolls the fibres over each other over that of shear along them: 18 to 28 % (Wood Handbook, chapter 5, from memory)."""

MOIST = 1.12
"""Weight of wood at 12 % moisture over its dry weight, which the table's specific gravities are of."""


@dataclass(frozen=True)
class WoodStrength:
    """Means of one kind. along: bending strength with the fibres along the beam; across: with the fibres across it, which is the tension strength
    perpendicular to the grain; shear: along the grain; rolling: across it, all N/mm2. density: kg/m3. elastic_along, elastic_across: moduli of
    elasticity; rigid_along, rigid_across: moduli of rigidity, where shear runs along the fibres and where it rolls them over each other, N/mm2.
    """

    name: str
    along: float
    across: float
    shear: float
    rolling: float
    density: float
    elastic_along: float
    elastic_across: float
    rigid_along: float
    rigid_across: float


STRENGTHS: tuple[WoodStrength, ...] = (
    WoodStrength(
        "hardwood", along=60.0, across=2.4, shear=6.8, rolling=ROLLING_SHARE * 6.8, density=1000 * 0.63 * MOIST,
        elastic_along=11100.0, elastic_across=0.046 * 11100, rigid_along=0.051 * 11100, rigid_across=0.021 * 11100,
    ),
    WoodStrength(
        "softwood", along=51.7, across=1.5, shear=6.8, rolling=ROLLING_SHARE * 6.8, density=1000 * 0.48 * MOIST,
        elastic_along=8500.0, elastic_across=0.068 * 8500, rigid_along=0.086 * 8500, rigid_across=0.005 * 8500,
    ),
    WoodStrength(
        "plywood", along=20.0, across=15.0, shear=3.5, rolling=0.6, density=700.0,
        elastic_along=6500.0, elastic_across=4500.0, rigid_along=600.0, rigid_across=150.0,
    ),
    WoodStrength(
        "MDF", along=18.0, across=18.0, shear=3.0, rolling=1.0, density=800.0,
        elastic_along=2700.0, elastic_across=2700.0, rigid_along=150.0, rigid_across=150.0,
    ),
)  # fmt: skip
"""Hardwood: strength and stiffness of American basswood, weight of sugar maple. Softwood: strength and stiffness of western redcedar, weight of
Douglas-fir. Stiffness: the modulus of bending and a tenth more for its shear, times the means over both ways across the grain of the elastic ratios
(Wood Handbook, tables 5-3a and 5-1, from memory; the table has no ratio of rolling rigidity for basswood: sweetgum's). Boards: from memory, no
source; layers of plywood lie both ways."""


def strength_named(name: str) -> WoodStrength:
    """The strength of a kind of wood. Raises BadRequest when there is none of that name."""
    for strength in STRENGTHS:
        if strength.name == name:
            return strength
    raise BadRequest("The wood must be one of {choices}, not '{given}'.", choices=tuple(one.name for one in STRENGTHS), given=name)


def at_angle(along: float, across: float, degrees: float, power: float = HANKINSON_POWER) -> float:
    """Strength or stiffness at an angle to the grain by Hankinson's formula, N/mm2: P Q / (P sin^n + Q cos^n), P along the grain, Q across it."""
    sine, cosine = abs(math.sin(math.radians(degrees))), abs(math.cos(math.radians(degrees)))
    return along * across / (along * sine**power + across * cosine**power)
