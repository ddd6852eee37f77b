"""With FINISHING_NO_SKIPS set, as .ci/run does, a test that is skipped fails, unless it cannot run with this Python's Blender."""

from __future__ import annotations

import importlib.util
import os
import sys
from collections.abc import Generator
from typing import TypeVar

import pytest

if importlib.util.find_spec("hypothesis") is not None:  # the oldest Blender is tested without it
    from hypothesis import HealthCheck, settings

    # How long it takes to make an example says nothing but how busy the machine is.
    settings.register_profile("patient", suppress_health_check=[HealthCheck.too_slow])
    settings.load_profile("patient")

Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)

MAY_BE_SKIPPED = {
    (3, 11): ("bpy draws without a window from 5.2 on",),
    (3, 13): (),
}
"""How the reasons begin for which tests may be skipped where nothing else may be, by the version of Python: 3.11 brings bpy 4.5 (and 4.2
for the oldest Blender), 3.13 brings bpy 5.2."""

LONG_FILES = (
    "test_plan_graph", "test_random_bodies", "test_actions", "test_tried_sets", "test_examples", "test_cycles", "test_readme", "test_extension",
    "test_view_boxes", "test_interrupted",
)  # fmt: skip
"""Files of tests that take minutes. Two processes that share the files begin with them, or one of them would be left alone with the last."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """In one of several processes, the long files first; `--no-loadscope-reorder` keeps them there."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        items.sort(key=lambda item: LONG_FILES.index(item.path.stem) if item.path.stem in LONG_FILES else len(LONG_FILES))


@pytest.fixture(scope="session", autouse=True)
def run_log_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test learns from the runs of whoever runs it, or writes among them."""
    os.environ["BODY_FINISHING_LOG"] = str(tmp_path_factory.mktemp("run-log") / "run-log.csv")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """A test that is skipped while it is set up or run."""
    return _judged((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A module or folder that is skipped as a whole."""
    return _judged((yield))


def _judged(report: Report) -> Report:
    """The report, failed when the skip that it tells of is a mistake."""
    if not os.environ.get("FINISHING_NO_SKIPS") or not report.skipped or hasattr(report, "wasxfail"):
        return report
    reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
    reason = reason.removeprefix("Skipped: ")
    if not reason.startswith(MAY_BE_SKIPPED.get(sys.version_info[:2], ())):
        report.outcome = "failed"
        report.longrepr = f"skipped, though it should run here: {reason}"
    return report
