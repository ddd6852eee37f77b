"""Draws stock, zero, dowels, tabs, keep-out boxes and grain as they are set now, and the handles on them while their tool is active."""

from __future__ import annotations

import bpy
import gpu
import numpy as np
from mathutils import Matrix

from ..finishing.core.array_types import Double
from ..scene.blender_data import present
from ..scene.job_setup import JobSetup, job_setup, setup_key
from ..scene.results import BodyResults
from ..scene.setup_handles import ARROW, Handle, handles_of
from ..scene.view_settings import FinishingView
from ..screen.language import in_users_language
from .batches import Batch, Ink, coloured_lines, draw_lines, draw_plain, own_matrix
from .depth import ui_scale
from .free_space import free_space
from .layers import BodyLayers
from .lettering_on_screen import fill_box, width_of, write
from .places_that_matter import pixels_of
from .setup_data import dowel_lines, grain_lines, keep_out_lines, stock_lines, tab_lines, zero_mark
from .setup_places import HANDLES

THIN, MARKED = 1.0, 2.0
"""Widths in pixels: of the stock, of what is marked on it."""

ARROW_LENGTH, HEAD, RING = 34.0, 7.0, 7.0
"""Pixels: an arrow from its face, its head, the ring of a handle."""

END_ON = 0.15
"""An arrow whose millimetre is seen shorter than this share of another axis's can not be followed by the mouse."""

PALE: Ink = (1.0, 1.0, 1.0, 0.95)
DARK: Ink = (0.08, 0.08, 0.08, 0.9)
"""Handles are pale with a dark edge, and the other way round while the mouse is on them: both show on any ground and in any theme."""

SIZE, EDGE, ASIDE = 12.0, 6.0, 18.0
"""Pixels: letters and margin of what a handle says, and its distance from the handle."""


def setup_of(layers: BodyLayers, results: BodyResults, body_object: bpy.types.Object) -> JobSetup | None:
    """The setup of a body, made anew when a setting or the place of the object changes."""
    return layers.get("setup", setup_key(results, body_object), lambda: job_setup(results, body_object))


def draw_setup(layers: BodyLayers, setup: JobSetup, view: FinishingView, size: tuple[float, float]) -> None:
    """Draw what is set of the job into the view whose matrices are loaded. size: of the viewport in pixels."""
    key = (setup.stock, setup.side, setup.dowels.tobytes(), setup.dowel_radius, setup.boxes, setup.tabs, setup.grain)

    def made() -> list[tuple[bool, Batch | None, float]]:
        return [
            (True, coloured_lines(stock_lines(setup)), THIN),
            (True, coloured_lines(dowel_lines(setup)), MARKED),
            (True, coloured_lines(keep_out_lines(setup)), MARKED),
            (True, coloured_lines(tab_lines(setup)), MARKED),
            (True, coloured_lines(grain_lines(setup)), MARKED),
            (False, coloured_lines(zero_mark(setup)), MARKED),
        ]

    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.blend_set("ALPHA")
    with own_matrix():
        gpu.matrix.multiply_matrix(Matrix(setup.world_from_job.tolist()))
        for of_stock, batch, width in layers.get("setup lines", key, made):
            if batch is not None and (view.show_stock if of_stock else view.show_zero):
                draw_lines(batch, width * ui_scale(), size)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")


def draw_handles(context: bpy.types.Context, setup: JobSetup) -> None:
    """Draw the handles in pixels, and note where they are for the gizmo."""
    region, scale = present(context.region), ui_scale()
    places: list[tuple[str, float, float]] = []
    said: tuple[Handle, Double] | None = None
    for handle in handles_of(setup):
        grip = _drawn_handle(context, setup, handle, scale)
        if grip is None:
            continue
        places.append((handle.name, float(grip[0]), float(grip[1])))
        if HANDLES.hot == handle.name:
            said = (handle, grip)
    HANDLES.drawn[region.as_pointer()] = places
    if said is not None:
        handle, grip = said
        values = HANDLES.values if HANDLES.values is not None else handle.values
        _draw_words(context, in_users_language(handle.sentence(values)), grip, scale)


def _drawn_handle(context: bpy.types.Context, setup: JobSetup, handle: Handle, scale: float) -> Double | None:
    """Draw one handle; returns where it is taken hold of, (2,) pixels; None behind the eye, and for an arrow that is seen end-on."""
    hot = HANDLES.hot == handle.name
    shown = pixels_of(context, handle.place + np.vstack([np.zeros(3), np.eye(3)]), setup.world_from_job)
    if not np.isfinite(shown).all():
        return None
    grip: Double = shown[0]
    if handle.kind != ARROW or handle.way is None:
        draw_grip(grip, scale, hot=hot)
        return grip
    axes = shown[1:] - shown[0]
    way, most = handle.way @ axes, float(np.linalg.norm(axes, axis=1).max())
    length = float(np.linalg.norm(way))
    if length < END_ON * most:
        return None
    grip = shown[0] + ARROW_LENGTH * scale * way / length
    _draw_arrow(shown[0], grip, way / length, scale, hot=hot)
    return grip


def _draw_arrow(start: Double, tip: Double, way: Double, scale: float, *, hot: bool) -> None:
    """An arrow from its face to its head."""
    side = np.array([-way[1], way[0]])
    edge, inner = (PALE, DARK) if hot else (DARK, PALE)
    for wider, own in ((3.0, edge), (0.0, inner)):
        draw_plain("LINE_STRIP", np.array([start, tip]), own, (2.0 + wider) * scale)
        head = (HEAD + wider / 2) * scale
        draw_plain("TRIS", np.array([tip + 1.4 * head * way, tip + head * side - 0.6 * head * way, tip - head * side - 0.6 * head * way]), own)


def draw_grip(middle: Double, scale: float, *, hot: bool) -> None:
    """A ring with a point in its middle."""
    angle = np.linspace(0, 2 * np.pi, 25)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    edge, inner = (PALE, DARK) if hot else (DARK, PALE)
    fan = np.stack([np.zeros_like(circle[:-1]), circle[:-1], circle[1:]], axis=1).reshape(-1, 2)
    for radius, own in ((RING + 1.5, edge), (RING, inner), (RING - 4.0, edge)):
        draw_plain("TRIS", middle + radius * scale * fan, own)


def _draw_words(context: bpy.types.Context, words: str, grip: Double, scale: float) -> None:
    """What a handle says, beside it, on the side where there is room."""
    width, edge = width_of(words, SIZE * scale), EDGE * scale
    left, bottom = grip[0] + ASIDE * scale, grip[1] + 8 * scale
    if left + width + edge > free_space(context).right:
        left = grip[0] - ASIDE * scale - width
    fill_box(left - edge, bottom - edge, left + width + edge, bottom + (SIZE - 2) * scale + edge)
    write(words, left, bottom, SIZE * scale)
