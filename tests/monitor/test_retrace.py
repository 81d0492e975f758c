"""Hours of a record, cut out and judged again: the same entries byte for byte, and every change told."""

import random
import re
from pathlib import Path

import pytest

from monitor.core.entries import EntryKind
from monitor.record import Record
from monitor.record.reading import read_only
from monitor.record.slice_reading import open_slice
from monitor.record.slicing import Hours
from monitor.reports.incident.retracing import Retraced, retrace
from shared.errors import RecordError
from shared.instant import HOUR, MINUTE, Instant
from shared.quantities import Quantity as Q
from tests.helpers.records import tamper
from tests.helpers.written_day import write_day
from tests.helpers.written_unit import BEGIN, WrittenUnit

K = EntryKind
SEED = 7
OF_READINGS = re.compile(r'"kind":"raised".*"rule":"(flow|map|pump|inlet)')
#: So much happens in the hours that are judged again, among them corrections, strikes, rounds, runs and equipment.
HAPPENS = {
    K.RAISED, K.FOLDED, K.CALLED, K.SKIPPED, K.SEEN, K.TAKEN, K.HOLD_ENDED, K.LATCHED, K.CLEARED, K.REVIEWED,
    K.FEED_LOST, K.FEED_BACK, K.ROUND_DONE, K.SET_CORRECTED, K.SET_STRUCK, K.VALUE_CORRECTED, K.RUN_STARTED,
    K.RUN_ENDED, K.RUN_MOVED, K.ITEM_PLACED, K.ITEM_QUARANTINED, K.ITEM_RETURNED, K.ITEM_CHECKED, K.EXCHANGE,
    K.ORDER, K.TARGET, K.LIMIT_SET, K.CALL_ME_SET, K.TRIAL_STARTED, K.TRIAL_ENDED, K.TRANSPORT_STARTED,
    K.TRANSPORT_ENDED, K.BREAK_BEGAN, K.UNREACHABLE, K.PLAN_SET, K.ROSTER, K.STANDS, K.UNCOVERED, K.EVENT_PLANNED,
    K.OFF_SUPPORT, K.CARE_MARKER, K.AUDIO_PAUSED, K.REFUSED, K.NOTE,
}  # fmt: skip


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_day(tmp_path_factory.mktemp("day") / "unit.record", seed=SEED, hours=5).path


def cut(path: Path, to: Path, begin: Instant, finish: Instant, bed: str = "B1") -> Path:
    with read_only(path) as record:
        record.cut(to, Hours(bed, begin, finish))
    return to


def retraced(path: Path) -> Retraced:
    with open_slice(path) as opened:
        assert opened.broken() is None
        return retrace(opened)


@pytest.mark.parametrize("seed", range(20))
def test_that_a_random_incident_is_judged_the_same_again(day: Path, tmp_path: Path, seed: int) -> None:
    dice = random.Random(seed)
    at = BEGIN + HOUR + dice.randrange(4 * HOUR)
    path = cut(day, tmp_path / "slice", at - HOUR, at + 30 * MINUTE, dice.choice(("B1", "B5", "B6")))
    found = retraced(path)
    assert found.is_same, found.differences[0]
    assert found.inputs > 100
    assert found.own > 0
    assert found.failures == 0


def test_that_everything_happened_in_these_hours(day: Path) -> None:
    with read_only(day) as record:
        hours = record.hours(BEGIN, BEGIN + 5 * HOUR)
        happened = {one.entry.kind for one in hours.entries()}
        assert len(hours.configured()) > 2
    assert len(HAPPENS - happened) <= 3, HAPPENS - happened  # of the seed: what is refused follows from all before


def test_that_a_slice_begins_at_the_state_of_the_hour_before(day: Path, tmp_path: Path) -> None:
    """A state is kept every hour: hours later on need not be judged from the record's beginning."""
    with open_slice(cut(day, tmp_path / "late", BEGIN + 4 * HOUR, BEGIN + 5 * HOUR)) as late:
        assert late.state() is not None
        times = [at for _, _, at in late.inputs()]
    assert BEGIN + 3 * HOUR <= times[0] <= BEGIN + 4 * HOUR + MINUTE
    assert BEGIN + 5 * HOUR - 20 * MINUTE < times[-1] <= BEGIN + 5 * HOUR  # so long may the hub have been away
    with open_slice(cut(day, tmp_path / "early", BEGIN, BEGIN + HOUR)) as early:
        assert (early.base, early.state()) == (0, None)


def test_that_a_slice_is_bound_to_the_chain_that_it_was_cut_from(day: Path, tmp_path: Path) -> None:
    path = cut(day, tmp_path / "slice", BEGIN + 2 * HOUR, BEGIN + 3 * HOUR)
    with open_slice(path) as opened:
        number, digest = opened.head() or (0, b"")
        first = next(opened.entries()).number
    assert 1 < first < number
    record = Record.open(day)
    head = record._db.execute("SELECT digest FROM entries WHERE number = ?", (number,)).fetchone()
    record.close()
    assert head == (digest,)


@pytest.mark.parametrize(
    ("statement", "why"),
    [
        ("UPDATE entries SET body = replace(body, 'raised', 'folded') WHERE number = {n}", "body"),
        ("DELETE FROM entries WHERE number = {n} + 1", "gap"),
        ("UPDATE slice SET before = zeroblob(32)", "begin"),
    ],
)
def test_that_a_slice_changed_afterwards_is_told(day: Path, tmp_path: Path, statement: str, why: str) -> None:
    path = cut(day, tmp_path / "slice", BEGIN + 2 * HOUR, BEGIN + 3 * HOUR)
    with open_slice(path) as opened:
        number = next(row.number for row in opened.entries() if '"kind":"raised"' in row.body)
        first = next(opened.entries()).number
    tamper(path, statement.format(n=number))
    with open_slice(path) as opened:
        assert opened.broken() == {"body": number, "gap": number + 2, "begin": first}[why]


def test_that_an_input_changed_afterwards_brings_other_entries(day: Path, tmp_path: Path) -> None:
    path = cut(day, tmp_path / "slice", BEGIN, BEGIN + 2 * HOUR)
    with open_slice(path) as opened:
        raised = next(row for row in opened.entries() if OF_READINGS.search(row.body))
    tamper(path, f"DELETE FROM observations WHERE ordinal BETWEEN {raised.ordinal - 40} AND {raised.ordinal}")
    with open_slice(path) as opened:
        found = retrace(opened)
    assert not found.is_same
    assert found.different >= len(found.differences) > 0
    assert any(one.recorded == raised.body and one.retraced is None for one in found.differences)


def test_that_other_rules_from_a_restart_on_are_followed(tmp_path: Path) -> None:
    unit = WrittenUnit(tmp_path / "unit.record", beds=("B1",))
    unit.read(20)
    low: dict[str, dict[Q, float] | None] = {"B1": {Q.MEAN_ARTERIAL_PRESSURE: 66.0}}
    unit.read(4, low)
    files = dict(unit.files)
    files["limits.toml"] = files["limits.toml"].replace("below = 60\n", "below = 68\n", 1)
    assert files != unit.files
    unit.reconfigure(files)
    unit.read(4, low)
    unit.close()
    path = cut(unit.path, tmp_path / "slice", BEGIN, unit.now)
    found = retraced(path)
    assert found.is_same, found.differences
    with open_slice(path) as opened:
        raised = [row.body for row in opened.entries() if '"kind":"raised"' in row.body]
        assert len(opened.configurations()) == 2
    assert sum('"rule":"map_low"' in body for body in raised) == 1
    tamper(path, "DELETE FROM configurations WHERE ordinal > 0")
    with open_slice(path) as opened:
        assert not retrace(opened).is_same


def test_that_hours_without_a_known_configuration_are_refused(tmp_path: Path) -> None:
    unit = WrittenUnit(tmp_path / "unit.record", beds=("B1",), told=False)
    unit.read(5)
    unit.close()
    with pytest.raises(RecordError, match="does not say by which configuration"):
        cut(unit.path, tmp_path / "slice", BEGIN, BEGIN + HOUR)


def test_that_what_is_no_slice_is_refused_by_name(day: Path, tmp_path: Path) -> None:
    (tmp_path / "text").write_text("no database at all, but long enough to look like one" * 20)
    for path in (tmp_path / "text", tmp_path / "none", day):
        with pytest.raises(RecordError, match=path.name), open_slice(path):
            pass
