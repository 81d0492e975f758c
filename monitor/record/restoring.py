"""Putting a backup in the place of a record, so that a kill at any moment leaves the old one or the new one whole.

Everything that takes long is done first, under a hidden name: the copy, its verification, the entry that tells of
it, its head. Then one small file, the plan, is put in place with one rename; it names where the old files go. Until
then the old record stands untouched. From then on the new one stands, if not yet under its name: whoever opens the
record next (the hub, or another restore) finishes the plan first. Each of its steps is a rename, done or not done.

The old record is never deleted: it stands beside the new one, with its write-ahead log and its head, to be read.
"""

import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from monitor.record.anew import finish_aside
from monitor.record.backup import Progressed, verify_file
from monitor.record.beside import ASIDE, BESIDE, free_name, is_there, with_suffix, write_durably
from monitor.record.chain import Chain
from monitor.record.copying import belong, sync
from monitor.record.head import Head, head_path, read_heads, write_heads
from monitor.record.opening import Lock, connect
from monitor.record.reading import RecordToRead, read_only
from monitor.record.sealing import note
from shared.errors import RecordError
from shared.instant import Instant

#: How the entry begins that a restored record tells of itself.
RESTORED = "this record was restored from a backup"


@dataclass(frozen=True, slots=True)
class Restored:
    """A record that was restored.

    Attributes:
        count: entries of the backup.
        head: number and digest of the newest entry now.
        backup_to: the last moment in the backup.
        before_to: the last moment in the record that was there; ``None``: none was there, or it cannot be read.
        aside: where that record is now; ``None``: none was there.
        unreadable: why the record that was there cannot be read; ``None``: it can.
    """

    count: int
    head: tuple[int, bytes]
    backup_to: Instant
    before_to: Instant | None
    aside: Path | None
    unreadable: str | None


def restore(backup: Path, record: Path, now: Instant, progressed: Progressed) -> Restored:
    """Verify the backup, put a copy of it in the place of ``record``, and what was there aside.

    Args:
        now: the wall's time: it names the files that go aside.

    Raises:
        RecordError: a hub runs on the record, the backup is not whole, or a disk refuses. The record is as before.
    """
    if record.is_dir():
        raise RecordError(f"{record} is a folder: give the file that the hub is to write (its --record)")
    if backup.exists() and record.exists() and backup.samefile(record):
        raise RecordError(f"{backup} is the record itself: give a backup of it")
    if not backup.is_file():
        raise RecordError(f"{backup}: there is no such file; give what `backup` has made")
    lock = Lock(with_suffix(record, ".lock"))
    try:
        finish(record)
        finish_aside(record)
        before_to, unreadable = _reaches(record)
        aside = free_name(record, ASIDE, now) if is_there(record) else None
        count, backup_to, end = _prepare(backup, record, aside, now, progressed)
        _plan(record, aside)
        finish(record)
        return Restored(count, (end.number, end.head), backup_to, before_to, aside, unreadable)
    except OSError as error:
        later = "; it is finished when the hub starts next" if _plan_path(record).exists() else ""
        raise RecordError(f"{record} cannot be restored: {error}{later}") from error
    finally:
        with suppress(OSError):
            finish(record)
        lock.release()


def finish(record: Path) -> None:
    """Finish a restore that was interrupted, or clear away what one left that had not come to its plan.

    The caller holds the lock of the record.

    Raises:
        OSError: the disk refuses; the next call goes on where this one stopped.
    """
    plan, new = _plan_path(record), _new(record)
    if not plan.exists():
        _clear(record)
        return
    if new.exists():
        _put_aside(record, plan.read_text(encoding="utf-8").strip())
        with suppress(FileNotFoundError):
            os.replace(head_path(new), head_path(record))
        os.replace(new, record)
    sync(record.parent)
    plan.unlink()


def _put_aside(record: Path, name: str) -> None:
    """Move what is still there of the old record. The new head is in its place only after its own file has gone."""
    for suffix in (*BESIDE, ""):
        old = with_suffix(record, suffix)
        is_old = suffix != ".head" or head_path(_new(record)).exists()
        if name and is_old and old.exists():
            os.replace(old, with_suffix(record.with_name(name), suffix))


def _new(record: Path) -> Path:
    return record.with_name(f".{record.name}.restoring-copy")


def _plan_path(record: Path) -> Path:
    return record.with_name(f".{record.name}.restoring-plan")


def _reaches(record: Path) -> tuple[Instant | None, str | None]:
    """Give up to when the record that is there goes, or why that is not known."""
    if not record.exists():
        return None, None
    try:
        with read_only(record) as opened:
            return opened.ends()[1], None
    except (RecordError, ValueError) as error:
        return None, str(error)


def _prepare(
    backup: Path, record: Path, aside: Path | None, now: Instant, progressed: Progressed
) -> tuple[int, Instant, Chain]:
    """Make the new record under another name: verified, of the newest version, with an entry and a head."""
    new = _new(record)
    with read_only(backup) as source:
        source.make_sure_of_room(record.parent, beside_a_hub=False)
        source.copy(new, lambda done, whole: progressed("copied", done, whole))
    with read_only(new) as copied:
        count, backup_to = _whole(copied, backup, progressed)
    words = f"{RESTORED}, and goes on from here"
    if aside is not None:
        words += f"; the one that was in its place is kept as {aside.name}"
    db = connect(new)
    try:
        note(db, words, now)
        end = Chain.of(db)
    finally:
        db.close()
    if with_suffix(new, "-wal").exists():
        raise RecordError(f"{new} cannot be closed: somebody else has it open")
    write_heads(new, [Head(end.number, end.head.hex(), "", now)])
    for made in (new, head_path(new)):
        belong(made, record if record.exists() else record.parent)
    return count, backup_to, end


def _whole(copied: RecordToRead, backup: Path, progressed: Progressed) -> tuple[int, Instant]:
    heads = read_heads(backup)
    verdict = verify_file(copied, heads, lambda done, whole: progressed("verified", done, whole))
    if verdict.broken is not None:
        raise RecordError(
            f"the backup {backup} is broken at entry {verdict.broken.number}: {verdict.broken.why}. Nothing was "
            "changed; try an older backup"
        )
    return verdict.count, copied.ends()[1]


def _plan(record: Path, aside: Path | None) -> None:
    """Put the plan in place with one rename. From here on the new record stands."""
    for made in (_new(record), head_path(_new(record))):
        sync(made)
    plan = _plan_path(record)
    write_durably(plan, "" if aside is None else aside.name, with_suffix(plan, "-draft"))
    sync(record.parent)


def _clear(record: Path) -> None:
    """Take away what a restore had made before it came to its plan: copies of a backup, never a record."""
    with_suffix(_plan_path(record), "-draft").unlink(missing_ok=True)
    for suffix in ("", *BESIDE, "-journal"):
        with_suffix(_new(record), suffix).unlink(missing_ok=True)
