"""Inputs of the engine as rows, and back: what a replay is made of."""

import heapq
import json
import sqlite3
from collections.abc import Iterator

from pydantic import TypeAdapter

from monitor.core.commands import COMMANDS
from monitor.core.events import Commanded, Declared, Event, FeedsFound, Observed, TimePassed
from monitor.core.grades import Role
from monitor.record.batch import Begin
from monitor.record.opening import Damaged
from monitor.record.packing import unpack
from shared.instant import Instant

_DECLARED: TypeAdapter[Declared] = TypeAdapter(Declared)
_FOUND: TypeAdapter[FeedsFound] = TypeAdapter(FeedsFound)

#: Beside the fields of a command that came from a station with a key.
_STATION = "station"

_OBSERVATIONS = """
SELECT o.ordinal, o.at, e.feed, e.epoch, o.seq, p.bed, p.slot, o.read_at, o.sent_at, l.quantities, o.readings,
  o.marks
FROM observations o
  JOIN epochs e ON e.id = o.epoch JOIN places p ON p.id = o.place JOIN layouts l ON l.id = o.layout
WHERE o.ordinal > ? ORDER BY o.ordinal
"""


def body_of(event: Begin | Declared | Commanded | TimePassed | FeedsFound) -> tuple[str, str]:
    """Give kind and body of an input that is no observation."""
    match event:
        case Begin():
            return "begin", "anew" if event.anew else ""
        case Declared():
            return "declared", _DECLARED.dump_json(event, exclude_none=True).decode()
        case Commanded():
            return "commanded", _command_body(event)
        case TimePassed():
            return "time_passed", ""
        case FeedsFound():
            return "feeds_found", _FOUND.dump_json(event).decode()


def event_of(kind: str, body: str) -> Event | Begin:
    """Give the input of a row.

    Raises:
        Damaged: the kind is not known here.
    """
    match kind:
        case "begin":
            return Begin(anew=body == "anew")
        case "declared":
            return _DECLARED.validate_json(body)
        case "commanded":
            return _commanded(body)
        case "time_passed":
            return TimePassed()
        case "feeds_found":
            return _FOUND.validate_json(body)
        case _:
            raise Damaged(f"an input of the kind {kind} cannot be replayed here")


def _command_body(event: Commanded) -> str:
    body = COMMANDS.dump_json(event.command, exclude_none=True).decode()
    if not event.key:
        return body
    roles = None if event.roles is None else sorted(event.roles)
    return json.dumps(json.loads(body) | {_STATION: {"key": event.key, "roles": roles}}, ensure_ascii=False)


def _commanded(body: str) -> Commanded:
    if f'"{_STATION}"' not in body:
        return Commanded(COMMANDS.validate_json(body))
    said = json.loads(body)
    station = said.pop(_STATION, {"key": "", "roles": None})
    roles = None if station["roles"] is None else frozenset(Role(role) for role in station["roles"])
    return Commanded(COMMANDS.validate_json(json.dumps(said)), station["key"], roles)


def replay(db: sqlite3.Connection, after: int) -> Iterator[tuple[Event | Begin, Instant]]:
    """Give every input after the ordinal ``after`` with its time, in order."""
    for _, event, at in numbered(db, after):
        yield event, at


def numbered(db: sqlite3.Connection, after: int) -> Iterator[tuple[int, Event | Begin, Instant]]:
    """Give every input after the ordinal ``after`` with its own ordinal and its time, in order."""
    for ordinal, at, event in heapq.merge(_observations(db, after), _others(db, after), key=lambda row: row[0]):
        yield ordinal, event, at


def _observations(db: sqlite3.Connection, after: int) -> Iterator[tuple[int, Instant, Event | Begin]]:
    for ordinal, at, feed, epoch, seq, bed, slot, read_at, sent_at, layout, readings, marks in db.execute(
        _OBSERVATIONS, (after,)
    ):
        observation = unpack(feed, epoch, seq, bed, slot, (read_at, sent_at), layout, readings, marks)
        yield ordinal, at, Observed(observation)


def _others(db: sqlite3.Connection, after: int) -> Iterator[tuple[int, Instant, Event | Begin]]:
    rows = db.execute("SELECT ordinal, at, kind, body FROM inputs WHERE ordinal > ? ORDER BY ordinal", (after,))
    for ordinal, at, kind, body in rows:
        yield ordinal, at, event_of(kind, body)
