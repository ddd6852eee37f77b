"""The guide's pictures, cut out of the screen that a script of these tests has just taken: small files that come along with the extension."""

import subprocess
from pathlib import Path

import bpy
import window as w

WIDTH, COLOURS = 900, 64
"""Pixels, and colours of the palette: letters stay readable, and a file small."""


def guide_picture(name: str, shot: str) -> None:
    """Cut the 3D view with its sidebar out of a shot, into the folder of the guide's pictures; its name tells the language where it is not English."""
    left, top, right, bottom = w.rect(w.area())
    language = bpy.context.preferences.view.language[:2]
    folder = Path("/out/guide")
    folder.mkdir(exist_ok=True)
    file = folder / (f"{name}.png" if language == "en" else f"{name}_{language}.png")
    cut = ["-crop", f"{right - left}x{bottom - top}+{left}+{top}", "+repage", "-resize", f"{WIDTH}x", "+dither", "-colors", str(COLOURS)]
    subprocess.run(["convert", f"/out/{shot}.png", *cut, "-strip", f"PNG8:{file}"], check=True)
