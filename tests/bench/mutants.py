"""Changes the code in one place at a time and looks whether the tests notice: `.venv/bin/python tests/bench/mutants.py [NAME ...]`.

Mutants are those of Cosmic Ray, which pip puts into .venv for this alone; those that change nothing but annotations are left out. Each is run in a
process of its own, which is forked from one that has already imported what is slow to import, and in which the changed module takes the place of the
one in the file. No file is touched. A mutant that the tests of its module let pass survives, and is printed as the line that was changed. Names:
those of MODULES; without any, all of them are taken, which takes an hour or two. Needs fork, so no Windows.
"""

from __future__ import annotations

import ast
import difflib
import importlib.abc
import importlib.util
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from time import monotonic, sleep

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests" / "finishing"

MODULES = {
    "cusp": ("core/cusp_formulas", ("test_cusp",)),
    "touch": ("ball/ball_on_triangle", ("test_ball_on_triangle",)),
    "tip": ("ball/tip_surface", ("test_tip_surface", "test_exact_tip")),
    "order": ("motion/running_order", ("test_order", "test_order_search")),
    "route": ("motion/route", ("test_links", "test_leads", "test_hops", "test_motion")),
    "program": ("files/program_writer", ("test_program_writer", "test_program_parts", "test_program")),
}
"""By name: a module, and the tests that are to notice when it is changed, the quickest first."""

LONGEST = 300
"""Seconds that the tests of a module may take: a mutant that never ends counts as noticed."""

SLOW_TO_IMPORT = ("pytest", "numpy", "scipy.ndimage", "scipy.spatial", "trimesh", "hypothesis", "shapely")


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module another source than that of its file."""

    def __init__(self, module: str, source: str) -> None:
        self._name, self._source = f"addon.finishing.{module.replace('/', '.')}", source

    def find_spec(self, name: str, path: object = None, target: object = None) -> importlib.machinery.ModuleSpec | None:
        return importlib.util.spec_from_loader(name, self) if name == self._name else None

    def exec_module(self, module: object) -> None:
        exec(compile(self._source, self._name, "exec"), vars(module))


def meaning(source: str) -> str | None:
    """What the code of a source does, without its annotations; None where it is no Python."""
    try:
        tree = ast.parse(source)
    except SyntaxError:
        return None
    for node in ast.walk(tree):
        if isinstance(node, ast.arg):
            node.annotation = None
        elif isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            node.returns = None
        elif isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(None)
    return ast.dump(tree)


def mutants(source: str) -> Iterator[str]:
    """The source with one change each, those that mean the same left out."""
    from cosmic_ray import plugins
    from cosmic_ray.ast import ast_nodes, get_ast
    from cosmic_ray.mutating import MutationVisitor

    seen = {meaning(source), None}
    for name in sorted(plugins.operator_names()):
        operator = plugins.get_operator(name)
        if operator.arguments():
            continue
        places = sum(1 for node in ast_nodes(get_ast(source)) for _ in operator().mutation_positions(node))
        for place in range(places):
            visitor = MutationVisitor(place, operator())
            text = visitor.walk(get_ast(source)).get_code()
            if meaning(text) not in seen:
                seen.add(meaning(text))
                yield text


def noticed(module: str, source: str, tests: tuple[str, ...]) -> bool:
    """Whether the tests fail, or never end, with this source of the module."""
    child = os.fork()
    if child == 0:
        os.setsid()
        quiet = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(quiet, stream)
        code = 1
        try:
            sys.meta_path.insert(0, Changed(module, source))
            import pytest

            code = int(pytest.main(["-q", "-x", "-p", "no:cacheprovider", "--no-header", *(str(TESTS / f"{test}.py") for test in tests)]))
        finally:
            os._exit(code)
    end = monotonic() + LONGEST
    while monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status != 0
        sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return True


def look(name: str) -> None:
    """Print how many mutants a module has, and which of them nobody noticed."""
    module, tests = MODULES[name]
    source = (ROOT / "addon" / "finishing" / f"{module}.py").read_text(encoding="utf-8")
    if noticed(module, source, tests):
        sys.exit(f"{name}: the tests fail without any change")
    count, survived = 0, 0
    for text in mutants(source):
        count += 1
        if not noticed(module, text, tests):
            survived += 1
            lines = difflib.unified_diff(source.splitlines(), text.splitlines(), lineterm="", n=0)
            print(*(line for line in lines if not line.startswith(("---", "+++"))), sep="\n", flush=True)
    print(f"{name}: {count} mutants, {survived} survived", flush=True)


def main(names: list[str]) -> int:
    """Look at some modules; returns 0: survivors are for people to judge."""
    os.chdir(ROOT)
    sys.dont_write_bytecode = True
    for needed in SLOW_TO_IMPORT:
        importlib.import_module(needed)
    for name in names or list(MODULES):
        look(name)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
