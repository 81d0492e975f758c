"""Battery and gas in words: what counts first, what is not known said so, nothing that sounds sure and is not."""

from datetime import UTC

from monitor.core.meaning.power_view import AtSpeedView, PowerView, SupplyView, TripView
from monitor.desk.bedpage.power_words import power_rows
from shared.instant import HOUR

BATTERY = SupplyView(minutes=48.2, source="shown by the console", at=13 * HOUR)
UNKNOWN = SupplyView(source="no cylinder was named")


def texts(view: PowerView | None) -> list[str]:
    return [row.text for row in power_rows(view, UTC)]


def test_that_the_line_of_both_supplies_comes_first_and_each_names_its_source() -> None:
    view = PowerView(on_mains=True, battery=BATTERY, gas=UNKNOWN, fails_now="If mains ...", times=2, margin=30)
    assert texts(view)[:4] == [
        "If mains ...",
        "On mains",
        "Battery: 48 min, shown by the console, 13:00",
        "Gas: not known, no cylinder was named",
    ]


def test_that_a_supply_too_short_for_a_trip_is_written_in_bold() -> None:
    trip = TripView(minutes=45, wanted=90, battery=False, gas=None)
    rows = power_rows(PowerView(on_mains=False, battery=BATTERY, gas=UNKNOWN, trip=trip, times=2, margin=30), UTC)
    bold = {row.text for row in rows if row.bold}
    assert {"Battery does NOT last", "Gas is not known to last", "On battery"} <= bold
    assert "Trip: back in 45 min, so 90 min are wanted" in bold


def test_that_old_minutes_are_at_most_and_no_oxygenator_has_no_gas() -> None:
    old = SupplyView(minutes=36.0, at_most=True, source="shown by the console", at=13 * HOUR)
    words = texts(PowerView(battery=old, times=2, margin=30))
    assert "Battery: at most 36 min, shown by the console, 13:00" in words
    assert "Mains: not known" in words
    assert not any(word.startswith("Gas") for word in words)


def test_that_more_speed_and_new_packs_are_told_as_comparisons() -> None:
    faster = (AtSpeedView(speed=3850, minutes=41.0),)
    view = PowerView(
        battery=BATTERY, at_speeds=faster, load_of="by the load of broad", as_new=55.0, packs=4, times=2, margin=30
    )
    words = texts(view)
    assert "Battery if the pump ran faster: 3\u2009850 rpm 41 min (by the load of broad)" in words
    assert any(word.startswith("4 new packs would last 55 min") and "only to compare" in word for word in words)


def test_that_nothing_known_has_no_rows() -> None:
    assert texts(None) == []
