"""Arrays for the viewport: right places, right colours, open walls, dashes, closed marks. Needs neither gpu nor a window."""

import threading
import time

import numpy as np
import pytest

from addon.finishing.core.grid import Grid
from addon.finishing.core.path import CUT, ENTRY, EXIT, LIFT, LINK, Path
from addon.finishing.job.cutter import Cutter
from addon.finishing.pictures.legend import curvature_legend, height_legend, order_legend, slope_legend
from addon.overlay import layers, marks_data, render_data
from addon.overlay.coming import Coming
from addon.overlay.drawing import Overlay
from addon.overlay.shown_maps import ShownMap
from addon.scene.results import BodyResults

INK = (0.1, 0.1, 0.1)


def stepped(cell: float = 0.5) -> tuple[Grid, np.ndarray, np.ndarray, np.ndarray]:
    """Two flats, 10 mm and 0 mm high, that meet in a wall at x = 0, on a round plan of radius 20."""
    grid = Grid(-22, -22, cell, round(44 / cell) + 1, round(44 / cell) + 1)
    x, y = np.meshgrid(grid.x(), grid.y())
    return grid, x, y, np.where(np.hypot(x, y) < 20, np.where(x < 0, 10.0, 0.0), -np.inf)


def short_path() -> Path:
    """Entry, a line, a link, a line, an exit, a lift, an entry, a line."""
    rows = [
        (LIFT, 1, 0, 0, 20),
        (ENTRY, 1, 0, 0, 10),
        (CUT, 1, 0, 0, 10),
        (CUT, 1, 10, 0, 10),
        (LINK, 2, 10, 4, 10),
        (CUT, 2, 10, 4, 10),
        (CUT, 2, 0, 4, 12),
        (EXIT, 2, 0, 4, 20),
        (LIFT, 3, 0, 30, 20),
        (ENTRY, 3, 0, 30, 5),
        (CUT, 3, 0, 30, 5),
        (CUT, 3, 10, 30, 5),
        (CUT, 3, 20, 30, 5),
    ]
    table = np.array(rows, float)
    return Path(table[:, 2:], table[:, 0].astype(np.uint8), table[:, 1].astype(np.int32), np.full(len(rows), 3000.0))


def test_surface_lies_on_the_heights_and_leaves_walls_open() -> None:
    grid, _, _, heights = stepped()
    mesh = render_data.surface_mesh(heights, grid, lift=0.05)
    assert mesh.positions.dtype == np.float32 and mesh.triangles.dtype == np.int32
    assert np.allclose(mesh.positions[:, 2] - 0.05, heights.ravel()[mesh.cells])
    x = grid.x()[mesh.cells % grid.columns]
    assert np.allclose(mesh.positions[:, 0], x)
    corner = mesh.positions[mesh.triangles]
    assert np.ptp(corner[:, :, 2], axis=1).max() == 0  # no triangle crosses the wall of 10 mm
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    assert np.all(normal[:, 2] > 0)
    # Area of the disc (closed form) less the open wall and a rim of part cells.
    assert normal[:, 2].sum() / 2 == pytest.approx(np.pi * 20**2, rel=0.06)
    assert np.allclose(mesh.shade, 1)


def test_surface_is_thinned_but_covers_the_same_ground() -> None:
    grid, _, _, heights = stepped(0.1)
    mesh = render_data.surface_mesh(heights, grid, most_points=8000)
    assert 2500 < len(mesh.positions) <= 8000
    assert np.ptp(mesh.positions[:, 0]) == pytest.approx(40, abs=1)


def test_map_colours_are_the_legend_on_flat_ground_and_clear_where_nothing_is_known() -> None:
    grid, x, _, heights = stepped()
    mesh = render_data.surface_mesh(heights, grid)
    values = np.where(x < 0, 30.0, np.nan)
    colours = render_data.map_colours(mesh, values, slope_legend(), opacity=0.8)
    known = mesh.positions[:, 0] < 0
    assert np.allclose(colours[known, :3], slope_legend().colours(np.array([30.0]))[0, :3], atol=1e-6)
    assert np.allclose(colours[known, 3], 0.8) and np.all(colours[~known, 3] == 0)


def test_shading_darkens_ground_away_from_the_light() -> None:
    grid = Grid(0, 0, 0.5, 40, 40)
    x, _ = np.meshgrid(grid.x(), grid.y())
    towards, away = (render_data.surface_mesh(s * 0.5 * x, grid).shade for s in (1, -1))
    assert towards.min() > away.max() + 0.1


def test_pass_lines_join_only_rows_of_one_line() -> None:
    path = short_path()
    lines = render_data.path_lines(path, order_legend(3))
    assert lines.rows.tolist() == [3, 6, 11, 12]
    assert lines.positions.shape == (8, 3) and lines.colours.shape == (8, 4)
    assert np.array_equal(lines.positions[0], [0, 0, 10]) and np.array_equal(lines.positions[1], [10, 0, 10])
    first, last = order_legend(3).colours(np.array([1.0, 3.0]))
    assert np.allclose(lines.colours[0], first) and np.allclose(lines.colours[-1], last)
    by_height = render_data.path_lines(path, height_legend(5, 12), path.points[:, 2])
    assert not np.allclose(by_height.colours[2], by_height.colours[3])  # climbs from 10 to 12 along the second line


def test_links_and_lifts_are_dashed_and_apart() -> None:
    path = short_path()
    links, lifts = render_data.link_lines(path, INK), render_data.lift_lines(path, INK)
    assert set(links.rows) == {4} and set(lifts.rows) == {1, 7, 8, 9}
    for lines, rows, (dash, gap) in (
        (links, [4], render_data.LINK_PATTERN),
        (lifts, [1, 7, 8, 9], render_data.LIFT_PATTERN),
    ):
        inked = np.linalg.norm(lines.positions[1::2] - lines.positions[0::2], axis=1)
        assert inked.max() <= dash + 1e-5
        whole = path.lengths()[rows].sum()
        assert inked.sum() == pytest.approx(whole * dash / (dash + gap), abs=2 * dash)


@pytest.mark.parametrize("rising", [False, True])
def test_hatching_lies_on_the_masked_ground(rising: bool) -> None:
    grid, x, y, heights = stepped()
    mask = (np.hypot(x + 8, y) < 8) & np.isfinite(heights)
    lines = render_data.hatch_lines(mask, heights, grid, INK, spacing=4.0, rising=rising)
    assert np.all(np.hypot(lines.positions[:, 0] + 8, lines.positions[:, 1]) < 8.01)
    assert np.allclose(lines.positions[:, 2], np.where(lines.positions[:, 0] < 0, 10.1, 0.1))
    along = lines.positions[1::2] - lines.positions[0::2]
    assert np.allclose(along[:, 1] / along[:, 0], 1 if rising else -1)
    length = np.linalg.norm(lines.positions[1::2] - lines.positions[0::2], axis=1).sum()
    # Lines `spacing` apart over an area have area / spacing of length (closed form).
    assert length == pytest.approx(mask.sum() * grid.cell_area / 4.0, rel=0.12)
    both = render_data.joined_lines([lines, lines])
    assert np.array_equal(both.positions, np.concatenate([lines.positions] * 2)) and len(both.rows) == 2 * len(lines.rows)
    assert len(render_data.hatch_lines(np.zeros(grid.shape, bool), heights, grid, INK).positions) == 0


def test_tip_runs_evenly_between_rows() -> None:
    path = short_path()
    at = np.concatenate([[0.0], np.cumsum(path.lengths()[1:] / 10)])
    place, reached = render_data.tip_at(path, at, 1.5)  # 1 s down, a move of no length, then 0.5 s of 1 s along x
    assert np.allclose(place, [5, 0, 10]) and reached == 3
    assert render_data.tip_at(path, at, -1)[1] == 0
    assert np.allclose(render_data.tip_at(path, at, 1e9)[0], [20, 30, 5])
    lines = render_data.path_lines(path, order_legend(3))
    assert [render_data.pieces_reached(lines, r) for r in (0, 3, 4, 7, 99)] == [0, 0, 1, 2, 4]


def test_readout() -> None:
    grid, x, _, heights = stepped()
    found = render_data.readout(-5.1, 3.2, grid, {"height": heights, "x": x})
    assert found == {"height": 10.0, "x": -5.0}
    assert np.isnan(render_data.readout(99, 0, grid, {"height": heights})["height"])


def test_box_has_twelve_edges() -> None:
    box = marks_data.box_lines(np.zeros(3), np.array([100.0, 50, 20]), INK)
    lengths = np.linalg.norm(box.positions[1::2] - box.positions[0::2], axis=1)
    assert sorted(lengths.tolist()) == [20] * 4 + [50] * 4 + [100] * 4


def test_zero_mark() -> None:
    zero = marks_data.zero_lines(np.array([5.0, 6, 7]), 20, INK)
    assert np.linalg.norm(zero.positions - (5, 6, 7), axis=1).min() == 0
    reach = zero.positions.max(axis=0) - (5, 6, 7)
    assert np.all(reach > 19.9) and np.all(reach < 26)


def test_pins_stand_on_their_places() -> None:
    pins = marks_data.pin_lines(np.array([[0.0, 0, 3], [50, 10, 8]]), 10, INK)
    assert len(pins.positions) == 2 * 2 * 9
    assert pins.positions[:18, 2].min() == 3 and pins.positions[18:, 2].min() == 8
    assert pins.positions[18:, 2].max() == pytest.approx(8 + 16)
    assert np.abs(pins.positions[18:, :2] - (50, 10)).max() == pytest.approx(3)


def test_cutter_ghost_is_a_closed_round_nose() -> None:
    cutter = Cutter("Round-nose 16", 16.0, usable_length=50.0, shank_diameter=12.0, stick_out=60.0)
    ghost = marks_data.cutter_ghost(cutter)
    corner = ghost.positions[ghost.triangles].astype(float)
    # Volume by the divergence theorem against ball half + cylinder + shank (closed form), 48-sided and 12 rings.
    volume = np.einsum("ij,ij->i", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])).sum() / 6
    expected = np.pi * (2 / 3 * 8**3 + 8**2 * 42 + 6**2 * 10)
    assert volume == pytest.approx(expected, rel=0.01)
    assert ghost.positions[:, 2].min() == 0 and ghost.positions[:, 2].max() == 60
    face = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    assert np.all(np.einsum("ij,ij->i", face, ghost.normals[ghost.triangles].mean(axis=1)) > 0)


def test_the_ghost_of_a_tapered_cutter_has_its_flank() -> None:
    cutter = Cutter("Tapered 4", 4.0, usable_length=30.0, shank_diameter=6.0, stick_out=45.0, half_angle=30.0, top_diameter=10.0)
    ghost = marks_data.cutter_ghost(cutter)
    corner = ghost.positions[ghost.triangles].astype(float)
    volume = np.einsum("ij,ij->i", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])).sum() / 6
    # Cap of a ball, frustum of a cone, neck and shank: closed forms.
    foot, low = 2 * np.cos(np.pi / 6), 2 * (1 - np.sin(np.pi / 6))
    top = low + (5 - foot) / np.tan(np.pi / 6)
    expected = np.pi * (low**2 * (2 - low / 3) + (top - low) / 3 * (foot**2 + 5 * foot + 25) + 25 * (30 - top) + 9 * 15)
    assert volume == pytest.approx(expected, rel=0.01)
    wide = np.hypot(ghost.positions[:, 0], ghost.positions[:, 1])
    assert wide[np.abs(ghost.positions[:, 2] - top) < 1e-4] == pytest.approx(5.0)


def test_legend_bar() -> None:
    bar = marks_data.legend_bar(curvature_legend(8), 10, 100, 20, 300)
    assert bar.positions.min(axis=0).tolist() == [10, 100] and bar.positions.max(axis=0).tolist() == [30, 400]
    assert str(bar.labels[0][0]) == "hollow R 8" and bar.labels[0][2] == pytest.approx(100)
    assert len(bar.tick_lines) == 2 * len(bar.labels) and len(bar.colours) == len(bar.positions)


def test_the_mesh_of_a_map_is_known_by_what_it_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    # Arrays come and go, and a new one may lie where an old one lay.
    monkeypatch.setattr(layers, "coloured_triangles", lambda positions, colours, triangles: positions)
    grid, x, _y, heights = stepped(2.0)
    own, results = layers.BodyLayers(), BodyResults(1, "body")
    view = type("View", (), {"surface_map": "slope", "fit_cutter": ""})()

    def drawn() -> np.ndarray:
        shown = ShownMap(grid, heights, np.abs(x), slope_legend())
        monkeypatch.setattr(layers, "shown_map", lambda *_names: shown)
        return own.surface(results, view, 1.0)

    first = drawn()
    results.revision += 1
    assert drawn() is first, "the same heights in other arrays need no new mesh"
    heights += 1.0
    results.revision += 1
    assert np.array_equal(drawn()[:, 2], first[:, 2] + 1.0)


def test_results_that_were_forgotten_take_their_layers_along() -> None:
    overlay, results = Overlay(), BodyResults(1, "body")
    kept = overlay.layers_of(results)
    assert overlay.layers_of(results) is kept
    assert overlay.layers_of(BodyResults(1, "body")) is not kept


def be_busy() -> None:
    """Take 20 ms of processor time."""
    end = time.thread_time() + 0.02
    while time.thread_time() < end:
        pass


def test_a_redraw_makes_one_layer_at_least_and_puts_off_what_it_has_no_time_for() -> None:
    own, made = layers.BodyLayers(), []

    def layer(name: str, key: int) -> str | None:
        def make() -> str:
            made.append(name)
            be_busy()  # for longer than a redraw has
            return f"{name} {key}"

        be_busy()  # drawing, which leaves no less time for making
        return own.in_time(name, key, make)

    # Not on the screen, as in a script, all are made at once.
    assert [layer("a", 0), layer("b", 0)] == ["a 0", "b 0"] and not own.waiting
    for redraw, (shown, waits) in enumerate(((["a 1", "b 0", None], True), (["a 1", "b 1", None], True), (["a 1", "b 1", "c 1"], False))):
        own.begin(0.01)
        assert [layer(name, 1) for name in "abc"] == shown and own.waiting == waits, redraw
    own.begin(0.01)
    assert [layer(name, 1) for name in "abc"] == ["a 1", "b 1", "c 1"] and made == ["a", "b", "a", "b", "c"]


def test_what_a_thread_works_out_comes_or_raises() -> None:
    release = threading.Event()
    coming = Coming(lambda: release.wait(20))
    assert not coming.is_there
    release.set()
    assert coming.value() is True and coming.is_there

    def fails() -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        Coming(fails).value()
