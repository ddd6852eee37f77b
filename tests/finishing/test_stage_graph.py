"""The graph of stages on small graphs: keys, what-ifs, what runs again, the background, errors, stopping, and the store of results."""

from __future__ import annotations

import sys
import threading
import weakref
from collections.abc import Callable, Generator
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from addon.finishing.core import stage_runner
from addon.finishing.core.digests import digest
from addon.finishing.core.result_store import EMPTY_BYTES, LIGHT_BYTES, ResultStore
from addon.finishing.core.stage_graph import Graph, Small, WhatIf, uses_all_threads
from addon.finishing.core.stage_runner import StageRunner
from addon.finishing.core.stepping import finished


@dataclass(frozen=True)
class Question:
    """What the small graph is asked."""

    numbers: tuple[float, ...] = (3.0, 1.0, 2.0)
    power: int = 2
    limit: float = 2.0
    marked: bool = False


def settings_of(question: Question) -> dict[str, object]:
    return dict(vars(question))


def parity(power: int) -> Small[bool]:
    return power % 2 == 1


def ordered(numbers: tuple[float, ...]) -> np.ndarray:
    return np.sort(np.array(numbers))


def powers(ordered: np.ndarray, power: int) -> Generator[float, None, np.ndarray]:
    yield 0.5
    return ordered**power


def signed(ordered: np.ndarray, parity: bool) -> float:
    return float(ordered.sum()) * (-1 if parity else 1)


def below(powers: np.ndarray, limit: float, marked: bool) -> np.ndarray:
    return powers[powers < limit] * (1 if marked else 2)


def compared(below: np.ndarray, plain_below: np.ndarray, each_power_powers: tuple[np.ndarray, ...]) -> float:
    return float(below.sum() - plain_below.sum()) + sum(float(one.sum()) for one in each_power_powers)


STAGES = (parity, ordered, powers, signed, below, compared)
WHAT_IFS = (
    WhatIf[Question]("plain_", lambda q: replace(q, marked=False) if q.marked else q),
    WhatIf[Question]("each_power_", lambda q: tuple(replace(q, power=p) for p in (1, 2, 3))),
)
GRAPH = Graph(STAGES, settings_of, vars(Question()), WHAT_IFS)


def asked(store: ResultStore, question: Question, *names: str) -> tuple[dict[str, object], list[str]]:
    runner = StageRunner(GRAPH, store)
    found = finished(runner.ask(names, question))
    return found, runner.ran


def test_results_are_those_of_the_plain_functions() -> None:
    found, _ = asked(ResultStore(), Question(marked=True), "below", "compared", "signed")
    cubes = [np.array([1.0, 2.0, 3.0]) ** p for p in (1, 2, 3)]
    assert found["below"] == pytest.approx([1.0])
    assert found["compared"] == pytest.approx(1.0 - 2.0 + sum(c.sum() for c in cubes))
    assert found["signed"] == 6.0


def test_the_identical_question_runs_nothing_and_a_change_only_what_is_below_it() -> None:
    store = ResultStore()
    _, ran = asked(store, Question(), "below", "signed")
    assert sorted(ran) == ["below", "ordered", "powers", "signed"]
    assert asked(store, Question(), "below", "signed")[1] == []
    assert asked(store, Question(limit=3.0), "below", "signed")[1] == ["below"]
    assert sorted(asked(store, Question(power=4), "below", "signed")[1]) == ["below", "powers"]  # even as before: `signed` keeps
    assert sorted(asked(store, Question(power=3), "below", "signed")[1]) == ["below", "powers", "signed"]
    assert asked(store, Question(), "below")[1] == []


def test_what_ifs_find_what_does_not_depend_on_them() -> None:
    store = ResultStore()
    asked(store, Question(), "powers")
    _, ran = asked(store, Question(marked=True), "compared")
    # Powers of 2 are there; those of 1 and 3 are made, `below` for the marked and the plain question.
    assert sorted(ran) == ["below", "below", "compared", "powers", "powers"]
    assert asked(store, Question(), "below")[1] == []


@settings(deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["numbers", "power", "limit", "marked"]), st.integers(0, 3)), max_size=12), st.sampled_from([1, 10_000]))
def test_a_kept_answer_equals_a_fresh_one_whatever_was_asked_before(changes: list[tuple[str, int]], limit: int) -> None:
    values = {"numbers": [(3.0, 1.0, 2.0), (1.0,), (), (5.0, 4.0)], "power": [1, 2, 3, 4], "limit": [0.0, 2.0, 5.0, 99.0], "marked": [False, True] * 2}
    store, question = ResultStore(limit), Question()
    for name, number in changes:
        question = replace(question, **{name: values[name][number]})
        kept, fresh = (asked(one, question, "compared", "signed", "below")[0] for one in (store, ResultStore()))
        assert digest(kept) == digest(fresh)


def test_what_a_setting_reaches_is_read_off_the_signatures() -> None:
    assert GRAPH.below("limit") == {"below", "compared"}
    assert GRAPH.below("numbers") == {"ordered", "powers", "signed", "below", "compared"}
    assert GRAPH.below("power") == {"parity", "powers", "signed", "below", "compared"}


def test_graphs_that_cannot_work_are_refused() -> None:
    def needs_nothing_known(unknown: int) -> int:
        return unknown

    def one(other: int) -> int:
        return other

    def other(one: int) -> int:
        return one

    def large(power: int) -> int:
        return power

    def small(large: int) -> Small[int]:
        return large

    def limit(power: int) -> int:
        return power

    for stages, word in (((needs_nothing_known,), "unknown"), ((one, other), "circle"), ((large, small), "large"), ((limit,), "name")):
        with pytest.raises(ValueError, match=word):
            Graph(stages, settings_of, vars(Question()))


def test_a_small_stage_is_made_once_for_the_same_inputs() -> None:
    made: list[int] = []

    def doubled(power: int) -> Small[int]:
        made.append(power)
        return 2 * power

    def result(doubled: int) -> int:
        return doubled

    graph, store = Graph((doubled, result), settings_of, vars(Question())), ResultStore()
    for power in (1, 1, 2, 1):
        assert finished(StageRunner(graph, store).ask(("result",), Question(power=power))) == {"result": 2 * power}
    assert made == [1, 2]


def test_two_stages_run_at_the_same_time_and_the_longer_chain_is_the_caller_s() -> None:
    meeting = threading.Barrier(2, timeout=10)
    threads: dict[str, str] = {}

    def left(power: int) -> int:
        threads["left"] = threading.current_thread().name
        meeting.wait()  # would never pass if they ran one after the other
        return power

    def right(power: int) -> int:
        threads["right"] = threading.current_thread().name
        meeting.wait()
        return power

    def after_left(left: int) -> Generator[float, None, int]:
        yield 0.5
        return left

    def both(after_left: int, right: int) -> int:
        return after_left + right

    graph = Graph((right, left, after_left, both), settings_of, vars(Question()))
    assert finished(StageRunner(graph, ResultStore()).ask(("both",), Question(power=5))) == {"both": 10}
    assert threads["left"] == threading.current_thread().name != threads["right"]


def test_the_background_waits_while_all_threads_are_used_and_a_better_time_is_to_come() -> None:
    running: set[str] = set()
    seen: dict[str, set[str]] = {}

    def spread(power: int) -> Generator[float, None, int]:
        running.add("spread")
        for _ in range(20):
            yield 0.5
            threading.Event().wait(0.005)
        running.discard("spread")
        return power

    def single(spread: int) -> Generator[float, None, int]:
        running.add("single")
        for _ in range(20):
            yield 0.5
            threading.Event().wait(0.005)
        running.discard("single")
        return spread

    def aside(power: int) -> int:
        seen["aside"] = set(running)
        return power

    def both(single: int, aside: int) -> int:
        return single + aside

    graph = Graph((uses_all_threads(spread), single, aside, both), settings_of, vars(Question()))
    assert finished(StageRunner(graph, ResultStore()).ask(("both",), Question(power=3))) == {"both": 6}
    assert "spread" not in seen["aside"]


def test_what_a_stage_raises_reaches_the_caller_and_is_not_kept() -> None:
    def broken(power: int) -> int:
        return 1 // (power - 2)

    def long(power: int) -> Generator[float, None, int]:
        for _ in range(500):
            yield 0.1
            threading.Event().wait(0.01)
        return power

    def both(long: int, broken: int) -> int:
        return long + broken

    graph, store = Graph((broken, long, both), settings_of, vars(Question())), ResultStore()
    for name in ("broken", "both"):
        with pytest.raises(ZeroDivisionError):
            finished(StageRunner(graph, store).ask((name,), Question()))
    assert len(store) == 0
    assert finished(StageRunner(graph, store).ask(("broken",), Question(power=3))) == {"broken": 1}


def test_stopping_ends_both_lanes_and_keeps_what_was_made() -> None:
    closed: list[str] = []

    def first(power: int) -> int:
        return power

    def long(first: int) -> Generator[float, None, int]:
        try:
            while True:
                yield 0.1
        finally:
            closed.append("long")

    def other(first: int) -> Generator[float, None, int]:
        try:
            while True:
                yield 0.1
                threading.Event().wait(0.001)
        finally:
            closed.append("other")

    def both(long: int, other: int) -> int:
        return long + other

    graph, store = Graph((first, long, other, both), settings_of, vars(Question())), ResultStore()
    steps = StageRunner(graph, store).ask(("both",), Question())
    for _ in range(50):
        next(steps)
    steps.close()
    assert sorted(closed) == ["long", "other"] and len(store) == 1
    assert not [thread for thread in threading.enumerate() if thread.name == "finishing background"]


def test_chains_that_are_alike_run_one_after_the_other_once_their_results_are_heavy(monkeypatch: pytest.MonkeyPatch) -> None:
    def heavy(power: int) -> np.ndarray:
        return np.full(20_000, float(power))

    def light(heavy: np.ndarray) -> float:
        return float(heavy.sum())

    def total(each_power_light: tuple[float, ...]) -> float:
        return sum(each_power_light)

    def each_power(question: Question) -> tuple[Question, ...]:
        return tuple(replace(question, power=power) for power in range(12))

    graph = Graph((heavy, light, total), settings_of, vars(Question()), (WhatIf("each_power_", each_power, reads=("power",)),))

    def most_at_once() -> int:
        """Heavy results that wait for their light ones, at most."""
        runner = StageRunner(graph, ResultStore())
        assert finished(runner.ask(("total",), Question()))["total"] == 20_000.0 * sum(range(12))
        waiting = np.cumsum([{"heavy": 1, "light": -1, "total": 0}[name] for name in runner.ran])
        return int(waiting.max())

    assert most_at_once() > 6  # the longest chains first
    monkeypatch.setattr(stage_runner, "HEAVY_BYTES", 100_000)
    monkeypatch.setattr(stage_runner, "GIVEN_BACK_BYTES", 100_000)
    assert most_at_once() <= 3  # one a lane, and the one after which it was noticed


def test_what_heavy_chains_wait_for_alone_is_made_before_the_next_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    # All that the scale needs was made first of all; what the chains begin with, later.
    def ground(limit: float) -> float:
        return limit

    def scale(ground: float) -> float:
        return 2.0 + 0.0 * ground

    def tool(power: int, ground: float) -> float:
        return power + 0.0 * ground

    def heavy(tool: float) -> np.ndarray:
        return np.full(20_000, tool)

    def half(heavy: np.ndarray) -> np.ndarray:
        return heavy / 2

    def light(half: np.ndarray, scale: float) -> float:
        return scale * float(half.sum())

    def total(each_power_light: tuple[float, ...]) -> float:
        return sum(each_power_light)

    def each_power(question: Question) -> tuple[Question, ...]:
        return tuple(replace(question, power=power) for power in range(12))

    monkeypatch.setattr(stage_runner, "HEAVY_BYTES", 100_000)
    graph = Graph(
        (ground, scale, tool, heavy, half, light, total), settings_of, vars(Question()), (WhatIf("each_power_", each_power, reads=("power",)),)
    )
    runner = StageRunner(graph, ResultStore())
    assert finished(runner.ask(("total",), Question()))["total"] == 20_000.0 * sum(range(12))
    before = runner.ran[: runner.ran.index("scale")]
    assert before.count("half") <= 3, runner.ran


def test_progress_grows_to_the_end_and_names_the_stages() -> None:
    told = list(StageRunner(GRAPH, ResultStore()).ask(("compared",), Question(marked=True)))
    shares = [share for share, _ in told]
    assert shares == sorted(shares) and shares[0] >= 0 and shares[-1] <= 1
    assert told[0][1] == "powers" and {title for _, title in told} == {"powers"}


def numbered(number: int) -> Callable[[float], int]:
    """A stage of its own name that takes no time."""

    def stage(limit: float) -> int:
        return number

    stage.__name__ = f"numbered_{number}"
    return stage


def test_progress_can_be_told_while_the_background_goes_on() -> None:
    # Hundreds of short stages end in the background while the foreground tells its progress as often as it can.
    def slow(limit: float) -> Generator[float, None, int]:
        for _ in range(3000):
            yield 0.0
        return 0

    graph = Graph((slow, *(numbered(number) for number in range(400))), settings_of, vars(Question()))
    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        for _ in range(5):
            finished(StageRunner(graph, ResultStore()).ask(("slow", *(f"numbered_{number}" for number in range(400))), Question()))
    finally:
        sys.setswitchinterval(interval)


def test_the_store_keeps_to_its_limit_and_lets_the_least_recently_used_go() -> None:
    store = ResultStore(limit_bytes=3 * (8000 + EMPTY_BYTES))
    for name in "abc":
        store.keep(name, np.zeros(1000))
    assert store.find("a")[0]
    store.keep("d", np.zeros(1000))
    assert [name for name in "abcd" if store.find(name)[0]] == ["a", "c", "d"]
    assert store.held_bytes == 3 * (8000 + EMPTY_BYTES)


def test_heavy_results_go_before_light_ones_and_after_them_none_is_spared() -> None:
    heavy = LIGHT_BYTES // 8 + 1
    store = ResultStore(limit_bytes=2 * 8 * heavy + 10 * EMPTY_BYTES)
    for name, count in (("lines", 10), ("grid", heavy), ("other grid", heavy), ("third grid", heavy)):
        store.keep(name, np.zeros(count))
    assert [name for name in ("lines", "grid", "other grid", "third grid") if store.find(name)[0]] == ["lines", "other grid", "third grid"]
    # The newest stays whatever it weighs; where nothing heavy is left beside it, the least recently used goes.
    store.limit_bytes = 8 * heavy
    store.keep("fourth grid", np.zeros(heavy))
    assert [name for name in ("lines", "other grid", "third grid", "fourth grid") if store.find(name)[0]] == ["fourth grid"]


def test_what_is_needed_stays_and_others_go_for_it_until_it_is_let_go() -> None:
    heavy = LIGHT_BYTES // 8 + 1
    store = ResultStore(limit_bytes=2 * 8 * heavy + 10 * EMPTY_BYTES)
    store.keep("needed", np.zeros(heavy), needed=True)
    for name, count in (("lines", 10), ("grid", heavy), ("other grid", heavy)):
        store.keep(name, np.zeros(count))
    names = ("needed", "lines", "grid", "other grid")
    assert [name for name in names if store.find(name)[0]] == ["needed", "lines", "other grid"]
    # Nothing heavy is left that could go: the limit is passed, and light results do not go for it in vain.
    store.need(["other grid"])
    store.keep("third grid", np.zeros(heavy), needed=True)
    assert store.held_bytes > store.limit_bytes and store.find("lines")[0]
    store.let_go(["needed", "other grid", "third grid"])
    assert store.held_bytes <= store.limit_bytes
    assert [name for name in (*names, "third grid") if store.find(name)[0]] == ["lines", "other grid", "third grid"]


def test_heavy_results_that_share_all_their_arrays_are_heavy_all_the_same() -> None:
    # A stage that gives on what it was given: neither result alone frees anything, both together do.
    heavy = LIGHT_BYTES // 8 + 1
    store, old = ResultStore(limit_bytes=2 * 8 * heavy + 10 * EMPTY_BYTES), np.zeros(heavy)
    store.keep("surface", old)
    store.keep("the same surface", (old,))
    for name in ("grid", "other grid"):
        store.keep(name, np.zeros(heavy))
    assert [name for name in ("surface", "the same surface", "grid", "other grid") if store.find(name)[0]] == ["grid", "other grid"]


def test_results_that_no_stage_asks_for_go_before_those_that_one_still_needs() -> None:
    heavy, most = LIGHT_BYTES // 8 + 1, []
    alive: list[weakref.ref[np.ndarray]] = []

    def filled(value: float) -> np.ndarray:
        new = np.full(heavy, value)
        alive.append(weakref.ref(new))
        return new

    def base(power: int) -> np.ndarray:
        return filled(power)

    def between(base: np.ndarray) -> np.ndarray:
        return filled(base[0])

    def after(between: np.ndarray) -> np.ndarray:
        return filled(between[0])

    def last(base: np.ndarray, after: np.ndarray) -> float:
        # `base` and `after` are needed here, `between` by nobody any more: within a limit of two it must not be there.
        most.append(sum(one() is not None for one in alive))
        return float(base[0] + after[0])

    def base_kept(base: np.ndarray, last: float) -> float:
        return last + float(base[0])

    graph, store = Graph((base, between, after, last, base_kept), settings_of, vars(Question())), ResultStore(2 * 8 * heavy + 20 * EMPTY_BYTES)
    for power in (1, 2):
        assert finished(StageRunner(graph, store).ask(("base_kept",), Question(power=power))) == {"base_kept": 3.0 * power}
    assert max(most) <= 2, most


def test_what_a_question_stands_on_stays_though_only_its_answer_was_looked_at() -> None:
    # The identical question finds the answer alone; then what it stands on must not be the first to go.
    store = ResultStore(limit_bytes=10**6)
    asked(store, Question(), "below")
    store.keep("another question's", np.zeros(10))
    asked(store, Question(), "below")
    store.limit_bytes = store.held_bytes - 1
    store.keep("one more", np.zeros(0))
    assert not store.find("another question's")[0]
    assert asked(store, Question(limit=4.0), "below")[1] == ["below"]


def test_arrays_that_results_share_are_counted_once() -> None:
    store, whole = ResultStore(), np.zeros((100, 100))
    store.keep("whole", whole)
    store.keep("part", {"a": whole[:50], "b": (whole, [whole[3]])})
    assert store.held_bytes == whole.nbytes + 2 * EMPTY_BYTES
    store.keep("whole", None)
    assert store.held_bytes == whole.nbytes + 2 * EMPTY_BYTES
    store.keep("part", None)
    assert store.held_bytes == 2 * EMPTY_BYTES


def test_what_is_kept_cannot_be_written_to() -> None:
    store, values = ResultStore(), np.zeros(3)
    store.keep("a", (values,))
    with pytest.raises(ValueError, match="read-only"):
        values[0] = 1


def test_digests_know_the_difference_that_a_repr_leaves_out() -> None:
    long = np.arange(10_000.0)
    other = long.copy()
    other[5000] += 1e-9
    assert digest(Question(numbers=(long,))) != digest(Question(numbers=(other,)))  # type: ignore[arg-type]
    assert digest([1, [2]]) != digest([1, 2]) and digest("1") != digest(1) and digest(1.0) != digest(1)
    assert digest({"a": 1, "b": 2}) == digest({"b": 2, "a": 1})
    with pytest.raises(TypeError, match="object"):
        digest(object())
