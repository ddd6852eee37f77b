"""Draws the overlay of a small planned body without a window and prints shares of colours and times as JSON. Needs gpu.init (bpy 5.2).

Argument: a folder for the pictures, "" for none. The project's folder and tests/finishing must be on the path.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import bpy
import gpu
import numpy as np
from mathutils import Matrix
from shapes import block

import addon
from addon.finishing.core.masks import grown
from addon.finishing.core.result_store import ResultStore
from addon.finishing.core.stepping import finished
from addon.finishing.job.body import make_body
from addon.finishing.job.cutter import Cutter
from addon.finishing.job.request import Request
from addon.finishing.pictures.legend import cusp_legend, slope_legend
from addon.finishing.pictures.legend_panel import NOT_REACHED, RIM
from addon.finishing.pictures.ramps import SKIP_HATCH
from addon.finishing.planning.smaller_cutters import side_plans
from addon.finishing.planning.survey import fit_map_steps
from addon.overlay import drawing
from addon.overlay.banner import draw_banner
from addon.overlay.batches import coloured_lines
from addon.overlay.layers import CUT_COLOUR, STANDING_COLOUR, BodyLayers
from addon.overlay.legend_drawing import draw_legends
from addon.overlay.mark_drawing import draw_marks, hatch_of_marks
from addon.overlay.render_data import LineSet, path_lines
from addon.overlay.setup_drawing import draw_setup, setup_of
from addon.overlay.trade_off_drawing import draw_trade_off
from addon.overlay.view_boxes import BOXES
from addon.scene.results import BodyResults

RACK = (Cutter("Round-nose 12", 12.0), Cutter("Round-nose 6", 6.0))
SIZE = 480
SEEN = 130.0
"""mm that the picture is wide; the stock is a square of 120 mm."""


def dome(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A dome of 60 mm radius with a hollow of 3 mm radius beside its top."""
    away = np.hypot(x - 40, y - 30)
    hollow = np.clip(9 - (x - 55) ** 2 - (y - 30) ** 2, 0, None)
    return 20 + np.sqrt(np.maximum(60**2 - away**2, 0)) - 60 - np.sqrt(hollow)


def skipped_body():  # noqa: ANN201
    """The body; a rectangle of its top is marked to be skipped."""
    body = make_body("dome", block(dome, 80, 60, 0.8))
    middle, normal = body.triangles.mean(axis=1), np.cross(*(body.triangles[:, k] - body.triangles[:, 0] for k in (1, 2)))
    skip = (np.abs(middle[:, 0] - 20) < 10) & (np.abs(middle[:, 1] - 15) < 8) & (normal[:, 2] > 0)
    return make_body("dome", body.triangles, skip)


def without(picture: np.ndarray, layers: BodyLayers, results: BodyResults, view: bpy.types.PropertyGroup) -> np.ndarray:
    """The picture's pixels (1, n, 4) that lie on no ground with a hatching of its own, nor beside it."""
    shown = layers.shown_map(results, view)
    mask = np.zeros(shown.grid.shape, bool)
    for _, own in shown.hatched:
        mask |= grown(own, shown.grid.cell, 1.5)
    x = (np.arange(SIZE) + 0.5 - SIZE / 2) / SIZE * SEEN + 65
    y = (SIZE / 2 - np.arange(SIZE) - 0.5) / SIZE * SEEN + 55
    across, along = np.meshgrid(x, y)
    row, column = shown.grid.nearest(np.stack([across.ravel(), along.ravel()], axis=1))
    return picture.reshape(-1, 4)[~mask[row, column]][None]


def hatch_shares(picture: np.ndarray) -> dict[str, list[int]]:
    """Pixels of the lines of each hatching: all, in the hollow, along the outline, and in the middle of the body's far half."""
    told = {}
    for kind in (NOT_REACHED, RIM):
        rows, columns = np.nonzero(near(picture, kind.line, 0.12))
        x, y = (columns + 0.5 - SIZE / 2) / SIZE * SEEN + 65, (SIZE / 2 - rows - 0.5) / SIZE * SEEN + 55
        in_hollow = np.hypot(x - 80, y - 55) < 3 + 2.5
        at_outline = (np.minimum(x - 25, 105 - x) < 2) | (np.minimum(y - 25, 85 - y) < 2)
        in_the_middle = (np.abs(x - 65) < 25) & (y > 62) & (y < 82)
        told[f"hatch {kind.label}"] = [len(x), int(in_hollow.sum()), int(at_outline.sum()), int(in_the_middle.sum())]
    return told


class Screen:
    """A picture without a window, seen from above."""

    def __init__(self) -> None:
        self.target = gpu.types.GPUOffScreen(SIZE, SIZE)
        self.body = bpy.data.objects.new("dome", bpy.data.meshes.new("dome"))
        self.view = Matrix.Translation((-65.0, -55.0, -200.0))
        half = SEEN / 2
        self.projection = Matrix(((1 / half, 0, 0, 0), (0, 1 / half, 0, 0), (0, 0, -1 / 300, -1), (0, 0, 0, 1)))

    def picture(self, layers: BodyLayers, results: BodyResults, view: bpy.types.PropertyGroup, name: str) -> np.ndarray:
        """Draw one body's layers; (rows, columns, 4) from 0 to 1, top row first."""

        def draw() -> None:
            drawing.draw_body(layers, results, view, Matrix.Identity(4), (SIZE, SIZE), 200.0)
            # Everything here is drawn in job mm, as if the scene had them.
            draw_setup(layers, replace(setup_of(layers, results, self.body), world_from_job=np.eye(4)), view, (SIZE, SIZE))
            if view.show_skip:
                draw_marks(hatch_of_body(results), SimpleNamespace(matrix_world=Matrix.Identity(4)), 1.0, (SIZE, SIZE), 200.0)

        return self.drawn(draw, name)

    def in_pixels(self, draw: Callable[[], None], name: str) -> np.ndarray:
        """What a function draws in pixels; (rows, columns, 4) from 0 to 1, top row first."""
        pixels = Matrix(((2 / SIZE, 0, 0, -1), (0, 2 / SIZE, 0, -1), (0, 0, -1, 0), (0, 0, 0, 1)))
        return self.drawn(draw, name, Matrix.Identity(4), pixels)

    def drawn(self, draw: Callable[[], None], name: str, view: Matrix | None = None, projection: Matrix | None = None) -> np.ndarray:
        """What a function draws; (rows, columns, 4) from 0 to 1, top row first."""
        with self.target.bind():
            frame = gpu.state.active_framebuffer_get()
            frame.clear(color=(0, 0, 0, 0), depth=1.0)
            with gpu.matrix.push_pop(), gpu.matrix.push_pop_projection():
                gpu.matrix.load_matrix(self.view if view is None else view)
                gpu.matrix.load_projection_matrix(self.projection if projection is None else projection)
                draw()
            pixels = frame.read_color(0, 0, SIZE, SIZE, 4, 0, "FLOAT")
        pixels.dimensions = SIZE * SIZE * 4
        found = np.array(pixels, np.float32).reshape(SIZE, SIZE, 4)[::-1]
        if sys.argv[1]:
            image = bpy.data.images.new(name, SIZE, SIZE, alpha=True)
            image.pixels.foreach_set(np.ascontiguousarray(found[::-1]).ravel())
            image.filepath_raw, image.file_format = str(Path(sys.argv[1]) / f"{name}.png"), "PNG"
            image.save()
        return found


def hatch_of_body(results: BodyResults) -> gpu.types.GPUBatch:
    """Hatching on the faces of the body that are marked, in job mm."""
    plan = results.plan
    body, matrix = plan.request.body, plan.job_from_body
    triangles = body.triangles[body.skip] @ matrix[:3, :3].T + matrix[:3, 3]
    return coloured_lines(hatch_of_marks(triangles.astype(np.float32), np.eye(4), 1.0))


def near(picture: np.ndarray, colour: tuple[float, float, float], tolerance: float = 0.06) -> np.ndarray:
    """Pixels of about a colour."""
    return (np.abs(picture[..., :3] - np.array(colour)).max(axis=2) < tolerance) & (picture[..., 3] > 0.1)


def hue_fits(picture: np.ndarray, ramp_colours: np.ndarray) -> float:
    """Share of the drawn pixels whose colour is that of the ramp under some shading: parallel to it within a few degrees."""
    drawn = picture[picture[..., 3] > 0.5][:, :3]
    unit = drawn / np.maximum(np.linalg.norm(drawn, axis=1), 1e-6)[:, None]
    ramp = ramp_colours[:, :3] / np.linalg.norm(ramp_colours[:, :3], axis=1)[:, None]
    return float(((unit @ ramp.T).max(axis=1) > 0.997).mean()) if len(unit) else 0.0


def main() -> dict[str, object]:
    """All shares and times."""
    gpu.init()
    addon.register()
    view = bpy.context.window_manager.finishing_view
    cache = ResultStore()
    cutter = RACK[0]
    request = Request(skipped_body(), cutter=cutter, lines_from="edge", line_angle=0.0, cell=0.5, rack=RACK)
    plans = finished(side_plans(request, cache))
    results = BodyResults(1, "dome")
    results.keep_plans(plans, "key")
    results.keep_fit_map(finished(fit_map_steps(request, cutter, cache)))
    view.fit_cutter = cutter.name
    layers, screen = BodyLayers(), Screen()
    shows = ("show_lines", "show_links", "show_lifts", "show_skip", "show_stock", "show_zero", "show_findings")

    def only(*names: str, surface: str = "none") -> np.ndarray:
        for name in shows:
            setattr(view, name, name in names)
        view.surface_map, view.opacity = surface, 1.0
        return screen.picture(layers, results, view, surface if surface != "none" else "-".join(names) or "nothing")

    told: dict[str, object] = {"nothing": float((only()[..., 3] > 0).mean())}
    for surface in ("slope", "curvature", "fit", "uncut", "cusp"):
        told[surface] = float((only(surface=surface)[..., 3] > 0.5).mean())
    told["body share"] = 80 * 60 / SEEN**2
    steps = np.linspace(0, 1, 64)
    slope, cusp = slope_legend(), cusp_legend(request.cusp)
    told["slope on its ramp"] = hue_fits(only(surface="slope"), slope.colours(slope.low + steps * (slope.high - slope.low)))
    hatched = only(surface="cusp")
    told["cusp on its ramp"] = hue_fits(without(hatched, layers, results, view), cusp.colours(cusp.low + steps * (cusp.high - cusp.low)))
    told |= hatch_shares(hatched)
    told["hatched cells"] = {str(hatch.label): int(mask.sum()) for hatch, mask in layers.shown_map(results, view).hatched}
    told["slope on the cusp's ramp"] = hue_fits(only(surface="slope"), cusp.colours(cusp.low + steps * (cusp.high - cusp.low)))
    for names in (("show_lines",), ("show_lines", "show_links"), ("show_skip",), ("show_stock",), ("show_zero",)):
        told[" ".join(names)] = float((only(*names)[..., 3] > 0.05).mean())
    hatch = near(only("show_skip"), SKIP_HATCH, 0.2)
    rows, columns = np.nonzero(hatch)
    # The picture's middle looks at x 65, y 55; the stock's margin of 25 mm lies round the body. The hollow's walls are steep, and left out.
    x, y = (columns + 0.5 - SIZE / 2) / SIZE * SEEN + 65, (SIZE / 2 - rows - 0.5) / SIZE * SEEN + 55
    in_patch = (np.abs(x - 45) < 10 + 2) & (np.abs(y - 40) < 8 + 2)
    in_hollow = np.hypot(x - 80, y - 55) < 3 + 2
    told["hatch"], told["hatch in the patch"] = len(x), float(in_patch.sum() / max(len(x), 1))
    told["hatch elsewhere"] = float((~in_patch & ~in_hollow).sum() / max(len(x), 1))
    view.show_cutter = True
    for share in (0.1, 0.9):
        view.playhead = share * results.plan.run_time.total_seconds
        played = only()
        told[f"played over the body {share:g}"] = float((played[..., 3] > 0.5).mean())
        cut = hue_fits(played, np.array([[*CUT_COLOUR, 1.0]]))
        told[f"played {share:g}"] = [cut, hue_fits(played, np.array([[*STANDING_COLOUR, 1.0]]))]
    view.show_cutter = False
    told |= read_in_pixels(layers, results, view, screen)
    told["milliseconds per picture of a run"] = played_milliseconds(results, view, screen)
    told["milliseconds per redraw at 300k pieces"] = redraw_milliseconds(results, view, screen)
    addon.unregister()
    return told


def read_in_pixels(layers: BodyLayers, results: BodyResults, view: bpy.types.PropertyGroup, screen: Screen) -> dict[str, object]:
    """Legend and chart as they are drawn over a view of SIZE pixels: whether the legend's ramp and the cutters' curves are in them."""
    body = screen.body
    around = SimpleNamespace(
        region=SimpleNamespace(x=0, y=0, width=SIZE, height=SIZE, as_pointer=lambda: 1),
        area=None,
        preferences=SimpleNamespace(system=SimpleNamespace(ui_scale=1.0, use_region_overlap=False)),
        window_manager=bpy.context.window_manager,
        object=body,
        scene=bpy.context.scene,
    )
    view.surface_map, view.show_lines, nothing = "cusp", False, np.empty((0, 2))
    cusp = cusp_legend(results.plan.request.cusp)
    ramp = cusp.colours(cusp.low + np.linspace(0, 1, 64) * (cusp.high - cusp.low))
    legend = screen.in_pixels(lambda: draw_legends(around, results, layers, nothing), "legend")
    late, current = (screen.in_pixels(partial(draw_banner, around, state), f"banner {state}") for state in ("settings", "current"))
    # The bar: 16 x 150 pixels of saturated colours in the lower left corner, where nothing else has one.
    bar = legend[SIZE // 2 :, :60]
    bar = bar[(bar[..., 3] > 0.5) & (bar[..., :3].max(axis=2) - bar[..., :3].min(axis=2) > 0.15)]
    BOXES.forget(1)
    chart = screen.in_pixels(lambda: draw_trade_off(around, results, layers, body, nothing), "chart")
    view.show_lines = True
    return {
        "legend's bar": len(bar),
        "legend's bar on its ramp": hue_fits(bar[:, None], ramp),
        "rows of the banner": [int((picture[..., 3] > 0).any(axis=1).sum()) for picture in (late, current)],
        "curves in the chart": [int(near(chart, curve.ink[:3]).sum()) for curve in layers.get("trade-off curves", (results.revision, None), list)],
    }


def redraw_milliseconds(results: BodyResults, view: bpy.types.PropertyGroup, screen: Screen) -> float:
    """Time in Python of one redraw with everything shown and 300 000 pieces of line in cached batches; the driver's own work is left out."""
    for name in ("show_lines", "show_links", "show_lifts", "show_skip", "show_stock", "show_zero", "show_findings"):
        setattr(view, name, True)
    view.surface_map = "cusp"
    layers = BodyLayers()
    lines = path_lines(results.plan.path, layers.lines_legend(results, view))
    times = -(-300_000 // len(lines.rows))
    many = LineSet(np.tile(lines.positions, (times, 1)), np.tile(lines.colours, (times, 1)), np.tile(lines.rows, times))
    layers.get("pass lines", (results.revision, view.lines_by), lambda: coloured_lines(many))
    screen.picture(layers, results, view, "all")
    best = np.inf
    with screen.target.bind(), gpu.matrix.push_pop(), gpu.matrix.push_pop_projection():
        gpu.matrix.load_matrix(screen.view)
        gpu.matrix.load_projection_matrix(screen.projection)
        for _ in range(30):
            began = time.perf_counter()
            drawing.draw_body(_Undrawn(layers), results, view, Matrix.Identity(4), (SIZE, SIZE), 200.0)
            best = min(best, time.perf_counter() - began)
    return 1000 * best


def played_milliseconds(results: BodyResults, view: bpy.types.PropertyGroup, screen: Screen) -> list[float]:
    """Time in Python of one picture of a run that is played, a new moment each, without the driver's own work: mean and worst of 100."""
    view.show_cutter, view.surface_map, layers = True, "none", BodyLayers()
    setup = partial(setup_of, layers, results, screen.body)
    screen.picture(layers, results, view, "played")
    taken = []
    with screen.target.bind(), gpu.matrix.push_pop(), gpu.matrix.push_pop_projection():
        gpu.matrix.load_matrix(screen.view)
        gpu.matrix.load_projection_matrix(screen.projection)
        for share in np.linspace(0.01, 0.99, 100):
            view.playhead = share * results.plan.run_time.total_seconds
            began = time.perf_counter()
            drawing.draw_body(_Undrawn(layers), results, view, Matrix.Identity(4), (SIZE, SIZE), 200.0)
            setup()
            taken.append(1000 * (time.perf_counter() - began))
    view.show_cutter = False
    return [float(np.mean(taken)), float(np.max(taken))]


class _Undrawn:
    """Layers whose batches are looked up as always, but draw nothing: a processor that plays the graphics card takes its own time."""

    def __init__(self, layers: BodyLayers) -> None:
        self._layers = layers

    def __getattr__(self, name: str):  # noqa: ANN204
        made = getattr(self._layers, name)

        def looked_up(*arguments: object):  # noqa: ANN202
            if name == "tip":  # where it is, not what is drawn
                return made(*arguments)
            return None if made(*arguments) is None else _Nothing()

        return looked_up


class _Nothing:
    """Stands for a batch."""

    def draw(self, *_: object) -> None:
        """Draw nothing."""


if not hasattr(gpu, "init"):  # leaving by itself, an older bpy may wait for ever
    print("this bpy has no gpu.init", file=sys.stderr, flush=True)
    os._exit(1)
print("JSON" + json.dumps(main()), flush=True)
os._exit(0)
