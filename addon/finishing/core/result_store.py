"""Results kept under their keys within a limit of bytes; the least recently used of the heavy ones go first, light ones last.

What a question still needs is there whether the store keeps it or not: to let go of it would free nothing. So it counts, and others go for it.
"""

from __future__ import annotations

import threading
from collections import Counter, OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

LIMIT_BYTES = 448 * 2**20
"""What a store may hold by default: a plan of the usual size with all its starts, and room for the plan's own work below 1 GiB."""

LIGHT_BYTES = 2 * 2**20
"""Lines, their heights and routes are mostly lighter than that and take longest to make, grids of large bodies are heavier: light results stay while
heavy ones can go."""

EMPTY_BYTES = 256
"""Counted for every result besides its arrays, so that a store of many small results has an end too."""


@dataclass(frozen=True)
class _Kept:
    """A result and the memory that its arrays stand in: size in bytes by the buffer's identity."""

    result: object
    buffers: dict[int, int]


class ResultStore:
    """Results by key. Arrays that several results share are counted once. May be used from several threads.

    seconds: how long each stage took when it last ran, by its name, which tells how much of the work it is.
    """

    def __init__(self, limit_bytes: int = LIMIT_BYTES) -> None:
        self.limit_bytes = limit_bytes
        self.held_bytes = 0
        self.seconds: dict[str, float] = {}
        self._kept: OrderedDict[str, _Kept] = OrderedDict()
        self._users: dict[int, set[str]] = {}
        self._needed: Counter[str] = Counter()
        self._value_keys: dict[str, tuple[str, object]] = {}
        self._lock = threading.Lock()
        self._watched: dict[str, tuple[object, object] | None] = {}

    def __len__(self) -> int:
        return len(self._kept)

    def find(self, key: str) -> tuple[bool, object]:
        """Whether a result is kept under the key, and the result; it counts as used."""
        with self._lock:
            kept = self._kept.get(key)
            if kept is None:
                return False, None
            self._kept.move_to_end(key)
            return True, kept.result

    def keep(self, key: str, result: object, needed: bool = False) -> None:
        """Keep a result; others go while the limit is passed, as the module says. Its arrays must not be changed any more: they are locked.

        needed: a question that is being answered needs it, until it lets go of it.
        """
        buffers = {id(array): array.nbytes for array in _buffers(result)}
        with self._lock:
            self._forget(key)
            self._kept[key] = _Kept(result, buffers)
            self._needed[key] += needed
            self.held_bytes += EMPTY_BYTES
            for buffer, size in buffers.items():
                users = self._users.setdefault(buffer, set())
                if not users:
                    self.held_bytes += size
                users.add(key)
            self._keep_to_limit()

    def need(self, keys: Iterable[str]) -> None:
        """A question needs the results under some keys until it lets go of them."""
        with self._lock:
            self._needed.update(list(keys))

    def let_go(self, keys: Iterable[str]) -> None:
        """A question needs some results no longer. While the limit is passed, results go."""
        with self._lock:
            self._needed.subtract(list(keys))
            self._needed = +self._needed
            self._keep_to_limit()

    def use(self, keys: Iterable[str]) -> None:
        """Count the results under some keys as used, where they are kept: what a new question stands on goes last, though it is not looked at."""
        with self._lock:
            for key in keys:
                if key in self._kept:
                    self._kept.move_to_end(key)

    def note(self, stage: str, seconds: float) -> None:
        """Remember how long a stage took."""
        self.seconds[stage] = seconds

    def watch(self, *stages: str) -> None:
        """Hold the newest result of these stages ready, and of no others: whoever waits for a plan looks at them while it is made."""
        self._watched = dict.fromkeys(stages)

    def made(self, stage: str, question: object, result: object) -> None:
        """A stage has made a result for a question."""
        if stage in self._watched:
            self._watched[stage] = (question, result)

    def newest(self, stage: str) -> tuple[object, object] | None:
        """The question and the result that a watched stage has made last, once; None where it has made none since."""
        found = self._watched.get(stage)
        if found is not None:
            self._watched[stage] = None
        return found

    def find_value(self, key: str) -> tuple[str, object] | None:
        """A small result with the key of its value, or None."""
        return self._value_keys.get(key)

    def keep_value(self, key: str, value_key: str, value: object) -> None:
        """Keep a small result, for good, with the key of its value."""
        self._value_keys[key] = (value_key, value)

    def _keep_to_limit(self) -> None:
        while self.held_bytes > self.limit_bytes and (key := self._next_to_go()) is not None:
            self._forget(key)

    def _next_to_go(self) -> str | None:
        """The least recently used heavy result; where none but the newest is, the least recently used of all. None that is needed, and no light one
        while a heavy one stays because it is needed: it would free next to nothing.
        """
        others = list(self._kept)[:-1]
        free = [key for key in others if not self._needed[key]]
        heavy = next((key for key in free if self._loose_bytes(key) > LIGHT_BYTES), None)
        if heavy is not None or not free:
            return heavy
        return None if any(sum(self._kept[key].buffers.values()) > LIGHT_BYTES for key in others if self._needed[key]) else free[0]

    def _loose_bytes(self, key: str) -> int:
        """Bytes of a result's arrays that no result shares which must stay: they go when the last goes that shares them."""
        newest = next(reversed(self._kept))
        stays = (any(user == newest or self._needed[user] for user in self._users[buffer]) for buffer in self._kept[key].buffers)
        return sum(size for size, held in zip(self._kept[key].buffers.values(), stays, strict=True) if not held)

    def _forget(self, key: str) -> None:
        kept = self._kept.pop(key, None)
        if kept is None:
            return
        self.held_bytes -= EMPTY_BYTES
        for buffer, size in kept.buffers.items():
            self._users[buffer].remove(key)
            if not self._users[buffer]:
                del self._users[buffer]
                self.held_bytes -= size


def bytes_of(result: object) -> int:
    """Memory that the arrays of a result stand in; they are locked against writing."""
    return sum(buffer.nbytes for buffer in _buffers(result))


def _buffers(result: object) -> Iterator[np.ndarray]:
    """The arrays that own the memory a result stands in, each locked against writing."""
    seen: set[int] = set()
    waiting = [result]
    while waiting:
        item = waiting.pop()
        if item is None or isinstance(item, str | int | float | bool | bytes | type) or callable(item) and not hasattr(item, "__dict__"):
            continue
        if id(item) in seen:
            continue
        seen.add(id(item))
        if isinstance(item, np.ndarray):
            item.flags.writeable = False
            owner = item
            while isinstance(owner.base, np.ndarray):
                owner = owner.base
            if owner is item or id(owner) not in seen:
                seen.add(id(owner))
                yield owner
        elif isinstance(item, Mapping):
            waiting.extend(item.values())
        elif isinstance(item, tuple | list | set | frozenset):
            waiting.extend(item)
        else:
            waiting.extend(getattr(item, "__dict__", {}).values())
            waiting.extend(getattr(item, name) for name in getattr(type(item), "__slots__", ()) if hasattr(item, name))
