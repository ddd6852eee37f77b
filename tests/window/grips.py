"""Where the handles of the view are: for scripts that run inside a real Blender window."""

import importlib

import bpy
import window as w


def module() -> str:
    """Name of the extension's package as this Blender has installed it."""
    return next(name for name in bpy.context.preferences.addons.keys() if name.endswith("curved_body_finishing"))  # noqa: SIM118


def grip(name: str) -> tuple[float, float]:
    """Where a handle was drawn last, in pixels of the screen."""
    places = importlib.import_module(f"{module()}.overlay.setup_places").HANDLES
    x, y = next((x, y) for name_, x, y in places.drawn[w.region().as_pointer()] if name_ == name)
    left, _, _, bottom = w.rect(w.region())
    return left + x, bottom - y
