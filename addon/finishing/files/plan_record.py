"""plan.json: every setting and every result of a plan, and settings read back from it."""

from __future__ import annotations

import json
from dataclasses import asdict, fields, replace
from typing import Any, TypeVar

import numpy as np

from ..ball.fit import LargestRadius
from ..core.digests import digest
from ..core.errors import BadFile, BadRequest
from ..core.finding import finding_record
from ..core.path import KINDS
from ..job.bite_settings import BiteSettings
from ..job.cutter import Cutter
from ..job.dowels import DowelSettings
from ..job.ground_settings import FitSettings, RegionSettings
from ..job.keep_out import KeepOut
from ..job.machine import Machine
from ..job.other_operations import OtherOperation
from ..job.request import Request, Rest
from ..job.roughing import RoughingSettings
from ..job.stock import StockSettings
from ..options.sanding import sanding_after
from ..planning.comparison import figures_of, figures_record
from ..planning.result import Plan

SCHEMA = 1
"""Version of the layout of plan.json; readers refuse a newer one."""

Record = TypeVar("Record")
PLAIN = (
    "side", "cusp", "start", "start_angle", "direction", "feed", "budget_minutes", "cell", "chord_tolerance", "grain_angle", "grain_share",
    "smaller_cutters", "rest_overlap", "memory_limit_mib",
)  # fmt: skip
PARTS: dict[str, type] = {
    "machine": Machine, "stock": StockSettings, "region": RegionSettings, "fit": FitSettings, "dowels": DowelSettings, "roughing": RoughingSettings,
    "bite": BiteSettings,
}  # fmt: skip


def settings_record(request: Request) -> dict[str, Any]:
    """All settings of a request but the body, as plain values."""
    record: dict[str, Any] = {name: getattr(request, name) for name in PLAIN}
    record["cutter"] = None if request.cutter is None else asdict(request.cutter)
    record["rest"] = None if request.rest is None else asdict(request.rest)
    record["rack"] = [asdict(cutter) for cutter in request.rack]
    record["elsewhere"] = [asdict(work) for work in request.elsewhere]
    record["keep_out"] = [asdict(box) for box in request.keep_out]
    for name in PARTS:
        record[name] = asdict(getattr(request, name))
    return record


def plan_record(plan: Plan, files: list[str] | None = None) -> dict[str, Any]:
    """The whole plan as plain values for JSON; lengths in mm, times as the keys say."""
    request, size = plan.request, plan.request.body.size
    settings = settings_record(request)
    largest = plan.largest
    return {
        "schema": SCHEMA,
        "units": {"length": "mm", "feed": "mm/min", "area": "mm2", "volume": "mm3", "angle": "degrees"},
        "body": {"name": request.body.name, "size_mm": size.tolist(), "triangles": len(request.body.triangles)},
        "digest": {"body": plan.body_digest, "settings": digest(json.dumps(settings, sort_keys=True))},
        "settings": settings,
        "stock_body": None if request.stock_body is None else digest(request.stock_body.triangles),
        "job_from_body": {request.side: plan.job_from_body.tolist()},
        "stock": {"low": plan.stock.low, "high": plan.stock.high, "size": plan.stock.size, "z_zero": plan.stock.z_zero(request.side),
                  "xy_zero": plan.stock.settings.xy_zero},
        "rack": [
            {
                "cutter": row.cutter.name, "diameter": row.cutter.diameter, "fits": row.fits, "hollow_radius": row.hollow_radius,
                "uncut_area": row.uncut_area, "uncut_height": row.uncut_height, "least_length": row.least_length,
                "least_minutes": row.minutes, "cusp": row.cusp,
            }
            for row in plan.rack
        ],
        "largest_radius": _largest(largest),
        "result": {
            "cutter": asdict(plan.cutter),
            "start": plan.start,
            "fits": plan.fit.fits,
            "uncut_area": plan.fit.area,
            "uncut_height": plan.fit.height,
            "planned_area": plan.ground.planned_area,
            "skipped_area": plan.ground.skipped_area,
            "wall_area": plan.ground.wall_area,
            "opening_area": plan.ground.opening_area,
            "undercut_area": plan.hidden_area,
            "openings": [asdict(opening) for opening in plan.ground.openings],
            "pass_lines": plan.path.line_count,
            "length_by_kind": {name: plan.path.length_of(k) for k, name in enumerate(KINDS)},
            "least_length": plan.least_length,
            "run_minutes": plan.run_time.minutes,
            "run_minutes_range": list(plan.run_time.range_minutes),
            "run_seconds_by_kind": plan.run_time.seconds_by_kind,
            "run_time_uncertainty": plan.run_time.uncertainty,
            "spin_up_seconds": request.machine.spin_up_seconds,
        },
        "proof": {
            "cusp_percentiles": [list(pair) for pair in plan.proof.cusp_percentiles],
            "border_cusp_percentiles": [list(pair) for pair in plan.proof.border_percentiles],
            "worst_gouge": plan.proof.worst_gouge,
            "worst_gouge_place": plan.proof.worst_gouge_place,
            "left_area": plan.proof.uncut_area,
            "left_volume": plan.proof.uncut_volume,
            "samples": plan.proof.samples,
        },
        "figures": figures_record(figures_of(plan, request.body.name)),
        "sanding": asdict(sanding_after(request.cusp, plan.ground.planned_area)),
        "bite": _bite(plan),
        "contacts": [asdict(contact) for contact in plan.contacts],
        "budget": _budget(plan),
        "ground_costs": [asdict(cost) for cost in plan.ground_costs],
        "findings": [finding_record(finding) for finding in plan.findings],
        "stage_seconds": plan.stage_seconds,
        "files": files or [],
    }  # fmt: skip


def _bite(plan: Plan) -> dict[str, Any]:
    """The bite in a few figures: depth mm, section mm2, chip mm per tooth, bend mm."""
    bite = plan.bite
    if len(bite.chip) == 0:
        return {}
    engagement = bite.engagement
    return {
        "greatest_depth": engagement.depth.max(), "greatest_section": engagement.section.max(), "greatest_chip": bite.chip.max(),
        "usual_chip": np.median(bite.chip), "greatest_bend": bite.bend.max(), "least_share_of_feed": bite.allowed.min(),
    }  # fmt: skip


def _budget(plan: Plan) -> dict[str, Any] | None:
    answer = plan.budget
    if answer is None:
        return None
    return {
        "minutes": answer.minutes, "elsewhere": answer.elsewhere, "left": answer.left, "cutter": answer.row and answer.row.cutter.name,
        "cusp": answer.cusp, "measures": [{"minutes": measure.minutes, "sentence": str(measure.sentence)} for measure in answer.measures],
    }  # fmt: skip


def _largest(largest: LargestRadius | None) -> dict[str, Any] | None:
    return None if largest is None else asdict(largest)


def record_bytes(record: dict[str, Any]) -> bytes:
    """A record as readable JSON; numpy numbers become plain ones."""
    return (json.dumps(record, indent=1, default=_plain, allow_nan=False, ensure_ascii=False) + "\n").encode("utf-8")


def _plain(value: object) -> object:
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, np.ndarray):
        return value.tolist()
    raise TypeError(f"cannot write {type(value).__name__} as JSON")


def read_record(content: bytes) -> dict[str, Any]:
    """A record from the bytes of a plan.json. Raises BadFile when it is none, or of a newer layout."""
    try:
        record = json.loads(content)
    except (UnicodeDecodeError, json.JSONDecodeError) as error:
        raise BadFile("The settings file is not JSON: {error}.", error=error) from error
    if not isinstance(record, dict):
        raise BadFile("The settings file must hold one JSON object.")
    if isinstance(record.get("schema"), int) and record["schema"] > SCHEMA:
        raise BadFile("The settings file has layout {layout}, newer than this version reads ({newest}).", layout=record["schema"], newest=SCHEMA)
    return record


def with_settings(request: Request, record: dict[str, Any]) -> Request:
    """The request with every setting that a record names: a whole plan.json, or its "settings" alone.

    Raises BadFile, naming the key, for what is unknown or of the wrong kind.
    """
    settings = record.get("settings", {k: v for k, v in record.items() if k != "schema"})
    changes: dict[str, Any] = {}
    for key, value in settings.items():
        try:
            if key in PLAIN:
                changes[key] = value
            elif key in PARTS:
                changes[key] = _changed(getattr(request, key), value)
            elif key == "cutter":
                changes[key] = None if value is None else Cutter(**value)
            elif key == "rest":
                changes[key] = None if value is None else Rest(Cutter(**value["larger"]), float(value["overlap"]))
            elif key == "rack":
                changes[key] = tuple(Cutter(**item) for item in value)
            elif key == "elsewhere":
                changes[key] = tuple(OtherOperation(**item) for item in value)
            elif key == "keep_out":
                changes[key] = tuple(KeepOut(**_as_tuples_within(item)) for item in value)
            else:
                raise BadFile("The settings file has an unknown key '{key}'.", key=key)
        except (TypeError, KeyError, BadRequest) as error:
            raise BadFile("The settings file's '{key}' cannot be used: {error}", key=key, error=error) from error
    try:
        return replace(request, **changes)
    except (TypeError, BadRequest) as error:
        raise BadFile("The settings file cannot be used: {error}", error=error) from error


def _changed(part: Record, values: dict[str, Any]) -> Record:
    known = {item.name for item in fields(part)}  # type: ignore[arg-type]
    unknown = sorted(set(values) - known)
    if unknown:
        raise BadRequest("it has an unknown key '{key}'.", key=unknown[0])
    return replace(part, **_as_tuples_within(values))  # type: ignore[type-var]


def _as_tuples_within(values: dict[str, Any]) -> dict[str, Any]:
    return {key: _as_tuples(value) for key, value in values.items()}


def _as_tuples(value: Any) -> Any:
    """JSON lists as tuples, all the way down."""
    return tuple(_as_tuples(item) for item in value) if isinstance(value, list) else value
