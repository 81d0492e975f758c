"""Thinning: old observations are taken out by a named act, which is itself an entry. Nothing of the log ever goes.

Up to where it is thinned is one of the sums of the inputs (`sums`), so their chain goes on from that digest, and
the entry names it. What else was told to the engine then (commands, declarations) stays, with a digest of its own.
All of it is one transaction; the room on the disk is given back after that, by SQLite's VACUUM.

It is refused while a hub runs: the hub alone may write, taking out millions of rows keeps a writer waiting for
seconds to minutes, and VACUUM needs the file for itself. Meanwhile the feeds' journals hold what is read.
"""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from monitor.record.beside import with_suffix
from monitor.record.chain import Chain
from monitor.record.head import Head, read_heads, write_heads
from monitor.record.moments import utc
from monitor.record.opening import Lock, connect
from monitor.record.reading import read_only
from monitor.record.sealing import note
from monitor.record.sums import digest_of_others
from shared.errors import RecordError
from shared.instant import HOUR, Instant

#: What is younger stays: desks show 72 hours, and a restart needs the newest state.
KEPT_MS = 96 * HOUR
_CHUNK = 50_000

Told = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Thinnable:
    """What a thinning would take out.

    Attributes:
        upto: the last input of that stretch; 0: there is nothing.
        before: the hub's time of it.
        observations: how many go; of so many there are (``whole``).
        size: bytes of the file now.
    """

    upto: int
    before: Instant
    observations: int
    whole: int
    size: int


def thinnable(record: Path, before: Instant) -> Thinnable:
    """Say what would go, without touching anything.

    Raises:
        RecordError: ``before`` is too young, the record is of an older version or cannot be read.
    """
    with read_only(record) as opened:
        opened.of_now()
        if before > opened.ends()[1] - KEPT_MS:
            newest = utc(opened.ends()[1] - KEPT_MS)
            raise RecordError(f"the last four days of a record are never thinned: give a time up to {newest}")
    with closing(sqlite3.connect(f"file:{record}?mode=ro", uri=True)) as db:
        return _look(db, before, record.stat().st_size)


def thin(record: Path, before: Instant, by: str, why: str, now: Instant, told: Told) -> Thinnable:
    """Thin a record on which no hub runs, and give back the room; give what went.

    Raises:
        RecordError: as `thinnable`; a hub runs, nothing is that old, or the disk refuses: then nothing is changed.
    """
    lock = Lock(with_suffix(record, ".lock"), patience=0.0)
    try:
        found = thinnable(record, before)
        if not found.observations:
            raise RecordError(f"there are no observations before {utc(before)} that can be thinned")
        db = connect(record)
        try:
            end = _thin(db, found, f"thinned by {by}: {why}", now, told)
        finally:
            db.close()
        heads = [head for head in read_heads(record) if head.missed]
        write_heads(record, [Head(end.number, end.head.hex(), "", now), *heads])
        return found
    except (sqlite3.Error, OSError) as error:
        raise RecordError(f"{record} cannot be thinned: {error}; it is as it was") from error
    finally:
        lock.release()


def give_room_back(record: Path) -> int:
    """Let the file be as small as what is in it; give the bytes that were given back.

    Raises:
        RecordError: a hub runs, or there is no room for a second copy: the freed room is used for what comes.
    """
    lock = Lock(with_suffix(record, ".lock"), patience=0.0)
    try:
        before = record.stat().st_size
        db = connect(record)
        try:
            db.execute("VACUUM")
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        finally:
            db.close()
        return before - record.stat().st_size
    except (sqlite3.Error, OSError) as error:
        raise RecordError(
            f"{record} keeps its size for now: {error}; the room within is used for what comes next"
        ) from error
    finally:
        lock.release()


def _look(db: sqlite3.Connection, before: Instant, size: int) -> Thinnable:
    try:
        row = db.execute(
            "SELECT ordinal, at FROM sums WHERE at <= ? ORDER BY ordinal DESC LIMIT 1", (before,)
        ).fetchone()
        upto, at = row or (0, 0)
        going = db.execute("SELECT count(*) FROM observations WHERE ordinal <= ?", (upto,)).fetchone()[0]
        whole = db.execute("SELECT count(*) FROM observations").fetchone()[0]
    except sqlite3.Error as error:
        raise RecordError(f"the record cannot be read: {error}") from error
    return Thinnable(upto, at, going, whole, size)


def _thin(db: sqlite3.Connection, found: Thinnable, who: str, now: Instant, told: Told) -> Chain:
    upto = found.upto
    digest = db.execute("SELECT digest FROM sums WHERE ordinal = ?", (upto,)).fetchone()[0]
    others = digest_of_others(db, upto)
    text = (
        f"observations before {utc(found.before)} were {who}; {found.observations} were taken out; the chain of "
        f"the inputs goes on after input {upto} from digest {digest.hex()}; what else was told up to there has "
        f"digest {others.hex()}"
    )
    db.execute("BEGIN IMMEDIATE")
    try:
        _keep_numbers(db, upto)
        gone = 0
        while True:
            chunk = db.execute(
                "DELETE FROM observations WHERE ordinal IN"
                " (SELECT ordinal FROM observations WHERE ordinal <= ? ORDER BY ordinal LIMIT ?)",
                (upto, _CHUNK),
            ).rowcount
            gone += chunk
            told(gone, found.observations)
            if chunk < _CHUNK:
                break
        db.execute("DELETE FROM sums WHERE ordinal < ?", (upto,))
        db.execute("DELETE FROM hours WHERE ordinal < ?", (upto,))
        note(db, text, now)
        end = Chain.of(db)
        earlier = db.execute("SELECT coalesce(sum(observations), 0) FROM thinned").fetchone()[0]
        db.execute("DELETE FROM thinned")
        db.execute(
            "INSERT INTO thinned VALUES (?, ?, ?, ?, ?, ?)",
            (upto, found.before, earlier + gone, digest, others, end.number),
        )
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
    return end


def _keep_numbers(db: sqlite3.Connection, upto: int) -> None:
    """Numbers of a feed that are thinned beyond a gap count as there: nobody is asked to send them again."""
    db.execute(
        """INSERT INTO skipped SELECT epoch, min(seq), max(seq), 'thinned' FROM (
             SELECT o.epoch, o.seq, o.seq - row_number() OVER (PARTITION BY o.epoch ORDER BY o.seq) AS run
             FROM observations o JOIN epochs e ON e.id = o.epoch WHERE o.ordinal <= ? AND o.seq > e.stored)
           GROUP BY epoch, run""",
        (upto,),
    )
