"""Makes the small drawings that the README explains the figures with. Run it without arguments; it needs Python alone."""

from __future__ import annotations

import math
from pathlib import Path

HERE = Path(__file__).parent / "drawings"
INK, WOOD, TOOL, MARK = "#2b2b33", "#d9b98c", "#8fa3ad", "#9c3d54"
WIDTH, HEIGHT = 320, 130


def svg(*parts: str) -> str:
    """A drawing of WIDTH x HEIGHT pixels."""
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
    style = f'font-family="sans-serif" font-size="11" fill="{INK}"'
    return head + style + f'>\n<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>\n' + "\n".join(parts) + "\n</svg>\n"


def area(points: list[tuple[float, float]], colour: str) -> str:
    """A filled outline."""
    return f'<polygon points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in points)}" fill="{colour}"/>'


def line(x1: float, y1: float, x2: float, y2: float, colour: str = INK, dash: str = "") -> str:
    """A straight line."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}"{dashed}/>'


def text(x: float, y: float, words: str, anchor: str = "start") -> str:
    """A label."""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{words}</text>'


def ball(x: float, y: float, radius: float) -> str:
    """The round end of a cutter, its tip at (x, y), with its shank above it."""
    top = y - 2.2 * radius
    shape = f"M{x - radius:.1f},{top:.1f} V{y - radius:.1f} A{radius:.1f},{radius:.1f} 0 0 0 {x + radius:.1f},{y - radius:.1f} V{top:.1f} Z"
    return f'<path d="{shape}" fill="{TOOL}" fill-opacity="0.6" stroke="{INK}"/>'


def scalloped(spacing: float, radius: float, base: float) -> list[tuple[float, float]]:
    """Wood that a ball has left in passes of one spacing."""
    points = [(0.0, float(HEIGHT))]
    for x in range(0, WIDTH + 1, 2):
        off = (x - 40 + spacing / 2) % spacing - spacing / 2
        points.append((float(x), base - radius + math.sqrt(radius**2 - off**2)))
    return [*points, (float(WIDTH), float(HEIGHT))]


def cusp() -> str:
    """Cusp height and spacing."""
    spacing, radius, base = 60.0, 45.0, 100.0
    crest = base - radius + math.sqrt(radius**2 - (spacing / 2) ** 2)
    return svg(
        area(scalloped(spacing, radius, base), WOOD), ball(100, base, radius),
        line(160, crest, 236, crest, MARK), line(160, base, 236, base, MARK), text(240, (crest + base) / 2 + 4, "cusp height"),
        line(100, 116, 160, 116), line(100, 112, 100, 120), line(160, 112, 160, 120), text(130, 128, "spacing", "middle"),
    )  # fmt: skip


def uncut() -> str:
    """A hollow that is narrower than the ball."""
    hollow = [(0, 60), (110, 60), (160, 112), (210, 60), (WIDTH, 60), (WIDTH, HEIGHT), (0, HEIGHT)]
    return svg(
        area([(float(x), float(y)) for x, y in hollow], WOOD), area([(138.0, 89.0), (160.0, 112.0), (182.0, 89.0), (160.0, 98.0)], MARK),
        ball(160, 98, 32), line(190, 98, 226, 98, MARK), line(160, 112, 226, 112, MARK), text(230, 109, "uncut height"),
    )  # fmt: skip


def gouge() -> str:
    """A cutter that goes below the body."""
    return svg(
        area([(0.0, 70.0), (320.0, 70.0), (320.0, 130.0), (0.0, 130.0)], WOOD), ball(150, 84, 30),
        line(150, 70, 240, 70, MARK), line(150, 84, 240, 84, MARK), text(244, 81, "gouge"),
    )  # fmt: skip


def border() -> str:
    """The strip along an outline, where pass lines end."""
    lines = [line(20, 20 + 14 * k, 224, 20 + 14 * k) for k in range(7)]
    return svg(
        area([(10.0, 10.0), (240.0, 10.0), (240.0, 118.0), (10.0, 118.0)], WOOD), *lines,
        area([(224.0, 10.0), (240.0, 10.0), (240.0, 118.0), (224.0, 118.0)], MARK), text(248, 62, "border"), text(248, 76, "strip"),
    )  # fmt: skip


def range_of_minutes() -> str:
    """The estimate and its range."""
    return svg(
        line(20, 80, 300, 80), *(line(20 + 28 * k, 76, 20 + 28 * k, 84) for k in range(11)), text(20, 100, "0"), text(300, 100, "minutes", "end"),
        area([(150.0, 58.0), (240.0, 58.0), (240.0, 70.0), (150.0, 70.0)], TOOL), line(192, 50, 192, 78, MARK), text(192, 44, "estimate", "middle"),
        text(150, 70, "least", "end"), text(244, 70, "most"),
    )  # fmt: skip


def bend() -> str:
    """The tip that bends under its chips."""
    return svg(
        f'<path d="M150,10 Q150,70 168,106" fill="none" stroke="{TOOL}" stroke-width="12" stroke-linecap="round"/>',
        line(150, 10, 150, 112, INK, "4 3"),
        line(150, 116, 150, 126, MARK), line(168, 116, 168, 126, MARK), line(150, 121, 168, 121, MARK), text(176, 125, "bend of the tip"),
        area([(0.0, 96.0), (158.0, 96.0), (158.0, 112.0), (0.0, 112.0)], WOOD),
    )  # fmt: skip


DRAWINGS = {"cusp": cusp, "uncut": uncut, "gouge": gouge, "border": border, "minutes": range_of_minutes, "bend": bend}
"""Name of each file, and what draws it."""


def main() -> None:
    """Write all drawings."""
    HERE.mkdir(exist_ok=True)
    for name, draw in DRAWINGS.items():
        (HERE / f"{name}.svg").write_text(draw(), encoding="utf-8")


if __name__ == "__main__":
    main()
