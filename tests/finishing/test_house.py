"""What the house rules ask of the code as it stands: sizes, imports, one version, pinned packages, and skips that count as failures."""

from __future__ import annotations

import ast
import re
import runpy
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from importlinter import cli
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
CODE = [*sorted((ROOT / "addon").rglob("*.py")), ROOT / "build.py"]
FINISHING = ROOT / "addon" / "finishing"

MOST_LINES, MOST_PARAMETERS, MOST_POSITIONAL = 60, 8, 4
DICTATED = {"draw_item"}
"""Functions whose parameters Blender itself dictates."""

pytest_plugins = ["pytester"]


def functions() -> Iterator[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    """All functions and methods, with a name to tell them by."""
    for file in CODE:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{file.relative_to(ROOT)}:{node.lineno} {node.name}", node


def parameters(node: ast.FunctionDef | ast.AsyncFunctionDef) -> list[str]:
    """Names of the parameters without self or cls."""
    given = node.args
    names = [each.arg for each in (*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg) if each is not None]
    return [name for name in names if name not in ("self", "cls")]


def test_no_function_is_too_long() -> None:
    lengths = {name: (node.end_lineno or node.lineno) - node.lineno + 1 for name, node in functions()}
    assert len(lengths) > 500
    assert {name: length for name, length in lengths.items() if length > MOST_LINES} == {}


def test_no_order_of_equals_is_left_to_numpy() -> None:
    # Other releases and other processors would put them in another order, and with them pass lines.
    unstable = []
    for file in FINISHING.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            called = node.func.attr if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) else ""
            stable = isinstance(node, ast.Call) and any(word.arg == "kind" for word in node.keywords)
            if called == "argpartition" or (called == "argsort" and not stable):
                unstable.append(f"{file.relative_to(ROOT)}: {called}")
    assert unstable == []


def test_no_function_has_too_many_parameters() -> None:
    counts = {name: len(parameters(node)) for name, node in functions() if node.name not in DICTATED}
    assert {name: count for name, count in counts.items() if count > MOST_PARAMETERS} == {}


def test_constructors_are_called_with_keywords() -> None:
    many = {}
    for file in CODE:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            name = getattr(node.func, "id", getattr(node.func, "attr", "")) if isinstance(node, ast.Call) else ""
            if isinstance(node, ast.Call) and name[:1].isupper() and len(node.args) > MOST_POSITIONAL:
                many[f"{file.relative_to(ROOT)}:{node.lineno} {name}"] = len(node.args)
    assert many == {}


def test_the_import_contract_holds(capsys: pytest.CaptureFixture[str]) -> None:
    found = cli.lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True, no_logo=True)
    assert found == cli.EXIT_STATUS_SUCCESS, capsys.readouterr().out


def test_the_computation_imports_numpy_and_the_standard_library_alone() -> None:
    allowed = sys.stdlib_module_names | {"numpy"}
    foreign = {}
    for file in FINISHING.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module is not None:
                names.append(node.module)
            others = [name for name in names if name.split(".")[0] not in allowed]
            if others:
                foreign[str(file.relative_to(ROOT))] = others
    assert foreign == {}


def test_the_version_stands_in_the_manifest_alone() -> None:
    version = tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))["version"]
    assert re.fullmatch(r"\d+\.\d+\.\d+", version)
    stated = re.compile(rf"(?<![\d.=]){re.escape(version)}(?![\d.])")
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    files = listed.stdout.split() if listed.returncode == 0 else [str(path.relative_to(ROOT)) for path in (*CODE, ROOT / "pyproject.toml")]
    texts = (name for name in files if Path(name).suffix in {".py", ".toml", ".md", ".txt", ".sh", ""} and name != "LICENSE")
    found = [name for name in texts if (ROOT / name).is_file() and stated.search((ROOT / name).read_text(encoding="utf-8"))]
    # The changelog tells of every version; a test holds its newest against the manifest.
    assert found == ["CHANGELOG.md", "addon/blender_manifest.toml"]


@pytest.mark.parametrize("python", ["3.11", "3.13"])
@pytest.mark.parametrize(("packages", "groups"), [("run", ("run",)), ("test", ("run", "test")), ("bench", ("run", "test", "bench"))])
def test_every_package_is_pinned_within_its_range(python: str, packages: str, groups: tuple[str, ...]) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["dependency-groups"]
    wanted = [Requirement(line) for group in groups for line in project[group]]
    lines = (ROOT / f"requirements-{packages}.txt").read_text(encoding="utf-8").splitlines()
    pinned = [Requirement(line) for line in lines if line and not line.startswith("#")]
    here = {"python_version": python}
    releases = {each.name: str(each.specifier).removeprefix("==") for each in pinned if each.marker is None or each.marker.evaluate(here)}
    assert all(str(each.specifier).startswith("==") and "*" not in str(each.specifier) for each in pinned)
    for requirement in wanted:
        if requirement.marker is None or requirement.marker.evaluate(here):
            assert requirement.specifier.contains(releases[requirement.name]), requirement


@pytest.mark.parametrize("bench", sorted((ROOT / "tests" / "bench").glob("*.py")), ids=lambda path: path.stem)
def test_what_a_bench_takes_from_the_extension_is_there(bench: Path) -> None:
    # Benches are run by hand: a name that has moved would be missed until then.
    for node in ast.walk(ast.parse(bench.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("addon.finishing"):
            module = import_module(node.module or "")
            assert [name.name for name in node.names if not hasattr(module, name.name)] == []


SKIPPED = """
import pytest
{head}
def test_one():
    {body}
"""
CONFTEST = ROOT / "tests" / "conftest.py"


@pytest.mark.parametrize(
    ("head", "body"),
    [("", 'pytest.skip("no driver")'), ('pytest.importorskip("no_such_package")', "pass"), ('@pytest.mark.skip(reason="for now")', "pass")],
)
def test_a_skip_fails_where_none_may_be(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch, head: str, body: str) -> None:
    pytester.makeconftest(CONFTEST.read_text(encoding="utf-8"))
    pytester.makepyfile(SKIPPED.format(head=head, body=body))
    monkeypatch.delenv("FINISHING_NO_SKIPS", raising=False)
    assert "skipped" in pytester.runpytest_subprocess().parseoutcomes()
    monkeypatch.setenv("FINISHING_NO_SKIPS", "1")
    outcomes = pytester.runpytest_subprocess().parseoutcomes()
    assert "skipped" not in outcomes and outcomes.get("failed", 0) + outcomes.get("errors", 0) == 1


def test_what_cannot_run_here_may_be_skipped(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    reasons = runpy.run_path(str(CONFTEST))["MAY_BE_SKIPPED"][sys.version_info[:2]]
    tests = "".join(f"def test_{number}():\n    pytest.skip({reason!r})\n" for number, reason in enumerate(reasons))
    pytester.makeconftest(CONFTEST.read_text(encoding="utf-8"))
    pytester.makepyfile(f"import pytest\ndef test_runs():\n    pass\n{tests}")
    monkeypatch.setenv("FINISHING_NO_SKIPS", "1")
    assert pytester.runpytest_subprocess().parseoutcomes() == {"passed": 1} | ({"skipped": len(reasons)} if reasons else {})
