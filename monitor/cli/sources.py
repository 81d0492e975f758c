"""Where figures are read from: a hub's record, or a unit's record in the archive. Both give the same ones.

The archive is imported only where it is asked for: a hub, which knows this room by the commands that it starts,
never loads a line of it, nor PostgreSQL's library.
"""

import argparse
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from monitor.analysis.alert_load import LoadFigures
from monitor.core.drill import Drill
from monitor.core.entries import Entry, EntryKind
from monitor.record.hours_reading import HoursReading
from monitor.record.reading import find_record, read_only
from monitor.settings.drill_mark import drill_in
from shared.errors import ConfigurationError
from shared.instant import Instant


class Source(Protocol):
    """What both can be asked for; see `RecordToRead`."""

    def ends(self) -> tuple[Instant, Instant]:
        """Give the times of the first entry and of the last input."""

    def head(self) -> tuple[int, str]:
        """Give number and digest of the newest entry."""

    def load(self, begin: Instant, end: Instant) -> LoadFigures:
        """Give the alert load of some hours."""

    def entries_since(
        self, begin: Instant, kinds: Collection[EntryKind] | None, bed: str | None
    ) -> Iterator[Entry]:
        """Give the entries from a moment on."""

    def hours(self, begin: Instant, end: Instant) -> HoursReading:
        """Give what a report needs of some hours."""


def add_source(parser: argparse.ArgumentParser, record: str) -> None:
    """Add RECORD and, in its place, ``--archive``, ``--unit`` and ``--number``."""
    parser.add_argument("record", type=Path, nargs="?", metavar="RECORD", help=record)
    parser.add_argument(
        "--archive",
        nargs="?",
        const="",
        metavar="DSN",
        help="instead of RECORD: the archive (without DSN: as WEIRKEEPER_ARCHIVE or PostgreSQL's variables say)",
    )
    parser.add_argument("--unit", metavar="NAME", help="with --archive: which unit")
    parser.add_argument("--number", type=int, metavar="N", help="with --archive: which of its records (the newest)")


def archive_in(args: argparse.Namespace, *, needs_unit: bool = True) -> str | None:
    """Give where the archive is, or ``None``: a record was given.

    Raises:
        ConfigurationError: neither or both were given, or no unit.
    """
    if args.archive is None:
        if args.record is None:
            raise ConfigurationError("give RECORD, or --archive and --unit")
        if args.unit is not None or args.number is not None:
            raise ConfigurationError("--unit and --number belong to --archive")
        return None
    if args.record is not None:
        raise ConfigurationError(f"give RECORD ({args.record}) or --archive, not both")
    if args.unit is None and (needs_unit or args.number is not None):
        raise ConfigurationError("--archive holds many units: say which (--unit); `archive units` lists them")
    from monitor.archive.connecting import place_of

    return place_of(args.archive or None)


@contextmanager
def opened(args: argparse.Namespace) -> Iterator[tuple[Source, str]]:
    """Open what was asked for; give it with its name, for people.

    Raises:
        ConfigurationError: see `archive_in`.
        RecordError: it cannot be read.
    """
    place = archive_in(args)
    if place is not None:
        from monitor.archive.reading import archived

        with archived(place, args.unit, args.number) as source:
            yield source, source.name
        return
    path = find_record(args.record)
    with read_only(path) as record:
        yield record, str(path)


def drill_of(record: Path) -> Drill | None:
    """Give the drill whose record this is; ``None``: it is a unit's own. No drill is ever in the archive.

    Raises:
        RecordError: it cannot be read.
    """
    with read_only(record) as opened_:
        configured = opened_.configured()
    return drill_in(configured.files) if configured is not None else None
