"""The graph of all stages. To add a stage: write a function whose parameters name what it needs, and list it in its module's STAGES."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from ..core.stage_graph import Graph
from ..job.body import Body
from ..job.request import Request
from . import (
    answer_stages,
    budget,
    check_stages,
    cutter_stages,
    findings,
    mesh_findings,
    pass_stages,
    rim_stages,
    side_stages,
    tab_findings,
    tab_stages,
)
from .questions import WHAT_IFS, setting_names, settings_of

_ANY_BODY = Body("any", np.zeros((1, 3, 3)), np.zeros(1, bool))

STAGES: tuple[Callable[..., Any], ...] = (
    *side_stages.STAGES,
    *tab_stages.STAGES,
    *cutter_stages.STAGES,
    *pass_stages.STAGES,
    *rim_stages.STAGES,
    *check_stages.STAGES,
    *answer_stages.STAGES,
    *budget.STAGES,
    *findings.STAGES,
    *mesh_findings.STAGES,
    *tab_findings.STAGES,
)
"""From the mesh to what a plan says."""


def graph_of(stages: Iterable[Callable[..., Any]]) -> Graph[Request]:
    """A graph of stages that is asked with requests."""
    return Graph(stages, settings_of, setting_names(_ANY_BODY), WHAT_IFS)


PLAN_GRAPH = graph_of(STAGES)
"""The plan's own. Never changed once it is made."""
