"""What is refused before anything large is made."""

from __future__ import annotations

from ..core.errors import BadRequest, TooLarge
from ..core.grid import Grid
from ..job.dowels import check_dowels
from ..job.keep_out import check_boxes
from ..job.orientation import laid_corners, laid_matrix
from ..job.plausible_size import check_size
from ..job.request import Request
from ..job.stock import check_holds, resolve_stock
from ..job.tabs import check_tabs
from ..surface.height_map import estimated_memory_mib, memory_of_triangles_mib, most_triangles_within
from ..surface.side import side_grid


def check_request(request: Request) -> None:
    """Refuse what cannot be planned before anything large is made. Raises BadRequest, BadBody and TooLarge."""
    if request.cutter is None and not request.rack:
        raise BadRequest("The rack is empty: add a cutter, or name one.")
    _check_set(request)
    smallest = request.cutter if request.cutter is not None else min(request.rack, key=lambda c: c.diameter)
    body, laid = request.body, laid_matrix(request.up, request.body.size)
    check_size(body, request.up, request.machine, smallest.diameter)
    low, high = laid_corners(laid, body.low, body.high)
    stock = resolve_stock(request.stock, low, high)
    check_holds(stock, low, high)
    check_boxes(request.keep_out, stock, request.side, request.machine.safe_height)
    check_tabs(request.tabs, stock)
    if request.remaining is None and request.dowels.count:
        check_dowels(request.dowels, stock, body.moved(laid))
    _check_memory(request)


def _check_memory(request: Request) -> None:
    """Refuse what would take more memory than the limit."""
    triangles, limit, grid = len(request.body.triangles), request.memory_limit_mib, _grid(request)
    alone = memory_of_triangles_mib(triangles)
    if alone > limit and (most := most_triangles_within(grid, limit)) > 0:
        raise TooLarge(
            "A mesh of {triangles} triangles takes about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: export it again with {most} "
            "triangles at most, or raise memory_limit_mib in a settings file.",
            triangles=triangles,
            needed=alone,
            limit=limit,
            most=most,
        )
    if alone > limit:
        raise TooLarge(
            "A mesh of {triangles} triangles takes about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB, whatever the cell: raise "
            "memory_limit_mib in a settings file.",
            triangles=triangles,
            needed=alone,
            limit=limit,
        )
    needed = expected_memory_mib(request)
    if needed > limit:
        raise TooLarge(
            "A cell of {cell:g} mm would take about {needed:.0f} MiB, more than the limit of {limit:.0f} MiB: use a coarser cell.",
            cell=request.cell,
            needed=needed,
            limit=limit,
        )


def expected_memory_mib(request: Request) -> float:
    """Memory in MiB that the plan of one cutter is expected to take at its peak."""
    return estimated_memory_mib(_grid(request), len(request.body.triangles))


def _grid(request: Request) -> Grid:
    low, high = laid_corners(laid_matrix(request.up, request.body.size), request.body.low, request.body.high)
    return side_grid(low, high, request.cell)


def _check_set(request: Request) -> None:
    """Refuse a set of cutters that cannot take turns."""
    if not request.following_cutters:
        return
    if request.cutter is None:
        raise BadRequest("Smaller cutters are named, but not the one that they follow: name it too.")
    diameters = [cutter.diameter for cutter in (request.cutter, *request.following_cutters)]
    if any(after >= before for before, after in zip(diameters[:-1], diameters[1:], strict=True)):
        raise BadRequest("The cutters of a set must be of different diameters, the largest first: name them so.")
