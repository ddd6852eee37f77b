"""Stages of one side before any cutter is chosen: the body turned into job axes, its heights, openings and maps."""

from __future__ import annotations

from collections.abc import Generator

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray, Mask
from ..core.digests import digest
from ..core.stage_graph import Small
from ..job.body import Body
from ..job.keep_out import KeepOut, TurnedBox, boxes_on
from ..job.orientation import laid_corners, laid_matrix
from ..job.stock import Stock, StockSettings, job_from_body, resolve_stock, stock_top
from ..job.thinned import Thinned
from ..reading.roughness import roughness_of
from ..surface.curvature_maps import SurfaceMaps, surface_maps_steps
from ..surface.height_map import top_marks
from ..surface.mesh_smoothing import SmoothedMesh, smoothed_mesh
from ..surface.side import Side, make_side
from ..surface.smooth_form import SmoothForm, least_facet, smooth_form
from ..surface.undercut import undercut_area


def laid(up: str, body_low: NDArray[np.float64], body_high: NDArray[np.float64]) -> Small[FloatArray]:
    """The 4x4 turn that lays the body with its face up."""
    return laid_matrix(up, body_high - body_low)


def placed_stock(
    stock_settings: StockSettings, laid: NDArray[np.float64], body_low: NDArray[np.float64], body_high: NDArray[np.float64]
) -> Small[Stock]:
    """The stock box round the body, in the axes of the body as it lies."""
    return resolve_stock(stock_settings, *laid_corners(laid, body_low, body_high))


def turned(placed_stock: Stock, laid: NDArray[np.float64], side: str) -> Small[FloatArray]:
    """The 4x4 turn and shift from body mm to job mm."""
    return job_from_body(placed_stock, side) @ laid


def top_of_stock(placed_stock: Stock, side: str) -> Small[float]:
    """Height of the stock's top in job mm."""
    return stock_top(placed_stock, side)


def boxes_here(keep_out: tuple[KeepOut, ...], placed_stock: Stock, side: str, tab_boxes: tuple[TurnedBox, ...]) -> Small[tuple[KeepOut, ...]]:
    """The keep-out boxes that are there on the side, and its tabs, in its own job mm."""
    return (*boxes_on(keep_out, placed_stock, side), *tab_boxes)


def stock_face(top_of_stock: float, stock_body: Body | None) -> Small[float | None]:
    """Height in job mm of the stock's own face, which ground may lie in; None where the stock is a body of its own and need not be even."""
    return top_of_stock if stock_body is None else None


def body_digest(body_triangles: FloatArray, body_skip: Mask) -> str:
    """What a plan recognises its body by: the triangles and the skip marks."""
    return digest(digest(body_triangles), digest(body_skip) if body_skip.any() else "")


def roughness(body_triangles: FloatArray, body_thinned: Thinned | None) -> Small[float]:
    """By how much the points of the mesh scatter, mm. Those of a thinned scan are means of patches: how much of the scatter is left in them is
    known from how many points they had, and their net is too uneven to tell.
    """
    return max(roughness_of(body_triangles), 0.0 if body_thinned is None else body_thinned.scatter_left)


def smoothed(body_triangles: FloatArray, roughness: float, smooth: float | None) -> SmoothedMesh:
    """The body's mesh with its scatter taken out, where that is asked for."""
    return smoothed_mesh(body_triangles, roughness, smooth)


def job_triangles(smoothed: SmoothedMesh, turned: FloatArray) -> FloatArray:
    """The body's triangles (n, 3, 3) in job mm."""
    return smoothed.triangles @ turned[:3, :3].T + turned[:3, 3]


def job_body(body_name: str, job_triangles: NDArray[np.float64], body_skip: Mask) -> Body:
    """The body with its skip marks in job axes."""
    return Body(body_name, job_triangles, body_skip)


def hidden_area(smoothed: SmoothedMesh, laid: FloatArray) -> float:
    """Undercut ground that neither side can reach, mm2."""
    return undercut_area(smoothed.triangles @ laid[:3, :3].T)


def heights(job_triangles: FloatArray, cell: float) -> Side:
    """The side's heights and openings on its grid."""
    return make_side(job_triangles, cell)


def form_width(ball_radius: float) -> Small[float]:
    """Width of facets that stand for a form under the cutter's ball, mm."""
    return least_facet(ball_radius)


def form(job_triangles: FloatArray, heights: Side, form_width: float) -> SmoothForm:
    """The smooth form that coarse facets stand for."""
    return smooth_form(job_triangles, heights.heights, heights.grid, form_width)


def skipped_cells(job_triangles: FloatArray, body_skip: Mask, heights: Side) -> Mask:
    """Cells that show a face marked to be skipped."""
    return top_marks(job_triangles, body_skip, heights.grid, heights.heights) if body_skip.any() else np.zeros(heights.grid.shape, bool)


def maps(heights: Side) -> Generator[float, None, SurfaceMaps]:
    """Slope and curvature of the side."""
    return (yield from surface_maps_steps(heights.heights, heights.grid))


def hollows(maps: SurfaceMaps) -> FloatArray:
    """Radius of the tightest hollow at every place, mm, infinite on crowns."""
    return maps.hollow_radius()


STAGES = (
    laid,
    roughness,
    smoothed,
    placed_stock,
    turned,
    top_of_stock,
    boxes_here,
    stock_face,
    body_digest,
    job_triangles,
    job_body,
    hidden_area,
    heights,
    form_width,
    form,
    skipped_cells,
    maps,
    hollows,
)
