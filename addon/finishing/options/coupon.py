"""The test coupon: a piece of scrap that shows eye, thumb, caliper and stopwatch what a cutter does before the body is cut.

In plan, from left to right: three columns of fields, one for each cusp height; a flat field of very fine passes, cut against the stopwatch; and a
groove of known depth. A column runs over flat ground, down a slope and through a hollow, so that its profile is the same all along X: passes run
along X, and everything is known in closed form. Zero is the lower left corner of the coupon in X and Y and its top in Z. All mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..core.array_types import FloatArray
from ..core.cusp_formulas import spacing_on_flat
from ..core.errors import BadRequest
from ..core.path import CUT, ENTRY, LIFT, Path
from ..job.cutter import Cutter
from ..job.setting_kinds import Number, Record, Row, Setting, require

LEAST_HOLLOW = 0.1
"""mm; a body's hollow that is narrower is a crease to every cutter."""

COUPON = Record(
    "Coupon",
    (
        Setting("length", Number(80.0, 1000.0, "mm"), "Length of the coupon along X"),
        Setting("width", Number(50.0, 1000.0, "mm"), "Width of the coupon along Y"),
        Setting("thickness", Number(12.0, 200.0, "mm"), "Thickness of the coupon"),
        Setting("cusps", Row((Number(0.0005, 5.0, "mm"),) * 3), "Cusp heights of the three columns of fields"),
        Setting("hollow_radius", Number(LEAST_HOLLOW, 10000.0, "mm"), "Radius of the hollow: the least of the body's own that the cutter is to reach"),
    ),
)
"""What a coupon is made to."""

FLAT_DEPTH = 1.0
"""mm below the top of the flat fields: what a step is measured from."""

SLOPE = 20.0
"""Degrees of the sloping fields: about where the plates of archtops and carved tops are steepest. Common practice, no source."""

FINE_CUSP = 0.003
"""mm on the timed field: below what a caliper or a thumb tells from flat."""

ROUGH_LEFT = 0.5
"""mm that clearing leaves over the fields, as roughing does on a body."""

LAYER, LAYER_RADII = 2.0, 0.3
"""mm, and share of the radius, that clearing and the groove go down at once at most: common practice, no source."""

CLEARING_RADII = 0.6
"""Spacing of clearing passes in radii."""

EDGE, GAP, FLOOR = 5.0, 2.0, 3.0
"""mm that fields keep from the edges, and columns from each other; and what stays below the deepest cut."""

GROOVE_AT, TIMED_WIDTH = 13.0, 12.0
"""mm from the right edge to the groove's middle, and between the first and last pass of the timed field."""

LEAST_COLUMN = 6.0
"""mm that a column must be wide at least: less is no ground for a thumb. No source."""

WIDEST_GROOVE = 18.0
"""mm; a larger cutter's groove is cut less deep, so that it stays as wide."""

BEYOND_HALF, OUTSIDE = 0.5, 2.0
"""mm that the groove of a small cutter goes below its middle, so that both its walls stand upright; mm that passes begin beside the coupon."""

BELOW_FLANK = 0.8
"""Share of the height at which the flank of a tapered cutter begins that its groove is deep: the groove is then the ball's alone."""

LEAST_OPEN = 1.02
"""Radius of the hollow over the cutter's that lets the cutter in."""

FIELD_SHARES = (0.3, 0.3, 0.4)
"""Of the width between the edges: flat, slope and hollow, along the surface."""


@dataclass(frozen=True)
class CouponSettings:
    """What a coupon is made to: see COUPON."""

    length: float = 100.0
    width: float = 60.0
    thickness: float = 20.0
    cusps: tuple[float, float, float] = (0.025, 0.05, 0.1)
    hollow_radius: float = 25.0

    def __post_init__(self) -> None:
        require(COUPON, self)


@dataclass(frozen=True)
class Field:
    """One field. column: 1 to 3. kind: "flat", "slope" or "hollow". curvature: 1/mm across the passes, negative in hollows. contacts: (n, 2) y and z
    of the passes' contacts. normals: (n, 2) of the ground there. spacing: along the surface. low, high: x of its ends.
    """

    column: int
    kind: str
    cusp: float
    curvature: float
    contacts: FloatArray
    normals: FloatArray
    spacing: float
    low: float
    high: float

    def tips(self, radius: float) -> FloatArray:
        """y and z (n, 2) of the ball's tip on the passes."""
        return self.contacts + radius * self.normals - [0.0, radius]


@dataclass(frozen=True)
class Coupon:
    """A coupon as it is cut. clearing, fields_path, timed, groove: paths, in that order. groove_depth: of the tip. hollow_radius: as it is cut."""

    settings: CouponSettings
    cutter: Cutter
    fields: tuple[Field, ...]
    clearing: Path
    fields_path: Path
    timed: Path
    groove: Path
    groove_depth: float
    hollow_radius: float

    @property
    def paths(self) -> tuple[Path, ...]:
        """All paths in running order."""
        return self.clearing, self.fields_path, self.timed, self.groove


def spacing_on(curvature: float, radius: float, cusp: float) -> float:
    """Spacing along the surface of passes that leave a cusp height on ground curved across them (1/mm, negative in hollows). All mm.

    s = (4/|k|) asin sqrt(k^2 h (2R - h) / (4 (1 + R k)(1 + h k))), exact for a circle (Lin and Koren 1996, ASME J. Eng. Ind. 118:20).
    """
    if curvature == 0:
        return float(spacing_on_flat(radius, cusp))
    inside = curvature**2 * cusp * (2 * radius - cusp) / (4 * (1 + radius * curvature) * (1 + cusp * curvature))
    return float(4 / abs(curvature) * np.arcsin(np.sqrt(min(inside, 1.0))))


def groove_width(radius: float, depth: float) -> float:
    """Width at the top of a groove of this depth that a ball cuts: 2 sqrt(2 R d - d^2), the whole diameter from d = R on. All mm."""
    d = min(depth, radius)
    return float(2 * np.sqrt(2 * radius * d - d * d))


def diameter_of_groove(width: float, depth: float) -> float:
    """Diameter of the ball that cuts a groove of this width and depth: w^2 / (4 d) + d, or the width where it goes below the middle. All mm."""
    return float(width if depth >= width / 2 else width**2 / (4 * depth) + depth)


def make_coupon(settings: CouponSettings, cutter: Cutter, air_feed: float, plunge_feed: float, safe_height: float) -> Coupon:
    """Lay out and path a coupon for one cutter. Raises BadRequest where the cutter or its depth does not go into the coupon."""
    radius = cutter.radius
    hollow = max(settings.hollow_radius, LEAST_OPEN * radius)
    layout = _layout(settings, cutter, hollow)
    fields = tuple(field for column in range(3) for field in _column(settings, column, radius, hollow, layout))
    deepest = max(layout.groove_depth, layout.profile_depth)
    if deepest > settings.thickness - FLOOR or deepest > cutter.usable_length:
        raise BadRequest(
            "The coupon for the {diameter:g} mm cutter is cut {depth:.1f} mm deep: take scrap of {least:.0f} mm or more, and a cutter that reaches.",
            diameter=cutter.diameter,
            depth=deepest,
            least=np.ceil(deepest + FLOOR),
        )
    lay = _Laying(cutter, air_feed, plunge_feed, safe_height)
    return Coupon(
        settings=settings,
        cutter=cutter,
        fields=fields,
        clearing=lay.path(_clearing(settings, fields, radius)),
        fields_path=lay.path([line for field in fields for line in _passes(field, radius)]),
        timed=lay.path(_timed_lines(settings, radius, layout), linked=True),
        groove=lay.path(_groove_lines(settings, radius, layout)),
        groove_depth=layout.groove_depth,
        hollow_radius=hollow,
    )


@dataclass(frozen=True)
class _Layout:
    """Where things lie. lengths: of flat, slope and hollow along the surface. columns: (low, high) x of each. timed: x of the first and last pass."""

    lengths: tuple[float, float, float]
    columns: tuple[tuple[float, float], ...]
    timed: tuple[float, float]
    groove_at: float
    groove_depth: float
    profile_depth: float


def _widest_cut(cutter: Cutter, depth: float) -> float:
    """Width at the top of what a cutter, straight or tapered, has cut to a depth. mm."""
    return groove_width(cutter.radius, depth) if cutter.flank is None else 2 * float(cutter.flank.half_width(depth))


def _layout(settings: CouponSettings, cutter: Cutter, hollow: float) -> _Layout:
    """Lay out from the right, so that no ball comes into what another has cut: it is wider at the top than at its tip. Raises BadRequest."""
    flat, slope, bent = (share * (settings.width - 2 * EDGE) for share in FIELD_SHARES)
    fall = np.radians(SLOPE)
    bent = min(bent, 2 * fall * hollow)  # as far up again as it has come down
    lowest = max(fall - bent / hollow, 0.0)  # a wide hollow's field ends before its bottom
    deepest = FLAT_DEPTH + slope * np.sin(fall) + hollow * (np.cos(lowest) - np.cos(fall))
    radius = cutter.radius
    wide = radius > WIDEST_GROOVE / 2
    groove = radius - np.sqrt(radius**2 - WIDEST_GROOVE**2 / 4) if wide else radius + BEYOND_HALF
    if cutter.flank is not None:  # whose ball alone is measured
        groove = min(groove, BELOW_FLANK * cutter.flank.foot_height)
    aside = groove_width(radius, FLAT_DEPTH) / 2
    groove_at = settings.length - GROOVE_AT
    last = groove_at - groove_width(radius, groove) / 2 - GAP - aside
    first = last - TIMED_WIDTH
    end = first - aside - GAP - _widest_cut(cutter, deepest) / 2
    each = (end - EDGE - 2 * GAP) / 3
    if each < LEAST_COLUMN:
        raise BadRequest(
            "The coupon is too short for the {diameter:g} mm cutter: take scrap at least {least:.0f} mm long.",
            diameter=2 * radius,
            least=np.ceil(settings.length + 3 * (LEAST_COLUMN - each)),
        )
    lows = [EDGE + column * (each + GAP) for column in range(3)]
    return _Layout(
        lengths=(flat, slope, bent),
        columns=tuple((low, low + each) for low in lows),
        timed=(first, last),
        groove_at=groove_at,
        groove_depth=float(groove),
        profile_depth=float(deepest),
    )


def _column(settings: CouponSettings, column: int, radius: float, hollow: float, layout: _Layout) -> list[Field]:
    """Flat, slope and hollow of one column, one after the other along the profile."""
    low, high = layout.columns[column]
    cusp = settings.cusps[column]
    if cusp >= radius:
        raise BadRequest(
            "The cusp height must be below half of the cutter's diameter of {diameter:g} mm (R {radius:g}): lower it, or take a larger cutter.",
            diameter=2 * radius,
            radius=radius,
        )
    flat, slope, bent = layout.lengths
    fall = np.radians(SLOPE)
    start = np.array([EDGE, -FLAT_DEPTH])
    out = []
    for kind, length, curvature in (("flat", flat, 0.0), ("slope", slope, 0.0), ("hollow", bent, -1 / hollow)):
        spacing = spacing_on(curvature, radius, cusp)
        along = np.arange(0.0, length + 1e-9, spacing)
        angle = {"flat": np.zeros(len(along)), "slope": np.full(len(along), -fall), "hollow": -fall + along / hollow}[kind]
        if kind == "hollow":
            places = start + hollow * np.column_stack([np.sin(angle) + np.sin(fall), np.cos(fall) - np.cos(angle)])
        else:
            places = start + along[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        normals = np.column_stack([-np.sin(angle), np.cos(angle)])
        out.append(
            Field(
                column=column + 1,
                kind=kind,
                cusp=cusp,
                curvature=curvature,
                contacts=places,
                normals=normals,
                spacing=spacing,
                low=low,
                high=high,
            )
        )
        start = start + length * np.array([np.cos(angle[0]), np.sin(angle[0])])
    return out


def _passes(field: Field, radius: float) -> list[FloatArray]:
    """The passes of a field as lines (2, 3), to and fro."""
    return [
        np.array([[field.low, y, z], [field.high, y, z]])[:: 1 if number % 2 == 0 else -1] for number, (y, z) in enumerate(field.tips(radius).tolist())
    ]


def _clearing(settings: CouponSettings, fields: tuple[Field, ...], radius: float) -> list[FloatArray]:
    """Layers of passes from beside the left edge over all columns, down to ROUGH_LEFT above the fields."""
    own = [field.tips(radius) for field in fields if field.column == 1]
    y, z = np.concatenate(own).T
    order = np.argsort(y, kind="stable")
    stations = np.append(np.arange(y.min(), y.max(), CLEARING_RADII * radius), y.max())
    wanted = np.interp(stations, y[order], z[order]) + ROUGH_LEFT
    layer = min(LAYER, LAYER_RADII * radius)
    high = max(field.high for field in fields)
    lines = []
    for number in range(int(np.ceil(-wanted.min() / layer))):
        top, low = -number * layer, -(number + 1) * layer
        for at, target in zip(stations, wanted, strict=True):
            if target < top:
                depth = max(low, float(target))
                lines.append(np.array([[-radius - OUTSIDE, at, depth], [high, at, depth]]))
    return lines


def _timed_lines(settings: CouponSettings, radius: float, layout: _Layout) -> list[FloatArray]:
    """Fine passes along Y over a flat."""
    spacing = spacing_on(0.0, radius, FINE_CUSP)
    across = np.arange(layout.timed[0], layout.timed[1] + 1e-9, spacing)
    low, high = EDGE, settings.width - EDGE
    return [np.array([[x, low, -FLAT_DEPTH], [x, high, -FLAT_DEPTH]])[:: 1 if number % 2 == 0 else -1] for number, x in enumerate(across)]


def _groove_lines(settings: CouponSettings, radius: float, layout: _Layout) -> list[FloatArray]:
    """Cuts along Y through the coupon, from edge to edge, deeper each time; the last one twice, so that nothing that had bent away is left."""
    layer, depth = min(LAYER, LAYER_RADII * radius), layout.groove_depth
    depths = [*(-np.arange(1, int(np.ceil(depth / layer))) * layer), -depth, -depth]
    x, low, high = layout.groove_at, -radius - OUTSIDE, settings.width + radius + OUTSIDE
    return [np.array([[x, low, z], [x, high, z]])[:: 1 if number % 2 == 0 else -1] for number, z in enumerate(depths)]


@dataclass(frozen=True)
class _Laying:
    """How lines become a path: feeds in mm/min, and the safe height over the coupon in mm."""

    cutter: Cutter
    air_feed: float
    plunge_feed: float
    safe_height: float

    def path(self, lines: list[FloatArray], linked: bool = False) -> Path:
        """Lines in their order, each come down to and left straight, from the safe height to it. linked: along the surface from line to line."""
        rows: list[tuple[float, float, float, int, int, float]] = []
        for number, line in enumerate(lines, 1):
            (x, y, z), (end_x, end_y, end_z) = line.tolist()
            if linked and number > 1:
                rows.append((x, y, z, CUT, number, self.cutter.feed))
            else:
                rows += [(x, y, self.safe_height, LIFT, number, self.air_feed), (x, y, z, ENTRY, number, self.plunge_feed)]
            rows.append((end_x, end_y, end_z, CUT, number, self.cutter.feed))
            if not linked or number == len(lines):
                rows.append((end_x, end_y, self.safe_height, LIFT, number, self.air_feed))
        table: NDArray[np.float64] = np.array(rows, np.float64).reshape(-1, 6)
        return Path(table[:, :3], table[:, 3].astype(np.uint8), table[:, 4].astype(np.int32), table[:, 5])
