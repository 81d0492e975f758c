"""The demonstration as a newcomer starts it: real hub, real feed, a real window on the offscreen platform."""

import os
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtGui import QImage

from monitor.desk.palette import theme_named
from tests.helpers.hub import free_ports

ROOT = Path(__file__).parents[2]

pytestmark = pytest.mark.slow


def demo(*words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "monitor", "demo", *words],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def children_of(pid: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def goes(pid: int, within_s: float = 10) -> bool:
    """Wait until a process has ended."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return True
    try:
        return bool(select.select([handle], [], [], within_s)[0])
    finally:
        os.close(handle)


def test_that_a_demonstration_ends_by_itself_with_a_picture_of_its_board_and_the_tour_under_it(
    tmp_path: Path,
) -> None:
    picture = tmp_path / "board.png"
    words = ("--speed", "30", "--minutes", "1.5", "--picture", str(picture), "--size", "1366x768", "--beds", "6")
    with demo(*words, "--tour", "--theme", "day") as process:
        told, failed = process.communicate(timeout=90)
    assert process.returncode == 0, failed
    assert "Second look only" in told
    image = QImage(str(picture))
    assert (image.width(), image.height()) == (1366, 768)
    colours = {image.pixel(x, y) for x in range(0, 1366, 7) for y in range(0, 768, 7)}
    assert len(colours) > 20, "the picture is all but empty"
    bar = {image.pixelColor(x, 765).name().upper() for x in range(2, 100)}
    assert bar == {theme_named("day").tile.upper()}, "the bar of the tour, where a desk without one has its foot"


def test_that_a_review_of_two_units_opens_before_either_is_heard(tmp_path: Path) -> None:
    picture = tmp_path / "units.png"
    hubs = [word for port in free_ports(2) for word in ("--hub", f"tcp://127.0.0.1:{port}")]
    words = (*hubs, "--after", "0.1", "--sound-checked", "--size", "1366x768", "--picture", str(picture))
    ran = subprocess.run(
        [sys.executable, "-m", "monitor", "review", *words],
        cwd=ROOT,
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=90,
    )
    assert ran.returncode == 0, ran.stderr
    assert "Traceback" not in ran.stderr
    image = QImage(str(picture))
    assert (image.width(), image.height()) == (1366, 768)
    assert [image.pixelColor(x, 4).lightness() < 60 for x in (300, 735, 900)] == [True, False, True], "a block each"


def test_that_a_unit_without_cables_opens_on_the_rounds_of_its_past(tmp_path: Path) -> None:
    picture = tmp_path / "board.png"
    words = ("--entry", "12", "--minutes", "0.1", "--picture", str(picture), "--size", "1366x768", "--page", "due")
    with demo(*words) as process:
        told, failed = process.communicate(timeout=90)
    assert process.returncode == 0, failed
    assert "nobody enters anything but you (key I)" in " ".join(told.split())
    assert QImage(str(picture)).width() == 1366


def test_that_ctrl_c_ends_a_demonstration_and_leaves_no_process() -> None:
    with demo("--beds", "2") as process:
        assert process.stdout is not None
        assert "Weirkeeper demonstration" in process.stdout.readline()
        children: list[int] = []
        while len(children) < 2 and process.poll() is None:
            children = children_of(process.pid)
            os.sched_yield()
        process.send_signal(signal.SIGINT)
        _, failed = process.communicate(timeout=60)
    assert process.returncode in (0, 130), failed
    assert "Traceback" not in failed
    assert all(goes(pid) for pid in children)
