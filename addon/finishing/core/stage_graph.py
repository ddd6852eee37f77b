"""A plan as a graph of stages: a stage is a plain function, and the names of its parameters are what it needs.

A parameter names another stage (its result is given), a single setting of the question that is asked, or either of them behind the
prefix of a what-if: the same stage or setting, with something in the question changed. A stage sees nothing but its parameters, so no
key can forget what a result depends on: a result's key is the digest of its stage's name and of the keys of all it was made from.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Generic, TypeVar, get_type_hints

from .digests import digest
from .result_store import ResultStore

Question = TypeVar("Question")
Value = TypeVar("Value")
Stage = TypeVar("Stage", bound=Callable[..., Any])

_BY_VALUE = "keyed by what it is"
Small = Annotated[Value, _BY_VALUE]
"""The result of a stage that is a matter of microseconds: it is made at once, and known by what it is, not by what it was made from. A change
that leaves it as it was goes no further. Such a stage may only need settings and other small results."""


def uses_all_threads(stage: Stage) -> Stage:
    """Mark a stage that shares its work over all threads by itself, so that little is gained by running another one in the background."""
    stage.uses_all_threads = True  # type: ignore[attr-defined]
    return stage


@dataclass(frozen=True)
class WhatIf(Generic[Question]):
    """The same graph asked with something changed. prefix: that parameters carry, as in "unskipped_ground".

    change: the question to ask instead, the same object where nothing changes, None where there is nothing to ask; or several
    questions as a tuple, whose results come as a tuple. reads: the settings that decide what is asked instead.
    """

    prefix: str
    change: Callable[[Question], Question | None | tuple[Question, ...]]
    reads: tuple[str, ...] = ()


@dataclass(frozen=True)
class Need(Generic[Question]):
    """One parameter of a stage. name: of the stage or setting that it stands for. what_if: under which it is asked, or None."""

    name: str
    what_if: WhatIf[Question] | None


@dataclass(frozen=True)
class StageInfo(Generic[Question]):
    """A stage and what its signature says. small, steps, spread: whether its result is small, whether it runs in steps (a generator that
    yields the share done), whether it uses all threads.
    """

    function: Callable[..., Any]
    needs: tuple[Need[Question], ...]
    small: bool
    steps: bool
    spread: bool

    @property
    def name(self) -> str:
        """The function's name."""
        return self.function.__name__

    @property
    def title(self) -> str:
        """The name as words, for progress."""
        return self.name.replace("_", " ")


class Graph(Generic[Question]):
    """Stages, the settings that a question has, and the what-ifs they may ask.

    settings_of: the single settings of a question by name. Raises ValueError for a parameter that is nothing the graph knows, for a circle,
    and for a small stage that needs a large one.
    """

    def __init__(
        self,
        stages: Iterable[Callable[..., Any]],
        settings_of: Callable[[Question], Mapping[str, object]],
        setting_names: Iterable[str],
        what_ifs: Iterable[WhatIf[Question]] = (),
    ) -> None:
        functions = tuple(stages)
        self.settings_of = settings_of
        self.setting_names = frozenset(setting_names)
        self._what_ifs = tuple(what_ifs)
        self._names = {function.__name__ for function in functions}
        if len(self._names) < len(functions) or self._names & self.setting_names:
            raise ValueError("a stage has the name of another stage or of a setting")
        self.stages: dict[str, StageInfo[Question]] = {function.__name__: self._info(function) for function in functions}
        self._check()

    def _info(self, function: Callable[..., Any]) -> StageInfo[Question]:
        needs = tuple(self._need(function.__name__, name) for name in inspect.signature(function).parameters)
        returned = get_type_hints(function, include_extras=True).get("return")
        return StageInfo(
            function,
            needs,
            small=_BY_VALUE in getattr(returned, "__metadata__", ()),
            steps=inspect.isgeneratorfunction(function),
            spread=getattr(function, "uses_all_threads", False),
        )

    def _need(self, stage: str, parameter: str) -> Need[Question]:
        if parameter in self._names or parameter in self.setting_names:
            return Need(parameter, None)
        for what_if in self._what_ifs:
            rest = parameter.removeprefix(what_if.prefix)
            if rest != parameter and (rest in self._names or rest in self.setting_names):
                return Need(rest, what_if)
        raise ValueError(f"stage {stage} needs {parameter!r}, which is neither a stage nor a setting")

    def _check(self) -> None:
        for name, info in self.stages.items():
            if info.small and any(need.name in self.stages and not self.stages[need.name].small for need in info.needs):
                raise ValueError(f"stage {name} is small and needs a large result")
            if info.small and info.steps:
                raise ValueError(f"stage {name} is small and runs in steps")
            self._find_circle(name, ())

    def _find_circle(self, name: str, path: tuple[str, ...]) -> None:
        if name in path:
            raise ValueError("circle: " + " -> ".join((*path, name)))
        for need in self.stages[name].needs:
            if need.what_if is None and need.name in self.stages:
                self._find_circle(need.name, (*path, name))

    def below(self, changed: str) -> set[str]:
        """The stages whose results may change when a setting does, what-ifs included."""
        found: set[str] = set()

        def reached(need: Need[Question]) -> bool:
            return need.name == changed or need.name in found or (need.what_if is not None and changed in need.what_if.reads)

        while True:
            more = {name for name, info in self.stages.items() if any(reached(need) for need in info.needs)}
            if more == found:
                return found
            found = more


@dataclass
class Node:
    """One result that may have to be made. arguments: of the stage's function, each a value that is there or keys of other nodes."""

    info: StageInfo[Any]
    key: str
    arguments: tuple[Argument, ...]

    def inputs(self) -> list[str]:
        """Keys of the nodes that it is made from."""
        return [key for argument in self.arguments for key in argument.keys]


@dataclass(frozen=True)
class Argument:
    """A value that is there, or the results of the nodes with these keys: a single one, or a tuple of all where `several`."""

    value: object = None
    keys: tuple[str, ...] = ()
    several: bool = False

    def given(self, results: Mapping[str, object]) -> object:
        """What the stage's function is called with."""
        if self.several:
            return tuple(results[key] for key in self.keys)
        return results[self.keys[0]] if self.keys else self.value


@dataclass(frozen=True)
class _Changed(Generic[Question]):
    """The questions that a what-if asks instead. several: whether it asks any number of them, and wants a tuple."""

    questions: tuple[Question, ...]
    several: bool


class Resolver(Generic[Question]):
    """Finds the keys of results, and makes the small ones on the way. nodes: by key, all large results that were asked for so far.

    Questions and settings are recognised by their identity within one resolver, which keeps them, so that no other can take their place.
    """

    def __init__(self, graph: Graph[Question], store: ResultStore) -> None:
        self.nodes: dict[str, Node] = {}
        self._graph, self._store = graph, store
        self._resolved: dict[tuple[str, int], tuple[str, Argument]] = {}
        self._settings: dict[int, tuple[Question, Mapping[str, object]]] = {}
        self._changed: dict[tuple[str, int], _Changed[Question]] = {}
        self._digests: dict[int, tuple[object, str]] = {}

    def resolve(self, name: str, question: Question) -> tuple[str, Argument]:
        """Key and argument of a stage's result, or of a setting, for a question."""
        mark = (name, id(question))
        if mark not in self._resolved:
            if id(question) not in self._settings:
                self._settings[id(question)] = (question, self._graph.settings_of(question))
            self._resolved[mark] = self._stage(name, question) if name in self._graph.stages else self._setting(name, question)
        return self._resolved[mark]

    def _setting(self, name: str, question: Question) -> tuple[str, Argument]:
        value = self._settings[id(question)][1][name]
        if id(value) not in self._digests:
            self._digests[id(value)] = (value, digest("value", value))
        return self._digests[id(value)][1], Argument(value)

    def _stage(self, name: str, question: Question) -> tuple[str, Argument]:
        info = self._graph.stages[name]
        resolved = [self._need(need, question) for need in info.needs]
        key = digest(name, *(part for part, _ in resolved))
        arguments = tuple(argument for _, argument in resolved)
        if not info.small:
            self.nodes.setdefault(key, Node(info, key, arguments))
            return key, Argument(keys=(key,))
        found = self._store.find_value(key)
        if found is None:
            value = info.function(*(argument.value for argument in arguments))
            found = (digest("value", value), value)
            self._store.keep_value(key, *found)
        return found[0], Argument(found[1])

    def _need(self, need: Need[Question], question: Question) -> tuple[str, Argument]:
        if need.what_if is None:
            return self.resolve(need.name, question)
        changed = self._change(need.what_if, question)
        answers = [self.resolve(need.name, one) for one in changed.questions]
        if not changed.several:
            return answers[0] if answers else (digest("nothing"), Argument())
        key = digest("several", *(part for part, _ in answers))
        if need.name in self._graph.stages and not self._graph.stages[need.name].small:
            return key, Argument(keys=tuple(argument.keys[0] for _, argument in answers), several=True)
        return key, Argument(tuple(argument.value for _, argument in answers))

    def _change(self, what_if: WhatIf[Question], question: Question) -> _Changed[Question]:
        mark = (what_if.prefix, id(question))
        if mark not in self._changed:
            changed = what_if.change(question)
            if isinstance(changed, tuple):
                self._changed[mark] = _Changed(changed, several=True)
            else:
                self._changed[mark] = _Changed(() if changed is None else (changed,), several=False)
        return self._changed[mark]
