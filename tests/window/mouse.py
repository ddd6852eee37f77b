"""Clicks and keys of the window tests, counted, and the choices of language, theme and scale that a test may be run with."""

import os
import sys

import bpy
import window as w


class Clicks:
    """How often the mouse was clicked, by what was clicked."""

    def __init__(self) -> None:
        self.on: list[str] = []


CLICKS = Clicks()


def find(wanted: str):  # noqa: ANN201
    """Where a button of the sidebar is: Blender says what stands under the mouse. Buttons may stand two in a row."""
    manager = bpy.context.window_manager
    left, top, right, bottom = w.rect(w.region("UI"))
    for y in range(top + 4, bottom, 12):
        for share in (0.2, 0.6):
            x = left + (right - left) * share
            yield from w.move(x, y)
            for copy in (bpy.ops.ui.copy_python_command_button, bpy.ops.ui.copy_data_path_button):
                manager.clipboard = ""
                with bpy.context.temp_override(window=manager.windows[0], area=w.area(), region=w.region("UI")):
                    if copy.poll():
                        copy()
                if manager.clipboard.startswith(wanted) or manager.clipboard.endswith(wanted):
                    return x, y
    raise LookupError(f"no button {wanted!r} in the sidebar")


def press(wanted: str):  # noqa: ANN201
    """Click a button of the sidebar, scrolled into sight by the wheel where need be, and count the click."""
    for _ in range(10):
        try:
            x, y = yield from find(wanted)
        except LookupError:
            for _ in range(3):
                yield from w.click(*w.center(w.rect(w.region("UI"))), button=5)
            continue
        yield from w.click(x, y)
        CLICKS.on.append(wanted)
        return
    raise AssertionError(f"no button {wanted!r} in the sidebar")


def look_as_asked() -> None:
    """Take language, theme and scale from the words after the script: "german", "light", "scale2"."""
    words, preferences = sys.argv[1:], bpy.context.preferences
    if "light" in words:
        folders = bpy.utils.preset_paths("interface_theme")
        themes = [os.path.join(folder, file) for folder in folders for file in os.listdir(folder) if "light" in file.lower()]
        with w.override():
            bpy.ops.script.execute_preset(filepath=themes[0], menu_idname="USERPREF_MT_interface_theme_presets")
    if "scale2" in words:
        preferences.view.ui_scale = 2.0
    if "german" in words:
        for language in ("de_DE", "de"):
            try:
                preferences.view.language = language
            except TypeError:  # this Blender names it otherwise
                continue
            preferences.view.use_translate_interface = preferences.view.use_translate_tooltips = preferences.view.use_translate_reports = True
