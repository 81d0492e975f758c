"""That something was taken out of a record (a bundle, an export) is itself an entry: who, why, of what, its digest.

One call for all that takes data out:

1. make the file under a hidden name, and sync it;
2. ``note_taken_out(record, TakenOut("export", bed, begin, end, by, why, digest_of(hidden)))``;
3. only when that has returned, give the file its name. Where it raises, throw the file away.

So nothing leaves without its entry; an entry whose file never got its name is possible, and says too much, not too
little. Where no hub runs, the entry is written at once. Where one does, it alone may write: a *slip* is put beside
the record (folder ``NAME.slips``, one small file each), durable before the call returns. The hub takes slips in
about once a second, and at its start: an entry, and the slip goes after that. A slip has an id, which the record
keeps as that of a command that was answered: however often either side is killed, it becomes one entry.
"""

import hashlib
import logging
import secrets
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field, StringConstraints

from monitor.core.command_base import CommandId
from monitor.core.entries import Entry, EntryKind
from monitor.core.model import Frozen
from monitor.core.wire import CommandAnswer
from monitor.record.batch import Batch, Step
from monitor.record.copying import belong, sync
from monitor.record.moments import utc
from monitor.record.opening import Held
from monitor.record.reading import read_only
from monitor.record.record import Record
from shared.errors import RecordError
from shared.instant import Instant
from shared.messages import BedLabel

log = logging.getLogger(__name__)

#: A live hub takes a slip in within about a second; for so long it is waited for.
_PATIENCE_S = 4.0
_LOOK_S = 0.05
_SLIP_AT_MOST = 8_192

_Line = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200, pattern=r"^[^\n\r]*$")
]


class TakenOut(Frozen):
    """What was taken out.

    Attributes:
        what: in a word or two, such as ``bundle``.
        bed: whose data; ``None``: of the whole unit.
        begin, end: from when to when, ms.
        by, why: who asked for it, and the reason: one line each.
        digest: SHA-256 of the file, as hexadecimal digits.
    """

    what: Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\n\r]*$")]
    bed: BedLabel | None
    begin: Instant
    end: Instant
    by: _Line
    why: _Line
    digest: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]

    def entry(self, at: Instant, command: str | None = None) -> Entry:
        """Give the entry that says so."""
        whose = f"of {self.bed}" if self.bed else "of the unit"
        text = (
            f"{self.what} {whose}, {utc(self.begin)} to {utc(self.end)}, "
            f"taken out by {self.by}: {self.why}; SHA-256 {self.digest}"
        )
        text = text[0].upper() + text[1:]
        return Entry(at=at, kind=EntryKind.TAKEN_OUT, bed=self.bed, person=self.by, command=command, text=text)


class Slip(Frozen):
    """What waits to be taken in by the hub."""

    id: CommandId
    taken: TakenOut

    def step(self, at: Instant) -> Step:
        """Give the step that the hub writes: an entry, and an answer by which the slip is known to be taken in."""
        answer = CommandAnswer(id=self.id, accepted=True, at=at, recorded=True)
        return Step(at, None, (self.taken.entry(at, self.id),), answer)


@dataclass(frozen=True, slots=True)
class Noted:
    """How it was noted.

    Attributes:
        waiting: the slip that the hub has not taken in yet; ``None``: the entry is in the record.
    """

    waiting: Path | None = None


def digest_of(path: Path) -> str:
    """Give the SHA-256 of a file as hexadecimal digits. Raises RecordError where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RecordError(f"{path} cannot be read: {error.strerror}") from error


def note_taken_out(record: Path, taken: TakenOut) -> Noted:
    """Write into ``record`` what was taken out of it: at once, or by the hub that runs on it. See above.

    Raises:
        RecordError: it cannot be noted, so the file must not be given out: the record or its disk takes no writes,
            or it is of an older version.
    """
    with read_only(record) as found:
        found.of_now()
    slip = Slip(id=f"slip-{_wall_ms()}-{secrets.token_hex(4)}", taken=taken)
    try:
        opened = Record.open(record, patience=0.0)
    except Held:
        return _leave(record, slip)
    except RecordError as error:
        raise RecordError(f"that it is taken out cannot be noted in the record, so it is not: {error}") from error
    try:
        newest = opened.entries(None, 1)
        last = max(opened.last_at(), *(entry.at for entry in newest), 0)
        opened.append(Batch([slip.step(max(_wall_ms(), last))]))
    finally:
        opened.close()
    return Noted()


def said_of(noted: Noted, record: Path) -> str:
    """Say in a line how it was noted."""
    if noted.waiting is None:
        return f"Noted   in the log of {record}"
    return f"Noted   as {noted.waiting}: the hub has not taken it into its log yet, and does when it can"


def slips_folder(record: Path) -> Path:
    """Give where slips wait for the hub of a record."""
    return record.with_name(f"{record.name}.slips")


def slips_beside(record: Path) -> list[tuple[Path, Slip]]:
    """Give the slips that wait, oldest name first. What is no slip is put aside by its name, once, and logged."""
    try:
        names = sorted(path for path in slips_folder(record).iterdir() if path.suffix == ".slip")
    except OSError:  # nothing was ever taken out, or nobody may look
        return []
    found = []
    for path in names:
        try:
            if path.stat().st_size > _SLIP_AT_MOST:
                raise ValueError("it is too long")
            found.append((path, Slip.model_validate_json(path.read_bytes())))
        except FileNotFoundError:
            continue
        except (OSError, ValueError) as error:
            log.warning("%s is no slip, and is put aside as it is: %s", path, str(error).splitlines()[0])
            with suppress(OSError):
                path.rename(path.with_suffix(".odd"))
    return found


def _leave(record: Path, slip: Slip) -> Noted:
    folder = slips_folder(record)
    path = folder / f"{slip.id}.slip"
    part = path.with_suffix(".part")
    try:
        if not folder.is_dir():
            folder.mkdir(exist_ok=True)
            belong(folder, record)
            folder.chmod(0o770)
            sync(record.parent)
        part.write_text(slip.model_dump_json(), encoding="utf-8")
        belong(part, record)
        sync(part)
        part.rename(path)
        sync(folder)
    except OSError as error:
        raise RecordError(
            f"that it is taken out cannot be noted in {folder}, so it is not: {error.strerror}; "
            "whoever takes something out must be able to write there"
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
    ends = time.monotonic() + _PATIENCE_S
    while path.exists() and time.monotonic() < ends:
        time.sleep(_LOOK_S)  # the hub answers by taking the slip away, and by nothing else
    return Noted(path if path.exists() else None)


def _wall_ms() -> Instant:
    return time.time_ns() // 1_000_000
