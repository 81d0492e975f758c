"""Real recordings under the shipped limits: the hypotensive hours are called, artefacts are not, gaps stay gaps.

Source: PhysioNet/Computing in Cardiology Challenge 2009, numerics of MIMIC II, reformatted (Goldberger AL et al.,
Circulation 101(23):e215-e220, 2000; Saeed M et al., Crit Care Med 39(5):952-960, 2011). The marked records have
acute hypotension in the hour after T0; the others have none. The project carries none of these files: a check is
skipped where they are not at hand.
"""

from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import pairwise

import pytest

from monitor.core.entries import Entry, EntryKind
from monitor.rehearsal.recording import rehearse_recording
from monitor.rehearsal.rehearse import BEGIN
from monitor.settings import load_limits_and_ladder
from shared.quantities import Quantity as Q
from shared.recording import Recording, read_recording
from tests.helpers.recordings import MAP, ROOT, at_hand, lines

pytestmark = at_hand

#: Record, beginning of its forecast hour (surrogate dates of the source), and whether it is hypotensive.
MARKED = [
    ("a40764n", "01/09/2013 11:20"),
    ("a40834n", "01/06/2011 21:00"),
    ("a40006n", "03/06/2011 21:15"),
    ("a40076n", "09/07/2012 06:05"),
]
UNMARKED = [("a40277n", "05/03/2016 05:00"), ("a40306n", "28/08/2009 09:00")]


@cache
def recording(record: str) -> Recording:
    return read_recording(lines(record), MAP)


@cache
def entries(record: str) -> list[Entry]:
    limits, ladder = load_limits_and_ladder(ROOT / "config")
    return list(rehearse_recording(recording(record), MAP.quantities, limits, ladder))


def hour_of(record: str, begins: str) -> tuple[int, int]:
    """Give the forecast hour in ms of the rehearsal."""
    first = datetime.strptime(lines(record)[0].split(",")[0], "'[%H:%M:%S %d/%m/%Y]'").replace(tzinfo=UTC)
    t0 = datetime.strptime(begins, "%d/%m/%Y %H:%M").replace(tzinfo=UTC)
    start = BEGIN + round((t0 - first) / timedelta(milliseconds=1))
    return start, start + 3_600_000


def low_pressure(record: str) -> list[tuple[int, int]]:
    """Give the spans in which map_low stood."""
    spans: list[tuple[int, int]] = []
    begun: dict[int | None, int] = {}
    for entry in entries(record):
        if entry.rule != "map_low":
            continue
        if entry.kind in (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED):
            begun[entry.alert] = entry.at
        elif entry.kind in (EntryKind.CLEARED, EntryKind.LATCHED):
            spans.append((begun.pop(entry.alert), entry.at))
    end = BEGIN + round(recording(record).length * 1000)
    return spans + [(at, end) for at in begun.values()]


def minutes_low_in(record: str, begins: str) -> float:
    start, end = hour_of(record, begins)
    return sum(max(0, min(end, b) - max(start, a)) for a, b in low_pressure(record)) / 60_000


@pytest.mark.parametrize(("record", "begins"), MARKED)
def test_that_the_hypotensive_hour_of_a_marked_record_is_called(record: str, begins: str) -> None:
    start, end = hour_of(record, begins)
    raised = [
        e for e in entries(record)
        if e.rule in ("map_low", "map_very_low") and start <= e.at <= end
        and e.kind in (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED)
    ]  # fmt: skip
    assert raised, "no MAP alert in the forecast hour"
    assert minutes_low_in(record, begins) >= 15


@pytest.mark.parametrize(("record", "begins"), UNMARKED)
def test_that_the_quiet_hour_of_an_unmarked_record_stays_mostly_quiet(record: str, begins: str) -> None:
    assert minutes_low_in(record, begins) <= 5


@pytest.mark.parametrize(("record", "begins"), MARKED + UNMARKED)
def test_that_zeros_and_open_lines_are_no_values(record: str, begins: str) -> None:
    """``0.000`` is a transducer that is off; MAP beyond 10 to 200 is an open or flushed line (data's own note)."""
    for row in recording(record).rows:
        pressure = row.values.get(Q.MEAN_ARTERIAL_PRESSURE)
        assert pressure is None or 10 <= pressure <= 200
    stated = [e.value for e in entries(record) if e.rule in ("map_low", "map_very_low") and e.value is not None]
    assert all(value >= 10 for value in stated)


@pytest.mark.parametrize(("record", "begins"), MARKED + UNMARKED)
def test_that_a_gap_of_readings_is_told_and_nothing_is_judged_in_it(record: str, begins: str) -> None:
    """A minute recording is missing from three intervals on, the silence before its first reading included."""
    whole = recording(record)
    times = [0.0, *(row.t for row in whole.rows), whole.length]
    gaps = [(begin, end) for begin, end in pairwise(times) if end - begin >= 180]
    lost = [e for e in entries(record) if e.kind is EntryKind.FEED_LOST]
    assert len(lost) == len(gaps)
    judged = (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED, EntryKind.CLEARED, EntryKind.LATCHED)
    for begin, end in gaps:
        inside = [
            e for e in entries(record)
            if e.kind in judged and e.rule not in (None, "no_feed")
            and begin < (e.at - BEGIN) / 1000 < end
        ]  # fmt: skip
        assert inside == []
