"""What a hub's big texts leave behind in its memory; seen in a process of its own."""

import ctypes
import subprocess
import sys

import pytest

from tests.helpers.processes import ROOT

#: Ten texts as large as the state of 64 beds, one after the other, and after each something small that stays.
TEXTS = """
import os
from monitor.hub.big_blocks import give_back_big_blocks
from tests.helpers.footprint import footprint
{first}
before, kept = footprint(os.getpid()).own_kb, []
for _ in range(10):
    text = b"x" * 24_000_000
    kept.append(b"y" * 5_000)
    del text
print(footprint(os.getpid()).own_kb - before)
"""


def left_kb(first: str) -> int:
    said = subprocess.run(
        [sys.executable, "-c", TEXTS.format(first=first)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return int(said.stdout)


@pytest.mark.skipif(not hasattr(ctypes.CDLL(None), "mallopt"), reason="this allocator has no such threshold")
def test_that_big_texts_leave_nothing_behind() -> None:
    assert left_kb("give_back_big_blocks()") < 2_000
    assert left_kb("") > 20_000, "without it they do: else this test sees nothing"
