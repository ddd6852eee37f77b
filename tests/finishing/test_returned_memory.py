"""Memory that is free is given back to the system when it is asked for, and nothing happens where there is no way to ask."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from addon.finishing.core import returned_memory

ROOT = Path(__file__).resolve().parents[2]
ON_LINUX = pytest.mark.skipif(sys.platform != "linux", reason="other systems give large arrays back at once")

SCRIPT = """
import sys
sys.path.insert(0, sys.argv[1])
import numpy as np
from addon.finishing.core.returned_memory import give_back_from_now_on, give_back_memory

def resident():
    return int(open("/proc/self/statm").read().split()[1]) * 4096 / 2**20

def arrays_come_and_go():
    # 300 MiB in arrays of 10, with small ones between that stay: these keep the C library from giving the others back by itself.
    large, small = [], []
    for _ in range(30):
        large.append(np.ones(10 * 2**17))
        small.append(np.ones(5000))
    return small

np.ones(30 * 2**17)  # once this is freed, the C library keeps all that are smaller
if sys.argv[2] == "from now on":
    give_back_from_now_on()
begin = resident()
stays = arrays_come_and_go()
kept = resident() - begin
give_back_memory()
print(kept, resident() - begin)
"""
"""Prints how many MiB more than before the process holds when its arrays are freed, and when it has then been asked to give back."""


def held(when: str) -> tuple[float, float]:
    done = subprocess.run([sys.executable, "-c", SCRIPT, str(ROOT), when], capture_output=True, text=True, check=True)
    kept, then = map(float, done.stdout.split())
    return kept, then


@ON_LINUX
def test_what_the_c_library_keeps_is_given_back() -> None:
    kept, then = held("once")
    assert kept > 200 and then < 20


@ON_LINUX
def test_from_now_on_arrays_are_given_back_as_they_are_freed() -> None:
    assert held("from now on")[0] < 20


def test_where_there_is_no_such_function_nothing_happens(monkeypatch: pytest.MonkeyPatch) -> None:
    returned_memory._ask("no_library_has_this_function")
    monkeypatch.setattr(sys, "platform", "elsewhere")
    monkeypatch.setattr(returned_memory.ctypes, "CDLL", lambda name: pytest.fail("asked"))
    returned_memory.give_back_memory()
    returned_memory.give_back_from_now_on()
