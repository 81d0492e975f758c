"""Hub, feed and desk on machines of their own, with keys, over a line that is cut, loses, delays, and heals."""

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.helpers.apart import Apart, why_not
from tests.helpers.processes import Process, logged_badly, until

WHY_NOT = why_not()

#: A bed that needs somebody from the second second on.
SCENARIO = """
title = "A kink while the line is bad"
minutes = 10
beds = ["B1", "B2", "B3"]
ramp = [
  { bed = "B1", quantity = "pump_flow", from = "0:02", value = 2.2 },
  { bed = "B1", quantity = "inlet_pressure", from = "0:02", value = -14 },
  { bed = "B1", quantity = "pre_oxygenator_pressure", from = "0:02", value = 305 },
  { bed = "B1", quantity = "post_oxygenator_pressure", from = "0:02", value = 289 },
]
"""
LONG = bool(os.environ.get("WEIRKEEPER_LONG"))
#: Longer than both ends take to give up a line that says nothing (`shared.endpoints`).
CUT_S = 8.0 if LONG else 3.0
DELAY_S = 0.4
#: Seconds from a high alert to the first three rungs, whatever else it is (`config/ladder.toml`).
RUNGS = {1: 0, 2: 60, 3: 120}
#: After a heal; a machine that does something else besides is given longer.
FRESH_MS = 2_000 if LONG else 10_000


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def last(seconds: float) -> None:
    """Let a state of the line last."""
    ends = time.monotonic() + seconds
    until(lambda: time.monotonic() > ends, "it has lasted")


def heard_since(desk: Process, moment: int, seconds: float) -> tuple[int, int]:
    """Give when a reading was read and when the desk heard it: the first one that is no older than a moment."""
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        line = desk.says_within(max(0.0, ends - time.monotonic()))
        if line and int(line.split()[0]) >= moment:
            return int(line.split()[0]), int(line.split()[1])
    raise AssertionError(f"nothing fresh within {seconds:g} s")


@pytest.mark.skipif(bool(WHY_NOT), reason=WHY_NOT)
def test_that_cuts_losses_and_delays_of_the_line_lose_nothing_and_double_no_call(tmp_path: Path) -> None:
    scenario = tmp_path / "kink.toml"
    scenario.write_text(SCENARIO)
    with Apart(tmp_path) as apart:
        apart.hub()
        feed, desk = apart.feed(scenario), apart.desk()
        heard_since(desk, now_ms(), 20)
        fresh: dict[str, int] = {}

        def heal(name: str) -> None:
            apart.heal()
            healed = now_ms()
            fresh[name] = heard_since(desk, healed, 20)[1] - healed

        apart.lose(20)
        until(lambda: "raised" in kinds(apart), "the kink is raised", 60)
        heal("lossy")
        for name, cut in (("silent", apart.cut_silently), ("loud", apart.cut_loudly)):
            cut()
            last(CUT_S)
            heal(name)
        apart.delay(DELAY_S)
        read, heard = heard_since(desk, now_ms() + 500, 20)
        assert heard - read >= 2 * DELAY_S * 1000, "it went through the relay twice, to the hub and from there"
        last(CUT_S)
        heal("delayed")
        before = apart.count()
        until(lambda: apart.count() >= before + 6 and apart.missing() == 0, "every number is in the record", 30)
        assert feed.end() == 0
        until(lambda: apart.missing() == 0, "every number is in the record", 10)
        numbered, kept = apart.in_journal()
        assert apart.count() + kept >= numbered
        assert apart.count() == len(read_times(apart)) * 3, "each bed in each second once, none left out or doubled"
        assert max(fresh.values()) <= FRESH_MS, fresh
        assert_called_on_time(apart, now_ms())
        assert not logged_badly(tmp_path / "hub.log")
        if LONG:
            sys.stderr.write(f"ms until fresh: {fresh}\n")


def assert_called_on_time(apart: Apart, now: int) -> None:
    """Each rung that was due was called once, within a second of its time: no line touches the ladder."""
    entries = log(apart)
    raised = next(entry for entry in entries if entry["kind"] == "raised" and entry["priority"] == "high")
    called = [entry for entry in entries if entry["kind"] == "called"]
    calls = {entry["rung"]: entry for entry in called}
    assert len(calls) == len(called), "no rung is called twice in so short a time"
    due = {rung: raised["at"] + seconds * 1_000 for rung, seconds in RUNGS.items()}
    assert calls.keys() >= {rung for rung, at in due.items() if at < now - 1_000}, "no call is missing"
    for rung in calls.keys() & due.keys():
        assert abs(calls[rung]["at"] - due[rung]) <= 1_000, calls[rung]


def log(apart: Apart) -> list[dict[str, Any]]:
    with apart.look() as db:
        return [json.loads(body) for (body,) in db.execute("SELECT body FROM entries ORDER BY rowid")]


def kinds(apart: Apart) -> set[object]:
    return {entry["kind"] for entry in log(apart)}


def read_times(apart: Apart) -> set[int]:
    with apart.look() as db:
        return {round(at / 1000) for (at,) in db.execute("SELECT read_at FROM observations")}
