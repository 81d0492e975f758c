"""``feeds replay``: play a recording to the hub as one bed."""

import argparse
import logging
import re
from pathlib import Path

from feeds.journal import Journal
from feeds.options import (
    VirtualClock,
    add_clock_arguments,
    add_common_arguments,
    feed_name,
    journal_path,
    keys_of,
)
from feeds.publisher import Publisher, monotonic_ms
from feeds.replayed.files import load_map, load_recording
from shared.errors import ConfigurationError
from shared.feed_talk import Draft
from shared.instant import SECOND, Instant, ms
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity
from shared.recording import Recording
from shared.stopping import StopRequested
from shared.support import Support, describe_run

log = logging.getLogger(__name__)

_BED = re.compile(r"^[A-Za-z0-9-]{1,8}$")
_FAULTS_TOLD = 10
_ROWS_AT_A_TIME = 200
_FAREWELL_MS = 5 * SECOND


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = "Play a recording (CSV, plain or gzip) to the hub as one bed."
    parser.add_argument("recording", type=Path, metavar="FILE")
    parser.add_argument("--bed", required=True, metavar="BED", help="label of the bed that it plays as")
    parser.add_argument("--map", type=Path, metavar="FILE", help="column map; without it the header names columns")
    parser.add_argument("--support", choices=[str(s) for s in Support], default="VA", help="default: VA")
    parser.add_argument("--from-minute", type=float, default=0.0, metavar="N", help="begin N minutes into it")
    parser.add_argument("--strict", action="store_true", help="stop at a row that cannot be read")
    add_common_arguments(parser, "replayed")
    add_clock_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Play to the end, or until SIGINT or SIGTERM; give the exit status.

    Raises:
        ConfigurationError: an option, the recording, the map or the journal is wrong.
    """
    if not _BED.match(args.bed):
        raise ConfigurationError(f"--bed {args.bed}: a label is 1 to 8 of A-Z a-z 0-9 -")
    columns = None if args.map is None else load_map(args.map)
    recording, columns = load_recording(args.recording, columns, args.strict)
    _tell_of_faults(args.recording, recording)
    clock = VirtualClock(args.start, args.speed)
    declared = _declare(args.bed, Support(args.support), columns.quantities, recording.interval, clock.start)
    journal = Journal(journal_path(args), feed_name(args))
    try:
        with (
            StopRequested() as stop,
            Publisher(
                journal, [declared], ingest=args.ingest, link=args.link, clock=clock.now, keys=keys_of(args)
            ) as publisher,
        ):
            _play(args.bed, recording, clock.start - ms(args.from_minute * 60), publisher, clock, stop)
    finally:
        journal.close()
    return 0


def _tell_of_faults(path: Path, recording: Recording) -> None:
    for fault in recording.faults[:_FAULTS_TOLD]:
        log.warning("%s, line %d skipped: %s", path, fault.line, fault.why)
    if len(recording.faults) > _FAULTS_TOLD:
        log.warning("%s: %d lines skipped in all", path, len(recording.faults))
    for quantity, count in sorted(recording.left_out.items()):
        log.info("%s: %d values of %s outside the keep-range left out", path, count, quantity)


def _declare(
    bed: str, support: Support, quantities: frozenset[Quantity], interval: float, start: Instant
) -> BedDeclared:
    try:
        run = describe_run(support, f"{bed}-replayed", sensors=quantities, started_at=start)
    except ValueError as error:
        raise ConfigurationError(f"--support {support} does not fit the recording: {error}") from None
    return BedDeclared(bed=bed, runs=(run,), interval=interval, origin=Origin.REPLAYED)


def _play(
    bed: str, recording: Recording, zero: Instant, publisher: Publisher, clock: VirtualClock, stop: StopRequested
) -> None:
    """Send each row at its time, counted from ``zero``; a feed that begins late joins where the course stands."""
    ahead = [row for row in recording.rows if zero + ms(row.t) >= max(clock.start, clock.began)]
    sent = 0
    while sent < len(ahead) and not stop.now:
        now = clock.now()
        batch = [row for row in ahead[sent : sent + _ROWS_AT_A_TIME] if zero + ms(row.t) <= now]
        publisher.publish([Draft(bed=bed, read_at=zero + ms(row.t), readings=dict(row.values)) for row in batch])
        sent += len(batch)
        if sent < len(ahead):
            publisher.turn(clock.real_ms_until(zero + ms(ahead[sent].t)))
    _take_leave(publisher, stop)


def _take_leave(publisher: Publisher, stop: StopRequested) -> None:
    """Give the hub a moment to store the last rows; what it does not stays in the journal."""
    ends = monotonic_ms() + _FAREWELL_MS
    while publisher.link.stored < publisher.link.next_seq - 1 and monotonic_ms() < ends and not stop.now:
        publisher.turn(50)
