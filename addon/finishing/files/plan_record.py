"""plan.json: every setting and every result of a plan, and settings read back from it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path as FilePath
from typing import Any, TypeVar

import numpy as np

from ..core.digests import digest
from ..core.errors import BadFile, BadRequest
from ..core.finding import finding_record
from ..core.message import Message
from ..core.path import CUT, KINDS, entry_counts
from ..job.bite_settings import BiteSettings
from ..job.cutter import Cutter
from ..job.cutter_names import cutters_found
from ..job.dowels import DowelSettings
from ..job.ground_settings import FitSettings, RegionSettings
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from ..job.other_operations import OtherOperation
from ..job.program_settings import ProgramSettings
from ..job.request import PLAN, Remaining, Request
from ..job.roughing import RoughingSettings
from ..job.stock import StockSettings
from ..job.tabs import TabSettings
from ..planning.comparison import figures_of, figures_record
from ..planning.program_words import program_load
from ..planning.result import Plan
from ..planning.sanding_advice import sanding_record
from .budget_record import budget_record
from .former_names import with_present_names
from .tab_tables import tabs_record

SCHEMA = 1
"""Version of the layout of plan.json; readers refuse a newer one."""

UNITS = {"length": "mm", "feed": "mm/min", "area": "mm²", "volume": "mm³", "angle": "degrees"}

SAME_LENGTH = 1e-3
"""mm by which the cut lengths of one plan may differ on two machines."""

PLAIN_SETTINGS = (
    "side",
    "up",
    "cusp",
    "spacing",
    "lines_from",
    "line_angle",
    "cutting_way",
    "rim_pass",
    "feed",
    "budget_minutes",
    "meet_budget",
    "smooth",
    "cell",
    "chord_tolerance",
    "ramp_angle",
    "grain_angle",
    "grain_share",
    "smaller_cutters",
    "overlap_with_larger",
    "memory_limit_mib",
)
"""Settings that are a number, a word, yes or no, or nothing."""

GROUPED_SETTINGS: dict[str, type] = {
    "machine": Machine,
    "program": ProgramSettings,
    "stock": StockSettings,
    "region": RegionSettings,
    "fit": FitSettings,
    "dowels": DowelSettings,
    "tabs": TabSettings,
    "roughing": RoughingSettings,
    "bite": BiteSettings,
}
"""Settings that are a record of their own; a file may name some of its values and leave the others as they are."""

Group = TypeVar("Group")


def settings_record(request: Request) -> dict[str, Any]:
    """All settings of a request but the body, as plain values."""
    record: dict[str, Any] = {name: getattr(request, name) for name in PLAIN_SETTINGS}
    record["cutter"] = None if request.cutter is None else asdict(request.cutter)
    record["cutter_in_spindle"] = None if request.cutter_in_spindle is None else asdict(request.cutter_in_spindle)
    record["following_cutters"] = [asdict(cutter) for cutter in request.following_cutters]
    record["remaining"] = None if request.remaining is None else asdict(request.remaining)
    record["rack"] = [asdict(cutter) for cutter in request.rack]
    record["elsewhere"] = [asdict(work) for work in request.elsewhere]
    record["measured"] = list(request.measured)
    record["keep_out"] = [asdict(box) for box in request.keep_out]
    for name in GROUPED_SETTINGS:
        record[name] = asdict(getattr(request, name))
    return record


def plan_record(plan: Plan, files: list[str] | None = None, program_bytes: int | None = None) -> dict[str, Any]:
    """The whole plan as plain values for JSON; lengths in mm, times as the keys say.

    files: names of the files written with it. program_bytes: size of the programs of its path, None where none are written.
    """
    request = plan.request
    settings = settings_record(request)
    return {
        "schema": SCHEMA,
        "units": dict(UNITS),
        "body": {"name": request.body.name, "size_mm": plan.body.size.tolist(), "triangles": len(request.body.triangles)},
        "digest": {"body": plan.body_digest, "settings": digest(json.dumps(settings, sort_keys=True))},
        "settings": settings,
        "stock_body": None if request.stock_body is None else digest(request.stock_body.triangles),
        "job_from_body": {request.side: plan.job_from_body.tolist()},
        "stock": _stock(plan),
        "rack": _rack(plan),
        "sets": _sets(plan),
        "largest_radius": None if plan.largest is None else asdict(plan.largest),
        "result": _result(plan),
        "proof": _proof(plan),
        "figures": figures_record(figures_of(plan, request.body.name)),
        "sanding": sanding_record(plan.sanding),
        "entries": asdict(entry_counts(plan.path)),
        "line_spacing": None if plan.line_spacing is None else asdict(plan.line_spacing),
        "bite": _bite(plan),
        "logged_runs": asdict(plan.experience),
        "contacts": [asdict(contact) for contact in plan.contacts],
        "tabs": tabs_record(plan.held),
        "budget": budget_record(plan.budget),
        "ground_costs": [asdict(cost) for cost in plan.ground_costs],
        "findings": [finding_record(finding) for finding in plan.findings],
        "stage_seconds": plan.stage_seconds,
        "program": asdict(program_load(plan)) | {"bytes": program_bytes, "eased_seconds": plan.eased.seconds, "eased_length": plan.eased.length},
        "files": files or [],
    }


def is_of_plan(record: dict[str, Any], plan: Plan) -> bool:
    """Whether a written plan has the body and the lines of this one, as far as it tells."""
    try:
        written = (record["digest"]["body"], record["result"]["pass_lines"], record["result"]["length_by_kind"]["cut"])
    except (KeyError, TypeError):
        return False
    body, lines, length = written
    same_length = isinstance(length, int | float) and abs(length - plan.path.length_of(CUT)) < SAME_LENGTH
    return body == plan.body_digest and lines == plan.path.line_count and same_length


def _stock(plan: Plan) -> dict[str, Any]:
    """The stock box in the body's axes, and what is zero on it."""
    stock = plan.stock
    return {
        "low": stock.low,
        "high": stock.high,
        "size": stock.size,
        "z_zero": stock.z_zero(plan.request.side),
        "xy_zero": stock.settings.xy_zero,
    }


def _rack(plan: Plan) -> list[dict[str, Any]]:
    """What every cutter of the rack would do."""
    return [
        {
            "cutter": row.cutter.name,
            "diameter": row.cutter.diameter,
            "fits": row.fits,
            "hollow_radius": row.hollow_radius,
            "uncut_area": row.uncut_area,
            "uncut_height": row.uncut_height,
            "least_length": row.least_length,
            "least_minutes": row.minutes,
            "cusp": row.cusp,
            "contacts": [asdict(contact) for contact in row.contacts],
        }
        for row in plan.rack
    ]


def _sets(plan: Plan) -> list[dict[str, Any]]:
    """The sets of cutters worth a look, the best first."""
    return [
        {
            "cutters": [cutter.name for cutter in row.cutters],
            "diameters": [cutter.diameter for cutter in row.cutters],
            "minutes": row.minutes,
            "run_minutes": list(row.run_minutes),
            "tool_changes": row.changes,
            "left_area": row.left_area,
            "left_height": row.left_height,
            "may_be_left": row.enough,
            "laid": row.laid,
            "best": number == 0,
        }
        for number, row in enumerate(plan.sets.rows if plan.sets is not None else ())
    ]


def _result(plan: Plan) -> dict[str, Any]:
    """Cutter, ground, pass lines and run time."""
    ground, path, run = plan.ground, plan.path, plan.run_time
    return {
        "cutter": asdict(plan.cutter),
        "lines_from": str(plan.start),
        "fits": plan.fit.fits,
        "uncut_area": plan.fit.area,
        "uncut_height": plan.fit.height,
        "planned_area": ground.planned_area,
        "skipped_area": ground.skipped_area,
        "wall_area": ground.wall_area,
        "opening_area": ground.opening_area,
        "flats_left_out": [asdict(flat) | {"minutes_saved": plan.flat_minutes.over(flat.area)} for flat in ground.flats],
        "flats_planned": [asdict(flat) | {"minutes": plan.flat_minutes.over(flat.area)} for flat in plan.flats],
        "undercut_area": plan.hidden_area,
        "openings": [asdict(opening) for opening in ground.openings],
        "pass_lines": path.line_count,
        "length_by_kind": {name: path.length_of(kind) for kind, name in enumerate(KINDS)},
        "least_length": plan.least_length,
        "rim_pass": {"run": plan.rim.is_run, "lines": len(plan.rim.lines), "length": plan.rim.length, "minutes": plan.rim.minutes},
        "run_minutes": run.minutes,
        "time_factor": plan.time_factor,
        "run_minutes_range": list(run.range_minutes),
        "run_seconds_by_kind": run.seconds_by_kind,
        "run_time_uncertainty": run.uncertainty,
        "spin_up_seconds": plan.request.machine.spin_up_seconds,
    }


def _proof(plan: Plan) -> dict[str, Any]:
    """What the simulated cut has measured."""
    proof = plan.proof
    return {
        "cusp_percentiles": [list(pair) for pair in proof.cusp_percentiles],
        "border_cusp_percentiles": [list(pair) for pair in proof.border_percentiles],
        "border_width": proof.border_width,
        "border_area": proof.border_area,
        "unreached": asdict(proof.unreached),
        "worst_gouge": proof.worst_gouge,
        "worst_gouge_place": proof.worst_gouge_place,
        "left_area": proof.uncut_area,
        "left_volume": proof.uncut_volume,
        "samples": proof.samples,
    }


def _bite(plan: Plan) -> dict[str, Any]:
    """The bite in a few figures: depth mm, section mm2, chip mm per tooth, bend mm; empty where nothing is cut."""
    bite = plan.bite
    usual = bite.usual_chip
    if usual is None:
        return {}
    engagement = bite.engagement
    return {
        "greatest_depth": engagement.depth.max(),
        "greatest_section": engagement.section.max(),
        "greatest_chip": bite.chip.max(),
        "usual_chip": usual,
        "greatest_bend": bite.bend.max(),
        "least_share_of_feed": bite.allowed.min(),
    }


def record_bytes(record: dict[str, Any]) -> bytes:
    """A record as readable JSON; numpy numbers become plain ones. Raises ValueError for a number that is not finite."""
    return (json.dumps(record, indent=1, default=_plain, allow_nan=False, ensure_ascii=False) + "\n").encode("utf-8")


def _plain(value: object) -> object:
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, np.ndarray):
        return value.tolist()
    raise TypeError(f"cannot write {type(value).__name__} as JSON")


def read_record_file(file: FilePath) -> dict[str, Any]:
    """The record of `read_record` in a file. Raises BadFile also when the file cannot be read."""
    try:
        content = file.read_bytes()
    except OSError as error:
        raise BadFile("'{file}' cannot be read: {error}. Check the file and the rights to it.", file=file, error=error.strerror or error) from error
    return read_record(content)


def read_record(content: bytes) -> dict[str, Any]:
    """A record from the bytes of a plan.json, its settings under their present names.

    Raises BadFile when they are not one, or one of a newer layout.
    """
    try:
        record = json.loads(content, object_pairs_hook=_without_doubles, parse_constant=_refused)
    except RecursionError:
        raise BadFile("The settings file is not JSON that can be read: it is nested too deeply; give a plan.json as it was written.") from None
    except ValueError as error:  # bad text, bad JSON, a number of too many digits, or what the two hooks refuse
        raise BadFile("The settings file is not JSON: {error}. Mend it, or give a plan.json as it was written.", error=error) from error
    if not isinstance(record, dict):
        raise BadFile("The settings file must hold one JSON object: give a plan.json, or a part of its settings.")
    if isinstance(record.get("schema"), int) and record["schema"] > SCHEMA:
        raise BadFile(
            "The settings file has layout {layout}, newer than this version reads ({newest}): install the newer version, or give another file.",
            layout=record["schema"],
            newest=SCHEMA,
        )
    return with_present_names(record)


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A JSON object, unless it holds a key twice: nobody could tell which of them is meant."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        raise ValueError(f"it holds the key '{next(name for name in names if names.count(name) > 1)}' twice")
    return found


def _refused(name: str) -> float:
    """RFC 8259 has no such numbers."""
    raise ValueError(f"it holds {name}, which is not a number of JSON")


LISTED_SETTINGS: dict[str, Callable[[Any], Any]] = {
    "cutter": lambda value: None if value is None else Cutter(**value),
    "cutter_in_spindle": lambda value: None if value is None else Cutter(**value),
    "remaining": lambda value: None if value is None else Remaining(larger=Cutter(**value["larger"]), overlap=float(value["overlap"])),
    "following_cutters": lambda value: tuple(Cutter(**item) for item in value),
    "rack": lambda value: tuple(Cutter(**item) for item in value),
    "elsewhere": lambda value: tuple(OtherOperation(**item) for item in value),
    "measured": lambda value: tuple(value),
    "keep_out": lambda value: tuple(KeepOut(**_as_tuples_within(item)) for item in value),
}
"""How settings that are written whole are read."""

SETTINGS = (*PLAIN_SETTINGS, *GROUPED_SETTINGS, *LISTED_SETTINGS)
"""Every key of "settings"."""


def settings_in(record: dict[str, Any]) -> dict[str, Any]:
    """The settings of a record: of a whole plan.json, or of a file that holds settings alone. Raises BadFile."""
    settings = record.get("settings", {key: value for key, value in record.items() if key != "schema"})
    if not isinstance(settings, dict):
        raise BadFile("The settings file's 'settings' must be a JSON object: give a plan.json as it was written.")
    return settings


def machine_in(record: dict[str, Any]) -> Machine:
    """The machine that a record names, with defaults for what it leaves open. Raises BadFile for what is unknown or of the wrong kind."""
    values = settings_in(record).get("machine", {})
    _look_through({"machine": values})
    try:
        return _changed(Machine(), values)
    except BadRequest as error:
        raise BadFile("The settings file cannot be used: {error} Mend it in the file.", error=error) from error


def with_settings(request: Request, record: dict[str, Any]) -> Request:
    """The request with every setting that a record names: a whole plan.json, or its "settings" alone.

    Raises BadFile, naming the key, for what is unknown or of the wrong kind.
    """
    settings = settings_in(record)
    _look_through(settings)
    try:
        return replace(request, **{key: _setting(request, key, value) for key, value in cutters_found(settings, request.rack).items()})
    except BadRequest as error:
        raise BadFile("The settings file cannot be used: {error} Mend it in the file.", error=error) from error


def _look_through(settings: dict[str, Any]) -> None:
    """Raise BadFile for the first key that there is not, or value that is not allowed."""
    said = PLAN.complaint(Message("it"), settings)
    if said is not None:
        raise BadFile("The settings file cannot be used: {error}. Mend it in the file.", error=said)


def _setting(request: Request, key: str, value: Any) -> Any:
    """A setting as a request holds it, from a value that has been looked at."""
    if key in GROUPED_SETTINGS:
        return _changed(getattr(request, key), value)
    return LISTED_SETTINGS[key](value) if key in LISTED_SETTINGS else value


def _changed(group: Group, values: dict[str, Any]) -> Group:
    return replace(group, **_as_tuples_within(values))  # type: ignore[type-var]


def _as_tuples_within(values: dict[str, Any]) -> dict[str, Any]:
    return {key: _as_tuples(value) for key, value in values.items()}


def _as_tuples(value: Any) -> Any:
    """JSON lists as tuples, all the way down."""
    return tuple(_as_tuples(item) for item in value) if isinstance(value, list) else value
