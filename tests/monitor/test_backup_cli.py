"""``monitor backup``: whole, verified, of one moment, beside a hub that writes; refused without a half file."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.record import Batch, Record
from monitor.record.backup import back_up
from monitor.record.head import head_path, read_heads
from monitor.record.reading import RecordToRead, read_only
from monitor.record.verifying import PAGE
from shared.errors import RecordError
from tests.helpers.disk import fill, make_read_only, small_disk
from tests.helpers.hub import Rig, bed
from tests.helpers.hub_play import play
from tests.helpers.inputs import AT, EPOCH, entry, observed
from tests.helpers.processes import ROOT
from tests.helpers.records import tamper

MANY = 60_000


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    """A record of more than one step of a copy, open for writing."""
    folder = tmp_path / "unit"
    record = Record.open(folder / "unit.record")
    record.append(
        Batch([observed(n, *([entry(f"note {n}", AT + n)] if n % 100 == 0 else [])) for n in range(1, MANY)])
    )
    record.flush({})
    yield record
    record.close()


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "unit" / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(n, entry(f"note {n}", AT + n)) for n in range(1, 30)]))
    record.close()
    return path


def quiet(what: str, done: int, whole: int) -> None:
    assert 0 <= done <= whole


def backed_up(capsys: pytest.CaptureFixture[str], status: int, *words: object) -> str:
    assert main(["backup", *map(str, words)]) == status
    captured = capsys.readouterr()
    return captured.err if status == 2 else captured.out


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_that_a_backup_beside_a_live_hub_is_whole_and_says_what_it_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Rig(tmp_path) as rig:
        play(rig, rig.feed("ward", bed("B1")), 2)
        number, digest = rig.record.head
        to = tmp_path / "copies" / "night.record"
        to.parent.mkdir()
        out = backed_up(capsys, 0, rig.path, to)
        assert f"Head    entry {number}, {digest.hex()}" in out
        assert f"Holds   {number} entries that are whole, and every input up to 20" in out
        assert names(to.parent) == {"night.record", "night.record.head"}, "one file, and its head"
        rig.turn(1)
        assert rig.hub.keeper.not_recorded is None
        assert list(rig.record.replay(0))
    assert main(["verify", str(to), "--head", digest.hex()]) == 0


def test_that_a_copy_is_of_one_moment_whatever_is_written_meanwhile(record: Record, tmp_path: Path) -> None:
    number, digest = record.head
    steps = []

    def write(what: str, done: int, whole: int) -> None:
        steps.append((what, done, whole))
        assert len(steps) < 50, "it begins anew with every write, and never ends"
        record.append(Batch([observed(MANY + len(steps), entry("meanwhile", AT + MANY))]))
        record.flush({EPOCH: MANY + len(steps)})

    done = back_up(record.path, tmp_path / "copy", write)
    assert [one for one in steps if one[0] == "copied"][-1][1:] == (steps[0][2], steps[0][2])
    assert len(steps) > 1, "more than one step, with writes between"
    assert (done.verdict.count, done.verdict.head) == (number, digest)
    assert done.last_at == AT + 1000 * (MANY - 1) + 5
    with read_only(tmp_path / "copy") as copy:
        assert copy.newest() == number
    opened = Record.open(tmp_path / "copy")
    assert sum(1 for _ in opened.replay(0)) == MANY - 1
    opened.close()
    assert record.verify() is None


def test_that_a_backup_is_on_the_disk_before_it_is_called_done(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    did: list[str] = []
    fsync, link = os.fsync, os.link

    def synced(handle: int) -> None:
        did.append(Path(os.readlink(f"/proc/self/fd/{handle}")).name.partition(".part")[0][-4:])
        fsync(handle)

    def linked(old: Path, new: Path) -> None:
        did.append("LINK")
        link(old, new)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "link", linked)
    folder = tmp_path / "copies"
    folder.mkdir()
    back_up(small, folder / "copy", quiet)
    assert did.index("LINK") >= 2, "its pages are synced before it has its name"
    assert did[did.index("LINK") + 1 :] == ["pies", "head", "pies"], "its name, its head, and the name of that"


def test_that_a_backup_is_verified_on_a_disk_that_takes_no_writes(small: Path, tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        assert main(["backup", str(small), str(disk / "copy")]) == 0
        make_read_only(disk)
        assert main(["verify", str(disk / "copy")]) == 0


def test_that_whoever_may_not_read_the_record_may_not_read_its_copy(small: Path, tmp_path: Path) -> None:
    for mode, of_copy in ((0o600, 0o600), (0o644, 0o644), (0o777, 0o666)):
        small.chmod(mode)
        copy = tmp_path / f"{mode:o}"
        back_up(small, copy, quiet)
        assert copy.stat().st_mode & 0o777 == of_copy


def test_that_the_verification_of_a_long_copy_tells_how_far_it_is(tmp_path: Path) -> None:
    path = tmp_path / "unit" / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(n, entry("note")) for n in range(1, 2 * PAGE + 2)]))
    record.close()
    told: list[tuple[str, int, int]] = []
    back_up(path, tmp_path / "copy", lambda *said: told.append(said))
    assert [one for one in told if one[0] == "verified"] == [
        ("verified", PAGE, 2 * PAGE + 1),
        ("verified", 2 * PAGE, 2 * PAGE + 1),
    ]


@pytest.mark.parametrize("name", ["copy", "copy.head"])
def test_that_what_is_there_is_never_written_over(
    small: Path, tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / name).write_text("older")
    assert f"{name} is there already and is left as it is" in backed_up(capsys, 2, small, tmp_path / "copy")
    assert (tmp_path / name).read_text() == "older"
    assert names(tmp_path) == {"unit", name}


@pytest.mark.parametrize("links", [True, False])
def test_that_somebody_who_was_quicker_is_not_written_over_either(
    small: Path, tmp_path: Path, links: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not links:
        monkeypatch.setattr(os, "link", no_links)
    to = tmp_path / "copy"

    def quicker(what: str, done: int, whole: int) -> None:
        to.write_text("quicker")

    with pytest.raises(RecordError, match="is there already"):
        back_up(small, to, quicker)
    assert to.read_text() == "quicker"
    assert names(tmp_path) == {"unit", "copy"}


def no_links(*_: object) -> None:
    raise PermissionError(1, "no second names here")


def test_that_a_disk_without_second_names_takes_a_backup(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", no_links)
    back_up(small, tmp_path / "copy", quiet)
    assert names(tmp_path) == {"unit", "copy", "copy.head"}
    assert main(["verify", str(tmp_path / "copy")]) == 0


def test_that_a_disk_without_room_is_told_before_anything_is_written(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        fill(disk)
        words = backed_up(capsys, 2, small, disk / "copy")
        assert "no room in" in words
        assert "0.1 MB are asked, 0.0 MB are free; make room there" in words
        assert names(disk) == {"ballast"}


def test_that_a_disk_that_becomes_full_leaves_no_half_file(record: Record, tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", "6m") as disk:
        filled: list[Path] = []

        def fill_up(what: str, done: int, whole: int) -> None:
            if not filled:
                filled.append(fill(disk))

        with pytest.raises(RecordError, match=r"the copy .* cannot be written: its disk is full; make room"):
            back_up(record.path, disk / "copy", fill_up)
        assert names(disk) == {"ballast"}
        assert record.verify() is None


def test_that_the_hub_that_writes_on_the_same_disk_is_left_as_much_room_again(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    size = small.stat().st_size
    with small_disk(tmp_path / "disk", str(size * 5 // 2 // 4096 * 4096)) as disk:
        shutil.copy(small, disk)
        assert size < shutil.disk_usage(disk).free < 2 * size
        assert "as much again is left to the hub" in backed_up(capsys, 2, disk, disk / "copy")
        assert "copy" not in names(disk)


def test_that_a_place_that_takes_no_writes_is_told(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "cannot be written: No such file or directory" in backed_up(capsys, 2, small, tmp_path / "no" / "copy")
    with small_disk(tmp_path / "disk") as disk:
        make_read_only(disk)
        assert "cannot be written: Read-only file system" in backed_up(capsys, 2, small, disk / "copy")


def test_that_a_broken_record_is_copied_and_said_to_be_broken(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tamper(small, "UPDATE entries SET ordinal = 1 WHERE number = 12")
    out = backed_up(capsys, 1, small, tmp_path / "copy")
    assert "Holds   11 entries that are whole" in out
    assert "BROKEN at entry 12, as the record itself is: entry 12 was changed" in out
    assert main(["verify", str(tmp_path / "copy")]) == 1


def test_that_a_record_with_its_end_cut_off_gives_a_backup_that_says_so(
    small: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tamper(small, "DELETE FROM entries WHERE number > 20")
    assert "entries 21 to 29 are missing" in backed_up(capsys, 1, small, tmp_path / "copy")


def test_that_a_copy_that_is_not_what_was_read_is_thrown_away(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = RecordToRead.copy

    def badly(self: RecordToRead, to: Path, told: object) -> None:
        copy(self, to, lambda done, whole: None)
        raw = to.read_bytes()
        to.write_bytes(raw.replace(b"note 12", b"note 13"))

    monkeypatch.setattr(RecordToRead, "copy", badly)
    with pytest.raises(
        RecordError, match=r"the copy is not what was read .*entry 12 was changed.*try another disk"
    ):
        back_up(small, tmp_path / "copy", quiet)
    assert names(tmp_path) == {"unit"}


def test_that_damaged_pages_are_found_in_the_copy(small: Path, tmp_path: Path) -> None:
    whole = bytearray(small.read_bytes())
    with read_only(small) as opened:
        page = opened._ask("SELECT rootpage FROM sqlite_schema WHERE name = 'observations_by_time'")
    whole[4096 * (page - 1) + 3 : 4096 * (page - 1) + 5] = b"\xff\xff"
    small.write_bytes(whole)
    with pytest.raises(RecordError, match=r"are damaged .* copy the folder of the record by hand"):
        back_up(small, tmp_path / "copy", quiet)
    assert names(tmp_path) == {"unit"}


def test_that_a_killed_backup_leaves_nothing_under_its_name(small: Path, tmp_path: Path) -> None:
    script = (
        "import os, sys; from pathlib import Path; from monitor.record.backup import back_up\n"
        "back_up(Path(sys.argv[1]), Path(sys.argv[2]), lambda *_: os.kill(os.getpid(), 9))"
    )
    done = subprocess.run([sys.executable, "-c", script, str(small), str(tmp_path / "copy")], cwd=ROOT, check=False)
    assert done.returncode == -9
    assert "copy" not in names(tmp_path)
    back_up(small, tmp_path / "copy", quiet)
    assert read_heads(tmp_path / "copy")[0].number == 29
    assert head_path(tmp_path / "copy").exists()
