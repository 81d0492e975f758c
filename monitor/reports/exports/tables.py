"""Some hours of a bed as tables (RFC 4180): the readings, the alerts, and a page that says what they are."""

import csv
import json
from collections.abc import Callable, Iterator, Sequence
from datetime import tzinfo
from pathlib import Path

from monitor.record.copying import sync
from monitor.reports.exports.about import about
from monitor.reports.exports.alerts import Alerted
from monitor.reports.exports.asked import Asked, Made, note
from monitor.reports.exports.cells import names_cell, number_cell, text_cell
from monitor.reports.exports.taking import ORIGIN_WORDS, Row, Taking, written
from monitor.reports.files import new_files
from shared.cautions import NO_DEVICE
from shared.instant import Instant
from shared.quantities import CATALOGUE, Quantity

FIXED = (
    "bed", "run", "support", "slot", "origin", "read_at", "received_at", "entered_at", "entered_by", "unchecked",
    "estimated", "doubtful", "console_says", "round", "looked", "looked_notes", "set", "version", "standing", "why",
    "input",
)  # fmt: skip
ALERTS = (
    "bed", "slot", "alert", "episode", "rule", "words", "priority", "class", "circuit_critical", "raised_at",
    "ended_at", "first_answer_at", "taken_at", "at_bed_at", "reason",
)  # fmt: skip
#: The last column of every row, so that no row goes anywhere without it.
CAUTION = "caution"
_TOLD_EVERY = 5_000
_HOLDS = (
    "{values}: one row an observation of a pump's run, in the order of read_at.",
    "  Times: ISO 8601 with the offset of the unit's wall. read_at: when it was read; received_at: when the hub",
    "  had it; entered_at and entered_by: of sets entered by hand. input: its number in the unit's record.",
    "  A quantity stands with its UCUM unit; an empty cell: not read. estimated: the console worked these out.",
    "  doubtful: the console does not trust these. standing: use only rows whose standing begins with counts.",
    "  unchecked: who entered the set was not checked (not_asked), or may not (no_person, role, other_bed).",
    "  looked: what a person looked at in a round, item=in_order, finding or not_looked; looked_notes: as JSON.",
    "{alerts}: one row an alert that stood at any time in these hours, of the bed or of the whole unit (no bed).",
    "A text that begins with = + - or @ has an apostrophe before it: no spreadsheet takes it for a formula.",
)  # fmt: skip


def column_of(quantity: Quantity) -> str:
    """Give the name of a quantity's column, with its UCUM unit."""
    return f"{quantity.value} [{CATALOGUE[quantity].ucum}]"


def beside(to: Path) -> tuple[Path, Path]:
    """Give where the alerts and the words go that belong to a table of readings."""
    return to.with_name(f"{to.stem}-alerts.csv"), to.with_name(f"{to.stem}-READ-ME.txt")


def write_tables(to: Path, taking: Taking, asked: Asked, told: Callable[[int], None]) -> list[Made]:
    """Write the tables beside one another and have both noted; give them.

    Args:
        told: called now and then with the number of rows written.

    Raises:
        RecordError: a name is taken, something refuses, or it cannot be noted; then nothing is left.
    """
    alerts, words = beside(to)
    with new_files(to, alerts, words) as (hidden, hidden_alerts, hidden_words):
        _write(hidden, _readings(taking, told))
        _write(hidden_alerts, _alerts(taking))
        holds = (line.format(values=to.name, alerts=alerts.name) for line in _HOLDS)
        hidden_words.write_text("\n".join([*about(taking, asked, *holds), ""]), encoding="utf-8")
        sync(hidden_words)
        return [
            note(hidden, to, "readings as CSV", taking, asked),
            note(hidden_alerts, alerts, "alerts as CSV", taking, asked),
        ]


def _write(path: Path, rows: Iterator[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out).writerows(rows)
    sync(path)


def _readings(taking: Taking, told: Callable[[int], None]) -> Iterator[Sequence[str]]:
    yield [*FIXED, *(column_of(quantity) for quantity in taking.quantities), CAUTION]
    for place, row in enumerate(taking.rows(), 1):
        readings = row.kept.observation.readings
        values = (number_cell(readings.get(quantity)) for quantity in taking.quantities)
        yield [*_fixed(row, taking.zone), *values, NO_DEVICE]
        if place % _TOLD_EVERY == 0:
            told(place)


def _fixed(row: Row, zone: tzinfo) -> Sequence[str]:
    said = row.kept.observation
    edition, looked = said.edition, said.looked or {}
    notes = {item: one.note for item, one in looked.items() if one.note is not None}
    return (
        text_cell(said.bed),
        text_cell(row.run.name if row.run else None),
        text_cell(row.run.support if row.run else None),
        str(said.slot),
        ORIGIN_WORDS[row.origin] if row.origin else "",
        written(said.read_at, zone),
        written(row.kept.at, zone),
        _time(said.entered_at, zone),
        text_cell(row.role),
        said.unchecked.value if said.unchecked else "",
        names_cell(said.estimated),
        names_cell(said.doubtful),
        names_cell(said.conditions),
        said.round.value if said.round else "",
        names_cell(f"{item}={one.found.value}" for item, one in looked.items()),
        json.dumps(notes, ensure_ascii=False, sort_keys=True) if notes else "",
        edition.set if edition else "",
        str(edition.version) if edition else "",
        row.standing.value,
        edition.why.value if edition and edition.why else "",
        str(row.kept.ordinal),
    )


def _alerts(taking: Taking) -> Iterator[Sequence[str]]:
    yield [*ALERTS, CAUTION]
    for one in taking.alerts:
        yield [*_alert(one, taking.zone), NO_DEVICE]


def _alert(one: Alerted, zone: tzinfo) -> Sequence[str]:
    became = one.became
    return (
        text_cell(became.bed),
        str(became.slot or ""),
        str(one.number),
        str(one.episode or ""),
        text_cell(became.rule),
        text_cell(one.words),
        became.priority,
        became.kind,
        "yes" if became.circuit_critical else "",
        written(one.raised_at, zone),
        _time(became.ended_at, zone),
        _time(became.seen_at, zone),
        _time(became.taken_at, zone),
        _time(became.at_bed_at, zone),
        text_cell((became.reason or "").replace("_", " ")),
    )


def _time(at: Instant | None, zone: tzinfo) -> str:
    return "" if at is None else written(at, zone)
