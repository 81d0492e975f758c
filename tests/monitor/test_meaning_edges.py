"""What a run tells nothing of, and says so: slow feeds, blood that runs back, batteries that tell little."""

import pytest

from monitor.core.engine import Engine
from monitor.core.events import Declared
from monitor.core.meaning.operating_view import OperatingView
from monitor.core.meaning.power_view import PowerView
from monitor.rehearsal.sources import Numbered
from shared.instant import MINUTE, SECOND
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from tests.helpers.meaning import BLOOD, Watched
from tests.helpers.one_bed import USUAL, Bed

MAINS = {Q.ON_MAINS: 1.0}
RAISED = {Q.MEAN_ARTERIAL_PRESSURE: 95.0}


def operating(bed: Bed) -> OperatingView:
    found = bed.engine.meaning("B1", 1, None, bed.now)
    assert found is not None
    assert found.operating is not None
    return found.operating


def power(bed: Bed) -> PowerView:
    found = bed.engine.meaning("B1", 1, None, bed.now)
    assert found is not None
    assert found.power is not None
    return found.power


def drain(bed: Bed, minutes: int, per_minute: float, begin: float) -> float:
    """Run on battery while the charge falls by so many percent a minute; give what is left."""
    for second in range(1, minutes * 60 + 1):
        bed.run(1, {Q.ON_MAINS: 0.0, Q.BATTERY_CHARGE: begin - per_minute * second / 60})
    return begin - per_minute * minutes


# -- the operating point -----------------------------------------------------------------------------------------


def test_that_a_ventricle_whose_pressure_nobody_measures_stands_against_the_pump_unknown() -> None:
    bed = Bed(more='[[start]]\nbed = "B1"\nsupport = "LV-Ao"\n')
    bed.run(60, USUAL)
    view = operating(bed)
    assert (view.least_speed, view.least_words) == (None, "")
    assert view.system_words == "through this point, k Q^1.75 (pressure against it not measured here)"


def test_that_blood_that_runs_back_through_a_turning_pump_has_no_curve_of_its_circuit() -> None:
    bed = Bed()
    bed.run(60, USUAL | {Q.PUMP_FLOW: -0.5})
    view = operating(bed)
    assert view.now is not None
    assert view.now.x == -0.5
    assert view.pump is not None
    assert (view.system, view.meets) == (None, None)


# -- what is derived ---------------------------------------------------------------------------------------------


def test_that_nothing_follows_from_a_flow_that_is_not_fitted() -> None:
    bed = Watched(start='sensors = ["pump_speed", "mean_arterial_pressure", "central_venous_pressure"]')
    bed.read()
    shown = bed.ids()
    assert not shown & {"flow_index", "speed_yield", "systemic_resistance", "hydraulic_power", "overall_efficiency"}


def test_that_power_without_a_motor_current_has_no_efficiency() -> None:
    bed = Watched(start='sensors = ["pump_flow", "inlet_pressure", "pre_oxygenator_pressure"]')
    bed.read()
    assert bed.value("hydraulic_power") == pytest.approx(280.0 * 4.5 * 0.00222204, rel=1e-4)
    assert "overall_efficiency" not in bed.ids()


def test_that_drained_blood_that_is_full_of_oxygen_tells_neither_content_nor_transfer() -> None:
    """From 99.5 % on the dissociation curve is too flat to tell a pO2 (chosen here)."""
    bed = Watched()
    bed.read(15, {Q.SVO2: 99.8})
    bed.draw(BLOOD)
    for name in ("venous_content", "oxygen_consumption", "oxygen_extraction", "oxygenator_transfer"):
        found = bed.derived(name)
        assert (found.value, found.missing) == (
            None, "Drained blood is fully saturated: its pO₂ cannot be told",
        )  # fmt: skip
    assert bed.value("oxygen_delivery") > 0


def test_that_blood_behind_the_oxygenator_has_no_ratio_where_its_gas_is_never_told() -> None:
    bed = Watched(start='sensors = ["pump_flow", "svo2"]')
    bed.run(15, {Q.PUMP_FLOW: 4.5, Q.SVO2: 70.0})
    bed.draw(BLOOD)
    assert "oxygenator_transfer" in bed.ids()
    assert "post_oxygenator_ratio" not in bed.ids()


# -- the battery -------------------------------------------------------------------------------------------------


def test_that_minutes_of_the_console_serve_alone_on_battery() -> None:
    bed = Bed()
    bed.run(60, {Q.ON_MAINS: 0.0, Q.BATTERY_MINUTES: 30.0})
    assert (power(bed).battery.minutes, power(bed).battery.source) == (30.0, "shown by the console")


def test_that_a_charge_that_did_not_fall_on_battery_tells_no_minutes_on_mains() -> None:
    bed = Bed()
    left = drain(bed, 3, 0.0, 100.0)
    bed.run(60, MAINS | {Q.BATTERY_CHARGE: left})
    assert (power(bed).battery.minutes, power(bed).battery.source) == (None, "no minutes shown, no fall measured")


def test_that_of_two_times_on_battery_the_last_one_counts() -> None:
    bed = Bed()
    left = drain(bed, 5, 4.0, 100.0)
    bed.run(5 * 60, MAINS | {Q.BATTERY_CHARGE: left})
    left = drain(bed, 5, 2.0, left)
    bed.run(60, MAINS | {Q.BATTERY_CHARGE: left})
    assert power(bed).battery.minutes == pytest.approx(left / 2.0, rel=0.05)


def test_that_the_fall_of_a_pump_that_is_not_the_units_counts_as_it_was_at_any_speed() -> None:
    bed = Bed()
    bed.configuration = bed.configuration.model_copy(update={"pumps": {}})
    bed.engine = Engine(bed.configuration, bed.now)
    bed.engine.start(bed.now)
    left = drain(bed, 10, 2.0, 100.0)
    bed.run(60, MAINS | {Q.BATTERY_CHARGE: left, Q.PUMP_SPEED: 4200.0})
    view = power(bed)
    assert view.battery.minutes == pytest.approx(left / 2.0, rel=0.05)
    assert (view.at_speeds, view.load_of) == ((), "")


# -- changes -----------------------------------------------------------------------------------------------------


def slow_feed(interval: float) -> Watched:
    """A bed whose feed reads so seldom; its arterial pressure rises after twenty minutes."""
    bed = Watched(start="")
    run = bed.configuration.unit.beds[0].runs[0].description
    said = BedDeclared(bed="B1", interval=interval, origin=Origin.SIMULATED, runs=(run,))
    bed._keep(bed.engine.handle(Declared("feed", (said,)), bed.now))
    numbered, step = Numbered(), round(interval * SECOND)
    for number in range(40 * MINUTE // step):
        bed.wait(interval)
        raised = RAISED if (number + 1) * step > 20 * MINUTE else {}
        wavering = {Q.MEAN_ARTERIAL_PRESSURE: 72.0 + number % 3}
        bed.observe(numbered.live("B1", 1, bed.now, USUAL | wavering | raised))
    return bed


def test_that_a_feed_of_ten_seconds_dates_a_change_to_its_minute_and_no_finer() -> None:
    bed = slow_feed(10.0)
    [change] = [one for one in bed.meaning().changes if one.quantity is Q.MEAN_ARTERIAL_PRESSURE]
    assert (change.value, change.up) == (95.0, True)
    assert change.resolution_ms >= MINUTE
    assert abs(bed.now - 20 * MINUTE - change.onset) <= MINUTE


def test_that_nothing_is_told_of_changes_from_less_than_a_reading_a_minute() -> None:
    assert slow_feed(120.0).meaning().changes == ()
