"""All files of one plan under their names: paths, pictures, record."""

from __future__ import annotations

from ..result import Plan
from .plan_pictures import plan_pictures
from .polylines import path_csv
from .record import plan_record, record_bytes
from .writing import safe_name


def plan_files(plan: Plan, unit: str = "mm", with_pictures: bool = True) -> dict[str, bytes]:
    """Contents by file name, the CSV numbered in running order and named after body, side and cutter."""
    stem = f"{safe_name(plan.request.body.name)}-{plan.request.side}"
    files = {f"{stem}-1-round-nose-{plan.cutter.diameter:g}.csv": path_csv(plan.path, unit)}
    if with_pictures:
        files |= {f"{stem}-{name.replace('_', '-')}.png": content for name, content in plan_pictures(plan)}
    files[f"{stem}-plan.json"] = record_bytes(plan_record(plan, sorted(files)))
    return files
