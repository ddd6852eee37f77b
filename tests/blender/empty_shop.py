"""The extension in an empty file, for tests that need its settings of the shop alone."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import bpy

import addon
from addon.scene.rack_settings import FinishingShop, shop_of


@contextmanager
def shop_of_an_empty_file() -> Iterator[FinishingShop]:
    """Classes left registered at exit would hang bpy 4.2 and 4.5."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    addon.register()
    try:
        yield shop_of(bpy.context.scene)
    finally:
        addon.unregister()
