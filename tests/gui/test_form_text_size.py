"""Text of the form that is started by itself: as large as its station's folder says, as far as there is room."""

import os
import subprocess
import sys

import pytest

from shared.look.screen import SCALE

#: Begins Qt as the form does, in a process of its own: a scale is told once and for all.
_BEGIN = """
import sys
from feeds.entered.screen import begin_on
from shared.look.screen import ScreenTable
size = tuple(map(int, sys.argv[2].split("x"))) if sys.argv[2] else None
print(begin_on(ScreenTable(text_percent=int(sys.argv[1])), ["form"], size).devicePixelRatio())
"""


@pytest.mark.parametrize(
    ("percent", "size", "scale", "shown"),
    [
        ("200", "1366x768", "", 2.0),
        ("200", "1024x768", "", 1.49),
        ("200", "1366x768", "1.5", 1.5),  # a desk has told its own
        ("100", "1366x768", "", 1.0),
    ],
)
def test_that_a_form_is_as_large_as_its_folder_says(percent: str, size: str, scale: str, shown: float) -> None:
    told = {key: value for key, value in os.environ.items() if key != SCALE} | ({SCALE: scale} if scale else {})
    begun = subprocess.run(
        [sys.executable, "-c", _BEGIN, percent, size], env=told, capture_output=True, text=True, check=True
    )
    assert float(begun.stdout) == shown


def test_that_a_screen_without_room_is_said() -> None:
    told = {key: value for key, value in os.environ.items() if key != SCALE} | {"QT_QPA_PLATFORM": "offscreen"}
    begun = subprocess.run(
        [sys.executable, "-c", _BEGIN, "200", ""], env=told, capture_output=True, text=True, check=True
    )
    assert "text of 200 % has no room on this screen: write text_percent = 117 into screen.toml" in begun.stderr
