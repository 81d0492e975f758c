"""A unit of 64 beds for long: what its processes hold does not grow, and nothing piles up anywhere.

The day and the hour are for ``WEIRKEEPER_LONG=1``; what they look with is shown here to see what is lost.
"""

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from statistics import median

import pytest

from shared.instant import HOUR, Instant
from tests.helpers import soak
from tests.helpers.footprint import Footprint, footprint, growth
from tests.helpers.processes import ROOT, logged_badly

LONG = pytest.mark.skipif(os.environ.get("WEIRKEEPER_LONG") != "1", reason="an hour and more: WEIRKEEPER_LONG=1")


def looks_at(what: str, steps: int = 120) -> list[Footprint]:
    """Look at a process after each step in which it loses something."""
    words = [sys.executable, "-m", "tests.helpers.leaking", what]
    with subprocess.Popen(words, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        looks = []
        for _ in range(steps):
            process.stdin.write("step\n")
            process.stdin.flush()
            assert process.stdout.readline() == "stepped\n"
            looks.append(footprint(process.pid))
    return looks


def test_that_a_process_that_loses_nothing_is_steady() -> None:
    assert growth(looks_at("nothing")).is_steady


@pytest.mark.parametrize("what", ["memory", "descriptor", "thread"])
def test_that_what_a_process_loses_is_seen(what: str) -> None:
    found = growth(looks_at(what))
    assert not found.is_steady
    assert (found.memory >= 0.02, found.descriptors > 0, found.threads > 0)[
        ["memory", "descriptor", "thread"].index(what)
    ]


def test_that_what_a_hub_loses_in_a_soak_is_seen(tmp_path: Path) -> None:
    soak.make(tmp_path, now_ms(), beds=4)
    looks = list(soak.day(tmp_path, hours=0.6, looks=18, desks=False, lose="descriptors"))
    assert growth([look.held["hub"] for look in looks]).descriptors > 0
    assert len({look.held["feed"].descriptors for look in looks[6:]}) == 1


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A unit whose hub has kept all that it ever keeps of its past."""
    folder = tmp_path_factory.mktemp("unit")
    soak.make(folder, now_ms() - soak.FILL_H * HOUR)
    soak.fill(folder)
    return folder


@LONG
def test_that_nothing_grows_in_an_hour_of_64_beds(filled: Path) -> None:
    looks = list(soak.hour(filled))
    assert_settled(looks, behind_s=5)
    assert_whole(filled)


@LONG
def test_that_nothing_grows_in_a_day_of_64_beds(filled: Path) -> None:
    looks = list(soak.day(filled))
    assert_settled(looks, behind_s=10 * 60)
    assert_whole(filled)


def assert_settled(looks: Sequence[soak.Look], behind_s: float) -> None:
    """After ten minutes nothing has grown, nothing waits, and desks are at most so far behind."""
    looks = [look for look in looks if look.real_s >= soak.SETTLED_S]
    for name in looks[0].held:
        found = growth([look.held[name] for look in looks])
        assert found.is_steady, f"{name}: {found}"
    part = len(looks) // 4
    for what in ("journal_kb", "log_kb"):  # these files keep the largest size that they ever had
        first, last = (max(getattr(look, what) for look in some) for some in (looks[:part], looks[-part:]))
        assert last <= 1.02 * first, f"{what}: {first}, then {last}"
    assert median(look.sockets_b for look in looks) < 100_000
    assert max(max(look.desk_s, look.review_s) for look in looks) <= behind_s


def assert_whole(folder: Path) -> None:
    """Every number is in the record, alerts were raised and answered, and no process complained."""
    with closing(sqlite3.connect(folder / "unit.record")) as db:
        numbers = "SELECT max(seq) - count(*) FROM observations GROUP BY epoch"
        assert {lacking for (lacking,) in db.execute(numbers)} == {0}
        kinds = "SELECT count(*) FROM entries WHERE json_extract(body, '$.kind') = ?"
        counts = {kind: db.execute(kinds, (kind,)).fetchone()[0] for kind in ("raised", "taken", "seen")}
    assert min(counts["raised"], counts["taken"]) >= soak.BEDS, counts
    assert counts["seen"], "what is over and listed all the same"
    for name in ("hub", "feed", "desk", "review"):
        assert not logged_badly(folder / f"{name}.log")


def now_ms() -> Instant:
    return time.time_ns() // 1_000_000
