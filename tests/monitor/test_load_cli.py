"""``monitor load``: a record that a hub is writing, a rehearsal's events, and why a file cannot be used."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from monitor.cli.load_sheet import WIDTH, Source, sheet
from monitor.cli.main import main
from monitor.core.wire import AskLoad, Load, NotUnderstood
from monitor.record.reading import read_only
from monitor.record.schema import APPLICATION
from shared.errors import RecordError
from shared.instant import HOUR
from tests.helpers.hub import NOON, Rig, bed
from tests.helpers.hub_play import LOW, give, play, raise_high, snapshot, take
from tests.helpers.loads import night_figures
from tests.helpers.logged import expect_logged

ROOT = Path(__file__).parents[2]


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def said(capsys: pytest.CaptureFixture[str], *words: object) -> dict[str, object]:
    assert main(["load", *map(str, words), "--json"]) == 0
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def refused(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    assert main(["load", *map(str, words)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    return captured.err


def watched(rig: Rig) -> int:
    """Beds of the configuration at which a run is open."""
    return sum(bool(bed.runs) for bed in rig.configuration.unit.beds)


def test_that_a_record_is_read_while_a_hub_writes_it(rig: Rig, capsys: pytest.CaptureFixture[str]) -> None:
    feed, desk = rig.feed("ward", bed("B1")), rig.desk()
    alert = raise_high(rig, feed)
    revision = snapshot(rig, desk).tiles[0].episodes[0].revision
    assert give(rig, desk, take(alert, revision)).accepted
    figures = said(capsys, rig.path, "--hours", 1)
    play(rig, feed, 2)
    assert figures["high"] == 1
    times = figures["times"]
    assert isinstance(times, dict)
    assert times["to_taken"]["n"] == times["to_bed"]["n"] == times["of"]
    assert figures["beds"] == watched(rig)


def test_that_a_desk_is_told_the_same_as_the_sheet(rig: Rig, capsys: pytest.CaptureFixture[str]) -> None:
    raise_high(rig, rig.feed("ward", bed("B1")))
    desk = rig.desk()
    begin, end = NOON - HOUR, rig.hub.clock.now() + 1000
    desk.ask.say("desk", AskLoad(request="load:1", begin=begin, end=end))
    rig.until(lambda: bool(desk.ask.of(Load)))
    [answer] = desk.ask.of(Load)
    assert answer.request == "load:1"
    with read_only(rig.path) as record:
        assert answer.figures == record.load(begin, end)
    assert answer.figures.high == 1
    since = rig.record.entries(None, 500)[-1].at
    assert answer.figures.bed_hours == pytest.approx(watched(rig) * (end - since) / HOUR, rel=0.01)


def test_that_a_stretch_that_makes_no_sense_is_not_understood(rig: Rig, caplog: pytest.LogCaptureFixture) -> None:
    desk = rig.desk()
    desk.ask.say("desk", AskLoad.model_construct(type="ask_load", request="load:2", begin=NOON, end=NOON))
    rig.until(lambda: bool(desk.ask.of(NotUnderstood)))
    assert "begin must be before end" in desk.ask.of(NotUnderstood)[0].reason
    expect_logged(caplog, "a desk's request cannot be read")


def test_that_the_time_without_a_hub_is_said_apart(rig: Rig, capsys: pytest.CaptureFixture[str]) -> None:
    feed = rig.feed("ward", bed("B1"))
    play(rig, feed, 2)
    rig.drop()
    rig.times.ms += HOUR
    rig.up()
    figures = said(capsys, rig.path, "--hours", 3)
    assert figures["away_hours"] == pytest.approx(watched(rig), abs=0.1)
    assert figures["bed_hours"] == pytest.approx(0, abs=0.1)
    assert main(["load", str(rig.path), "--hours", "3"]) == 0
    assert "bed-hours in which the hub did not run: nothing was watched" in capsys.readouterr().out


def test_that_a_rehearsals_events_are_taken_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    events = tmp_path / "kink.jsonl"
    scenario = ROOT / "config" / "scenarios" / "06_return_kink.toml"
    assert main(["rehearse", str(scenario), "--events", str(events)]) == 0
    figures = said(capsys, events)
    assert "bed_hours" not in figures or figures["bed_hours"] is None
    known = said(capsys, events, "--beds", 1, "--hours", 0.5)
    assert known["bed_hours"] == 0.5
    assert main(["load", str(events)]) == 0
    text = capsys.readouterr().out
    assert "Bed-hours: none." in text
    assert "flow_very_low" in text


def test_that_the_sheet_carries_the_head_of_the_record_to_be_kept_on_paper(
    rig: Rig, capsys: pytest.CaptureFixture[str]
) -> None:
    play(rig, rig.feed("ward", bed("B1")), 1)
    number, digest = rig.record.head
    assert main(["load", str(rig.path)]) == 0
    text = capsys.readouterr().out
    [line] = [line for line in text.splitlines() if line.startswith("Head of the record")]
    assert line.startswith(f"Head of the record: entry {number}, {digest.hex()[:4]}-{digest.hex()[4:8]}-")
    play(rig, rig.feed("ward", bed("B1"), epoch="00000000000000bb"), 1)
    assert main(["verify", str(rig.path), "--head", line.rpartition(" ")[2]]) == 0
    assert f"the head that was given names entry {number}: it is there" in capsys.readouterr().out
    assert "Head of the record" not in sheet(night_figures(NOON), Source("none", NOON, None))


def test_that_the_sheet_prints_within_its_width_and_names_its_denominators() -> None:
    text = sheet(night_figures(NOON), Source("night.record", NOON - 12 * HOUR, None, (12_345_678, "ab" * 32)))
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    for words in (
        "Not a medical device. Not for diagnosis or treatment decisions.",
        "The bedside console is the alarm.",
        "process industry's yardstick,",
        "not a hospital norm",
        "ANSI/ISA-18.2-2016 cl. 16.4",
        "144.0 bed-hours",
        "n = ",
        "unanswered: nobody answered, counted as neither.",
        "Flood from ",
    ):
        assert words in text, words


def test_that_a_figure_of_nothing_is_none_and_not_nought(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    events = tmp_path / "none.jsonl"
    events.write_text('{"t": 60.0, "kind": "note", "bed": "B1", "text": "nothing"}\n')
    assert main(["load", str(events)]) == 0
    text = capsys.readouterr().out
    assert "to taken                        none   n = 0" in text
    assert "longest without an answer       none" in text


def test_that_files_that_cannot_be_used_are_named_with_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "no.record"
    assert "cannot be read" in refused(capsys, missing)
    text = tmp_path / "notes.txt"
    text.write_text("Bed 3 was moved\n")
    told = refused(capsys, text)
    assert "line 1" in told
    assert "Give a hub's record, or what rehearse --events wrote" in told
    other = tmp_path / "other.db"
    with closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE t (x)")
    assert "a database of something else" in refused(capsys, other)
    newer = tmp_path / "newer.db"
    with closing(sqlite3.connect(newer)) as db:
        db.execute(f"PRAGMA application_id = {APPLICATION}")
        db.execute("PRAGMA user_version = 999")
    assert "newer Weirkeeper (version 999" in refused(capsys, newer)


def test_that_options_that_make_no_sense_are_refused(rig: Rig, capsys: pytest.CaptureFixture[str]) -> None:
    assert "--hours 0: allowed" in refused(capsys, rig.path, "--hours", 0)
    assert "leave it out" in refused(capsys, rig.path, "--beds", 3)
    assert 'write the time as "2026-11-25 07:00"' in refused(capsys, rig.path, "--from", "yesterday")
    times = ("--from", "2026-11-25 07:00", "--to", "2026-11-25 06:00")
    assert "is not before" in refused(capsys, rig.path, *times)


def test_that_what_waits_to_be_written_counts_too(
    rig: Rig, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the record refuses, the load that a desk is told holds the alerts that are owed to it."""
    feed, desk = rig.feed("ward", bed("B1")), rig.desk()
    play(rig, feed, 2)

    def refuse(batch: object) -> int:
        raise RecordError("the disk is full")

    with monkeypatch.context() as broken:
        broken.setattr(rig.record, "append", refuse)
        for _ in range(25):
            rig.times.ms += 1000
            feed.read("B1", rig.hub.clock.now(), readings=LOW)
            rig.until(lambda: not rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).stale)
        rig.until(lambda: bool(rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes))
        desk.ask.say("desk", AskLoad(request="load:3", begin=NOON, end=rig.hub.clock.now() + 1000))
        rig.until(lambda: bool(desk.ask.of(Load)))
        with read_only(rig.path) as record:
            assert record.load(NOON, NOON + 2 * HOUR).high == 0
    assert desk.ask.of(Load)[0].figures.high == 1
    rig.turn(2)
    expect_logged(caplog, "NOT RECORDED", "the record takes writes again")
