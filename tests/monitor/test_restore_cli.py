"""``monitor restore``: the backup stands, the old record is kept, a kill at any moment leaves one of them whole."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.record import Batch, Record
from monitor.record.head import read_heads
from monitor.record.restoring import restore
from monitor.record.schema import MIGRATIONS
from shared.errors import RecordError
from tests.helpers.disk import fill, make_read_only, small_disk
from tests.helpers.hub import NOON, Rig, bed
from tests.helpers.hub_play import play
from tests.helpers.inputs import AT, entry, observed
from tests.helpers.processes import ROOT
from tests.helpers.records import OLD_ENTRIES, tamper, thaw

NOW = AT + 3_600_000
ASIDE = "unit.record.aside-20270115T090000Z"


@pytest.fixture
def backup(tmp_path: Path) -> Path:
    """Twenty entries, up to 08:00:20 UTC."""
    path = tmp_path / "copies" / "night.record"
    fill_record(path, 1, 20).close()
    path.with_name("night.record.lock").unlink()
    return path


@pytest.fixture
def unit(tmp_path: Path, backup: Path) -> Path:
    """The same and ten more, as a killed hub leaves it: the newest are in the write-ahead log alone."""
    path = tmp_path / "alive" / "unit.record"
    fill_record(path, 1, 20).close()
    record = fill_record(path, 21, 30)
    left = tmp_path / "unit"
    left.mkdir()
    for suffix in ("", "-wal", "-shm", ".head"):
        shutil.copy(f"{path}{suffix}", left)
    record.close()
    return left / "unit.record"


def fill_record(path: Path, first: int, last: int) -> Record:
    record = Record.open(path)
    for n in range(first, last + 1):
        record.append(Batch([observed(n, entry(f"note {n}", AT + 1000 * n), at=AT + 1000 * n)]))
    return record


def texts(path: Path) -> list[str]:
    """Open the record as a hub does; give its entries, oldest first. It must be whole."""
    record = Record.open(path)
    try:
        assert record.verify() is None
        assert record.missed is None
        return [one.text or "" for one in record.entries(None, 99)][::-1]
    finally:
        record.close()


def notes(last: int) -> list[str]:
    return [f"note {n}" for n in range(1, last + 1)]


def quiet(what: str, done: int, whole: int) -> None:
    assert 0 <= done <= whole


def told(capsys: pytest.CaptureFixture[str], status: int, *words: object) -> str:
    assert main(["restore", *map(str, words)]) == status
    captured = capsys.readouterr()
    return captured.err if status == 2 else captured.out


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if not path.name.endswith((".lock", "-shm"))}


def test_that_a_restore_says_how_far_the_backup_goes_and_what_is_missing(
    backup: Path, unit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = told(capsys, 0, backup, unit)
    assert f"Backup  {backup}: whole, 20 entries, up to 2027-01-15 08:00:20 UTC" in out
    assert "Before  the record went up to 2027-01-15 08:00:30 UTC" in out
    assert "Missing what was recorded from 2027-01-15 08:00:20 UTC to 2027-01-15 08:00:30 UTC" in out
    assert "Head    entry 21, " in out
    found = texts(unit)
    assert found[:20] == notes(20)
    assert found[20].startswith(
        "this record was restored from a backup, and goes on from here; the one that was in"
    )
    [aside] = unit.parent.glob("unit.record.aside-*Z")
    assert found[20].endswith(f"is kept as {aside.name}")
    assert f"Aside   it is kept as {aside}" in out
    assert texts(aside) == notes(30), "the old record, with what stood in its write-ahead log"
    assert read_heads(aside)[0].number == 30
    assert main(["verify", str(unit.parent)]) == 0, "what stands aside is not meant by the folder"


def test_that_a_restored_record_belongs_to_whoever_had_the_old_one(backup: Path, unit: Path) -> None:
    if os.getuid():
        pytest.skip("only an administrator gives files away")
    os.chown(unit, 1234, 2345)
    unit.chmod(0o640)
    aside = restore(backup, unit, NOW, quiet).aside
    assert aside is not None
    for path in (unit, unit.with_name("unit.record.head"), aside):
        assert (path.stat().st_uid, path.stat().st_gid) == (1234, 2345)
    assert unit.stat().st_mode & 0o777 == 0o640


def test_that_a_restore_that_misses_nothing_says_so(
    backup: Path, unit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["backup", str(unit), str(backup.with_name("full"))]) == 0
    assert "Missing nothing: the backup goes as far as the record did" in told(
        capsys, 0, backup.with_name("full"), unit
    )
    assert texts(unit)[:30] == notes(30)


def test_that_a_backup_is_restored_where_no_record_was(
    backup: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "new" / "unit.record"
    assert "Before  there was no record in its place" in told(capsys, 0, backup, new)
    assert texts(new)[:20] == notes(20)
    assert texts(new)[20] == "this record was restored from a backup, and goes on from here"
    assert {path.name for path in new.parent.iterdir()} == {"unit.record", "unit.record.head", "unit.record.lock"}


def test_that_a_backup_of_an_older_version_is_restored_and_brought_up(tmp_path: Path) -> None:
    old = thaw(1, tmp_path / "old")
    before = old.read_bytes()
    done = restore(old, tmp_path / "unit" / "unit.record", NOW, quiet)
    assert done.count == OLD_ENTRIES
    assert done.head[0] == OLD_ENTRIES + MIGRATIONS[-1].version
    found = texts(tmp_path / "unit" / "unit.record")
    assert found[OLD_ENTRIES].startswith("the record was brought from version 1 to 2")
    assert old.read_bytes() == before


def test_that_a_restore_is_refused_while_a_hub_runs_and_the_hub_goes_on_from_it_afterwards(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = tmp_path / "copy"
    with Rig(tmp_path) as rig:
        play(rig, rig.feed("ward", bed("B1")), 1)
        assert main(["backup", str(rig.path), str(copy)]) == 0
        number = rig.record.head[0]
        play(rig, rig.feed("ward", bed("B1"), epoch="00000000000000bb"), 1)
        assert "another hub writes this record; stop it first" in told(capsys, 2, copy, rig.path)
        rig.down()
        out = told(capsys, 0, copy, rig.path)
        assert f"whole, {number} entries, up to 20" in out
        rig.up()
        rig.turn(1)
        assert rig.record.verify() is None
        assert rig.hub.keeper.not_recorded is None
        assert any("restored from a backup" in (one.text or "") for one in rig.record.entries(None, 9))
        assert rig.hub.clock.now() >= NOON


@pytest.mark.parametrize(
    "statement",
    ["UPDATE entries SET ordinal = 1 WHERE number = 12", "DELETE FROM entries WHERE number >= 12"],
)
def test_that_a_broken_backup_is_refused_and_nothing_is_changed(
    backup: Path, unit: Path, statement: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = contents(unit.parent)
    tamper(backup, statement)
    words = told(capsys, 2, backup, unit)
    assert f"the backup {backup} is broken at entry 12: " in words
    assert "Nothing was changed; try an older backup" in words
    assert contents(unit.parent) == before


def test_that_what_cannot_be_restored_is_told(
    backup: Path, unit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = contents(unit.parent)
    assert "there is no such file; give what `backup` has made" in told(capsys, 2, tmp_path / "none", unit)
    assert "is a folder: give the file" in told(capsys, 2, backup, unit.parent)
    assert "is the record itself" in told(capsys, 2, unit, unit)
    cut = tmp_path / "cut"
    cut.write_bytes(backup.read_bytes()[:20_000])
    assert "it is cut short: 20000 bytes are there" in told(capsys, 2, cut, unit)
    (tmp_path / "text").write_text("no record" * 1000)
    assert "file is not a database" in told(capsys, 2, tmp_path / "text", unit)
    assert contents(unit.parent) == before


@pytest.mark.parametrize("kept", [0, 5000, 40_000])
def test_that_a_record_that_cannot_be_read_is_put_aside_as_it_is(
    backup: Path, unit: Path, kept: int, capsys: pytest.CaptureFixture[str]
) -> None:
    unit.with_name("unit.record-wal").unlink()
    broken = unit.read_bytes()[:kept]
    unit.write_bytes(broken)
    out = told(capsys, 0, backup, unit)
    assert "Missing whatever was recorded after 2027-01-15 08:00:20 UTC: how much, is not known" in out
    [aside] = unit.parent.glob("unit.record.aside-*Z")
    assert aside.read_bytes() == broken
    assert texts(unit)[:20] == notes(20)


def test_that_a_second_restore_in_the_same_second_keeps_both_old_records(backup: Path, unit: Path) -> None:
    first, second = (restore(backup, unit, NOW, quiet).aside for _ in range(2))
    assert first == unit.with_name(ASIDE)
    assert second == unit.with_name(f"{ASIDE}-2")
    assert texts(first) == notes(30)
    assert texts(second)[:20] == notes(20)


def test_that_a_disk_without_room_or_without_writes_leaves_the_record_as_it_is(
    backup: Path, unit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        place = disk / "unit.record"
        for suffix in ("", "-wal", ".head"):
            shutil.copy(f"{unit}{suffix}", disk)
        (disk / "unit.record.lock").touch()
        fill(disk)
        before = contents(disk)
        assert "no room in" in told(capsys, 2, backup, place)
        assert contents(disk) == before
        (disk / "ballast").unlink()
        make_read_only(disk)
        assert "Read-only file system" in told(capsys, 2, backup, place)


KILLER = """
import os, shutil, sys
from pathlib import Path
from monitor.record.restoring import restore
backup, unit, folder = map(Path, sys.argv[1:4])
WATCHED = {"os.rename", "os.remove", "sqlite3.connect", "open"}
moment = 0
while True:
    moment += 1
    place = folder / str(moment)
    shutil.copytree(unit.parent, place)
    child = os.fork()
    if child == 0:
        left = [moment]
        def watch(event, given):
            if event in WATCHED:
                left[0] -= 1
                if not left[0]:
                    os.kill(os.getpid(), 9)
        sys.addaudithook(watch)
        restore(backup, place / unit.name, int(sys.argv[4]), lambda *_: watch("open", ()))
        os._exit(0)
    if os.waitpid(child, 0)[1] == 0:
        break
print(moment)
"""


@pytest.fixture
def killed(backup: Path, unit: Path, tmp_path: Path) -> list[Path]:
    """The folders that a restore leaves that was killed before its first, second, third … touch of a file."""
    folder = tmp_path / "killed"
    folder.mkdir()
    words = [sys.executable, "-c", KILLER, str(backup), str(unit), str(folder), str(NOW)]
    done = subprocess.run(words, cwd=ROOT, check=True, timeout=100, capture_output=True, text=True)
    return [folder / str(n) / unit.name for n in range(1, int(done.stdout) + 1)]


def test_that_a_restore_killed_at_any_moment_leaves_the_old_or_the_new_record_whole(killed: list[Path]) -> None:
    assert len(killed) > 20
    stands = []
    for path in killed:
        found = texts(path)
        is_new = len(found) == 21 and found[20].startswith("this record was restored")
        stands.append(is_new)
        assert found[:20] == notes(20)
        if is_new:
            assert texts(path.with_name(ASIDE)) == notes(30), f"the old record is whole beside it: {path}"
        else:
            assert found == notes(30), f"the old record stands: {path}"
            assert not list(path.parent.glob("*aside*"))
        assert not list(path.parent.glob(".*")), "nothing is left lying about"
    assert stands == sorted(stands), "first the old one, from one moment on the new one"
    assert stands.count(True) >= 5
    assert stands.count(False) >= 5


def test_that_everything_is_on_the_disk_before_the_plan_stands_and_the_plan_before_anything_moves(
    backup: Path, unit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A power cut at any moment: what is synced when, in the order of the system calls."""
    did: list[tuple[str, str, int]] = []
    fsync, replace = os.fsync, os.replace

    def synced(handle: int) -> None:
        name = Path(os.readlink(f"/proc/self/fd/{handle}")).name
        did.append(("sync", name, os.fstat(handle).st_size))
        fsync(handle)

    def moved(old: Path, new: Path) -> None:
        did.append(("move", new.name, 0))
        replace(old, new)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "replace", moved)
    restore(backup, unit, NOW, quiet)
    plan = did.index(("move", ".unit.record.restoring-plan", 0))
    before = {name: size for what, name, size in did[:plan] if what == "sync"}
    assert before[".unit.record.restoring-copy"] > 4096
    assert before[".unit.record.restoring-copy.head"] > 100
    assert before[".unit.record.restoring-plan-draft"] == len(ASIDE)
    assert all(what == "sync" for what, _, _ in did[:plan]), "nothing moves before the plan"
    assert did[plan + 1][:2] == ("sync", unit.parent.name), "the plan is durable before anything moves"
    assert did[-1][:2] == ("sync", unit.parent.name), "the moves are durable before the plan goes"


def test_that_an_interrupted_restore_is_finished_by_the_next_one(killed: list[Path], backup: Path) -> None:
    for path in killed[::7]:
        restore(backup, path, NOW + 1000, quiet)
        assert texts(path)[:20] == notes(20)
        assert any(texts(aside) == notes(30) for aside in path.parent.glob("*.aside-*Z"))


def test_that_a_disk_that_refuses_in_the_middle_is_told_and_finished_at_the_next_start(
    backup: Path, unit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    replace, refused = os.replace, []

    def refuse(old: Path, new: Path) -> None:
        if new == unit:
            refused.append(old)
            raise OSError(5, "Input/output error")
        replace(old, new)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", refuse)
        with pytest.raises(RecordError, match="Input/output error; it is finished when the hub starts next"):
            restore(backup, unit, NOW, quiet)
        with pytest.raises(RecordError, match=r"unit\.record cannot be opened: .*Input/output error"):
            Record.open(unit)
    assert len(refused) == 3
    assert texts(unit)[:20] == notes(20)
