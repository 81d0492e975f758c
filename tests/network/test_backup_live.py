"""A real hub under load is backed up, killed and restored: the unit goes on and says what is lost."""

import subprocess
import sys
from pathlib import Path

import pytest

from monitor.record import Record
from tests.helpers.processes import ROOT, Station, logged_badly, until

SCENARIO = """
title = "A flow that stays low"
minutes = 240
beds = ["B1", "B2", "B3"]
[[ramp]]
bed = "B1"
quantity = "pump_flow"
from = "0:10"
value = 2.2
"""


def monitor(*words: object) -> tuple[int, str]:
    command = [sys.executable, "-m", "monitor", *map(str, words)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False)
    return done.returncode, done.stdout + done.stderr


@pytest.mark.slow
def test_that_a_unit_goes_on_from_a_backup_that_was_made_while_its_hub_wrote(tmp_path: Path) -> None:
    scenario, copy = tmp_path / "low.toml", tmp_path / "night.record"
    scenario.write_text(SCENARIO)
    with Station(tmp_path, speed=20) as station:
        hub = station.hub()
        feed = station.feed(scenario)
        until(lambda: station.count() > 200, "200 observations are in the record")
        until(lambda: station.count("entries") > 10, "somebody was called")
        status, said = monitor("backup", station.record, copy)
        assert status == 0, said
        assert "WHOLE: the copy was verified" in said
        held = int(said.split("Head    entry ")[1].split(",")[0])
        status, said = monitor("verify", station.record)
        assert status == 0, said
        status, said = monitor("restore", copy, station.record)
        assert status == 2, said
        assert "another hub writes this record; stop it first" in said
        more = station.count() + 200
        until(lambda: station.count() > more, "the hub has gone on")
        hub.kill()
        status, said = monitor("restore", copy, station.record)
        assert status == 0, said
        assert f"whole, {held} entries" in said
        assert "Missing what was recorded from 20" in said
        [aside] = tmp_path.glob("unit.record.aside-*Z")
        assert monitor("verify", aside)[0] == 0
        again = station.hub()
        before = station.count()
        until(lambda: station.count() > before + 200, "the feed is heard again")
        assert feed.is_running
        assert feed.end() in (0, 130)
        assert again.end() == 0
        status, said = monitor("verify", station.record)
        assert status == 0, said
        assert logged_badly(again.log) == []
    record = Record.open(station.record)
    texts = [one.text or "" for one in record.entries(None, 100_000)][::-1]
    record.close()
    assert any(text.startswith("this record was restored from a backup") for text in texts)
    assert any("lost" in text for text in texts), "numbers that neither record nor journal holds are named"
    old = Record.open(aside)
    assert sum(1 for _ in old.replay(0)) >= more, "what was recorded after the backup is kept"
    old.close()
