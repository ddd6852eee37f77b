"""The command `coupon`: a test coupon out, and what was measured on it back in."""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from .command_options import asked_numbers, settings_record_of
from .finishing.core.errors import BadRequest
from .finishing.core.result_store import ResultStore
from .finishing.core.stepping import finished
from .finishing.files.coupon_back import Found, lesson_of
from .finishing.files.coupon_files import coupon_files, timed_seconds
from .finishing.files.plan_record import read_record_file, record_bytes, with_settings
from .finishing.files.writing import write_all
from .finishing.job.body import Body
from .finishing.job.cutter_names import named_or_plain
from .finishing.job.request import Request
from .finishing.options.coupon import CouponSettings
from .finishing.planning.coupon_plan import PLAIN_HOLLOW, coupon_of, cusps_to_try, least_hollow_steps
from .scene.file_reading import read_file

NO_BODY = Body("coupon", np.zeros((1, 3, 3)), np.zeros(1, bool))


def coupon_command(options: argparse.Namespace) -> int:
    """Write a coupon, or the settings that its measurements give; returns 0. Raises the errors of finishing.core.errors."""
    if options.measured is not None:
        return _take_back(options)
    if (options.groove, options.step, options.seconds, options.field) != (None,) * 4:
        raise BadRequest("Name the coupon that was measured: --measured coupon.json.")
    request = _request(options)
    cutter = request.cutter
    assert cutter is not None
    length, width, thickness = asked_numbers(options.size, 3)
    fine, own, coarse = cusps_to_try(request.cusp, cutter) if options.cusps is None else asked_numbers(options.cusps, 3)
    hollow = options.hollow
    if hollow is None:
        hollow = PLAIN_HOLLOW * cutter.radius if options.file is None else finished(least_hollow_steps(request, ResultStore()))
    coupon = coupon_of(request, CouponSettings(length, width, thickness, cusps=(fine, own, coarse), hollow_radius=hollow))
    written = write_all(options.out, coupon_files(coupon, request, options.out_unit), replace=options.replace)
    print(f"Test coupon for {cutter.name} of {length:g} x {width:g} x {thickness:g} mm, cusps {fine:g}, {own:g} and {coarse:g} mm")
    if hollow < coupon.hollow_radius:
        print(f"The cutter does not go into a hollow of {hollow:.1f} mm radius: a wider one is cut")
    seconds = timed_seconds(coupon, request)
    print(f"Hollow of {coupon.hollow_radius:.1f} mm radius, groove {coupon.groove_depth:.2f} mm deep, timed field about {seconds:.0f} s")
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


def _request(options: argparse.Namespace) -> Request:
    """What the settings file and the options ask for."""
    body = NO_BODY if options.file is None else read_file(options.file, options.object, options.unit)
    request = with_settings(Request(body), settings_record_of(options.settings))
    cutter = request.cutter if options.cutter is None else named_or_plain(options.cutter, request.rack)
    if cutter is None:
        raise BadRequest("Name the cutter of the coupon: --cutter MM or --cutter NAME.")
    return replace(request, cutter=cutter, following_cutters=(), remaining=None, side=options.side or request.side)


def _take_back(options: argparse.Namespace) -> int:
    lesson = lesson_of(read_record_file(options.measured), Found(options.groove, options.step, options.seconds, options.field))
    written = write_all(options.out, {"coupon-settings.json": record_bytes(lesson.settings)}, replace=options.replace)
    print("\n".join(str(words) for words in lesson.words))
    print("Written: " + ", ".join(str(path) for path in written))
    return 0
