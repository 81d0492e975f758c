"""What the screens say during a course: notes, titles, what is listed, what is judged. And what nobody may do."""

from datetime import UTC

import pytest

from monitor.core.grades import Priority
from monitor.core.view import EpisodeView, TileView
from monitor.core.wire import LatestReadings
from monitor.desk.header_face import compose_header
from monitor.desk.need import leading
from monitor.desk.tile.compose import compose
from monitor.desk.tile.face import Face
from monitor.desk.tile.moment import Moment
from monitor.rehearsal.rehearse import BEGIN
from shared.instant import ms
from shared.quantities import Quantity as Q
from shared.scripted import ScriptedBed
from tests.helpers.courses import (
    K,
    alert_entries,
    calls,
    clock,
    entries_of,
    find,
    looks_at,
    scenario_of,
    seconds,
)
from tests.helpers.views import filled


def face_of(name: str, view: TileView, at: str) -> Face:
    """Compose a scripted bed's tile as the desk does, with the readings of that second."""
    values = ScriptedBed(scenario_of(name), view.bed).observe(clock(at)).values
    now = BEGIN + ms(clock(at))
    latest = LatestReadings(bed=view.bed, slot=1, values={q: (now, value) for q, value in values.items()})
    return compose(view, filled([view], [latest], trends=False), Moment(now, zone=UTC))


def words_on(face: Face) -> str:
    """Give every text of a tile."""
    found = [face.support, face.who, face.fresh, face.need.title, *face.foot.left, *face.foot.right]
    for trend in face.trends:
        found += [trend.label, trend.unit, *(part for n in trend.numbers for part in (n.value, n.was, n.limit))]
    found += [part for plain in face.plain for part in (plain.label, plain.value, plain.unit)]
    return " | ".join(found)


def lead_of(view: TileView) -> EpisodeView:
    lead = leading(view)
    assert lead is not None
    return lead


def test_that_a_bleed_is_a_medium_again_once_the_order_has_ended_the_high() -> None:
    looks = looks_at("01_slow_bleed", "45:50", "46:10")
    before, after = lead_of(looks.tile("45:50")), lead_of(looks.tile("46:10"))
    assert (before.priority, after.priority) == (Priority.HIGH, Priority.MEDIUM)
    assert before.id == after.id
    assert {one.rule for one in after.alerts if one.present} == {"inlet_low", "flow_low", "map_low"}


def test_that_four_short_dips_are_noted_on_the_tile_and_forgotten_after_ten_minutes() -> None:
    name = "02_cough_and_turning"
    looks = looks_at(name, "6:59", "9:55", "19:59")
    tile = looks.tile("9:55")
    assert tile.notes == ("4 short dips in 10 min",)
    assert "4 short dips in 10 min" in words_on(face_of(name, tile, "9:55"))
    assert tile.episodes == ()
    assert looks.tile("6:59").notes == ()
    assert looks.tile("19:59").notes == ()


def test_that_the_circuit_dips_as_often() -> None:
    assert looks_at("02_cough_and_turning_circuit", "9:55").tile("9:55").notes == ("4 short dips in 10 min",)


def test_that_a_low_resistance_alert_calls_nobody() -> None:
    entries = entries_of("03_oxygenator_resistance")
    assert min(seconds(e) for e in calls(entries)) >= clock("75:05")
    advised = entries_of("03a_advised")
    assert [(e.rung, e.at) for e in calls(advised) if e.rung in (1, 2)] == [
        (e.rung, e.at) for e in calls(entries) if e.rung in (1, 2)
    ]


def test_that_reverse_flow_is_named_and_listed_until_somebody_in_the_unit_has_seen_it() -> None:
    entries = entries_of("04c_seen_afterwards")
    assert [e.text for e in find(entries, K.FOLDED, rule="flow_none")] == ["Back flow −1.4"]
    refused = find(entries, K.REFUSED, person="perfusionist")
    assert [seconds(e) for e in refused] == [clock("14:00")]
    reviewed = {e.rule for e in find(entries, K.REVIEWED) if seconds(e) == clock("14:10")}
    assert {"pump_stopped", "flow_none"} <= reviewed
    looks = looks_at("04c_seen_afterwards", "13:59", "14:05", "14:59")
    for at in ("13:59", "14:05"):
        lead = lead_of(looks.tile(at))
        assert lead.over
        assert {"pump_stopped", "flow_none"} <= {one.rule for one in lead.alerts if one.listed}
    assert looks.tile("14:59").episodes == ()


def test_that_a_take_holds_the_surgeon_and_the_repeats_of_a_stopped_pump() -> None:
    entries = entries_of("04_pump_stops")
    assert not [e for e in calls(entries) if clock("10:03") < seconds(e) < clock("13:18")]
    assert not find(entries, K.CALLED, rung=5)


def test_that_a_zero_flow_with_one_witness_is_never_lowered() -> None:
    looks = looks_at("05_flow_reading_lost", "3:20", "5:00", "7:59")
    for at in ("3:20", "5:00", "7:59"):
        lead = lead_of(looks.tile(at))
        assert lead.circuit_critical
        assert lead.priority is Priority.HIGH
        assert lead.title == "No flow"


def test_that_a_renewed_take_keeps_everybody_uncalled_until_the_flow_is_back() -> None:
    entries = entries_of("05b_renewed")
    assert [seconds(e) for e in find(entries, K.RENEWED)] == [clock("6:30")]
    assert not [e for e in calls(entries) if seconds(e) > clock("3:40")]
    assert not find(entries, K.HOLD_ENDED)


def test_that_a_kink_that_is_over_reads_ended_not_seen_until_it_is_seen() -> None:
    name = "06a_seen_afterwards"
    looks = looks_at(name, "3:55", "4:05")
    tile = looks.tile("3:55")
    assert lead_of(tile).over
    assert face_of(name, tile, "3:55").need.title.endswith(", ended 00:01 · not seen")
    assert looks.tile("4:05").episodes == ()
    assert {e.rule for e in find(entries_of(name), K.REVIEWED)} == {"flow_very_low", "flow_floor", "return_rise"}
    assert not find(entries_of("06_return_kink"), K.REVIEWED)


def test_that_the_bed_with_the_lost_gas_comes_before_the_other_throughout() -> None:
    entries = entries_of("10_two_falling_saturations")
    first = {bed: min(seconds(e) for e in alert_entries(entries) if e.bed == bed) for bed in ("B2", "B6")}
    assert first["B6"] < first["B2"]
    looks = looks_at("10_two_falling_saturations", "25:10", "29:59")
    for at in ("25:10", "29:59"):
        assert lead_of(looks.tile(at, "B6")).priority is Priority.HIGH
        assert lead_of(looks.tile(at, "B2")).priority is Priority.MEDIUM
        tiles = [looks.tile(at, bed) for bed in ("B2", "B6")]
        store = filled(tiles, trends=False, the_unit=looks.unit_at(at))
        header = compose_header(store, Moment(BEGIN + ms(clock(at)), zone=UTC), 0.0)
        assert [line.bed for line in header.needs] == ["B6", "B2"]


def test_that_a_lift_without_a_feed_is_on_the_list_after_five_minutes_and_no_alert() -> None:
    looks = looks_at("11_transport_tired_battery", "16:55", "17:05", "18:05", "40:30")
    silent = looks.tile("17:05")
    assert silent.last_reading_at == BEGIN + ms(clock("12:00"))
    assert silent.transport is not None
    assert silent.transport.silent_since == BEGIN + ms(clock("12:00"))
    before, after = looks.tile("16:55").transport, looks.tile("18:05").transport
    assert before is not None
    assert before.silent_since is None
    assert after is not None
    assert (after.silent_since, after.ended_at) == (None, None)
    entries = entries_of("11_transport_tired_battery")
    assert not [e for e in alert_entries(entries) if e.rule in ("no_feed", "on_battery_long")]
    listed = [(seconds(e), e.text) for e in find(entries, K.NOTE) if "no feed" in (e.text or "")]
    assert listed == [(clock("17:00"), "In transport, no feed for 5 min")]
    assert [seconds(e) for e in find(entries, K.TRANSPORT_ENDED)] == [clock("44:00")]
    assert [e.person for e in calls(entries) if e.rung == 1] == ["leader", "leader"]


def test_that_a_long_low_flow_in_a_trial_is_reminded_of_again_only_after_it_was_higher() -> None:
    once, twice = entries_of("12_turn_down_trial"), entries_of("12c_two_dwells")

    def reminders(entries: tuple[object, ...]) -> list[float]:
        return [seconds(e) for e in find(entries, K.NOTE) if "1.7" in (e.text or "")]  # type: ignore[arg-type]

    assert reminders(once) == [pytest.approx(clock("35:00"), abs=10)]
    assert reminders(twice) == [pytest.approx(clock(at), abs=10) for at in ("35:00", "48:00")]
    assert {e.person for e in find(twice, K.NOTE)} == {"intensivist"}


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("12_turn_down_trial", ("45:00",)),
        ("12b_not_ended", ("45:00", "55:00", "59:00")),
        ("23_retrograde_trial", ("225:00", "235:00", "239:00")),
    ],
)
def test_that_the_holder_of_a_trial_is_told_of_its_end(name: str, told: tuple[str, ...]) -> None:
    found = [e for e in find(entries_of(name), K.NOTE) if "ends in" in (e.text or "")]
    assert [seconds(e) for e in found] == [clock(at) for at in told]
    assert {e.person for e in found} == {"intensivist"}


def test_that_a_blind_board_is_one_alert_of_the_unit_and_says_where_to_go() -> None:
    looks = looks_at("15_all_feeds_lost", "2:20", "2:40", "5:00", "7:20")
    assert looks.tile("5:00").age_from_s == 30
    at = BEGIN + ms(clock("2:40"))
    beds = [f"B{number}" for number in range(1, 9)]
    ages = [compose(looks.tile("2:40", b), filled([looks.tile("2:40", b)]), Moment(at, zone=UTC)) for b in beds]
    assert {face.fresh for face in ages} == {"40 s old"}
    for bed in beds:
        assert looks.tile("5:00", bed).episodes == ()
        assert looks.tile("5:00", bed).stale
        assert looks.tile("5:00", bed).judged == 0
        assert not looks.tile("7:20", bed).stale
    blind = looks.unit_at("5:00").episodes
    assert [[one.rule for one in episode.alerts] for episode in blind] == [["board_blind"]]
    store = filled([looks.tile("5:00", bed) for bed in beds], trends=False, the_unit=looks.unit_at("5:00"))
    banner = compose_header(store, Moment(BEGIN + ms(clock("5:00")), zone=UTC), 0.0).banner
    assert banner is not None
    assert banner.words.startswith("Go to these beds now.")
    assert banner.phones


def test_that_help_stays_until_somebody_in_the_unit_who_has_it_has_seen_it() -> None:
    entries = entries_of("19a_seen")
    assert [seconds(e) for e in find(entries, K.REVIEWED)] == [clock("2:30")]
    assert [e.person for e in find(entries, K.SEEN)] == ["perfusionist", "nurse-B3"]
    assert not find(entries, K.CALLED, rung=5)  # held by the take at 1:40
    looks = looks_at("19a_seen", "1:35", "2:35")
    assert lead_of(looks.tile("1:35", "B3")).circuit_critical
    assert looks.tile("2:35", "B3").episodes == ()


NOT_FITTED = ("oxy", "sweep", "svo", "dp ", "Δp", "fdo", "pre-")


def test_that_a_bed_without_an_oxygenator_never_reads_of_what_is_not_fitted() -> None:
    name = "21_la_ao_no_oxygenator"
    moments = ("4:00", "14:00", "28:30")
    looks = looks_at(name, *moments)
    for at in moments:
        tile = looks.tile(at)
        said = f"{words_on(face_of(name, tile, at))} {' '.join(tile.not_watched)} {' '.join(tile.notes)}".lower()
        assert "flow" in said
        assert [word for word in NOT_FITTED if word in said] == []
    written = " ".join(e.text or "" for e in entries_of(name)).lower()
    assert [word for word in NOT_FITTED if word in written] == []
    assert not calls(entries_of(name))


def test_that_a_retrograde_trial_calls_nobody_before_its_end_and_then_counts_three_witnesses() -> None:
    entries = entries_of("23_retrograde_trial")
    assert min(seconds(e) for e in calls(entries)) >= clock("240:08")
    fifth = find(entries, K.CALLED, rung=5)[0]
    assert seconds(fifth) - seconds(find(entries, K.RAISED, rule="flow_none")[0]) == pytest.approx(120, abs=1)


def test_that_a_frozen_console_is_not_judged_and_its_exchange_begins_no_baseline_anew() -> None:
    name = "27_frozen_console"
    looks = looks_at(name, "6:00", "7:05", "10:59", "12:00", "19:00")
    frozen, before = looks.tile("7:05"), looks.tile("6:00")
    assert lead_of(frozen).title == "Console readings stand still"
    assert 0 < frozen.judged < before.judged
    assert not frozen.stale  # MAP goes on
    after, later = looks.tile("12:00"), looks.tile("19:00")
    assert after.judged >= before.judged
    kept = looks.tile("10:59").runs[0].baseline
    assert kept
    assert after.runs[0].baseline == later.runs[0].baseline == kept
    assert Q.PUMP_FLOW in kept


def test_that_an_open_high_without_a_feed_says_when_it_was_last_read() -> None:
    name = "28_feed_dies_open_high"
    looks = looks_at(name, "1:40", "5:00")
    live, dead = looks.tile("1:40"), looks.tile("5:00")
    assert "last reading" not in face_of(name, live, "1:40").need.title
    lead = lead_of(dead)
    assert lead.priority is Priority.HIGH
    assert next(one for one in lead.alerts if one.id == lead.lead).last_reading_at == BEGIN + ms(clock("1:45"))
    now = Moment(BEGIN + ms(clock("5:00")), zone=UTC)
    store = filled([dead], trends=False, the_unit=looks.unit_at("5:00"))
    assert compose(dead, store, now).need.title == f"{lead.title} · last reading 00:01"
    assert compose_header(store, now, 0.0).needs[0].title.endswith("last reading 00:01")
    assert not find(entries_of(name), K.CLEARED)
    assert not find(entries_of(name), K.LATCHED)
