"""Runs inside a real Blender window (see run): plans the carved bass and takes pictures of all that can be looked at."""

import bpy
import window as w


def scroll(lines: int) -> None:
    """Scroll the sidebar down."""
    sidebar = w.region("UI")
    with bpy.context.temp_override(window=bpy.context.window_manager.windows[0], area=w.area(), region=sidebar):
        for _ in range(lines):
            bpy.ops.view2d.scroll_down()


def steps():  # noqa: ANN201
    yield from w.view_top()
    body = bpy.context.view_layer.objects.active
    settings, view = body.finishing, bpy.context.window_manager.finishing_view
    yield from w.frame(body)
    yield from w.show_sidebar("Body Finishing")
    yield from w.shot("before")
    settings.lines_from, settings.cell_mm = "edge", 0.5
    assert not bpy.ops.finishing.export.poll()
    settings.use_budget, settings.budget_minutes = True, 24.0
    with w.override():
        assert bpy.ops.finishing.rack(change="fill") == {"FINISHED"}
        assert bpy.ops.finishing.survey() == {"FINISHED"}
        assert bpy.ops.finishing.list(rows="elsewhere", change="add") == {"FINISHED"}
        settings.elsewhere[0].minutes = 8.0
        settings.cutter_name, settings.smaller_cutters = "Round-nose 22", True
        assert bpy.ops.finishing.plan() == {"FINISHED"}
        assert bpy.ops.finishing.keep_plan() == {"FINISHED"}
    yield 1.0
    yield from w.move(*w.center(w.rect(w.region("WINDOW", "OUTLINER"))))
    yield from w.shot("planned")
    view.show_trade_off = True
    yield from w.shot("chart")
    view.show_trade_off = False
    for number in range(5):
        scroll(14)
        yield 0.4
        yield from w.shot(f"sidebar-{number}")
    yield from w.view_persp()
    for name in ("slope", "curvature", "uncut", "cusp"):
        view.surface_map = name
        yield from w.shot(name)
    view.surface_map, view.lines_by = "none", "bite"
    yield from w.shot("bite")
    view.show_cutter, view.played_share = True, 0.4
    yield from w.shot("run")
    view.show_cutter = False
    for menu in ("object", "suggestions", "findings"):
        yield from w.move(*w.center(w.rect(w.region())))
        with w.override():
            bpy.ops.wm.call_menu(name=f"FINISHING_MT_{menu}")
        yield 0.5
        yield from w.shot(f"menu-{menu}")
        yield from w.key("Escape")
    preferences = bpy.context.preferences.view
    for language in ("de_DE", "de"):
        try:
            preferences.language = language
        except TypeError:  # this Blender names it otherwise
            continue
        preferences.use_translate_interface = preferences.use_translate_tooltips = preferences.use_translate_reports = True
    yield 1.0
    yield from w.shot("german")
    scroll(-60)
    with w.override():
        bpy.ops.finishing.show_plan(number=1)
    yield from w.shot("german-second")


w.run(steps())
