"""Hub, feed and desk on machines of their own, with keys, over a cable that is cut, loses packets and heals."""

import json
import os
import time
from pathlib import Path

import pytest

from tests.helpers.apart import Apart, why_not
from tests.helpers.processes import Process, logged_badly, until

WHY_NOT = why_not()

#: A bed that needs somebody from the tenth second on.
SCENARIO = """
title = "A kink while the line is bad"
minutes = 10
beds = ["B1", "B2", "B3"]
ramp = [
  { bed = "B1", quantity = "pump_flow", from = "0:10", value = 2.2 },
  { bed = "B1", quantity = "inlet_pressure", from = "0:10", value = -14 },
  { bed = "B1", quantity = "pre_oxygenator_pressure", from = "0:10", value = 305 },
  { bed = "B1", quantity = "post_oxygenator_pressure", from = "0:10", value = 289 },
]
"""
CUT_S = 5.0
#: After a heal; a machine that does something else besides is given longer.
FRESH_MS = 2_000 if os.environ.get("WEIRKEEPER_LONG") else 10_000


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def last(seconds: float) -> None:
    """Let a state of the line last."""
    ends = time.monotonic() + seconds
    until(lambda: time.monotonic() > ends, "it has lasted")


def heard_since(desk: Process, moment: int, seconds: float) -> int:
    """Give the ms until the desk hears a reading that is no older than a moment; those before are passed over."""
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        line = desk.says_within(max(0.0, ends - time.monotonic()))
        if line and int(line.split()[0]) >= moment:
            return int(line.split()[1]) - moment
    raise AssertionError(f"nothing fresh within {seconds:g} s")


@pytest.mark.skipif(bool(WHY_NOT), reason=WHY_NOT)
def test_that_cuts_and_losses_of_the_line_lose_nothing_and_double_no_call(tmp_path: Path) -> None:
    scenario = tmp_path / "kink.toml"
    scenario.write_text(SCENARIO)
    with Apart(tmp_path) as apart:
        apart.hub()
        feed, desk = apart.feed(scenario), apart.desk()
        heard_since(desk, now_ms(), 20)
        until(lambda: "raised" in kinds(apart), "the kink is raised", 40)
        fresh: dict[str, int] = {}
        for name, cut in (("silent", apart.cut_silently), ("loud", apart.cut_loudly)):
            cut()
            last(CUT_S)
            apart.heal()
            fresh[name] = heard_since(desk, now_ms(), 20)
        apart.lose(20)
        last(CUT_S)
        apart.heal()
        fresh["lossy"] = heard_since(desk, now_ms(), 20)
        before = apart.count()
        until(lambda: apart.count() >= before + 9 and apart.missing() == 0, "every number is in the record", 30)
        assert feed.end() == 0
        until(lambda: apart.missing() == 0, "every number is in the record", 10)
        numbered, kept = apart.in_journal()
        assert apart.count() + kept >= numbered
        assert apart.count() == len(read_times(apart)) * 3, "each bed in each second once, none left out or doubled"
        assert max(fresh.values()) <= FRESH_MS, fresh
        calls = [(entry["rung"], entry["person"]) for entry in log(apart) if entry["kind"] == "called"]
        assert calls
        assert len(calls) == len(set(calls)), "nobody is called twice for one bed in so short a time"
        assert not logged_badly(tmp_path / "hub.log")


def log(apart: Apart) -> list[dict[str, object]]:
    with apart.look() as db:
        return [json.loads(body) for (body,) in db.execute("SELECT body FROM entries ORDER BY rowid")]


def kinds(apart: Apart) -> set[object]:
    return {entry["kind"] for entry in log(apart)}


def read_times(apart: Apart) -> set[int]:
    with apart.look() as db:
        return {round(at / 1000) for (at,) in db.execute("SELECT read_at FROM observations")}
