"""A hub on its record, damaged or not: the watch comes first.

A record that is damaged is put aside whole, and a new one begins in its place; its first entry and an alert of the
unit say so. Anything else that keeps a record shut (another hub, no right, no room, a newer version, other beds)
would be no better with a new one, and is refused.
"""

import logging
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from monitor.core.endpoints import Endpoints
from monitor.core.unit import Configuration
from monitor.hub.clock import HubClock, wall_ms
from monitor.hub.gate import Gate
from monitor.hub.runner import Hub
from monitor.hub.sheets import Sheets
from monitor.record import Record
from monitor.record.anew import put_aside
from monitor.record.opening import Damaged
from shared.instant import Instant

log = logging.getLogger(__name__)


def open_hub(
    configuration: Configuration,
    path: Path,
    clock: Callable[[Instant], HubClock],
    endpoints: Endpoints | None = None,
    files: Mapping[str, str] | None = None,
    people_in: Path | None = None,
    cards: Sequence[str] = (),
    sheets: Sheets | None = None,
    gate: Gate | None = None,
) -> Hub:
    """Start a hub on the record at ``path``; the caller closes the hub's record (``hub.keeper.record``).

    Args:
        clock: gives the hub's clock, given the last moment in the record.
        people_in: the folder of people.toml; ``None``: nobody is asked for a secret.
        cards: see `Hub`.
        sheets: has the downtime sheets made; ``None``: there are none.
        gate: lets in keys alone; ``None``: there are none.

    Raises:
        ConfigurationError: see `Hub` and `HubClock`.
        RecordError: the record is held by another hub, or cannot be read or written, or is damaged and cannot be
            put aside.
    """
    try:
        return _started(configuration, path, clock, endpoints, files, people_in, cards, sheets, gate)
    except Damaged as error:
        log.error("the record %s is damaged: it is put aside, and a new one begins", path)
        put_aside(path, " ".join(str(error.__cause__ or error).split()), wall_ms())
    return _started(configuration, path, clock, endpoints, files, people_in, cards, sheets, gate)


def _started(
    configuration: Configuration,
    path: Path,
    clock: Callable[[Instant], HubClock],
    endpoints: Endpoints | None,
    files: Mapping[str, str] | None,
    people_in: Path | None,
    cards: Sequence[str],
    sheets: Sheets | None,
    gate: Gate | None,
) -> Hub:
    record = Record.open(path)
    try:
        now = clock(record.last_at())
        return Hub(configuration, record, now, endpoints, files, people_in, cards, sheets, gate=gate)
    except BaseException as error:
        record.close(as_it_is=isinstance(error, Damaged))
        raise
