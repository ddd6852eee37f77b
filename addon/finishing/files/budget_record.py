"""The answer to a time budget as plain values for plan.json."""

from __future__ import annotations

from typing import Any

from ..options.budget_ladder import Advice
from ..planning.budget import BudgetAnswer


def budget_record(answer: BudgetAnswer | None) -> dict[str, Any] | None:
    """The answer to the time budget, None without one."""
    if answer is None:
        return None
    advice = answer.advice
    return {
        "minutes": answer.minutes,
        "elsewhere": answer.elsewhere,
        "left": answer.for_finishing,
        "cutter": None if advice is None else advice.cutters[0].name,
        "cusp": None if advice is None else advice.cusp,
        "measures": [
            {
                "minutes": measure.minutes,
                "sentence": str(measure.sentence),
                "changes": {change.setting: change.value for change in measure.changes},
            }
            for measure in answer.measures
        ],
        "advice": None if advice is None else _advice(advice),
    }


def _advice(advice: Advice) -> dict[str, Any]:
    """The set of cutters, feeds and cusp height that a budget speaks for. planned: whether it is what is planned, and so measured."""
    return {
        "cutters": [cutter.name for cutter in advice.cutters],
        "feeds": list(advice.feeds),
        "cusp": advice.cusp,
        "minutes": advice.minutes,
        "planned": advice.is_planned,
        "met": advice.is_met,
    }
