"""Simulated beds: what a scenario makes the feed say, second by second, and the command that does it."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from feeds.options import VirtualClock
from feeds.simulated.command import load_scenario
from feeds.simulated.player import Player
from shared.errors import ConfigurationError
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from shared.virtual import virtual_ms
from tests.feeds.fake_hub import FakeHub, until

ROOT = Path(__file__).parents[2]
START = 1_767_225_600_000
TEXT = """
title = "t"
minutes = 5
beds = ["B1", "B2", "B3"]

[[start]]
bed = "B2"
feed = "circuit"

[[start]]
bed = "B3"
feed = "entered"

[[ramp]]
bed = "B1"
quantity = "pump_flow"
from = "0:10"
value = 3.0

[[entry]]
bed = "B3"
at = "0:20"
read_at = "0:15"
by = "nurse-B3"
values = { pump_flow = 3.8 }

[[link]]
beds = ["B1"]
down = "0:30"
up = "0:40"
"""


def player(*only: str) -> Player:
    return Player(parse_scenario(TEXT), START, only)


def test_that_every_bed_says_where_its_readings_come_from() -> None:
    declared = {bed.bed: bed for bed in player().declarations()}
    assert [declared[b].origin for b in ("B1", "B2", "B3")] == [Origin.SIMULATED, Origin.SIMULATED, Origin.ENTERED]
    assert declared["B1"].interval == 1.0
    assert declared["B3"].interval == 3600.0
    assert declared["B1"].runs[0].started_at == START


def test_that_rounds_which_people_type_are_no_feed() -> None:
    said = 'title = "r"\nminutes = 9\nbeds = ["B1"]\nfeed = "entered"\n'
    said += '[[round]]\nbed = "B1"\nby = "nurse-B1"\nread_at = "1:00"\n'
    with pytest.raises(ConfigurationError, match="demo --entry"):
        Player(parse_scenario(said), START)


def test_that_each_second_is_read_at_its_second() -> None:
    playing = player()
    for t in range(12):
        drafts = {draft.bed: draft for draft in playing.second(t)}
        assert drafts["B1"].read_at == START + 1_000 * t
        assert drafts["B1"].readings[Q.PUMP_FLOW] == (3.0 if t >= 10 else 4.2)
        assert drafts["B2"].readings[Q.PUMP_FLOW] == pytest.approx(4.2, abs=0.3)
        assert "B3" not in drafts


def test_that_a_set_entered_by_hand_comes_once_at_its_time() -> None:
    playing = player("B3")
    said = {t: playing.second(t) for t in range(60)}
    assert [t for t, drafts in said.items() if drafts] == [20]
    [draft] = said[20]
    assert (draft.read_at, draft.entered_at, draft.by) == (START + 15_000, START + 20_000, "nurse-B3")
    assert draft.readings == {Q.PUMP_FLOW: 3.8}


def test_that_a_bed_that_is_cut_off_says_nothing_and_goes_on_afterwards() -> None:
    playing = player("B1", "B2")
    heard = [t for t in range(60) if any(draft.bed == "B1" for draft in playing.second(t))]
    assert heard == [*range(31), *range(40, 60)]


def test_that_a_bed_that_is_not_in_the_scenario_is_named() -> None:
    with pytest.raises(ConfigurationError, match="no such bed: B9; the scenario has B1, B2, B3"):
        player("B9")


def test_that_a_second_pump_speaks_for_its_own_slot() -> None:
    text = TEXT + '[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA"\npump_flow = 3.6\n'
    drafts = [d for d in Player(parse_scenario(text), START).second(0) if d.bed == "B1"]
    assert [d.slot for d in drafts] == [1, 2]
    assert drafts[1].readings[Q.PUMP_FLOW] == 3.6
    assert Q.MEAN_ARTERIAL_PRESSURE not in drafts[1].readings


def test_that_a_scenario_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    with pytest.raises(ConfigurationError, match=r"nowhere\.toml cannot be read"):
        load_scenario(tmp_path / "nowhere.toml")
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("title = 3", encoding="utf-8")
    with pytest.raises(ConfigurationError, match=r"wrong\.toml: the scenario has"):
        load_scenario(wrong)


def test_that_virtual_time_is_the_wall_at_speed_1_and_runs_from_the_start_otherwise() -> None:
    assert virtual_ms(1_000, 61_000, 1.0) == 61_000
    assert virtual_ms(1_000, 61_000, 30.0) == 1_000 + 30 * 60_000
    assert virtual_ms(1_000, 1_000, 30.0) == 1_000


@pytest.mark.parametrize(("start", "speed"), [(None, 0.0), (None, float("nan")), (None, 5000.0), (-1, 1.0)])
def test_that_an_impossible_clock_is_refused(start: int | None, speed: float) -> None:
    with pytest.raises(ConfigurationError):
        VirtualClock(start, speed)


def test_that_the_virtual_clock_never_goes_back() -> None:
    clock = VirtualClock(None, 30.0)
    shown = [clock.now() for _ in range(1_000)]
    assert shown == sorted(shown)
    assert clock.real_ms_until(clock.now() - 5) == 0
    assert 0 < clock.real_ms_until(clock.now() + 30_000) <= 1_001


RUNNER = """
import argparse, sys
from importlib import import_module
command = import_module(sys.argv[1])
parser = argparse.ArgumentParser()
command.add_arguments(parser)
sys.exit(command.run(parser.parse_args(sys.argv[2:])))
"""


@contextmanager
def running(command: str, *arguments: str) -> Iterator["subprocess.Popen[str]"]:
    """Run one command of the feeds as a process; it is ended if it still runs."""
    process = subprocess.Popen(
        [sys.executable, "-c", RUNNER, command, *arguments], cwd=ROOT, stderr=subprocess.PIPE, text=True
    )
    try:
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        sys.stderr.write(process.communicate()[1])


def where(hub: FakeHub, journal: Path) -> list[str]:
    return ["--ingest", hub.ingest, "--link", hub.link, "--journal", str(journal)]


@pytest.mark.slow
def test_that_every_scenario_second_is_sent_at_speed_30_and_a_signal_ends_it(tmp_path: Path) -> None:
    scenario = tmp_path / "s.toml"
    scenario.write_text(TEXT, encoding="utf-8")
    with (
        FakeHub() as hub,
        running("feeds.simulated.command", str(scenario), "--speed", "30", *where(hub, tmp_path / "j")) as process,
    ):
        until(lambda: len([o for o in hub.record.values() if o.bed == "B2"]) > 100, lambda: hub.turn(20))
        process.send_signal(signal.SIGTERM)
        until(lambda: process.poll() is not None, lambda: hub.turn(20))
        assert process.returncode == 0
        [epoch] = hub.links
        times = sorted(o.read_at for o in hub.record.values() if o.bed == "B2")
        assert [b - a for a, b in pairwise(times)] == [1_000] * (len(times) - 1)
        assert hub.numbers == list(range(1, len(hub.numbers) + 1))
        start = hub.beds[0].runs[0].started_at
        assert start is not None
        assert times[0] == start, "the first second is sent too"
        assert {bed.bed for bed in hub.beds} == {"B1", "B2", "B3"}
        assert hub.links[epoch].stored > 0


@pytest.mark.slow
def test_that_a_killed_feed_comes_back_at_the_right_place_and_loses_no_number(tmp_path: Path) -> None:
    scenario = tmp_path / "s.toml"
    scenario.write_text(TEXT, encoding="utf-8")
    with FakeHub() as hub:
        hub.stores = False
        arguments = [str(scenario), "--speed", "10", "--only", "B2", *where(hub, tmp_path / "j")]
        with running("feeds.simulated.command", *arguments) as process:
            until(lambda: len(hub.record) > 20, lambda: hub.turn(20))
            os.kill(process.pid, signal.SIGKILL)
            process.wait()
        declared: BedDeclared = hub.beds[0]
        start = declared.runs[0].started_at
        killed = max(o.read_at for o in hub.record.values())
        hub.stores = True
        with running("feeds.simulated.command", *arguments, "--start", str(start)) as process:
            until(lambda: max(o.read_at for o in hub.record.values()) > killed + 20_000, lambda: hub.turn(20))
            process.send_signal(signal.SIGINT)
            until(lambda: process.poll() is not None, lambda: hub.turn(20))
            assert process.returncode == 0
        assert len(hub.links) == 1, "the same epoch"
        assert hub.numbers == list(range(1, len(hub.numbers) + 1))
        times = sorted(o.read_at for o in hub.record.values())
        assert len(set(times)) == len(times), "no second was read twice"


@pytest.mark.slow
def test_that_once_ends_with_the_scenario(tmp_path: Path) -> None:
    scenario = tmp_path / "s.toml"
    scenario.write_text('title = "t"\nminutes = 0.5\nbeds = ["B1"]\n', encoding="utf-8")
    with (
        FakeHub() as hub,
        running(
            "feeds.simulated.command", str(scenario), "--once", "--speed", "60", *where(hub, tmp_path / "j")
        ) as process,
    ):
        until(lambda: process.poll() is not None, lambda: hub.turn(20))
        assert process.returncode == 0
        until(lambda: len(hub.record) == 31, lambda: hub.turn(20))
