"""Rounds at a bed: what is due when, what was found, and that a round calls nobody.

The intervals are common practice without a source.
"""

from pathlib import Path

import pytest

from monitor.core.commands import EndTransport, StartTransport
from monitor.core.entries import EntryKind
from monitor.core.entry_words import words_of
from monitor.core.unit import Shift
from monitor.core.view import RunView
from monitor.rehearsal.rehearse import BEGIN
from monitor.settings import load_configuration
from shared.entry.round_table import RoundTable
from shared.errors import ConfigurationError
from shared.instant import HOUR, MINUTE, SECOND
from shared.messages import Edition, Found, Looked, RoundKind, Why
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from shared.toml_text import parse_toml
from tests.helpers.one_bed import USUAL, Bed

CONFIG = Path(__file__).parents[2] / "config"
TABLE = load_configuration(CONFIG).rounds
WALK, HOURLY, PERFUSION = RoundKind.SAFETY_WALK, RoundKind.HOURLY, RoundKind.PERFUSION
RIGHT, WRONG = Looked(found=Found.IN_ORDER), Looked(found=Found.FINDING, note="fibrin at the inlet")


def ward(table: RoundTable = TABLE, by_hand: bool = False, shifts: tuple[Shift, ...] = ()) -> Bed:
    more = '[[start]]\nbed = "B1"\nfeed = "entered"\n' if by_hand else ""
    bed = Bed(more=more, changed={"rounds": table})
    if shifts:
        unit = bed.configuration.unit.model_copy(update={"shifts": shifts})
        bed = Bed(more=more, changed={"rounds": table, "unit": unit})
    return bed


def run_of(bed: Bed) -> RunView:
    return bed.tile.runs[0]


def due(bed: Bed) -> dict[RoundKind, float]:
    """Minutes from the beginning at which each round is due."""
    return {one.kind: (one.due_at - BEGIN) / MINUTE for one in run_of(bed).rounds}


def test_that_rounds_are_due_from_the_start_of_a_run_on() -> None:
    assert due(ward()) == {HOURLY: 60, WALK: 0, PERFUSION: 240}
    assert due(ward(RoundTable())) == {}


@pytest.mark.parametrize(("kind", "next_after"), [(HOURLY, 60), (PERFUSION, 240)])
def test_that_the_next_round_is_due_by_the_one_that_was_done(kind: RoundKind, next_after: float) -> None:
    bed = ward()
    bed.wait(30 * 60 - 1)
    bed.enter_set({}, "nurse-B1", round=kind, looked={"clots": RIGHT})
    assert due(bed)[kind] == pytest.approx(30 + next_after)
    [view] = [one for one in run_of(bed).rounds if one.kind is kind]
    assert (view.by, view.done_at) == ("nurse-B1", bed.now)


def test_that_a_safety_walk_is_due_after_a_transport() -> None:
    bed = ward()
    bed.enter_set({}, "nurse-B1", round=WALK, looked={"torch": RIGHT})
    assert WALK not in due(bed)
    said = {"bed": bed.label, "leader": "nurse-B1", "back": bed.now + HOUR, "destination": "CT"}
    assert not bed.say(StartTransport, "charge", **said)
    bed.wait(20 * 60)
    assert not bed.say(EndTransport, "charge", bed=bed.label)
    assert due(bed)[WALK] == pytest.approx((bed.now - BEGIN) / MINUTE)


def test_that_a_safety_walk_is_due_at_the_start_of_each_shift() -> None:
    shifts = (Shift(name="Day", begins="00:00", ends="12:00"), Shift(name="Night", begins="12:00", ends="00:00"))
    bed = ward(shifts=shifts)
    bed.enter_set({}, "nurse-B1", round=WALK, looked={"torch": RIGHT})
    begins = due(bed)[WALK]
    assert 0 < begins <= 12 * 60
    bed.wait(begins * 60)
    assert due(bed)[WALK] == begins


def test_that_every_set_is_an_hourly_round_where_a_bed_has_no_feed() -> None:
    bed = ward(by_hand=True)
    bed.enter_set(USUAL, "nurse-B1")
    assert due(bed)[HOURLY] == pytest.approx(60, abs=0.1)
    assert not bed.of(EntryKind.ROUND_DONE)
    beside = ward()
    beside.enter_set({Q.LACTATE: 1.0}, "nurse-B1")
    assert due(beside)[HOURLY] == 60


def test_that_a_walk_or_a_draw_alone_makes_no_reading_younger() -> None:
    bed = ward(by_hand=True)
    bed.enter_set(USUAL, "nurse-B1")
    read_at = bed.tile.last_reading_at
    bed.wait(74 * 60)
    bed.enter_set({}, "nurse-B1", round=WALK, looked={"torch": RIGHT})
    bed.enter_set({Q.LACTATE: 1.2}, "nurse-B1")
    assert bed.tile.last_reading_at == read_at
    assert due(bed)[HOURLY] == pytest.approx(60, abs=0.1)
    bed.wait(120)
    [alert] = [entry for entry in bed.of(EntryKind.RAISED) if entry.rule == "reading_overdue"]
    assert alert.at - (read_at or 0) == pytest.approx(75 * MINUTE, abs=5 * SECOND)
    bed.enter_set({}, "nurse-B1", round=WALK, looked={"torch": RIGHT})
    assert not bed.of(EntryKind.CLEARED)
    bed.enter_set(USUAL, "nurse-B1")
    assert [entry.rule for entry in bed.of(EntryKind.CLEARED)] == ["reading_overdue"]


def test_that_a_finding_stands_until_a_later_round_finds_it_in_order() -> None:
    bed = ward()
    bed.enter_set({}, "nurse-B1", round=HOURLY, looked={"clots": WRONG, "lines": RIGHT})
    words = "Clots: pump head, oxygenator, connectors"
    assert run_of(bed).findings == {words: "fibrin at the inlet"}
    bed.enter_set({}, "nurse-B1", round=HOURLY, looked={"clots": Looked(found=Found.NOT_LOOKED)})
    assert run_of(bed).findings == {words: "fibrin at the inlet"}
    bed.restart()
    bed.enter_set({}, "perfusionist", round=PERFUSION, looked={"clots": RIGHT})
    assert run_of(bed).findings == {}
    said = [words_of(entry, lambda name: name or "") for entry in bed.of(EntryKind.ROUND_DONE)]
    assert said == [
        f"Hourly round; found: {words} (fibrin at the inlet); 1 of 2 in order, by nurse-B1",
        f"Hourly round; not looked at: {words}; 0 of 1 in order, by nurse-B1",
        "Perfusion round; 1 of 1 in order, by perfusionist",
    ]
    assert not bed.calls()


def test_that_a_round_of_before_the_newest_one_changes_nothing() -> None:
    bed = ward()
    bed.wait(HOUR / SECOND)
    bed.enter_set({}, "nurse-B1", round=HOURLY, looked={"clots": RIGHT})
    bed.enter_set({}, "nurse-B1", late_s=600, round=HOURLY, looked={"clots": WRONG})
    assert run_of(bed).findings == {}
    assert len(bed.of(EntryKind.ROUND_DONE)) == 1


def test_that_an_item_is_asked_for_where_it_makes_sense() -> None:
    va = describe_run(Support.VA, "r1", 1, "broad", frozenset({Q.PUMP_FLOW}))
    without = describe_run(Support.LA_AO, "r2", 1, "small", frozenset({Q.PUMP_FLOW}))
    asked = {one.id for one in TABLE.items_of(HOURLY, va)}
    assert {"limb", "blood_colour", "console_limits"} <= asked
    assert asked - {one.id for one in TABLE.items_of(HOURLY, without)} == {"limb", "blood_colour"}
    assert "torch" not in asked
    assert TABLE.words_of("gone_since") == "gone since"


def test_that_an_item_stands_once() -> None:
    item = '[[item]]\nid = "torch"\nwords = "Torch at the bed"\nrounds = ["hourly"]\n'
    assert len(parse_toml(item, RoundTable, "rounds").item) == 1
    with pytest.raises(ConfigurationError, match="torch: an item stands twice"):
        parse_toml(item * 2, RoundTable, "rounds")


ONE, TWO = "0" * 15 + "1", "0" * 15 + "2"


def gone(which: str) -> Edition:
    return Edition(set=which, version=2, why=Why.WRONG_BED, struck=True, second="charge")


def test_that_a_struck_set_was_no_round_and_found_nothing() -> None:
    bed = ward(by_hand=True)
    bed.enter_set(USUAL, "nurse-B1", edition=Edition(set=ONE))
    bed.wait(30 * 60)
    bed.enter_set(USUAL, "charge", edition=Edition(set=TWO), round=HOURLY, looked={"clots": WRONG})
    read = bed.now
    assert due(bed)[HOURLY] == pytest.approx(90, abs=0.1)
    bed.enter_at(read, {}, "charge", gone(TWO))
    assert due(bed)[HOURLY] == pytest.approx(60, abs=0.1)
    assert run_of(bed).findings == {}
    [hourly] = [one for one in run_of(bed).rounds if one.kind is HOURLY]
    assert hourly.by == "nurse-B1"


def test_that_the_only_round_leaves_none_when_it_is_struck() -> None:
    bed = ward()
    bed.enter_set({}, "nurse-B1", edition=Edition(set=ONE), round=WALK, looked={"torch": WRONG})
    bed.enter_set(
        {}, "nurse-B1", edition=Edition(set=TWO), round=PERFUSION, looked={"torch": Looked(found=Found.FINDING)}
    )
    bed.enter_at(bed.now - SECOND, {}, "charge", gone(ONE))
    assert due(bed)[WALK] == 0
    assert run_of(bed).findings == {"Torch at the bed": ""}


def test_that_a_corrected_round_is_one_round_with_what_was_found_at_last() -> None:
    bed = ward()
    bed.enter_set({}, "nurse-B1", edition=Edition(set=ONE), round=HOURLY, looked={"clots": WRONG})
    read = bed.now
    better = {"clots": RIGHT, "leaks": WRONG}
    bed.wait(60)
    bed.enter_at(read, {}, "nurse-B1", Edition(set=ONE, version=2, why=Why.OTHER), round=HOURLY, looked=better)
    assert list(run_of(bed).findings) == ["Leaks and connectors"]
    assert due(bed)[HOURLY] == pytest.approx(60, abs=0.1)


def test_that_a_set_beside_a_feed_that_is_struck_touches_no_round() -> None:
    bed = ward()
    bed.enter_set({}, "nurse-B1", round=HOURLY, looked={"clots": RIGHT})
    bed.enter_set({Q.LACTATE: 2.0}, "nurse-B1", edition=Edition(set=ONE))
    bed.enter_at(bed.now, {}, "charge", gone(ONE))
    assert due(bed)[HOURLY] == pytest.approx(60, abs=0.1)
