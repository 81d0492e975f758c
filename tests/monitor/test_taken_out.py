"""That something was taken out of a record is an entry of it: once, with and without a hub, or nothing is taken."""

import threading
from hashlib import sha256
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.core.entries import Entry, EntryKind
from monitor.core.wire import EntryDelta
from monitor.record import Record
from monitor.record.taken_out import TakenOut, digest_of, note_taken_out, slips_beside, slips_folder
from shared.errors import RecordError
from shared.instant import HOUR
from tests.helpers.hub import NOON, Rig
from tests.helpers.logged import expect_logged
from tests.helpers.records import thaw
from tests.helpers.written_unit import BEGIN, WrittenUnit

TAKEN = TakenOut(
    what="export", bed="B1", begin=NOON, end=NOON + HOUR, by="charge", why="audit of the week", digest="ab" * 32
)


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    """A record without a hub."""
    written = WrittenUnit(tmp_path / "unit.record")
    written.read(5)
    written.close()
    return written.path


def taken_out(path: Path) -> list[Entry]:
    record = Record.open(path)
    try:
        assert record.verify() is None
        return [entry for entry in record.entries(None, 500) if entry.kind is EntryKind.TAKEN_OUT]
    finally:
        record.close()


def bundled(unit: Path, to: Path, *more: str) -> int:
    words = ["bundle", unit, to, "--bed", "B1", "--at", "2026-01-01 00:03", "--by", "charge", "--why", "flow fell"]
    return main([*map(str, words), *more])


def test_that_without_a_hub_it_is_in_the_log_at_once(unit: Path) -> None:
    assert note_taken_out(unit, TAKEN).waiting is None
    [entry] = taken_out(unit)
    assert entry.text == (
        "Export of B1, 2027-01-15 08:00:00 UTC to 2027-01-15 09:00:00 UTC, taken out by charge: audit of the week; "
        f"SHA-256 {'ab' * 32}"
    )
    assert (entry.bed, entry.person) == ("B1", "charge")
    assert entry.at > BEGIN
    assert not slips_folder(unit).exists()


def test_that_a_bundle_names_its_digest_and_so_does_the_log(
    unit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert bundled(unit, tmp_path / "B1.zip") == 0
    digest = sha256((tmp_path / "B1.zip").read_bytes()).hexdigest()
    said = capsys.readouterr().out
    assert f"SHA-256 {digest}" in said
    assert f"in the log of {unit}" in said
    [entry] = taken_out(unit)
    assert digest in (entry.text or "")
    assert bundled(unit, tmp_path / "again.zip") == 0, "the entry is the hub's own and judged again by nobody"
    assert len(taken_out(unit)) == 2


def test_that_a_bundle_of_a_backup_is_noted_in_the_record_of_the_unit(unit: Path, tmp_path: Path) -> None:
    backup = tmp_path / "backup.record"
    assert main(["backup", str(unit), str(backup)]) == 0
    before = digest_of(backup)
    assert bundled(backup, tmp_path / "B1.zip", "--noted-in", str(unit)) == 0
    assert digest_of(backup) == before
    assert len(taken_out(unit)) == 1


def test_that_what_cannot_be_noted_is_not_taken_out(
    unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuses(path: Path, patience: float) -> Record:
        raise RecordError("no room")

    monkeypatch.setattr(Record, "open", refuses)
    assert bundled(unit, tmp_path / "B1.zip") == 2
    assert "cannot be noted in the record, so it is not: no room" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir() if "B1" in path.name] == []
    monkeypatch.undo()
    assert taken_out(unit) == []


def test_that_an_older_record_is_not_changed_by_taking_something_out(tmp_path: Path) -> None:
    old = thaw(2, tmp_path / "old.record")
    before = digest_of(old)
    with pytest.raises(RecordError, match="of version 2: a hub of now brings it"):
        note_taken_out(old, TAKEN)
    assert digest_of(old) == before


def test_that_a_file_that_cannot_be_read_has_no_digest(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be read"):
        digest_of(tmp_path / "none")


def test_that_beside_a_hub_the_hub_writes_it_once_and_the_slip_goes(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig:
        desk = rig.desk()
        noted = []
        asking = threading.Thread(target=lambda: noted.append(note_taken_out(rig.path, TAKEN)))
        asking.start()
        rig.until(lambda: bool(noted), lambda: rig.turn(0.05))
        asking.join()
        assert noted[0].waiting is None
        rig.until(lambda: any(d.entry.kind is EntryKind.TAKEN_OUT for d in desk.sub.of(EntryDelta)))
        assert [path.name for path in slips_folder(rig.path).iterdir()] == []
    [entry] = taken_out(rig.path)
    assert entry.at >= NOON


def left(rig: Rig, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Leave a slip that the hub has not seen yet."""
    monkeypatch.setattr("monitor.record.taken_out._PATIENCE_S", 0.0)
    waiting = note_taken_out(rig.path, TAKEN).waiting
    assert waiting is not None
    return waiting


def test_that_a_slip_survives_every_kill_and_becomes_one_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Rig(tmp_path) as rig:
        slip = left(rig, monkeypatch)
        kept = slip.read_bytes()
        rig.drop()  # killed before it looked
        rig.up()
        rig.turn(1)
        rig.drop()  # killed when it had written, before the slip went
        slip.write_bytes(kept)
        rig.up()
        rig.until(lambda: not slip.exists(), lambda: rig.turn(1))
    assert len(taken_out(rig.path)) == 1


def test_that_a_slip_waits_while_the_record_refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def refuses(*_: object) -> int:
        raise RecordError("no room")

    with Rig(tmp_path) as rig:
        slip = left(rig, monkeypatch)
        with monkeypatch.context() as full:
            full.setattr(rig.record, "append", refuses)
            for _ in range(4):
                rig.turn(1)
            full.setattr(rig.record, "answer", refuses)
            rig.turn(1)
        assert slip.exists()
        rig.until(lambda: not slip.exists(), lambda: rig.turn(1))
    assert len(taken_out(rig.path)) == 1
    expect_logged(caplog, "NOT RECORDED", "takes writes again", "cannot be looked up, and waits")


@pytest.mark.parametrize("odd", [b"{}", b"\xff\xfe", b"x" * 10_000, b'{"id":"a","taken":[]}'])
def test_that_what_is_no_slip_is_put_aside_and_changes_nothing(
    tmp_path: Path, odd: bytes, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    with Rig(tmp_path) as rig:
        slip = left(rig, monkeypatch)
        forged = slip.with_name("a.slip")
        forged.write_bytes(odd)
        rig.until(lambda: not slip.exists(), lambda: rig.turn(1))
        assert forged.with_suffix(".odd").read_bytes() == odd
        assert slips_beside(rig.path) == []
    assert len(taken_out(rig.path)) == 1
    expect_logged(caplog, "is no slip")


def test_that_where_no_slip_can_be_left_nothing_is_taken_out(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig:
        slips_folder(rig.path).write_text("a file stands where the folder is to be")
        with pytest.raises(
            RecordError, match=r"cannot be noted in .*, so it is not: .*must be able to write there"
        ):
            note_taken_out(rig.path, TAKEN)
    assert taken_out(rig.path) == []


def test_that_a_hub_waits_for_whoever_writes_one_entry(unit: Path) -> None:
    """The lock is held for a moment: a hub that starts in it is not turned away."""
    other = Record.open(unit)
    timer = threading.Timer(0.1, other.close)
    other._db.close()
    timer.start()
    again = Record.open(unit, patience=5.0)
    again.close()
    timer.join()
