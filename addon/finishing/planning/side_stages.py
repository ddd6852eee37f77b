"""The first stages of any work on a side: the body turned into job axes, and its heights, openings and skip marks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..core.stages import StageRunner, digest
from ..job.body import Body
from ..job.request import Request
from ..job.stock import Stock, job_from_body, resolve_stock
from ..surface.height_map import top_marks
from ..surface.side import Side, make_side


@dataclass(frozen=True)
class SideKeys:
    """Digests of the body as it is, of the turned body, of the side on its cells, and of the skip marks ("" for none)."""

    body: str
    turned: str
    side: str
    skip: str


def body_digest(body: Body) -> str:
    """What a plan tells its body by: the triangles and the skip marks."""
    return digest(digest(body.triangles), _skip_key(body))


def _skip_key(body: Body) -> str:
    return digest(body.skip) if body.skip.any() else ""


def body_in_job(request: Request, runner: StageRunner) -> tuple[Stock, NDArray[np.float64], Body, SideKeys]:
    """Stock, turn and shift (4, 4), the body in job axes, and the digests of what follows from them."""
    stock = resolve_stock(request.stock, request.body)
    matrix = job_from_body(stock, request.side)
    own, skip = digest(request.body.triangles), _skip_key(request.body)
    turned = digest(own, matrix)
    body = runner.get("body", digest(turned, skip), lambda: request.body.moved(matrix))
    return stock, matrix, body, SideKeys(own, turned, digest(turned, request.cell), skip)


def side_in_job(request: Request, body: Body, keys: SideKeys, runner: StageRunner) -> Side:
    """The side with its skip marks."""
    nothing = np.zeros(len(body.skip), bool)
    side: Side = runner.get("heights", keys.side, lambda: make_side(replace(body, skip=nothing), request.cell))
    if not keys.skip:
        return side
    skipped = runner.get("skip marks", digest(keys.side, keys.skip), lambda: top_marks(body.triangles, body.skip, side.grid, side.heights))
    return replace(side, skipped=skipped)
