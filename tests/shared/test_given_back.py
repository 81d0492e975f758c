"""What texts that are done with leave behind in the memory of a process, seen in one of its own."""

import ctypes
import subprocess
import sys

import pytest

from shared.given_back import FreeMemory
from tests.helpers.processes import ROOT

#: Ten texts as large as the state of 64 beds, one after the other, and after each something small that stays.
TEXTS = """
import os
from shared.given_back import give_back_big_blocks
from tests.helpers.footprint import footprint
{0}
before, kept = footprint(os.getpid()).own_kb, []
for _ in range(10):
    text = b"x" * 24_000_000
    kept.append(b"y" * 5_000)
    del text
print(footprint(os.getpid()).own_kb - before)
"""


def left_kb(said_to_it: str, work: str = TEXTS) -> int:
    said = subprocess.run(
        [sys.executable, "-c", work.format(said_to_it)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return int(said.stdout)


@pytest.mark.skipif(not hasattr(ctypes.CDLL(None), "mallopt"), reason="this allocator has no such threshold")
def test_that_big_texts_leave_nothing_behind() -> None:
    assert left_kb("give_back_big_blocks()") < 2_000
    assert left_kb("") > 20_000, "without it they do: else this test sees nothing"


#: Two thousand texts of 30 kB, and after each something small that stays.
MANY = """
import os
from shared.given_back import FreeMemory
from tests.helpers.footprint import footprint
free = FreeMemory()
before, texts, kept = footprint(os.getpid()).own_kb, [], []
for _ in range(2_000):
    texts.append(b"x" * 30_000)
    kept.append(b"y" * 600)
del texts
{0}
print(footprint(os.getpid()).own_kb - before)
"""


@pytest.mark.skipif(not hasattr(ctypes.CDLL(None), "malloc_trim"), reason="this allocator gives nothing back")
def test_that_what_is_free_between_others_is_given_back() -> None:
    assert left_kb("free.look(1)", MANY) < 5_000
    assert left_kb("", MANY) > 20_000, "without it it stays: else this test sees nothing"


def test_that_it_is_looked_for_once_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    free, asked = FreeMemory(), list[int]()

    def trim(rest: int) -> int:
        asked.append(rest)
        return 1

    monkeypatch.setattr(free, "_trim", trim)
    assert [free.look(ticks) for ticks in (5, 60_004, 60_005, 60_006)] == [True, False, True, False]
    assert asked == [0, 0]
