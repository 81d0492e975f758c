"""The rehearsal's output read back: from JSON lines to the entries that alert load needs."""

import json
from collections.abc import Iterable, Iterator

from monitor.core.annunciations import OF_LOAD
from monitor.core.entries import Entry, EntryKind
from shared.errors import ConfigurationError
from shared.instant import Instant, ms

_FIELDS = (
    *("bed", "alert", "episode", "rule", "priority", "class", "circuit_critical", "rung", "person", "told_to"),
    *("reason", "where", "text"),
)
_KINDS = frozenset(EntryKind)


def read_events(lines: Iterable[str], begin: Instant) -> Iterator[tuple[float, Entry | None]]:
    """Give of each line its second and its entry at ``begin`` plus that; no entry: it changes no figure.

    Raises:
        ConfigurationError: a line is none that `rehearse --events` writes; it says which.
    """
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            yield _read(json.loads(line), begin)
        except (ValueError, TypeError, KeyError) as error:
            first = str(error).splitlines()[0]
            raise ConfigurationError(
                f"line {number}: not an event as rehearse --events writes it ({first})"
            ) from None


def _read(said: dict[str, object], begin: Instant) -> tuple[float, Entry | None]:
    second = said["t"]
    if not isinstance(second, int | float) or said["kind"] not in _KINDS:
        raise ValueError('"t" in seconds and a known "kind" are needed')
    if said["kind"] not in OF_LOAD:
        return float(second), None
    fields = {key: said[key] for key in _FIELDS if said.get(key) is not None}
    fields |= {"at": begin + ms(second), "kind": said["kind"]}
    return float(second), Entry.model_validate_json(json.dumps(fields))
