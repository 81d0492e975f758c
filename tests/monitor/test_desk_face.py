"""What a tile says, state by state, before anything is painted."""

import re
from datetime import UTC
from typing import Any

import pytest

from monitor.core.grades import AlertClass, LadderClass, Priority
from monitor.core.view import TileView, TransportView
from monitor.core.wire import LatestReadings
from monitor.desk.header_face import compose_header
from monitor.desk.link_state import LinkState
from monitor.desk.paint.staff import REST, RungState
from monitor.desk.series import COLUMNS, HAND_WINDOW_MS
from monitor.desk.tile.compose import compose
from monitor.desk.tile.face import Face, Foot, Plate
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE, SECOND
from shared.look.marks import Mark
from shared.look.need import Need
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Support
from tests.helpers.views import NOW, alert, episode, filled, holder, ladder, latest, run, tile, unit


def face_of(
    view: TileView,
    readings: list[LatestReadings] | None = None,
    link: LinkState = LinkState.LIVE,
    later_s: float = 0,
) -> Face:
    store = filled([view], readings, trends=False)
    return compose(view, store, Moment(NOW + round(later_s * SECOND), link, UTC))


def words_of(face: Face) -> list[str]:
    """Every text on the tile."""
    found = [face.bed, face.support, face.who, face.fresh, face.need.title, face.need.since]
    found += [*face.foot.left, *face.foot.right]
    for trend in face.trends:
        found += [trend.label, trend.unit]
        for number in trend.numbers:
            found += [number.value, number.was, number.target, number.limit]
    for plain in face.plain:
        found += [plain.label, plain.value, plain.unit]
    if face.power is not None:
        found.append(face.power.words)
    return [text for text in found if text]


def test_that_a_quiet_tile_asks_for_nobody_and_does_not_change_with_the_seconds() -> None:
    view = tile()
    first, later = face_of(view), face_of(view, later_s=20)
    assert first.need.need is None
    assert first.staff == REST
    assert first == later
    assert not first.strong


def test_that_a_full_set_of_rules_is_not_counted_and_a_lack_is() -> None:
    assert face_of(tile()).foot.left == ("",)
    fewer = face_of(tile(judged=28, not_watched=("Drain P", "SvO₂", "PP")))
    assert fewer.foot.left[0] == "28 of 31 rules judged · Not watched: Drain P, SvO₂, PP"
    assert fewer.foot.left[1:] == (
        "28 of 31 rules judged · Not watched: Drain P and 2 more",
        "28 of 31 rules judged",
    )
    some = face_of(tile(judged=28, not_watched=("Drain P",)))
    assert some.foot.left[0] == "28 of 31 rules judged · Not watched: Drain P"


def test_that_an_unanswered_need_says_that_nobody_has_it_and_who_is_called_when() -> None:
    view = tile(episodes=(episode("Flow 2.2, limit 2.5", Priority.HIGH, ladder=ladder(4, 5, 34)),))
    face = face_of(view)
    assert face.need.plate is Plate.HEAD
    assert (face.need.need, face.need.held, face.need.blinks) == (Need.HIGH, False, Priority.HIGH)
    assert face.foot.kind is Foot.NOBODY
    assert (face.foot.left[0], face.foot.right[0]) == ("Nobody has it", "Surgeon called in 0:34")
    assert face_of(view, later_s=4).foot.right[0] == "Surgeon called in 0:30"


def test_that_the_level_of_the_next_rung_rises_with_the_hubs_clock() -> None:
    view = tile(episodes=(episode(ladder=ladder(1, 4, 60)),))
    levels = [face_of(view, later_s=s).staff.rungs[1].level for s in (0, 30, 60)]
    assert levels == [pytest.approx(0.5), pytest.approx(0.75), 1.0]


def test_that_only_the_rungs_of_the_class_are_drawn_and_a_hole_says_nobody() -> None:
    medium = face_of(tile(episodes=(episode(ladder=ladder(2, 4, 30, skipped=(3,))),)))
    states = [rung.state for rung in medium.staff.rungs]
    assert states == [RungState.CALLED, RungState.CALLED, RungState.SKIPPED, RungState.NEXT]


def test_that_a_rung_with_nobody_is_not_said_to_be_called() -> None:
    view = tile(episodes=(episode(ladder=ladder(4, 5, 34)),))
    empty = tuple(
        one.model_copy(update={"person": None, "empty_since": NOW}) if one.rung == 5 else one
        for one in unit().cover
    )
    store = filled([view], the_unit=unit(cover=empty))
    foot = compose(view, store, Moment(NOW, LinkState.LIVE, UTC)).foot
    assert foot.right[0] == "No surgeon to call · 0:34"
    assert compose(view, filled([view]), Moment(NOW, LinkState.LIVE, UTC)).foot.right[0] == "Surgeon called in 0:34"


def test_that_seen_does_not_stop_the_ladder_or_the_flash() -> None:
    face = face_of(tile(episodes=(episode(seen_by=("charge",)),)))
    assert face.foot.left[0] == "Seen by Charge 2 · nobody has it"
    assert face.foot.mark is Mark.SEEN
    assert face.need.blinks is Priority.MEDIUM
    assert any(rung.state is RungState.NEXT for rung in face.staff.rungs)


def test_that_a_take_stops_the_flash_drops_the_gate_and_says_when_it_calls_again() -> None:
    face = face_of(tile(episodes=(episode(priority=Priority.HIGH, holder=holder()),)))
    assert face.need.held
    assert face.need.blinks is None
    assert face.staff.gate
    assert face.foot.kind is Foot.HOLDER
    assert (face.foot.left[0], face.foot.right[0]) == ("Charge 2 · at the bed", "calls again in 0:50")


def test_that_a_take_told_by_voice_names_both() -> None:
    told = holder("nurse-7", told_to="charge", where="going", eta_at=NOW + 150 * SECOND)
    face = face_of(tile(episodes=(episode(holder=told),)))
    assert face.foot.left[0] == "Nurse 7 · going, 3 min · told to Charge 2 14:30"


def test_that_help_by_phone_never_drops_the_gate() -> None:
    face = face_of(tile(episodes=(episode(priority=Priority.HIGH, advising=("perfusionist",)),)))
    assert not face.staff.gate
    assert face.foot.left[0] == "Perfusionist 1 helps by phone · nobody has it"
    assert face.foot.right[0].startswith("Charge nurse called in")


def test_that_an_ended_alert_stays_listed_until_seen() -> None:
    face = face_of(tile(episodes=(episode("Drain P low", over=True, ladder=None),)))
    assert face.need.title == "Drain P low, ended 13:58 · not seen"
    title = "Late reading breached at 04:31: Flow 3.2"
    past = alert(title, rule="late_reading", present=False, ended_at=NOW)
    late = face_of(tile(episodes=(episode(title, over=True, ladder=None, alerts=(past,)),)))
    assert late.need.title == f"{title} · not seen", "nothing has ended: it is of the past"
    assert face.need.mark is Mark.LATCHED
    assert face.staff == REST


def test_that_a_low_need_has_no_plate_and_calls_nobody() -> None:
    face = face_of(tile(episodes=(episode("Oxygenator resistance up 34 %", Priority.LOW),)))
    assert (face.need.plate, face.need.blinks, face.staff) == (Plate.LINE, None, REST)
    assert face.foot.left[-1] == "Low: nobody is called"


@pytest.mark.parametrize(
    ("priority", "plate"), [(Priority.HIGH, Plate.HEAD), (Priority.MEDIUM, Plate.ROW), (Priority.LOW, Plate.LINE)]
)
def test_that_a_technical_need_has_the_area_of_its_grade(priority: Priority, plate: Plate) -> None:
    face = face_of(tile(episodes=(episode("x", priority, alert_class=AlertClass.TECHNICAL),)))
    assert (face.need.need, face.need.plate) == (Need.TECHNICAL, plate)


def test_that_a_stale_tile_has_no_number_and_says_what_it_was_and_since_when_nothing_is_watched() -> None:
    view = tile(stale=True, judged=0, last_reading_at=NOW - 400 * SECOND)
    face = face_of(view)
    values = [number.value for trend in face.trends for number in trend.numbers] + [p.value for p in face.plain]
    assert set(values) == {"--"}
    assert face.trends[0].numbers[0].was == "4.2 at 14:26"
    assert face.need.title == "Not judged · values too old"
    assert face.foot.left[0] == "Nothing watched since 14:28"
    assert (face.fresh, face.fresh_bold) == ("6 min old", True)
    assert not any(trend.live for trend in face.trends)


def test_that_one_lost_quantity_is_a_dash_while_the_rest_goes_on() -> None:
    old = latest("B7", read_at=NOW - 300 * SECOND)
    fresh = old.model_copy(
        update={"values": old.values | {Q.PUMP_FLOW: (NOW, 4.0), Q.INLET_PRESSURE: (NOW, -50.0)}}
    )
    face = face_of(tile(), [fresh])
    assert [row.numbers[0].value for row in face.trends] == ["4.0", "−50", "--"]


def test_that_an_age_shows_only_from_the_age_that_the_hub_names() -> None:
    assert face_of(tile(last_reading_at=NOW - 29 * SECOND)).fresh == "live"
    assert face_of(tile(last_reading_at=NOW - 31 * SECOND)).fresh == "31 s old"
    assert face_of(tile(last_reading_at=NOW - 89 * SECOND, age_from_s=90.0)).fresh == "live"


def test_that_a_tile_is_not_live_while_the_hub_is_silent_or_lost() -> None:
    assert face_of(tile(), link=LinkState.LATE).fresh == "hub silent"
    for view in (tile(), tile(episodes=(episode(),)), tile(runs=()), tile(origin=Origin.ENTERED)):
        lost = face_of(view, link=LinkState.NOT_LIVE)
        assert lost.veiled
        assert all("live" not in text.replace("not live", "") for text in words_of(lost))
        assert not any(re.fullmatch(r"−?\d[\d.\u2009]*", p.value) for p in lost.plain)


def test_that_a_lost_hub_turns_titles_into_the_past_and_the_staff_to_rest() -> None:
    lost = face_of(tile(episodes=(episode("Flow low", Priority.HIGH),)), link=LinkState.NOT_LIVE)
    assert lost.need.title == "was: Flow low"
    assert (lost.need.need, lost.need.blinks, lost.staff) == (None, None, REST)


@pytest.mark.parametrize(
    ("support", "labels", "plain"),
    [
        (Support.VA, ["Flow", "Drain P", "MAP"], ["Speed", "Oxy ΔP", "PP", "SpO₂ R"]),
        (Support.VV, ["Flow", "Drain P", "SpO₂ R"], ["Speed", "Oxy ΔP", "Sweep", "Pre-oxy sat", "MAP"]),
        (Support.LA_AO, ["Flow", "Drain P", "MAP"], ["Speed", "Outlet P", "PP", "LA P", "SpO₂ R"]),
        (Support.LV_AO, ["Flow", "Drain P", "MAP"], ["Speed", "Outlet P", "PP", "PA dia", "SpO₂ R"]),
        (Support.RA_PA, ["Flow", "Drain P", "CVP"], ["Speed", "Outlet P", "PA P", "MAP"]),
        (Support.RA_PA_OXY, ["Flow", "Drain P", "MAP"], ["Speed", "Oxy ΔP", "Sweep", "SpO₂ R"]),
    ],
)
def test_that_the_content_follows_the_support_type(support: Support, labels: list[str], plain: list[str]) -> None:
    face = face_of(tile(runs=(run(support),)))
    assert [row.label for row in face.trends] == labels
    assert [number.label for number in face.plain] == plain


def test_that_what_is_not_fitted_is_never_shown_as_lost() -> None:
    bare = DEFAULT_SENSORS[Support.VA] - {Q.INLET_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE, Q.PULSE_PRESSURE}
    given = latest("B7")
    kept = {quantity: value for quantity, value in given.values.items() if quantity in bare}
    view = tile(runs=(run(sensors=bare),))
    store = filled([view], [given.model_copy(update={"values": kept})])  # a minute of it: how steady the flow is
    face = compose(view, store, Moment(NOW, LinkState.LIVE, UTC))
    assert [row.label for row in face.trends] == ["Flow", "Steadiness", "SpO₂ R"]
    left = DEFAULT_SENSORS[Support.LA_AO] - {Q.INLET_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE}
    by_hand = face_of(tile(runs=(run(Support.LA_AO, sensors=left),), origin=Origin.ENTERED), [given])
    assert [row.label for row in by_hand.trends] == ["Flow", "Outlet P", "SpO₂ R"], "sets tell of no steadiness"
    assert "Outlet P" not in [number.label for number in by_hand.plain]
    assert [number.label for number in face.plain] == ["Speed", "Oxy ΔP"]
    assert "--" not in words_of(face)


def test_that_without_an_oxygenator_nothing_speaks_of_one() -> None:
    face = face_of(tile(runs=(run(Support.LA_AO),)))
    assert not any(re.search("oxy|sweep|ΔP|SvO", text, re.IGNORECASE) for text in words_of(face))


def test_that_two_pumps_share_a_tile_with_the_worse_drain_pressure() -> None:
    runs = (run(Support.LV_AO, 1, 4.0), run(Support.RA_PA, 2, 3.6))
    readings = [latest("B7", 1, inlet_pressure=-40), latest("B7", 2, inlet_pressure=-95, pump_flow=3.5)]
    face = face_of(tile(runs=runs), readings)
    flow, drain = face.trends[0], face.trends[1]
    assert [(n.side, n.value, n.target) for n in flow.numbers] == [("L", "4.2", "/ 4.0"), ("R", "3.5", "/ 3.6")]
    assert (drain.label, drain.numbers[0].value) == ("Drain P R", "−95")
    assert [p.label for p in face.plain] == ["Speed L", "Speed R", "Flow L − R"]
    assert face.plain[2].value == "0.7"


def test_that_an_estimated_flow_says_so_and_is_hollow() -> None:
    face = face_of(tile(), [latest("B7", estimated=(Q.PUMP_FLOW,))])
    assert face.trends[0].label == "Flow est."
    assert face.trends[0].numbers[0].hollow


def test_that_target_and_limit_stand_beside_the_number_that_is_out() -> None:
    view = tile(episodes=(episode(alerts=(alert(value=2.2, limit=2.5),)),))
    number = face_of(view, [latest("B7", pump_flow=2.2)]).trends[0].numbers[0]
    assert (number.value, number.target, number.limit) == ("2.2", "/ 4.2", "limit 2.5")
    assert number.out is Need.MEDIUM
    calm = face_of(tile()).trends[0].numbers[0]
    assert (calm.target, calm.limit, calm.out) == ("/ 4.2", "", None)


def test_that_the_flow_is_drawn_on_40_to_120_percent_of_the_beds_own_target() -> None:
    assert face_of(tile(runs=(run(flow=5.0),))).trends[0].scale == pytest.approx((2.0, 6.0))
    bare = run().model_copy(update={"targets": {}})
    assert face_of(tile(runs=(bare,))).trends[0].scale == (0, 7)


def test_that_power_is_on_every_tile_and_stale_minutes_count_down() -> None:
    mains = face_of(tile()).power
    assert mains is not None
    assert (mains.on_mains, mains.words) == (True, "")
    battery = [latest("B7", on_mains=0, battery_minutes=42)]
    on_battery = face_of(tile(), battery).power
    assert on_battery is not None
    assert (on_battery.on_mains, on_battery.words) == (False, "42 min")
    old = [latest("B7", read_at=NOW - 6 * MINUTE, on_mains=0, battery_minutes=42)]
    stale = face_of(tile(stale=True, last_reading_at=NOW - 6 * MINUTE), old).power
    assert stale is not None
    assert stale.words == "at most 36 min"


def test_that_simulated_and_entered_beds_are_marked_also_while_there_is_a_need() -> None:
    quiet = face_of(tile(origin=Origin.SIMULATED))
    assert (quiet.need.title, quiet.need.mark) == ("SIMULATED", Mark.SIMULATED)
    busy = face_of(tile(origin=Origin.SIMULATED, episodes=(episode(),)))
    assert busy.origin_mark is Mark.SIMULATED
    by_hand = tile(
        origin=Origin.ENTERED, by_hand_note="hourly", stale_after_s=7200.0, last_reading_at=NOW - 38 * MINUTE
    )
    for ms, said in ((0, "< 1 min old"), (59 * SECOND, "< 1 min old"), (119 * SECOND, "1 min old")):
        newer = by_hand.model_copy(update={"last_reading_at": NOW - ms})
        assert face_of(newer, [latest("B7", read_at=NOW - ms)]).fresh == said
    hand = face_of(by_hand, [latest("B7", read_at=NOW - 38 * MINUTE)])
    assert (hand.need.title, hand.fresh) == ("Entered by hand, hourly", "38 min old")
    assert hand.trends[0].by_hand


def test_that_a_bed_without_a_run_says_that_nothing_is_watched() -> None:
    face = face_of(tile(runs=()))
    assert face.no_run
    assert face.need.title == "No support run here. Nothing is watched."
    assert face.trends == ()


def test_that_a_changed_tile_keeps_its_bar_for_60_s() -> None:
    view = tile()
    store = filled([view], trends=False)
    store.changed_at["B7"] = NOW
    assert compose(view, store, Moment(NOW + 59_999)).changed
    assert not compose(view, store, Moment(NOW + 60_000)).changed


def test_that_no_tile_ever_says_stable_normal_or_ok() -> None:
    views: list[dict[str, Any]] = [
        {}, {"stale": True}, {"episodes": (episode(),)}, {"runs": ()}, {"origin": Origin.SIMULATED},
    ]  # fmt: skip
    for fields in views:
        for text in words_of(face_of(tile(**fields))):
            assert not re.search(r"\b(ok|okay|stable|normal|safe|good)\b", text, re.IGNORECASE)


def test_that_the_header_lists_needs_worst_first_and_counts_the_rest() -> None:
    tiles = [tile(f"B{n}", episodes=(episode(f"need {n}", since_s=n),)) for n in range(1, 9)]
    tiles[4] = tile("B5", episodes=(episode("worst", Priority.HIGH),))
    tiles[5] = tile("B6", episodes=(episode("taken", holder=holder()),))
    header = compose_header(filled(tiles, trends=False), Moment(NOW, zone=UTC), 0.4)
    assert [line.bed for line in header.needs] == ["B5", "B8", "B7", "B4", "B3", "B2"]
    assert header.unlisted == 2
    assert (header.counts[Need.HIGH], header.counts[Need.MEDIUM], header.not_taken) == (1, 7, 7)
    assert header.needs[0].who[0] == "Charge nurse called in 0:34"


def test_that_before_the_hubs_first_word_nothing_is_counted() -> None:
    from monitor.desk.store import Store

    header = compose_header(Store(0.0), None, 0.4)
    assert (dict(header.counts), header.not_taken) == ({}, None)


def test_that_the_header_names_holes_in_the_cover_and_the_perfusionists_telephone() -> None:
    whole = compose_header(filled([tile()], trends=False), Moment(NOW, zone=UTC), 0.4)
    assert whole.holes == ()
    assert whole.extension == "Perfusionist 1 · 4477"
    cover = tuple(
        one.model_copy(update={"person": None, "empty_since": NOW - 22 * MINUTE}) if one.rung == 4 else one
        for one in unit().cover
    )
    store = filled([tile()], the_unit=unit(cover=cover), trends=False)
    assert compose_header(store, Moment(NOW, zone=UTC), 0.4).holes == (("Intensivist", "nobody since 14:10"),)


def test_that_a_blind_board_and_a_lost_hub_fill_the_header_with_what_to_do() -> None:
    blind = episode(
        "Board blind",
        alert_class=AlertClass.TECHNICAL,
        since_s=62,
        ladder=ladder(2, 3, 58, kind=LadderClass.BOARD_BLIND),
    )
    tiles = [tile("B1", stale=True), tile("B2", stale=True), tile("B3", stale=True), tile("B4")]
    store = filled(tiles, the_unit=unit(["B1", "B2", "B3", "B4"], episodes=(blind,)), trends=False)
    banner = compose_header(store, Moment(NOW, zone=UTC), 0.4).banner
    assert banner is not None
    assert banner.title == "Board blind to 3 of 4 beds"
    assert banner.below == "B1 B2 B3 · since 14:31:49"
    assert "Perfusionist called in 0:58" in banner.words
    assert "Charge 2 · 4410" in banner.phones
    store.link.tick(90.0)
    lost = compose_header(store, Moment(NOW, store.link.state, UTC), 90.0).banner
    assert lost is not None
    assert (lost.whole, lost.title, lost.since) == (True, "Not live since 14:32:51", "1:30")


def test_that_an_empty_list_of_needs_is_not_called_safety_and_not_claimed_before_the_hub_is_found() -> None:
    from monitor.desk.store import Store

    quiet = compose_header(filled([tile()], trends=False), Moment(NOW, zone=UTC), 0.4)
    assert "no proof of safety" in quiet.no_needs
    assert "No open need" not in compose_header(Store(0.0), None, 1.0).no_needs
    empty = compose_header(filled([tile(runs=())], trends=False), Moment(NOW, zone=UTC), 0.4)
    assert empty.no_needs == "No support run at any bed: nothing is watched here. One starts at its bed: M, then S."


def test_that_a_bed_in_transport_says_since_when_who_leads_and_that_nothing_is_watched() -> None:
    away = TransportView(leader="nurse-7", began=NOW - 20 * MINUTE, back=NOW + 30 * MINUTE)
    view = tile(transport=away, stale=True, last_reading_at=NOW - 5 * MINUTE)
    face = compose(view, filled([view]), Moment(NOW, zone=UTC))
    assert face.need.mark is Mark.TRANSPORT
    assert face.need.title == "In transport since 14:12 · back 15:02"
    assert face.foot.left[0].startswith("Nothing watched since 14:29 · Leads: Nurse 7")
    back = away.model_copy(update={"ended_at": NOW - 2 * MINUTE})
    again = tile(transport=back)
    face = compose(again, filled([again]), Moment(NOW, zone=UTC))
    assert face.need.title == "Back since 14:30 · return check due"


def test_that_a_trend_by_hand_ends_now_so_that_a_left_out_round_is_seen() -> None:
    by_hand, fed = face_of(tile(origin=Origin.ENTERED)).trends[0], face_of(tile()).trends[0]
    assert by_hand.live
    column = HAND_WINDOW_MS // COLUMNS
    assert by_hand.end <= NOW < by_hand.end + column, "in the column of now"
    assert fed.end == NOW - SECOND
