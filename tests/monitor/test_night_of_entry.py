"""A night on a unit of eight beds without any cable, played once: what must be seen of it, minute by minute.

The figures are those of the design: a reading is overdue 75 min (low) and 120 min (medium) after it was read, both
within 5 s; a late set gives one notice and no call after the bedside nurse; the times of the ladder are those of
`config/ladder.toml`. Rounds by the hour and the four hours of a perfusion round are common practice, no source.
"""

import sqlite3
from collections import Counter
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC
from functools import cached_property
from pathlib import Path

import pytest

from monitor.cli.demo_folder import make_folder
from monitor.cli.played_record import write_record
from monitor.cli.ports import free_endpoints
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import LadderClass, Priority, Rung
from monitor.core.unit import Configuration
from monitor.core.view import TileView
from monitor.record.reading import read_only
from monitor.rehearsal.rehearse import rehearse
from monitor.reports.shift.card import card_of
from monitor.reports.shift.gather import Gathered, gather
from monitor.settings import load_configuration, load_entry_in, texts_in
from shared.entry.table import EntryTable
from shared.entry.telling import Said
from shared.errors import ConfigurationError
from shared.instant import HOUR, MINUTE, SECOND, Instant, ms
from shared.messages import Origin, RoundKind
from shared.quantities import Quantity as Q
from shared.rounds_played import RoundsPlayed
from shared.scenario import Scenario
from tests.helpers.courses import CONFIG

FILE = CONFIG / "scenarios" / "night_of_entry.toml"
#: 2026-01-01 18:30 UTC.
BEGIN: Instant = 1_767_225_600_000 + 18 * HOUR + 30 * MINUTE
BEDS = ("B1", "B2", "B3", "B4", "B5", "B6", "B7", "B8")
K = EntryKind


@dataclass(frozen=True)
class Night:
    """The night as it was written: its record, the engine at its end, and what people told the form."""

    path: Path
    scenario: Scenario
    configuration: Configuration
    table: EntryTable
    engine: Engine
    said: tuple[Said, ...]
    played: RoundsPlayed

    @cached_property
    def entries(self) -> list[Entry]:
        with closing(sqlite3.connect(self.path)) as db:
            rows = db.execute("SELECT body FROM entries ORDER BY number").fetchall()
        return [Entry.model_validate_json(body) for (body,) in rows]

    def of(self, *kinds: EntryKind, bed: str | None = None, rule: str | None = None) -> list[Entry]:
        return [e for e in self.entries if e.kind in kinds and bed in (None, e.bed) and rule in (None, e.rule)]

    def tile(self, bed: str) -> TileView:
        return self.engine.tile(bed, self.end)

    @property
    def end(self) -> Instant:
        return BEGIN + round(self.scenario.minutes * MINUTE)

    def read_before(self, bed: str, at: Instant) -> Instant:
        """When the newest set that the hub had of a bed by then was read."""
        struck = {one.edition.set for one in self.said if one.edition.struck and one.at <= at}
        return max(
            one.read_at
            for one in self.said
            if one.bed == bed and one.at <= at and one.readings and one.edition.set not in struck
        )

    def gathered(self, begin: Instant, end: Instant) -> Gathered:
        with read_only(self.path) as record:
            return gather(record.hours(begin, end), "Night", end)


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Night:
    folder = tmp_path_factory.mktemp("night")
    scenario = make_folder(CONFIG, FILE, None, free_endpoints(), folder, BEGIN)
    configuration, table = load_configuration(folder), load_entry_in(folder)
    assert table is not None
    path = folder / "record.db"
    engine = write_record(path, scenario, configuration, texts_in(folder), BEGIN, table)
    played = RoundsPlayed(scenario, table, BEGIN)
    return Night(path, scenario, configuration, table, engine, tuple(played.said()), played)


def clock(at: Instant) -> str:
    minutes = at // MINUTE % (24 * 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"


def test_that_numbers_are_typed_as_a_person_types_them_and_every_slip_is_stopped(night: Night) -> None:
    counted = night.played.counted
    assert counted.typed > 1_800
    assert counted.slips == counted.slips_stopped == 1
    assert counted.asked / counted.typed < 0.01
    assert counted.beds_asked > 0, "B1's numbers at B2's form were let through without a question"
    with closing(sqlite3.connect(night.path)) as db:
        told = Counter(at for (at,) in db.execute("SELECT read_at FROM observations"))
    drawn = [BEGIN + ms(entry.taken_at) for entry in night.scenario.entry]
    assert told == Counter([*(one.read_at for one in night.said), *drawn]), "played again, another night was typed"


def test_that_rounds_cannot_be_played_without_the_table_of_their_fields(night: Night) -> None:
    unit = night.configuration
    with pytest.raises(ConfigurationError, match=r"entry\.toml"):
        list(rehearse(night.scenario, unit.limits, unit.ladder, unit.pumps))
    elsewhere = night.scenario.model_copy(
        update={"round": (night.scenario.round[0].model_copy(update={"slot": 2}),)}
    )
    with pytest.raises(ConfigurationError, match=r"slot 2, at .* no run is open there"):
        list(RoundsPlayed(elsewhere, night.table, BEGIN).said())


def test_that_everything_counts_as_the_form_sends_it_and_nothing_is_refused(night: Night) -> None:
    assert not night.of(K.REFUSED)
    assert not [e for e in night.of(K.NOTE) if e.text and "nothing is open" in e.text]
    assert {night.tile(bed).origin for bed in BEDS} == {Origin.ENTERED}
    unit = night.engine.unit(night.end)
    assert (unit.feeds_known, unit.feeds_live) == (0, 0)
    assert not night.of(K.FEED_LOST)
    with read_only(night.path) as record:
        verifying = record.verification()
        while not verifying.step():
            pass
        assert verifying.verdict.broken is None
        assert verifying.verdict.count == len(night.entries)


@pytest.mark.parametrize("rule_minutes", [("reading_overdue", 75), ("reading_long_overdue", 120)])
def test_that_a_reading_is_overdue_to_the_second(night: Night, rule_minutes: tuple[str, int]) -> None:
    rule, minutes = rule_minutes
    raised = night.of(K.RAISED, rule=rule)
    assert [e.bed for e in raised] == (["B4", "B1", "B3", "B3"] if minutes == 75 else ["B3"])
    for entry in raised:
        assert entry.bed is not None
        age = entry.at - night.read_before(entry.bed, entry.at)
        assert age == pytest.approx(minutes * MINUTE, abs=5 * SECOND)
        assert entry.priority is (Priority.LOW if minutes == 75 else Priority.MEDIUM)
    if minutes == 75:
        ids = {e.alert for e in raised}
        assert None not in ids
        assert {e.episode for e in raised} == {None}, "a low is never a member of what is called"


def test_that_an_overdue_reading_ends_with_the_next_set_and_not_with_a_draw_or_a_walk(night: Night) -> None:
    ended = [(e.bed, clock(e.at)) for e in night.of(K.CLEARED, K.LATCHED, rule="reading_overdue")]
    assert ended == [("B4", "23:42"), ("B1", "03:00"), ("B3", "03:57")]
    # blood was drawn at B3 at 02:04, after its last round
    assert clock(night.of(K.RAISED, bed="B3", rule="reading_overdue")[0].at) == "02:55"


def test_that_a_late_set_beyond_a_limit_is_one_notice_and_nobody_is_called_for_the_past(night: Night) -> None:
    [told] = night.of(K.RAISED, rule="late_reading")
    assert (told.bed, clock(told.at), told.priority) == ("B6", "05:11", Priority.MEDIUM)
    assert told.text is not None
    assert "Late reading breached at 04:31" in told.text
    assert [e.rung for e in night.of(K.CALLED) if e.episode == told.episode] == [Rung.BEDSIDE]
    # the other late set, of B4, was within its limits: no word
    late = [one for one in night.said if one.readings and one.at - one.read_at > 15 * MINUTE]
    assert [one.bed for one in late if one.edition.version == 1 and not one.edition.moved_from] == ["B4", "B6"]


def test_that_a_fall_of_flow_begins_with_the_third_set_and_is_called_taken_held_and_ended(night: Night) -> None:
    flows = [
        one.readings[Q.PUMP_FLOW]
        for one in night.said
        if one.bed == "B5" and one.round is RoundKind.HOURLY and one.read_at > BEGIN + 415 * MINUTE
    ][:4]
    assert sorted(flows, reverse=True)[1:] == flows[:3], "three falling, then back"
    [alert] = night.of(K.RAISED, rule="flow_low")
    third = next(one for one in night.said if one.bed == "B5" and one.readings.get(Q.PUMP_FLOW) == flows[2])
    assert (alert.at, alert.value) == (third.at, flows[2])
    assert alert.limit == pytest.approx(0.85 * 4.2)
    assert [e.rule for e in night.of(K.FOLDED, bed="B5")] == ["inlet_low", "spo2_low"]
    called = [(e.rung, e.at - alert.at) for e in night.of(K.CALLED, bed="B5")]
    first = night.configuration.ladder.rows[LadderClass.MEDIUM].seconds(Rung.BEDSIDE)
    assert called == [(Rung.BEDSIDE, (first or 0) * SECOND)], "taken before the charge nurse's turn"
    answered = [(e.kind, e.person, clock(e.at)) for e in night.of(K.TAKEN, K.RENEWED, bed="B5")]
    assert answered == [(K.TAKEN, "nurse-15", "03:41"), (K.RENEWED, "nurse-15", "03:54")]
    assert {clock(e.at) for e in night.of(K.CLEARED, K.LATCHED, bed="B5")} == {"04:06"}
    overdue = [(e.rung, e.at) for e in night.of(K.CALLED, bed="B3")]
    row = night.configuration.ladder.rows[LadderClass.FEED]
    begun = night.of(K.RAISED, rule="reading_long_overdue")[0].at
    assert [rung for rung, _ in overdue] == [Rung.BEDSIDE, Rung.CHARGE], "who is on call elsewhere is not called"
    for rung, at in overdue:
        assert at - begun == pytest.approx((row.seconds(Rung(rung or 1)) or 0) * SECOND, abs=SECOND)


def test_that_corrections_strikes_and_runs_stand_where_they_belong(night: Night) -> None:
    [corrected] = night.of(K.SET_CORRECTED)
    assert (corrected.bed, corrected.text) == ("B7", "Set of 21:40 corrected (misread): FdO₂ 70 → 80")
    [struck] = night.of(K.SET_STRUCK)
    assert (struck.bed, struck.person, struck.told_to) == ("B2", "nurse-11", "charge-5")
    assert struck.text is not None
    assert struck.text.endswith("put down at B1")
    put_down = next(one for one in night.said if one.edition.moved_from is not None)
    assert (put_down.bed, clock(put_down.read_at)) == ("B1", "23:32")
    [run] = night.tile("B8").runs
    assert run.description.support == "VA"
    assert Q.PA_MEAN_PRESSURE not in night.engine.newest("B8", 1), "the former patient's numbers"


def test_that_posts_change_hands_only_when_somebody_accepts(night: Night) -> None:
    accepted = night.of(K.OFFER_ACCEPTED)
    assert len(accepted) == 13
    assert {clock(e.at)[:2] for e in accepted} == {"19", "07"}
    stands = {one.post.key: one.stands for one in night.engine.unit(night.end).roster.posts}
    assert (stands["2"], stands["1:B1"], stands["1:B7"]) == ("charge-2", "nurse-1", "nurse-17")
    [offer] = night.engine.unit(night.end).roster.offers
    assert (offer.to, {post.bed for post in offer.posts}) == ("nurse-7", {"B7", "B8"})


def test_that_rounds_are_due_by_the_clock_at_every_bed(night: Night) -> None:
    last = {one.bed: one for one in night.said if one.round is RoundKind.HOURLY and one.slot == 1}
    for bed in BEDS:
        run = night.tile(bed).runs[0]
        due = {one.kind: one for one in run.rounds}
        hourly = due[RoundKind.HOURLY]
        assert (hourly.done_at, hourly.due_at) == (last[bed].read_at, last[bed].read_at + HOUR)
        assert due[RoundKind.SAFETY_WALK].due_at == BEGIN + 750 * MINUTE, "the day shift's own walk"
    assert night.tile("B4").runs[0].findings == {"Spare console: charge and place": "charge 60 %"}
    perfusion = {one.kind: one for one in night.tile("B7").runs[0].rounds}[RoundKind.PERFUSION]
    assert perfusion.due_at < night.end, "that of the small hours was not done at B7"


def test_that_the_age_of_two_pumps_is_that_of_the_older_set(night: Night) -> None:
    newest = {
        one.slot: one.read_at
        for one in sorted(night.said, key=lambda o: o.read_at)
        if one.readings and one.bed == "B6"
    }
    assert newest[1] < newest[2]
    assert night.tile("B6").last_reading_at == newest[1]


def test_that_the_report_counts_the_night_and_carries_what_is_open(night: Night) -> None:
    begin, end = BEGIN + 30 * MINUTE, BEGIN + 750 * MINUTE
    report = night.gathered(begin, end).report
    raised = Counter(str(e.priority) for e in night.of(K.RAISED, K.FOLDED) if begin <= e.at < end)
    alerts = report.whole.alerts
    assert (alerts.high, alerts.medium, alerts.low) == (0, raised["medium"], raised["low"]) == (0, 5, 5)
    assert (alerts.asked, alerts.unanswered) == (5, 0)
    beds = {bed.bed: bed for bed in report.beds}
    assert [bed for bed in BEDS if any(item.what == "alert" for item in beds[bed].open)] == ["B3"]
    assert all(bed.origin == "entered" for bed in beds.values())
    card = card_of(beds["B4"], UTC, lambda name: name or "", begin, end)
    [line] = card.sections[1].lines
    assert line.endswith("Finding: Spare console: charge and place (charge 60 %)")
    assert len(beds["B8"].runs) == 2
