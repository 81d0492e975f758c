"""A backup: a verified copy of a record under a new name, made while the hub runs."""

import os
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from monitor.record.copying import Told, sync
from monitor.record.head import Head, head_path, read_heads, write_heads
from monitor.record.reading import RecordToRead, read_only
from monitor.record.verifying import Verdict
from shared.errors import RecordError
from shared.instant import Instant


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was made.

    Attributes:
        verdict: of the copy; broken only where the record itself is.
        last_at: time of the last input in it.
        size: bytes.
    """

    verdict: Verdict
    last_at: Instant
    size: int


#: Told what is being done, how much of it is done, and of how much.
Progressed = Callable[[str, int, int], None]


def back_up(record: Path, to: Path, progressed: Progressed) -> BackedUp:
    """Copy the record to the file ``to``, verify the copy, and only then give it its name.

    A copy that differs from the record, or is not whole on the disk, is thrown away. One that is broken just as the
    record is broken is kept: there may be no better.

    Raises:
        RecordError: ``to`` is there already, there is no room, or one of the files cannot be read or written.
    """
    for taken in (to, head_path(to)):
        if taken.exists() or taken.is_symlink():
            raise RecordError(f"{taken} is there already and is left as it is: give another name")
    heads = read_heads(record)
    with read_only(record) as source:
        source.make_sure_of_room(to.parent)
        part = _part_of(to)
        try:
            source.copy(part, _telling(progressed, "copied"))
            done = _looked_over(source, part, heads, _telling(progressed, "verified"))
            part.chmod(record.stat().st_mode & 0o666)  # whoever may read the record may read its copy
            _name(part, to)
        finally:
            for suffix in ("", "-journal"):
                part.with_name(f"{part.name}{suffix}").unlink(missing_ok=True)
    _keep_head(to, done.verdict, heads)
    return done


def verify_file(record: RecordToRead, heads: list[Head], told: Told) -> Verdict:
    """Go through the log of a record, and through the structure of its whole file. Nobody must be writing it.

    Raises:
        RecordError: the structure is damaged.
    """
    verification = record.verification(heads)
    newest = record.newest()
    while not verification.step():
        told(verification.verdict.count, newest)
    if damage := record.damage():
        raise RecordError(
            f"the pages of {record.path} are damaged ({damage}): copy the folder of the record by hand as it is, "
            "and see whether an older backup is whole (verify BACKUP)"
        )
    return verification.verdict


def _telling(progressed: Progressed, what: str) -> Told:
    return lambda done, whole: progressed(what, done, whole)


def _part_of(to: Path) -> Path:
    try:
        handle, name = tempfile.mkstemp(prefix=f"{to.name}.", suffix=".part", dir=to.parent)
    except OSError as error:
        raise RecordError(f"{to} cannot be written: {error.strerror}") from error
    os.close(handle)
    return Path(name)


def _looked_over(source: RecordToRead, part: Path, heads: list[Head], told: Told) -> BackedUp:
    with read_only(part) as copy:
        verdict = verify_file(copy, heads, told)
        done = BackedUp(verdict, copy.ends()[1], part.stat().st_size)
    if verdict.broken is not None:
        own = source.verification(heads)
        while not own.step():
            pass
        if own.verdict.broken != verdict.broken:
            raise RecordError(f"the copy is not what was read ({verdict.broken.why}): try another disk")
    return done


def _name(part: Path, to: Path) -> None:
    """Give the copy its name, unless somebody was quicker."""
    try:
        try:
            os.link(part, to)
        except FileExistsError:
            raise RecordError(f"{to} is there already and is left as it is: give another name") from None
        except OSError:  # a disk without second names, such as a stick
            if to.exists():
                raise RecordError(f"{to} is there already and is left as it is: give another name") from None
            part.rename(to)
        sync(to.parent)
    except OSError as error:
        raise RecordError(f"{to} cannot be written: {error.strerror}") from error


def _keep_head(to: Path, verdict: Verdict, heads: list[Head]) -> None:
    missed = [head for head in heads if head.missed]
    current = [Head(verdict.count, verdict.head.hex(), "", verdict.last_at)] if verdict.count else []
    try:
        if current or missed:
            write_heads(to, [*current, *missed])
            sync(head_path(to))
            sync(to.parent)
    except OSError as error:
        raise RecordError(f"{to} is there and whole, but the head beside it cannot be written: {error}") from error
