"""Changes the code in one place at a time and looks whether the tests notice: `.venv/bin/python tests/bench/mutants.py [NAME ...]`.

Mutants are those of Cosmic Ray, which pip puts into .venv for this alone; those that change nothing but annotations are left out. pytest gathers the
tests of a module once; each mutant is then tried in a process of its own that is forked from there, in which whatever other modules hold of the
module is replaced by the changed one's. The tests that have noticed most for their time come first. No file is touched. A mutant that the tests of
its module let pass survives, and is printed as the line that was changed. Names: those of MODULES; without any, all of them are taken, which takes
an hour or two. Needs fork, so no Windows.
"""

from __future__ import annotations

import ast
import difflib
import importlib
import os
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from time import process_time
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
TESTS = ROOT / "tests" / "finishing"

MODULES = {
    "cusp": ("core/cusp_formulas", ("test_cusp",)),
    "touch": ("ball/ball_on_triangle", ("test_ball_on_triangle",)),
    "tip": ("ball/tip_surface", ("test_tip_surface", "test_exact_tip")),
    "exact": ("ball/exact_tip", ("test_exact_tip",)),
    "order": ("motion/running_order", ("test_order_by_hand", "test_order", "test_order_search")),
    "groups": ("motion/group_order", ("test_order_by_hand", "test_order", "test_order_search")),
    "exchange": ("motion/order_exchange", ("test_order_by_hand", "test_order", "test_order_search")),
    "route": ("motion/route", ("test_route_by_hand", "test_links", "test_leads", "test_ways_round")),
    "links": ("motion/links", ("test_turn_shapes", "test_links", "test_leads", "test_ways_round")),
    "hops": ("motion/hops", ("test_hop_times", "test_links", "test_route_by_hand")),
    "program": ("files/program_writer", ("test_program_writer", "test_program_parts", "test_program")),
}
"""By name: a module, and the tests that are to notice when it is changed."""

LONGEST, AT_LEAST = 4.0, 2.0
"""Times what the tests take unchanged, and seconds, that a mutant may take at most: one that never ends counts as noticed."""


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


def put_in_place(name: str, source: str) -> None:
    """Let every module of this project that holds a module, or something of it, hold the same of another source."""
    old = sys.modules[name]
    new = ModuleType(name)
    new.__package__, new.__file__ = old.__package__, old.__file__
    sys.modules[name] = new
    exec(compile(source, str(old.__file__), "exec"), vars(new))
    ours = [each for each in sys.modules.values() if each is not new and str(getattr(each, "__file__", None)).startswith(str(ROOT))]
    for own in map(vars, ours):
        for key, value in list(own.items()):
            if value is old:
                own[key] = new
            elif getattr(value, "__module__", None) == name and getattr(value, "__qualname__", None) in vars(new):
                own[key] = vars(new)[value.__qualname__]
            elif key.isupper() and key in vars(new) and value is vars(old).get(key):
                own[key] = vars(new)[key]


class Trial:
    """Tries all mutants of a module on the tests that pytest has gathered, in place of running those."""

    def __init__(self, name: str) -> None:
        self.name, self.module = name, "addon.finishing." + MODULES[name][0].replace("/", ".")
        self.order: list[int] = []
        self.seconds: dict[int, float] = {}
        self.noticed_by: Counter[int] = Counter()

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Print how many mutants the module has, and which of them nobody noticed."""
        source = (ROOT / "addon" / "finishing" / f"{MODULES[self.name][0]}.py").read_text(encoding="utf-8")
        self.order = list(range(len(session.items)))
        if self._fails(session, source, 1000.0):
            pytest.exit(f"{self.name}: the tests fail without any change", returncode=1)
        limit = max(AT_LEAST, LONGEST * sum(self.seconds.values()))
        count, survived = 0, 0
        for text in mutants(source):
            count += 1
            self.order.sort(key=lambda number: (self.seconds[number] + 0.01) / (1 + self.noticed_by[number]))
            if not self._fails(session, text, limit):
                survived += 1
                lines = difflib.unified_diff(source.splitlines(), text.splitlines(), lineterm="", n=0)
                print(*(line for line in lines if not line.startswith(("---", "+++"))), sep="\n", flush=True)
        print(f"{self.name}: {count} mutants, {survived} survived", flush=True)
        return True

    def _fails(self, session: pytest.Session, source: str, limit: float) -> bool:
        """Whether one of the tests fails, or they take longer than so many seconds of the processor, with this source of the module."""
        ear, mouth = os.pipe()
        child = os.fork()
        if child == 0:
            code = 1
            try:
                quiet = os.open(os.devnull, os.O_RDWR)
                for stream in (0, 1, 2):
                    os.dup2(quiet, stream)
                signal.setitimer(signal.ITIMER_PROF, limit)
                put_in_place(self.module, source)
                code = self._run(session, mouth)
            finally:
                os._exit(code)
        os.close(mouth)
        with open(ear, encoding="ascii") as said:
            rows = [line.split() for line in said]
        begun = [int(number) for word, number, *_ in rows if word == "begun"]
        self.seconds.update({int(row[1]): float(row[2]) for row in rows if row[0] == "ended" and int(row[1]) not in self.seconds})
        _, status = os.waitpid(child, 0)
        if status and begun:
            self.noticed_by[begun[-1]] += 1
        return status != 0

    def _run(self, session: pytest.Session, mouth: int) -> int:
        """Run the tests until one fails, and tell when each begins and ends; returns 0 when none fails."""
        pytest.Function.repr_failure = lambda *_: "noticed"  # type: ignore[method-assign]  # most of the time would go on telling how it failed
        for number, then in zip(self.order, [*self.order[1:], None], strict=True):
            begin = process_time()
            os.write(mouth, f"begun {number}\n".encode("ascii"))
            session.config.hook.pytest_runtest_protocol(item=session.items[number], nextitem=None if then is None else session.items[then])
            os.write(mouth, f"ended {number} {process_time() - begin}\n".encode("ascii"))
            if session.testsfailed:
                return 1
        return 0


def main(names: list[str]) -> int:
    """Look at some modules, each in a process of its own; returns 0 unless tests fail without any change: survivors are for people to judge."""
    os.chdir(ROOT)
    sys.dont_write_bytecode = True
    if len(names) != 1:
        return max(subprocess.run([sys.executable, __file__, name], check=False).returncode for name in names or MODULES)
    importlib.import_module(f"addon.finishing.{MODULES[names[0]][0].replace('/', '.')}")
    tests = [str(TESTS / f"{test}.py") for test in MODULES[names[0]][1]]
    return int(pytest.main(["-q", "-s", "--assert=plain", "-p", "no:cacheprovider", "--no-header", "--no-summary", *tests], plugins=[Trial(names[0])]))


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    sys.exit(main(sys.argv[1:]))
