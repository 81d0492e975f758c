"""``monitor archive feed``: portion after portion, and with ``--follow`` for as long as it runs.

Whatever ends it, kindly or not, it goes on where it stopped. While the archive is away it waits and tries again;
the hub, whose record it reads, knows nothing of either.
"""

import argparse
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.archive.connecting import Connection, connected, name_of, place_of
from monitor.archive.feeding import Fed, alone, which, write
from monitor.cli.sources import drill_of
from monitor.record.moments import utc
from monitor.record.reading import find_record, read_only
from monitor.settings import configuration_of
from shared.errors import ConfigurationError, RecordError

#: Seconds between two looks at a record, between two states of the engine that are copied while following (they are
#: large), and until the same trouble is told again.
LOOK_S, STATES_S, _TOLD_AGAIN_S = 60.0, 600.0, 600.0
_LONGEST = 200


def feed(args: argparse.Namespace) -> int:
    """Feed what is new, and follow if that was asked for.

    Raises:
        ConfigurationError: an option makes no sense.
        RecordError: the record or the archive refuses, and nothing is followed.
    """
    said = _another(args)
    place, record = place_of(args.to), find_record(args.record)
    if not args.follow:
        with _session(place, record, args.unit) as (db, unit):
            print(f"Fed     {_all_new(db, unit, record, said)} into {name_of(db)}")
        return 0
    _follow(place, record, args.unit, said)
    return 0


def _follow(place: str, record: Path, unit: str | None, said: str | None) -> None:
    pause, trouble, told_at, states_at = threading.Event(), "", 0.0, -STATES_S
    while True:
        try:
            with _session(place, record, unit) as (db, name):
                while True:
                    is_due = time.monotonic() >= states_at + STATES_S
                    fed = _all_new(db, name, record, said, states=is_due)
                    states_at = time.monotonic() if is_due else states_at
                    if trouble or not told_at:
                        print(f"Fed     {fed} into {name_of(db)}; following", flush=True)
                    trouble, told_at = "", time.monotonic()
                    pause.wait(LOOK_S)
        except RecordError as error:  # away, or to be put right by a person: either is looked for again
            if str(error) != trouble or time.monotonic() > told_at + _TOLD_AGAIN_S:
                trouble, told_at = str(error), time.monotonic()
                print(f"Waiting {trouble}", flush=True)
            pause.wait(LOOK_S)


@contextmanager
def _session(place: str, record: Path, unit: str | None) -> Iterator[tuple[Connection, str]]:
    if drill_of(record) is not None:
        raise RecordError(f"{record} is the record of a drill: it never goes into the archive")
    name = unit or _unit_of(record)
    with connected(place) as db, alone(db, name):
        yield db, name


def _all_new(db: Connection, unit: str, path: Path, said: str | None, *, states: bool = True) -> str:
    """Copy until nothing is new; say what came. The record is let go before the archive is spoken to."""
    counted, last = [0, 0, 0], None
    while (fed := _one(db, unit, path, said, states=states)) is not None:
        for text in fed.told:
            print(f"Note    {text}", flush=True)
        counted = [sum(pair) for pair in zip(counted, (fed.observations, fed.inputs, fed.entries), strict=True)]
        last = fed.record
    what = "{} observations, {} other inputs, {} entries of unit".format(*counted)
    return f'{what} "{unit}"' + (f", up to {utc(last.last_at)}" if last else ": nothing new")


def _one(db: Connection, unit: str, path: Path, said: str | None, *, states: bool) -> Fed | None:
    with read_only(path) as record:
        reading = record.portions()
        standing = which(db, unit, reading, said)
        portion = reading.next(standing.place)
    if portion is None:
        return None
    if not states:
        portion.checkpoints.clear()
    return write(db, unit, standing, portion)


def _unit_of(path: Path) -> str:
    with read_only(path) as record:
        configured = record.configured()
    if configured is None:
        raise RecordError(f"{path} does not say of which unit it is: give its name (--unit)")
    return configuration_of(configured.files).unit.name


def _another(args: argparse.Namespace) -> str | None:
    if not args.another:
        if args.by or args.why:
            raise ConfigurationError("--by and --why belong to --another")
        return None
    by, why = (" ".join((text or "").split()) for text in (args.by, args.why))
    if not (by and why) or max(len(by), len(why)) > _LONGEST:
        raise ConfigurationError(
            f"--another: say who means it and why (--by, --why), at most {_LONGEST} characters"
        )
    return f"as {by} has said: {why}"
