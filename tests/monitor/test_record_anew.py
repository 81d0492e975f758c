"""A record found damaged at the start: it is kept, a new one begins, the board says so until somebody has seen."""

import os
import random
import sqlite3
import struct
from collections.abc import Callable
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.core.commands import Seen
from monitor.core.entries import EntryKind
from monitor.record import Record
from monitor.record.beside import BESIDE, DAMAGED, with_suffix
from monitor.record.reading import find_record
from shared.errors import RecordError
from shared.messages import Stored
from tests.helpers.hub import Rig, bed
from tests.helpers.hub_play import give, play, raise_high, snapshot, take
from tests.helpers.logged import expect_logged
from tests.helpers.records import tamper

Damage = Callable[[Path], None]


@pytest.fixture(scope="module")
def past(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A unit's files as a kill leaves them, with an open high that somebody has taken."""
    with Rig(tmp_path_factory.mktemp("past")) as rig:
        feed, desk = rig.feed("ward", bed("B1")), rig.desk()
        alert = raise_high(rig, feed)
        episode = rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes[0]
        assert give(rig, desk, take(alert, episode.revision)).accepted
        play(rig, feed, 2)
        rig.until(lambda: bool(feed.talk.of(Stored)))
        found = {s: with_suffix(rig.path, s).read_bytes() for s in ("", *BESIDE)}
        rig.drop()
    return found


def lay(past: dict[str, bytes], path: Path, *, folded: bool = False) -> None:
    for suffix, content in past.items():
        with_suffix(path, suffix).write_bytes(content)
    if folded:
        record = Record.open(path)
        record._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        record.close()


def header(path: Path) -> None:
    path.write_bytes(b"no database at all" + path.read_bytes()[18:])


def cut(share: float) -> Damage:
    return lambda path: os.truncate(path, int(path.stat().st_size * share))


def root_of_inputs(path: Path) -> None:
    """A page of zeros where the inputs have their root."""
    with sqlite3.connect(path) as db:
        page = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'inputs'").fetchone()[0]
    db.close()
    content = bytearray(path.read_bytes())
    content[(page - 1) * 4096 : page * 4096] = bytes(4096)
    path.write_bytes(content)


def statement(words: str) -> Damage:
    return lambda path: tamper(path, words)


DAMAGES: dict[str, Damage] = {
    "header": header,
    "a third": cut(0.3),
    "cut by a page": cut(0.97),
    "zeros": root_of_inputs,
    "no beginning": statement("DELETE FROM inputs WHERE kind = 'begin'"),
    "unknown input": statement("UPDATE inputs SET kind = 'from elsewhere' WHERE kind = 'declared'"),
    "readings": statement("UPDATE observations SET readings = x'00' WHERE seq = 3"),
    "marks": statement("UPDATE observations SET marks = '[1]' WHERE seq = 3"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_that_a_damaged_record_is_kept_as_it_is_and_the_watch_begins_anew(
    past: dict[str, bytes], damage: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    lay(past, path, folded=True)
    tamper(path, "DELETE FROM checkpoints")  # so that everything is read
    DAMAGES[damage](path)
    before = path.read_bytes(), with_suffix(path, ".head").read_bytes()
    with Rig(tmp_path) as rig:
        [aside] = tmp_path.glob(f"*{DAMAGED}*Z")
        assert (aside.read_bytes(), with_suffix(aside, ".head").read_bytes()) == before
        [first] = rig.record.entries(None, 500)[-1:]
        assert first.kind is EntryKind.NOTE
        for words in (aside.name, "its head names entry ", "are not known here: look at every bed"):
            assert words in (first.text or "")
        assert not (tmp_path / ".unit.record.aside-plan").exists()
        assert find_record(tmp_path) == path
        desk = rig.desk()
        [episode] = snapshot(rig, desk).unit.episodes
        assert episode.alerts[0].title == "Record begun anew: look at every bed"
        feed = rig.feed("ward", bed("B1"), epoch="00000000000000bb")
        play(rig, feed, 2)
        rig.until(lambda: bool(feed.talk.of(Stored)))
        assert rig.record.verify() is None
    expect_logged(caplog, "is damaged: it is put aside", "this record was begun anew")


def test_that_the_alert_stays_until_somebody_has_it_and_has_seen_it_also_over_a_restart(
    past: dict[str, bytes], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    lay(past, path, folded=True)
    header(path)
    with Rig(tmp_path) as rig:
        rig.drop()
        rig.up()
        desk = rig.desk()
        [episode] = snapshot(rig, desk).unit.episodes
        lead, revision = episode.lead, episode.revision
        called = [e for e in rig.record.entries(None, 500) if e.kind is EntryKind.CALLED and e.bed is None]
        assert called, "the ladder calls somebody to look"
        seen = Seen(id="seen-0001", person="charge-2", alert=lead, revision=revision)
        assert give(rig, desk, seen).accepted
        assert snapshot(rig, desk).unit.episodes, "seen alone is not: nobody has it"
        taken = take(lead, revision).model_copy(update={"bed": None})
        assert give(rig, desk, taken).accepted
        [episode] = snapshot(rig, desk).unit.episodes
        seen = Seen(id="seen-0002", person="charge-2", alert=lead, revision=episode.revision)
        assert give(rig, desk, seen).accepted
        rig.until(lambda: not snapshot(rig, desk).unit.episodes)
        rig.drop()
        rig.up()
        assert not rig.hub.judge.engine.unit(rig.hub.clock.now()).episodes
    expect_logged(caplog, "is damaged: it is put aside", "this record was begun anew")


def test_that_a_damaged_record_with_a_log_beside_it_keeps_every_byte_of_both(
    past: dict[str, bytes], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    lay(past, path)
    tamper_in_log = struct.pack("<d", 3500.0)
    assert tamper_in_log in past["-wal"]
    db = sqlite3.connect(path, isolation_level=None)
    other = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    db.execute("DELETE FROM checkpoints")
    db.execute("DELETE FROM inputs WHERE kind = 'begin'")
    other.execute("SELECT count(*) FROM inputs").fetchone()
    db.close()
    before = path.read_bytes(), with_suffix(path, "-wal").read_bytes()
    other.close()
    assert with_suffix(path, "-wal").read_bytes() == before[1] != b""
    with Rig(tmp_path):
        [aside] = tmp_path.glob(f"*{DAMAGED}*Z")
        assert (aside.read_bytes(), with_suffix(aside, "-wal").read_bytes()) == before
    expect_logged(caplog, "is damaged: it is put aside", "this record was begun anew")


def test_that_an_empty_file_costs_the_log_beside_it_nothing(
    past: dict[str, bytes], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    lay(past | {"": b""}, path)
    with Rig(tmp_path):
        [aside] = tmp_path.glob(f"*{DAMAGED}*Z")
        assert with_suffix(aside, "-wal").read_bytes() == past["-wal"]
    expect_logged(caplog, "is damaged: it is put aside", "this record was begun anew")


def test_that_what_is_put_aside_can_be_verified_as_far_as_it_goes(
    past: dict[str, bytes], tmp_path: Path, capsys: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    lay(past, path, folded=True)
    cut(0.9)(path)
    with Rig(tmp_path):
        pass
    [aside] = tmp_path.glob(f"*{DAMAGED}*Z")
    assert main(["verify", str(aside)]) == 1
    assert "DAMAGED: it is cut short" in capsys.readouterr().out
    assert main(["verify", str(path)]) == 0
    expect_logged(caplog, "is damaged: it is put aside", "this record was begun anew")


@pytest.mark.parametrize("kept", range(5))
def test_that_a_kill_in_the_middle_is_finished_by_the_next_start(
    past: dict[str, bytes], tmp_path: Path, kept: int, monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:  # fmt: skip
    path = tmp_path / "unit.record"
    lay(past, path, folded=True)
    header(path)
    with_suffix(path, "-wal").write_bytes(b"no log" * 1_000)
    before = {suffix: with_suffix(path, suffix).read_bytes() for suffix in ("", "-wal", ".head")}
    done, replace = [0], os.replace

    def killed(old: Path, new: Path) -> None:
        if done[0] == kept:
            raise KeyboardInterrupt
        done[0] += 1
        replace(old, new)

    with monkeypatch.context() as killing:
        killing.setattr(os, "replace", killed)
        with pytest.raises(KeyboardInterrupt):
            Rig(tmp_path)
    with Rig(tmp_path) as rig:
        [aside] = tmp_path.glob(f"*{DAMAGED}*Z")
        assert {suffix: with_suffix(aside, suffix).read_bytes() for suffix in before} == before
        [first] = rig.record.entries(None, 500)[-1:]
        assert aside.name in (first.text or "")
    expect_logged(caplog, "is damaged: it is put aside", "this record was begun anew")


def test_that_a_record_that_is_gone_while_its_head_is_there_is_told_at_the_board_too(
    past: dict[str, bytes], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with_suffix(tmp_path / "unit.record", ".head").write_bytes(past[".head"])
    with Rig(tmp_path) as rig:
        [episode] = rig.hub.judge.engine.unit(rig.hub.clock.now()).episodes
        assert episode.alerts[0].rule == "record_anew"
    expect_logged(caplog, "entries are missing")


def test_that_a_folder_that_takes_no_names_is_told(
    past: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "unit.record"
    lay(past, path, folded=True)
    header(path)

    def refuses(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "replace", refuses)
    with pytest.raises(RecordError, match="cannot be put aside: Permission denied; let its folder take writes"):
        Rig(tmp_path)
    expect_logged(caplog, "is damaged: it is put aside")


def test_that_a_byte_flipped_anywhere_keeps_no_hub_from_its_watch(
    past: dict[str, bytes], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Whatever is damaged, the hub comes up on what it can read, or anew; nothing ends in a defect."""
    draw = random.Random(5)
    path = tmp_path / "unit.record"
    lay(past, path, folded=True)
    whole = path.read_bytes()
    with Rig(tmp_path) as rig:
        rig.drop()
        for _ in range(25):
            lay(past | {"": whole, "-wal": b"", "-shm": b""}, path)
            content = bytearray(whole)
            for _ in range(40):
                content[draw.randrange(100, len(content))] ^= 1 << draw.randrange(8)
            path.write_bytes(content)
            rig.up()
            assert rig.hub.judge.engine.tile("B1", rig.hub.clock.now()) is not None
            rig.drop()
        assert 3 < len(list(tmp_path.glob(f"*{DAMAGED}*.head"))) < 25, "some of it is read, some is not"
    caplog.clear()
