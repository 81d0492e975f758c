"""The operating point as the hub answers it: by support type and fitted sensors, fresh, stale and after orders."""

from collections.abc import Iterable
from itertools import pairwise

import pytest

from monitor.core.commands import Order
from monitor.core.engine import Engine
from monitor.core.events import Observed
from monitor.core.meaning.operating_view import Axes, OperatingView, SystemKind
from monitor.core.meaning.view import Meaning
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.rehearsal.sources import Numbered
from monitor.settings import load_limits_and_ladder
from shared.circuit import BROAD
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.physics.pump import pump_head
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from tests.helpers.one_bed import CONFIG, USUAL, Bed

#: The base bed, patient included.
BASE: dict[Q, float] = {**USUAL, Q.CENTRAL_VENOUS_PRESSURE: 8.0}
CURVE_HEAD = pump_head(3500, 4.2, BROAD.head_speed_factor, BROAD.head_flow_factor)


def operating(bed: Bed) -> OperatingView:
    meaning = bed.engine.meaning(bed.label, 1, None, bed.now)
    assert meaning is not None
    assert meaning.operating is not None
    return meaning.operating


def played(text: str, *seconds: int) -> list[Meaning]:
    """What a rehearsed circuit means at some seconds of its course."""
    found: list[Meaning] = []

    def look(engine: Engine, now: Instant) -> None:
        if (now - BEGIN) // SECOND in seconds:
            meaning = engine.meaning("B1", 1, None, now)
            assert meaning is not None
            found.append(meaning)

    minutes = max(seconds) // 60 + 1
    scenario = parse_scenario(f'title = "Point"\nminutes = {minutes}\nbeds = ["B1"]\nfeed = "circuit"\n{text}')
    for _ in rehearse(scenario, *load_limits_and_ladder(CONFIG), look=look):
        pass
    return found


def speeds(*at: tuple[int, int]) -> str:
    lines: Iterable[str] = (
        f'[[act]]\nat = "{minute}:00"\nby = "charge"\nbed = "B1"\ndo = "order"\nquantity = "pump_speed"\n'
        f"value = {speed}\n"
        for minute, speed in at
    )
    return "".join(lines)


def of(meaning: Meaning) -> OperatingView:
    assert meaning.operating is not None
    return meaning.operating


def away(view: OperatingView) -> float:
    """How far the point is from the pump's curve, mmHg."""
    assert view.above_curve is not None
    return abs(view.above_curve)


def test_that_a_base_bed_works_on_the_curve_of_its_pump() -> None:
    bed = Bed()
    bed.run(120, BASE)
    view = operating(bed)
    assert view.axes is Axes.HEAD
    assert view.now is not None
    assert (view.now.x, view.now.y, view.now.at) == (4.2, 280.0, bed.now)
    assert view.above_curve == pytest.approx(280.0 - CURVE_HEAD, abs=0.05)
    assert view.words == "Head 280, pump's curve 280"
    assert view.pump is not None
    assert view.pump.y[0] == pytest.approx(BROAD.head_speed_factor * 3500**2, abs=0.1)
    assert all(later > earlier for earlier, later in pairwise(view.pump.x))


def test_that_the_speed_without_back_flow_comes_from_the_pressures_of_now() -> None:
    bed = Bed()
    bed.run(60, BASE)
    view = operating(bed)
    assert view.least_speed == pytest.approx(
        (64 / BROAD.head_speed_factor) ** 0.5, abs=0.5
    )  # sqrt((MAP - Pra) / a)
    assert view.least_words == "MAP 72 − CVP 8"


def test_that_without_a_change_of_speed_the_system_is_a_line_through_the_point_and_says_so() -> None:
    bed = Bed()
    bed.run(30 * 60, BASE)
    view = operating(bed)
    assert view.system_kind is SystemKind.THROUGH_POINT
    assert view.system_words == "through this point, MAP 72 − CVP 8 + k Q^1.75"
    assert view.system is not None
    assert view.system.y[0] == 64.0
    assert view.meets is not None
    assert view.meets.x == pytest.approx(4.2, abs=0.01)


def test_that_ordered_speeds_let_the_system_be_fitted_and_both_curves_meet_in_the_point() -> None:
    found = of(played(speeds((20, 3000), (40, 3800), (60, 3400)), 75 * 60)[0])
    assert found.system_kind is SystemKind.FITTED
    assert "3000 to 3800 rpm" in found.system_words
    assert found.now is not None
    assert found.meets is not None
    assert found.meets.x == pytest.approx(found.now.x, rel=0.01)
    assert found.meets.y == pytest.approx(found.now.y, rel=0.01)


def test_that_a_circuit_that_kinked_since_no_longer_has_the_fitted_curve() -> None:
    kink = '[[fault]]\nbed = "B1"\nat = "61:00"\nkind = "outlet_kink"\nseverity = 0.6\n'
    before, after = played(speeds((20, 3000), (40, 3500)) + kink, 60 * 60, 63 * 60)
    assert of(before).system_kind is SystemKind.FITTED
    assert of(after).system_kind is SystemKind.THROUGH_POINT
    assert away(of(after)) < 2.0  # the pump itself is as good as before


def test_that_an_exchange_begins_the_fit_anew() -> None:
    exchange = '[[act]]\nat = "50:00"\nby = "perfusionist"\nbed = "B1"\ndo = "exchange"\ndevice = "oxygenator"\n'
    before, after = played(speeds((15, 3000), (30, 3500)) + exchange, 49 * 60, 55 * 60)
    assert of(before).system_kind is SystemKind.FITTED
    assert of(after).system_kind is SystemKind.THROUGH_POINT


def test_that_a_clotted_pump_head_leaves_head_missing_and_is_named_as_one_possibility() -> None:
    clot = '[[fault]]\nbed = "B1"\nat = "2:00"\nkind = "pump_thrombosis"\nseverity = 0.5\n'
    view = of(played(clot, 10 * 60)[0])
    assert view.above_curve is not None
    assert view.above_curve < -30
    assert view.words.endswith("below. Possible: the pump head, or a reading that is wrong")


@pytest.mark.parametrize(
    ("kind", "severity"),
    [("inlet_kink", 0.4), ("outlet_kink", 0.6), ("oxygenator_clot", 0.3), ("afterload_rise", 0.6)],
)
def test_that_trouble_of_the_circuit_or_the_patient_leaves_the_point_on_the_pumps_curve(
    kind: str, severity: float
) -> None:
    fault = f'[[fault]]\nbed = "B1"\nat = "2:00"\nkind = "{kind}"\nseverity = {severity}\n'
    view = of(played(fault, 8 * 60)[0])
    assert away(view) < 5.0
    assert "Possible" not in view.words


def test_that_a_pressure_that_reads_too_high_is_told_as_a_reading_or_another_pump() -> None:
    bed = Bed()
    bed.run(60, BASE | {Q.PRE_OXYGENATOR_PRESSURE: 260.0})
    assert operating(bed).words.endswith(
        "above. Possible: a reading that is wrong, or another pump than its profile"
    )


def test_that_the_trail_is_the_medians_of_the_last_four_hours_and_a_gap_breaks_it() -> None:
    bed = Bed()
    bed.run(5 * 60, BASE)
    bed.wait(10 * 60)
    bed.run(6 * 60, BASE | {Q.PUMP_FLOW: 4.0})
    first, second = operating(bed).trail
    assert set(first.x) == {4.2}
    assert set(second.x) == {4.0}
    assert second.begin - (first.begin + (len(first.x) - 1) * MINUTE) > 9 * MINUTE
    assert (first.begin - MINUTE // 2) % MINUTE == 0
    bed.now += 4 * HOUR
    assert operating(bed).trail == ()


def test_that_what_is_stale_has_a_trail_but_no_now() -> None:
    bed = Bed()
    bed.run(5 * 60, BASE)
    bed.wait(121)
    view = operating(bed)
    assert view.now is None
    assert (view.pump, view.system, view.above_curve, view.words) == (None, None, None, "")
    assert view.trail
    assert view.why == "Nothing fresh to show a point from"


def test_that_one_stale_pressure_is_enough_to_have_no_now() -> None:
    bed = Bed()
    bed.run(60, BASE)
    without: dict[Q, float] = {
        quantity: value for quantity, value in BASE.items() if quantity is not Q.INLET_PRESSURE
    }
    numbered = Numbered()
    for _ in range(130):
        bed.now += SECOND
        bed.engine.handle(Observed(numbered.live("B1", 1, bed.now, without)), bed.now)
    assert operating(bed).now is None
    bed.run(1, BASE)
    assert operating(bed).now is not None


def test_that_the_own_usual_is_since_the_last_order_once_it_stands() -> None:
    bed = Bed()
    bed.run(11 * 60, BASE)
    usual = operating(bed).usual
    assert usual is not None
    assert (usual.x, usual.y, usual.by_order, usual.since) == (4.2, 280.0, False, BEGIN)
    ordered = bed.now
    assert not bed.say(Order, "charge", bed="B1", quantity=Q.PUMP_SPEED, value=3000.0)
    bed.run(9 * 60, BASE | {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.4})
    still = operating(bed).usual
    assert still is not None
    assert not still.by_order
    bed.run(2 * 60, BASE | {Q.PUMP_SPEED: 3000.0, Q.PUMP_FLOW: 3.4})
    anew = operating(bed).usual
    assert anew is not None
    assert (anew.x, anew.by_order, anew.since) == (3.4, True, ordered)


def test_that_without_a_pressure_at_the_pump_flow_stands_against_speed() -> None:
    view = of(
        played('sensors = ["pump_speed", "pump_flow", "post_oxygenator_pressure", "inlet_pressure"]\n', 60)[0]
    )
    assert view.axes is Axes.SPEED
    assert view.why == "No pre-oxygenator pressure is fitted: head is not measured"
    assert view.now is not None
    assert (view.now.x, view.pump, view.system, view.above_curve) == (3500.0, None, None, None)
    no_inlet = of(played('sensors = ["pump_speed", "pump_flow", "pre_oxygenator_pressure"]\n', 60)[0])
    assert no_inlet.why == "No drain pressure is fitted: head is not measured"


def test_that_without_an_oxygenator_the_outlet_pressure_makes_the_head() -> None:
    view = of(played('support = "LA-Ao"\nprofile = "small"\n', 120)[0])
    assert view.axes is Axes.HEAD
    assert away(view) < 1.0
    assert view.least_words.startswith("MAP 72 − LA P")


def test_that_blood_that_goes_back_to_the_veins_has_nothing_against_it() -> None:
    view = of(played('support = "VV"\n', 120)[0])
    assert view.least_speed is None
    assert view.system_kind is SystemKind.FROM_ZERO
    assert "blood goes back to the veins" in view.system_words


def test_that_a_run_without_flow_or_speed_has_no_operating_point() -> None:
    assert played('sensors = ["pump_flow", "inlet_pressure"]\n', 60)[0].operating is None


def test_that_an_estimated_flow_is_not_held_against_the_curve() -> None:
    off = '[[fault]]\nbed = "B1"\nat = "1:00"\nkind = "flow_sensor_off"\n'
    view = of(played('profile = "small"\n' + off, 180)[0])
    assert view.estimated
    assert view.above_curve is None
    assert view.words == "The console only estimates the flow: not held against the pump's curve"


def test_that_a_stopped_pump_has_no_curve_and_the_point_is_shown_with_its_back_flow() -> None:
    stop = '[[fault]]\nbed = "B1"\nat = "1:00"\nkind = "pump_stop"\n'
    view = of(played(stop, 120)[0])
    assert view.pump is None
    assert view.now is not None
    assert view.now.x < 0
    assert view.words == "At 0 rpm there is no curve to hold it against"


def test_that_a_pump_that_is_not_among_the_units_has_no_curve_and_says_so() -> None:
    bed = Bed()
    bed.configuration = bed.configuration.model_copy(update={"pumps": {}})
    bed.engine = Engine(bed.configuration, BEGIN)
    bed.engine.start(BEGIN)
    bed.run(60, BASE)
    view = operating(bed)
    assert view.words == "The pump broad is not among this unit's: no curve"
    assert view.now is not None
