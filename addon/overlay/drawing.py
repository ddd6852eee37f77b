"""Drawing over the 3D views: the bodies' layers in space, legend and readout in pixels.

One function draws in space and one in pixels; both only look up what is kept and draw it. Whatever goes wrong turns the
overlay off, once, instead of printing at every redraw.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Sequence

import bpy
import gpu
from mathutils import Matrix

from ..scene.background import WORK
from ..scene.blender_data import present
from ..scene.mesh_reading import millimetres_per_unit
from ..scene.redrawing import redraw_no_more, redraw_views_soon
from ..scene.results import STORE, BodyResults, object_of
from ..scene.setup_tool import setup_tool_is_on
from ..scene.skip_brush import skip_tool_is_on
from ..scene.view_settings import FinishingView, view_of
from .banner import draw_banner
from .batches import Batch, draw_lines, draw_triangles, own_matrix, own_projection
from .depth import LIFT_OFF, depth_shift, shifted, ui_scale
from .divider import draw_divider
from .layers import CUT_COLOUR, STANDING_COLOUR, BodyLayers
from .legend_drawing import draw_legends
from .mark_drawing import MarkBatches, draw_marks, draw_over_edges
from .pin_drawing import draw_pins
from .places_that_matter import places_that_matter
from .readout import draw_readout
from .setup_drawing import draw_handles, draw_setup, setup_of
from .setup_places import DIVIDER, HANDLES, PINS
from .trade_off_drawing import PRESSED, draw_trade_off
from .view_boxes import BOXES

PAINT_MODES = {"PAINT_WEIGHT", "SCULPT", "PAINT_VERTEX", "PAINT_TEXTURE"}
PAINTING_SHARE = 0.45
"""Share of the map's opacity that is left while the user paints, so that the paint shows."""

THIN, MARKED, HATCHED = 1.0, 2.0, 1.2
"""Widths in pixels: of stock and lifts, of pins and the zero mark, of hatching."""


class Overlay:
    """The draw handlers and what they draw from."""

    def __init__(self) -> None:
        self._handles: list[object] = []
        self._layers: dict[int, tuple[BodyResults, BodyLayers]] = {}
        self._marks = MarkBatches()
        self.trouble = ""

    def start(self) -> None:
        """Begin to draw over all 3D views."""
        if not self._handles:
            add = bpy.types.SpaceView3D.draw_handler_add
            self._handles = [add(_in_space, (), "WINDOW", "POST_VIEW"), add(_in_pixels, (), "WINDOW", "POST_PIXEL")]

    def stop(self) -> None:
        """Draw no more, and let go of all batches."""
        while self._handles:
            bpy.types.SpaceView3D.draw_handler_remove(self._handles.pop(), "WINDOW")
        redraw_no_more()
        self.forget()
        forget_clicks()

    def forget(self) -> None:
        """Let go of the batches of bodies that have no results any more."""
        known = {results.uid for results in STORE}
        for uid in [uid for uid in self._layers if uid not in known]:
            del self._layers[uid]
        self._marks.forget()
        self.trouble = ""

    def hatch_of(self, context: bpy.types.Context, body_object: bpy.types.Object) -> Batch | None:
        """The hatching on what is marked of an object."""
        return self._marks.of(body_object, millimetres_per_unit(present(context.scene)))

    def layers_of(self, results: BodyResults) -> BodyLayers:
        """The layers of these results: results that were forgotten and worked out anew begin to count their changes anew."""
        kept = self._layers.get(results.uid)
        if kept is None or kept[0] is not results:
            self._layers[results.uid] = kept = (results, BodyLayers())
        return kept[1]

    def hatch_over_edges(self, context: bpy.types.Context, body_object: bpy.types.Object) -> None:
        """Draw the hatching on what is marked of an object in Edit Mode."""
        draw_over_edges(context, self._marks, body_object, millimetres_per_unit(present(context.scene)))

    def guarded(self, draw: Callable[[], None]) -> None:
        """Call a drawing function; on the first error say so and draw no more until results change."""
        if self.trouble:
            return
        try:
            draw()
        except Exception as error:
            self.trouble = f"{type(error).__name__}: {error}"
            forget_clicks()
            traceback.print_exc()


OVERLAY = Overlay()
"""The overlay of the session: Blender calls the two functions below without anything of ours."""


def forget_clicks(region: int | None = None) -> None:
    """Legend and chart of a region, without one of all regions, take no clicks until they are drawn again."""
    for noted in (BOXES, PRESSED, HANDLES, PINS, DIVIDER):
        noted.forget(region)


def _in_space() -> None:
    OVERLAY.guarded(lambda: draw_in_space(bpy.context))


def _in_pixels() -> None:
    OVERLAY.guarded(lambda: draw_in_pixels(bpy.context))


def marked_objects(context: bpy.types.Context, bodies: Sequence[tuple[BodyResults, bpy.types.Object]]) -> list[bpy.types.Object]:
    """Objects whose marks are drawn: the bodies that are drawn, and the active object, planned or not."""
    objects = [body_object for _, body_object in bodies]
    active = context.object
    if active is not None and active.type == "MESH" and active not in objects and is_seen(context, active):
        objects.append(active)
    return objects


def is_seen(context: bpy.types.Context, body_object: bpy.types.Object) -> bool:
    """Whether an object is in this view's scene and not hidden, and the overlay is on."""
    space = context.space_data if isinstance(context.space_data, bpy.types.SpaceView3D) else None
    if not view_of(context).show or (space is not None and not present(space.overlay).show_overlays):
        return False
    view_layer = present(context.view_layer)
    return body_object.name in view_layer.objects and body_object.visible_get(view_layer=view_layer, viewport=space)


def shown_bodies(context: bpy.types.Context) -> list[tuple[BodyResults, bpy.types.Object]]:
    """Results to draw in a 3D view, with their objects: none that is gone, hidden, or not in this view's scene.

    While stock and zero are moved the active object is among them, measured or not.
    """
    moved = context.object if setup_tool_is_on(context) and context.object is not None and context.object.type == "MESH" else None
    if moved is not None:
        STORE.of(moved)
    found = (
        (results, object_of(results)) for results in STORE if results.newest is not None or (moved is not None and results.uid == moved.session_uid)
    )
    return [(results, body_object) for results, body_object in found if body_object is not None and is_seen(context, body_object)]


def draw_in_space(context: bpy.types.Context) -> None:
    """Draw the layers of all bodies; the matrices of the view are loaded."""
    size = gpu.state.viewport_get()[2:]
    distance = context.region_data.view_distance if context.region_data is not None else 1.0
    bodies = shown_bodies(context)
    painting = context.mode in PAINT_MODES or skip_tool_is_on(context)
    for results, body_object in bodies:
        place = results.world_from_job(body_object)
        layers = OVERLAY.layers_of(results)
        layers.begin()
        shows = results.newest is not None or (setup_tool_is_on(context) and body_object == context.object)
        setup = setup_of(layers, results, body_object) if shows else None
        if setup is not None:
            draw_setup(layers, setup, view_of(context), size)
        if place is not None:
            draw_body(layers, results, view_of(context), Matrix(place.tolist()), size, distance, painting=painting)
        if layers.waiting:
            redraw_views_soon()
    if view_of(context).show_skip or skip_tool_is_on(context):
        for body_object in marked_objects(context, bodies):
            if body_object.mode == "EDIT":  # Blender would draw its edges over it
                continue
            hatch = OVERLAY.hatch_of(context, body_object)
            if hatch is not None:
                draw_marks(hatch, body_object, millimetres_per_unit(present(context.scene)), size, distance)


def draw_body(
    layers: BodyLayers,
    results: BodyResults,
    view: FinishingView,
    place: Matrix,
    size: tuple[float, float],
    distance: float,
    painting: bool = False,
) -> None:
    """Draw one body's layers into the view whose matrices are loaded.

    place: job mm to world. size: of the viewport in pixels. distance: of the eye from what it looks at, in Blender units.
    """
    opacity = view.opacity * (PAINTING_SHARE if painting else 1.0)
    gpu.state.depth_test_set("LESS_EQUAL")
    gpu.state.blend_set("ALPHA")
    with own_matrix(), own_projection():
        projection = gpu.matrix.get_projection_matrix()
        nearer = depth_shift(projection, distance, LIFT_OFF / results.source.scale)
        gpu.matrix.multiply_matrix(place)
        played = view.show_cutter and results.plan is not None
        gpu.matrix.load_projection_matrix(shifted(projection, nearer))
        gpu.state.depth_mask_set(True)
        ground = layers.cut_ground(results) if played else None
        surface = layers.surface(results, view, opacity) if view.surface_map != "none" and not played else None
        if ground is not None:
            ground.draw(view.playhead, CUT_COLOUR, STANDING_COLOUR, opacity)
        elif surface is not None:
            draw_triangles(surface)
        gpu.state.depth_mask_set(False)
        gpu.matrix.load_projection_matrix(shifted(projection, 2 * nearer))
        _draw_all_lines(layers, results, view, size, played=played, painting=painting)
        if played:
            _draw_ghost(layers, results, view.playhead)
    gpu.state.depth_mask_set(False)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")


def _draw_all_lines(layers: BodyLayers, results: BodyResults, view: FinishingView, size: tuple[float, float], *, played: bool, painting: bool) -> None:
    """Draw the pass lines, or those cut by now while the run is played, with links, lifts, hatching and marks."""
    moves = view.show_lines and not played
    scale = ui_scale()
    for shown, batch, width in (
        (view.show_skip, layers.left_out, HATCHED),
        (view.surface_map != "none" and not played, lambda r: layers.hatched(r, view), HATCHED),
        (view.show_lines and played, lambda r: layers.lines_reached(r, view, view.playhead), view.line_width),
        (moves, lambda r: layers.pass_lines(r, view, painting), view.line_width),
        (moves, layers.coming_lines, view.line_width),
        (moves and view.show_links, layers.links, view.line_width),
        (moves and view.show_lifts, layers.lifts, THIN),
        (view.show_findings, layers.findings, MARKED),
    ):
        lines = batch(results) if shown else None
        if lines is not None:
            draw_lines(lines, width * scale, size)


def _draw_ghost(layers: BodyLayers, results: BodyResults, seconds: float) -> None:
    """Draw the cutter where it stands at a moment of the run."""
    ghost = layers.ghost(results)
    if ghost is None or results.plan is None:
        return
    with own_matrix():
        gpu.matrix.translate(layers.tip(results.plan, seconds).tolist())
        # Drawn one over the other, near and far side would show as streaks, now this one above and now that.
        gpu.state.face_culling_set("BACK")
        draw_triangles(ghost)
        gpu.state.face_culling_set("NONE")


def _mark_over_edges(context: bpy.types.Context, bodies: Sequence[tuple[BodyResults, bpy.types.Object]]) -> None:
    """Hatch what is marked of the objects in Edit Mode."""
    if view_of(context).show_skip or skip_tool_is_on(context):
        for edited in marked_objects(context, bodies):
            if edited.mode == "EDIT":
                OVERLAY.hatch_over_edges(context, edited)


def draw_in_pixels(context: bpy.types.Context) -> None:
    """Draw legend, chart and readout of the active body, or of the first one that is shown."""
    forget_clicks(present(context.region).as_pointer())
    bodies = shown_bodies(context)
    if context.mode == "EDIT_MESH":
        _mark_over_edges(context, bodies)
    if not bodies:
        return
    view = view_of(context)
    results, body_object = next(((r, o) for r, o in bodies if o == context.object), bodies[0])
    layers = OVERLAY.layers_of(results)
    points = places_that_matter(context, results, body_object)
    state = results.state(present(context.scene), body_object)
    below = draw_banner(context, "planning" if WORK.running and results.reading is not None and results.plans else state)
    if view.show_findings and body_object == context.object and not skip_tool_is_on(context):
        draw_pins(context, results, body_object)
    if body_object == context.object:
        draw_divider(context, results, layers, body_object)
    if view.show_legend:
        draw_legends(context, results, layers, points, below)
    if view.show_trade_off:
        draw_trade_off(context, results, layers, body_object, points, below)
    setup = setup_of(layers, results, body_object) if setup_tool_is_on(context) and body_object == context.object else None
    if setup is not None:
        draw_handles(context, setup)
    elif view.show_readout and not skip_tool_is_on(context) and DIVIDER.hot is None:
        draw_readout(context, results, layers, body_object, points, below)
