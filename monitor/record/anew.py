"""A record that is damaged is put aside whole, and a new one is begun in its place, since the watch comes first.

Nothing of it is deleted or altered: its files are renamed, all of them, so that it can be verified, read and
restored from. A plan is written first, with one rename: the name, and the words with which the new record begins.
Whoever opens the record next finishes what a kill has interrupted. The plan goes once the new record holds its
first entries: until then every start says the words again.
"""

import json
import logging
import os
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from monitor.record.beside import BESIDE, DAMAGED, free_name, with_suffix, write_durably
from monitor.record.copying import sync
from monitor.record.head import read_heads
from monitor.record.moments import utc
from monitor.record.opening import Lock
from monitor.record.reading import read_only
from shared.errors import RecordError
from shared.instant import Instant

log = logging.getLogger(__name__)

#: How the first entry of a record begins that stands in the place of a damaged one.
BEGUN_ANEW = "this record was begun anew: "

#: So long is gone through the entries of a damaged record, before the watch begins anew.
_LOOKED_S = 1.0


@dataclass(frozen=True, slots=True)
class Plan:
    """Where a damaged record goes (``name``), and what the new one is to say of it."""

    name: str
    words: str


def put_aside(record: Path, why: str, now: Instant) -> None:
    """Put a damaged record aside; `Record.open` then begins a new one, which knows what to say (`Record.anew`).

    Args:
        why: what is wrong with it.
        now: the wall's time: it names the file.

    Raises:
        RecordError: another hub holds it, or the folder takes no writes: everything is as before.
    """
    lock = Lock(with_suffix(record, ".lock"))
    try:
        name = free_name(record, DAMAGED, now).name
        words = (
            f"{BEGUN_ANEW}the one in its place is damaged and is kept as it is as {name} ({why}); "
            f"{_entries(record)}; {_head(record)}; "
            "alerts, answers and calls that were open then are not known here: look at every bed"
        )
        plan = _plan_path(record)
        write_durably(plan, json.dumps({"name": name, "words": words}), with_suffix(plan, "-draft"))
        sync(record.parent)
        finish_aside(record)
    except OSError as error:
        raise RecordError(
            f"the record {record} is damaged ({why}) and cannot be put aside: {error.strerror}; "
            "let its folder take writes, or begin a record elsewhere (--record)"
        ) from error
    finally:
        lock.release()


def finish_aside(record: Path) -> Plan | None:
    """Rename whatever a plan says and is not renamed yet; give the plan. The caller holds the lock.

    Raises:
        OSError: the disk refuses; the next call goes on where this one stopped.
    """
    plan = _planned(record)
    if plan is None:
        return None
    aside = record.with_name(plan.name)
    if not aside.exists():  # the file itself goes last: once it is gone, what has its name is the new one's
        for suffix in (*BESIDE, ""):
            with suppress(FileNotFoundError):
                os.replace(with_suffix(record, suffix), with_suffix(aside, suffix))
        sync(record.parent)
    return plan


def forget_plan(record: Path) -> None:
    """The new record has begun: what it says of the old one is in it. A plan that cannot go is said again."""
    try:
        _plan_path(record).unlink(missing_ok=True)
    except OSError as error:
        log.warning("%s cannot be taken away: %s", _plan_path(record), error.strerror)


def _plan_path(record: Path) -> Path:
    return record.with_name(f".{record.name}.aside-plan")


def _planned(record: Path) -> Plan | None:
    try:
        said = json.loads(_plan_path(record).read_text(encoding="utf-8"))
        return Plan(said["name"], said["words"])
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError):  # it is put in place whole: somebody has changed it
        log.warning("%s is no plan, and is passed over", _plan_path(record))
        return None


def _entries(record: Path) -> str:
    """Say how far the log of a damaged record is whole, as far as a second takes one."""
    try:
        with read_only(record, cut_short=True) as found:
            verification, ends = found.verification(), time.monotonic() + _LOOKED_S
            while not (is_done := verification.step()) and time.monotonic() < ends:
                pass
    except RecordError:
        return "no entry of it can be read"
    verdict = verification.verdict
    if not verdict.count:
        return "no entry of it can be read"
    least = "" if is_done else "at least "
    return f"its log is whole {least}up to entry {verdict.count} of {utc(verdict.last_at)}"


def _head(record: Path) -> str:
    try:
        heads = read_heads(record)
    except RecordError:
        heads = []
    if not heads:
        return "there is no head beside it"
    return f"its head names entry {heads[0].number} of {utc(heads[0].at)}, digest {heads[0].digest}"
