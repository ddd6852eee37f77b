"""Runs the stages that a question needs: what is kept is found, the rest is made in two lanes that share the work by the graph alone.

Every lane takes, of the stages whose inputs are there, the one with the longest chain of stages still waiting for it (list scheduling on the
critical path, Graham 1969, SIAM J. Appl. Math. 17:416). The foreground is the caller's own: it tells how far the work is and can be stopped
at every step. The background is one thread more. While the foreground runs a stage that uses all threads, the background begins nothing
as long as stages are to come that leave one thread idle. Where the results that still wait for others grow heavy, the stage whose inputs were made
last goes first: chains that are alike, one for every cutter, are then run to their ends one after the other instead of side by side.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Generator, Iterable, Sequence
from typing import Generic, TypeVar

from .result_store import ResultStore, bytes_of
from .returned_memory import give_back_memory
from .stage_graph import Graph, Node, Resolver
from .threads import begun_in_background

Question = TypeVar("Question")
Progress = tuple[float, str]

WAIT_SECONDS = 0.02
"""How long the foreground waits for the background before it tells again how far it is, so that it can be stopped meanwhile."""

HEAVY_BYTES = 128 * 2**20
"""What the results of one question may hold before its stages are taken in the order that lets go of them soonest: those of two cutters on a grid of
two million cells."""

GIVEN_BACK_BYTES = 48 * 2**20
"""Results let go since memory was last given back to the system, from which it is again, in questions that have grown heavy; after a long stage it is
anyway, for what the stage has worked with."""

UNKNOWN_SECONDS, UNKNOWN_STEPS_SECONDS = 0.1, 1.0
"""How long a stage is taken to last that never ran, in one go or in steps: it only weighs the progress."""


class StageRunner(Generic[Question]):
    """Asks a graph, with the results of a store. seconds: wall time of every stage that ran, by name. ran: names of those, in order."""

    def __init__(self, graph: Graph[Question], store: ResultStore) -> None:
        self.seconds: dict[str, float] = {}
        self.ran: list[str] = []
        self._graph, self._store = graph, store
        self._resolver = Resolver(graph, store)

    def ask(self, names: Sequence[str], question: Question) -> Generator[Progress, None, dict[str, object]]:
        """The results of some stages by name; yields (share done, what is being made). Raises what a stage raises."""
        wanted = {name: self._resolver.resolve(name, question)[1] for name in names}
        goals = [key for argument in wanted.values() for key in argument.keys]
        work = _Work(self._resolver.nodes, goals, self._store, question)
        try:
            yield from self._drive(work)
        finally:
            work.stop()
            for name, seconds in work.seconds:
                self.ran.append(name)
                self.seconds[name] = self.seconds.get(name, 0.0) + seconds
        return {name: argument.given(work.results) for name, argument in wanted.items()}

    def _drive(self, work: _Work) -> Generator[Progress, None, None]:
        """The foreground lane. It chooses first, before the background begins."""
        while not work.finished:
            node = work.take(foreground=True)
            work.start()
            if node is None:
                yield work.share, work.title
                work.wait(WAIT_SECONDS)
                continue
            yield work.share, work.title
            steps = work.steps_of(node)
            while True:
                try:
                    share = next(steps)
                except StopIteration:
                    break
                yield work.share_with(node, share), work.title


class _Work:
    """What one question still needs, and how far it is; shared by both lanes."""

    def __init__(self, nodes: dict[str, Node], goals: Iterable[str], store: ResultStore, question: object) -> None:
        self.results: dict[str, object] = {}
        self.seconds: list[tuple[str, float]] = []
        self.title = ""
        self._store, self._question = store, question
        self._needed: dict[str, Node] = {}
        self._find_needed(nodes, goals)
        self._goals = frozenset(goals)
        store.need(self.results)
        self._bytes = {key: bytes_of(result) for key, result in self.results.items()}
        self._made = dict.fromkeys(self.results, 0)
        self._let_go_bytes = 0
        self._users = Counter(one for node in self._needed.values() for one in set(node.inputs()))
        self._waiting_for = {key: {one for one in node.inputs() if one in self._needed} for key, node in self._needed.items()}
        self._following: dict[str, list[str]] = {key: [] for key in self._needed}
        for key, inputs in self._waiting_for.items():
            for one in inputs:
                self._following[one].append(key)
        self._rank = self._ranks()
        self._weight = {key: _usual_seconds(node, store) for key, node in self._needed.items()}
        self._whole = sum(self._weight.values()) or 1.0
        self._running: dict[str, bool] = {}
        self._done: set[str] = set()
        self._error: BaseException | None = None
        self._stopped = False
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None

    def _find_needed(self, nodes: dict[str, Node], goals: Iterable[str]) -> None:
        # All that the goals stand on is used by the question, also what lies below a result that is kept: a change may ask for it next.
        self._store.use(_reached_from(goals, nodes))
        waiting = list(goals)
        while waiting:
            key = waiting.pop()
            if key in self.results or key in self._needed:
                continue
            kept, result = self._store.find(key)
            if kept:
                self.results[key] = result
            else:
                self._needed[key] = nodes[key]
                waiting.extend(nodes[key].inputs())

    def _ranks(self) -> dict[str, int]:
        """Length of the longest chain of stages that waits for each."""
        rank, following = dict.fromkeys(self._needed, 0), self._following
        open_inputs = {key: len(inputs) for key, inputs in self._waiting_for.items()}
        order = [key for key, count in open_inputs.items() if not count]
        for key in order:
            for after in following[key]:
                open_inputs[after] -= 1
                if not open_inputs[after]:
                    order.append(after)
        for key in reversed(order):
            rank[key] = 1 + max((rank[after] for after in following[key]), default=0)
        return rank

    @property
    def finished(self) -> bool:
        """Whether all is made. Raises what a stage in the background has raised."""
        if self._error is not None:
            raise self._error
        return len(self._done) == len(self._needed)

    def start(self) -> None:
        """Begin the background lane, where there is work for two and it has not begun."""
        if self._thread is None and len(self._needed) > 1:
            self._thread = begun_in_background(self._background, "finishing background")

    def stop(self) -> None:
        """Stop the background lane and wait for it: a stage that runs in one go is run to its end. The store is told that nothing is needed."""
        with self._changed:
            self._stopped = True
            self._changed.notify_all()
        if self._thread is not None:
            self._thread.join()
        self._store.let_go(self.results)

    def wait(self, seconds: float) -> None:
        """Wait until something has changed."""
        with self._changed:
            if not self._ready() and not self._error and len(self._done) < len(self._needed):
                self._changed.wait(seconds)

    def take(self, foreground: bool) -> Node | None:
        """The stage to run next in a lane, None when there is none."""
        with self._changed:
            ready = self._ready()
            if not ready or (not foreground and self._holds_back()):
                return None
            key = max(ready, key=self._soonest_through if self._is_heavy() else self._rank.__getitem__)  # the first of equals: always the same order
            self._running[key] = foreground
            if foreground:
                self.title = self._title(key)
            return self._needed[key]

    def _title(self, key: str) -> str:
        """What to call the work on a stage: by its name when it runs in steps, else by the next such stage to come, else as before."""
        long = [one for one, node in self._needed.items() if node.info.steps and one not in self._done and one not in self._running]
        named = key if self._needed[key].info.steps else max(long, key=lambda one: self._rank[one], default=None)
        return self.title if named is None else self._needed[named].info.title

    def _ready(self) -> list[str]:
        return [key for key, inputs in self._waiting_for.items() if not inputs and key not in self._running and key not in self._done]

    def _is_heavy(self) -> bool:
        """Whether the results that stages still wait for hold much memory."""
        return sum(self._bytes.values()) > HEAVY_BYTES

    def _soonest_through(self, key: str) -> tuple[int, int]:
        """Ranks stages by when the last of their inputs was made, and among equals by the chain that waits for them. What waits for nothing but a stage
        counts with it: results that have been made for it are held until then.
        """
        latest, reached = 0, {key}
        waiting = [key]
        while waiting:
            one = waiting.pop()
            latest = max(latest, *(self._made.get(needed, 0) for needed in self._needed[one].inputs()), 0)
            for after in self._following[one]:
                if after not in reached and self._waiting_for[after] <= reached:
                    reached.add(after)
                    waiting.append(after)
        return latest, self._rank[key]

    def _holds_back(self) -> bool:
        """Whether the background had better wait, for a long stage whose inputs are still to come and that will leave a thread idle."""
        spread = any(foreground and self._needed[key].info.spread for key, foreground in self._running.items())
        return spread and any(node.info.steps and not node.info.spread and self._waiting_for[key] for key, node in self._needed.items())

    def steps_of(self, node: Node) -> Generator[float, None, None]:
        """Make a result and keep it; yields shares done."""
        began = time.perf_counter()
        made = node.info.function(*(argument.given(self.results) for argument in node.arguments))
        result = (yield from made) if node.info.steps else made
        seconds = time.perf_counter() - began
        size = bytes_of(result)
        self._store.keep(node.key, result, needed=True)
        self._store.made(node.info.name, self._question, result)
        with self._changed:
            self.results[node.key] = result
            self._bytes[node.key] = size
            self._let_go(node)
            self.seconds.append((node.info.name, seconds))
            self._store.note(node.info.name, seconds)
            self._done.add(node.key)
            self._made[node.key] = len(self._done)
            self._running.pop(node.key, None)
            for inputs in self._waiting_for.values():
                inputs.discard(node.key)
            self._changed.notify_all()

    def _let_go(self, node: Node) -> None:
        """Hold results no longer than they are needed: whether they are kept beyond that is for the store to say."""
        gone = []
        for one in set(node.inputs()):
            self._users[one] -= 1
            if not self._users[one] and one not in self._goals:
                del self.results[one]
                self._let_go_bytes += self._bytes.pop(one)
                gone.append(one)
        self._store.let_go(gone)
        if (self._let_go_bytes > GIVEN_BACK_BYTES or node.info.steps) and self._is_heavy():
            self._let_go_bytes = 0
            give_back_memory()

    def _background(self) -> None:
        while True:
            node = self.take(foreground=False)
            with self._changed:
                if self._stopped or self._error or len(self._done) == len(self._needed):
                    return
                if node is None:
                    self._changed.wait(WAIT_SECONDS)
            if node is None:
                continue
            try:
                for _ in self.steps_of(node):
                    if self._stopped:
                        return
            except BaseException as error:  # raised again in the foreground
                with self._changed:
                    self._error = error
                    self._changed.notify_all()
                return

    @property
    def share(self) -> float:
        """Share of the work that is done, by what the stages took when they last ran."""
        with self._changed:  # the background adds to what is done
            return sum(self._weight[key] for key in self._done) / self._whole

    def share_with(self, node: Node, share: float) -> float:
        """The same with a part of a stage that is under way."""
        return min(1.0, self.share + share * self._weight[node.key] / self._whole)


def _reached_from(goals: Iterable[str], nodes: dict[str, Node]) -> list[str]:
    """The keys of some goals and of everything they stand on."""
    found: dict[str, None] = {}
    waiting = list(goals)
    while waiting:
        key = waiting.pop()
        if key not in found:
            found[key] = None
            waiting.extend(nodes[key].inputs())
    return list(found)


def _usual_seconds(node: Node, store: ResultStore) -> float:
    """What a stage took when it last ran, or is taken to last."""
    return store.seconds.get(node.info.name, UNKNOWN_STEPS_SECONDS if node.info.steps else UNKNOWN_SECONDS)
