"""Derived quantities: which are there by support type, of what they are made, and when there is no value."""

import pytest

from monitor.core.constants import BodySurface, Constants, ResistanceFactor
from monitor.core.laboratory import Laboratory
from monitor.rehearsal.sources import Numbered
from shared.instant import HOUR, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.meaning import BLOOD, NUMBERS, Watched

CIRCUIT = {"body_surface", "flow_index", "speed_yield", "hydraulic_power", "overall_efficiency"}
OXYGENATOR = {"oxygenator_resistance", "post_oxygenator_ratio"}
SYSTEMIC = {"systemic_resistance", "systemic_resistance_wood", "systemic_resistance_index"}
DELIVERY = {"arterial_content", "oxygen_delivery", "oxygen_delivery_index"}
VENOUS = {"venous_content", "oxygen_extraction", "delivery_to_consumption"}
MINUTES = {"minutes_flow", "minutes_inlet", "minutes_inlet_deep"}

#: What each support type must show once everything that is fitted was read and the laboratory has answered.
SHOWN = {
    "VA": CIRCUIT | OXYGENATOR | SYSTEMIC | DELIVERY | VENOUS | {"oxygen_consumption", "oxygenator_transfer"},
    "VV": CIRCUIT | OXYGENATOR | {"arterial_content", "oxygenator_transfer"},
    "LA-Ao": CIRCUIT | SYSTEMIC | DELIVERY,
    "LV-Ao": CIRCUIT | SYSTEMIC | DELIVERY,
    "RA-PA": CIRCUIT | {"arterial_content"},
    "RA-PA-oxy": CIRCUIT | OXYGENATOR | {"arterial_content"},
}


def ready(support: str = "VA", start: str = "height = 170\nweight = 70", **unit: object) -> Watched:
    bed = Watched(support, start, **unit)
    bed.read()
    bed.draw(BLOOD)
    bed.read(1)
    return bed


@pytest.mark.parametrize("support", SHOWN)
def test_that_a_support_type_shows_what_makes_sense_there_and_nothing_else(support: str) -> None:
    assert ready(support).ids() == SHOWN[support] | MINUTES


def test_that_drained_blood_of_the_left_heart_is_never_called_venous() -> None:
    # Practice: drained blood is arterial there; its saturation is never SvO2 (common practice, no source).
    for support in ("LA-Ao", "LV-Ao"):
        shown = ready(support, "height = 170\nweight = 70\nsvo2 = 97").ids()
        assert not shown & (VENOUS | {"oxygen_consumption"})


def test_that_blood_drained_from_the_right_atrium_is_venous_but_its_pump_delivers_nothing_systemic() -> None:
    shown = ready("RA-PA", "height = 170\nweight = 70\nsvo2 = 70").ids()
    assert shown >= VENOUS
    assert not shown & {"oxygen_delivery", "oxygen_consumption", *SYSTEMIC}


def test_that_recirculated_blood_of_vv_is_no_sign_of_what_the_body_took() -> None:
    assert not ready("VV").ids() & {*VENOUS, "oxygen_consumption", "oxygen_delivery"}


def test_that_the_published_examples_stand_on_the_page() -> None:
    # Sources: as in tests/published: 80 (MAP - CVP) / Q; Mosteller; CaO2 = k Hb S + a pO2, with 1.34 and 0.0031.
    bed = ready()
    assert bed.value("body_surface") == pytest.approx(1.81812, abs=1e-4)
    assert bed.value("systemic_resistance") == pytest.approx(1155.56, abs=0.05)
    assert bed.value("systemic_resistance_wood") == pytest.approx(14.444, abs=1e-3)
    assert bed.value("systemic_resistance_index") == pytest.approx(2100.9, abs=0.5)
    assert bed.value("arterial_content") == pytest.approx(14.196, abs=1e-3)
    assert bed.value("oxygen_delivery") == pytest.approx(638.82, rel=1e-4)
    assert bed.value("oxygen_delivery_index") == pytest.approx(351.36, rel=1e-4)
    assert bed.value("flow_index") == pytest.approx(4.5 / 1.81812, abs=1e-4)
    # The example's venous pO2 of 40 mmHg comes from the saturation here (36.6 mmHg): 0.01 mL/dL less.
    assert bed.value("venous_content") == pytest.approx(9.504, abs=0.015)
    assert bed.value("oxygen_consumption") == pytest.approx(211.14, abs=0.6)
    assert bed.value("oxygen_extraction") == pytest.approx(33.052, abs=0.1)
    assert bed.value("delivery_to_consumption") == pytest.approx(3.0256, abs=0.01)


def test_that_circuit_figures_follow_their_definitions() -> None:
    # Sources: definitions; 1 mmHg L/min = 0.00222204 W.
    bed = ready()
    assert bed.value("speed_yield") == pytest.approx(4.5 / 3.5)
    assert bed.value("oxygenator_resistance") == pytest.approx(30 / 4.5)
    assert bed.value("hydraulic_power") == pytest.approx(280 * 4.5 * 0.00222204, rel=1e-5)
    assert bed.value("overall_efficiency") == pytest.approx(100 * 2.79977 / (1.2 * 20), rel=1e-4)
    assert bed.value("post_oxygenator_ratio") == pytest.approx(500)


def test_that_the_outlet_of_a_circuit_without_oxygenator_is_behind_its_pump() -> None:
    found = ready("LA-Ao").derived("hydraulic_power")
    assert [part.label for part in found.inputs] == ["Outlet P", "Drain P", "Flow"]
    assert found.value == pytest.approx(250 * 4.5 * 0.00222204, rel=1e-5)  # 2.49979 W


def test_that_the_constants_of_the_unit_are_used_and_named() -> None:
    other = Constants(
        oxygen_capacity=1.39,
        body_surface=BodySurface.DU_BOIS,
        resistance_factor=ResistanceFactor.EXACT,
    )
    bed = ready(constants=other)
    assert bed.value("systemic_resistance") == pytest.approx(1155.46, abs=0.05)
    assert bed.value("body_surface") == pytest.approx(1.80971, abs=1e-4)
    assert bed.value("oxygen_delivery") == pytest.approx(661.10, rel=1e-4)
    assert bed.derived("body_surface").formula.startswith("Du Bois")
    assert [part.label for part in bed.derived("flow_index").inputs] == ["Flow", "Body surface (Du Bois)"]
    assert [part.value for part in bed.derived("oxygen_delivery").constants] == [1.39, 0.0031]
    (factor,) = bed.derived("systemic_resistance").constants
    assert factor.value == pytest.approx(79.9934, abs=1e-4)


def test_that_resistance_and_delivery_say_that_they_know_the_pump_alone() -> None:
    bed = ready()
    for name in ("systemic_resistance", "oxygen_delivery", "oxygen_consumption"):
        assert "Pump flow only" in bed.derived(name).caution
    assert "Right-hand SpO₂" in bed.derived("arterial_content").caution


def test_that_an_estimated_flow_is_said_wherever_it_goes_in() -> None:
    bed = ready()
    bed.now += SECOND
    guess = Numbered().live("B1", 1, bed.now, NUMBERS, estimated=frozenset({Q.PUMP_FLOW}))
    bed.observe(guess)
    for name in ("flow_index", "speed_yield", "oxygenator_resistance", "hydraulic_power", "systemic_resistance",
                 "oxygen_delivery", "oxygenator_transfer"):  # fmt: skip
        assert "console's estimate" in bed.derived(name).caution, name
    assert "estimate" not in bed.derived("arterial_content").caution


def test_that_the_oldest_input_decides_the_age() -> None:
    bed = ready()
    drawn = bed.now - SECOND
    bed.read(100)
    found = bed.derived("oxygen_delivery")
    assert found.at == drawn
    assert {part.at for part in found.inputs} == {drawn, bed.now}
    assert bed.derived("systemic_resistance").at == bed.now
    assert bed.derived("body_surface").at is None


def test_that_a_stale_reading_gives_no_value_but_says_since_when() -> None:
    bed = ready()  # from midnight on
    bed.wait(600)
    found = bed.derived("flow_index")
    assert (found.value, found.missing) == (None, "No Flow since 00:00")
    assert bed.derived("systemic_resistance").missing.startswith("No MAP since 00:00; no CVP since")


def test_that_what_was_fitted_and_never_read_says_so() -> None:
    bed = Watched()
    found = bed.derived("systemic_resistance")
    assert (found.value, found.missing) == (None, "No MAP yet; no CVP yet; no Flow yet")


def test_that_an_old_laboratory_value_is_not_mixed_with_what_is_read_now() -> None:
    bed = ready()
    bed.wait(11 * 3600)
    bed.read(12)
    assert bed.derived("arterial_content").caution.endswith("no arterial pO₂")  # 6 h old: left out, and said
    assert bed.value("arterial_content") == pytest.approx(1.34 * 10 * 0.99)
    assert bed.derived("oxygenator_transfer").missing == "No Post-oxy pO₂ since 00:00"
    bed.wait(3600)
    bed.read(12)
    found = bed.derived("oxygen_delivery")
    assert (found.value, found.missing) == (None, "No Hb since 00:00")


def test_that_the_unit_says_how_long_a_laboratory_value_serves() -> None:
    bed = ready(laboratory=Laboratory(usable_h={Q.HAEMOGLOBIN: 1}))
    bed.wait(3700)
    bed.read(12)
    assert bed.derived("oxygen_delivery").missing == "No Hb since 00:00"


def test_that_without_any_haemoglobin_only_the_content_says_what_is_missing() -> None:
    bed = Watched()
    bed.read()
    assert bed.derived("arterial_content").missing == "No Hb yet"
    assert not bed.ids() & {"oxygen_delivery", "venous_content", "oxygen_extraction", "oxygenator_transfer"}


def test_that_dissolved_oxygen_is_left_out_of_both_contents_or_of_none() -> None:
    bed = Watched()
    bed.read()
    bed.draw({Q.HAEMOGLOBIN: 100.0})
    assert bed.value("arterial_content") == pytest.approx(1.34 * 10 * 0.99)
    assert bed.value("venous_content") == pytest.approx(1.34 * 10 * 0.70)
    assert bed.value("oxygen_extraction") == pytest.approx(100 * (0.99 - 0.70) / 0.99)
    assert "Without dissolved oxygen" in bed.derived("oxygen_extraction").caution


def test_that_a_size_that_nobody_wrote_down_is_named_and_nothing_is_given_for_each_square_metre() -> None:
    bed = ready(start="")
    assert bed.derived("body_surface").missing == "Weight and height are not written down"
    assert not bed.ids() & {"flow_index", "systemic_resistance_index", "oxygen_delivery_index"}
    assert bed.value("systemic_resistance") > 0


@pytest.mark.parametrize("flow", [0.05, 0.0, -1.2])
def test_that_nothing_is_divided_by_a_flow_that_does_not_run_forward(flow: float) -> None:
    bed = ready()
    bed.read(15, {Q.PUMP_FLOW: flow})
    for name in ("systemic_resistance", "systemic_resistance_index", "oxygenator_resistance", "hydraulic_power"):
        found = bed.derived(name)
        assert (found.value, found.missing) == (None, "Flow is below 0.1 L/min: a quotient says nothing")
    if flow <= 0:
        assert bed.derived("oxygen_delivery").missing == "No blood flows forward"
        assert bed.derived("oxygenator_transfer").value is None


def test_that_venous_blood_fuller_than_arterial_gives_no_extraction() -> None:
    bed = ready()
    bed.read(15, {Q.SPO2_RIGHT_HAND: 60.0, Q.SVO2: 90.0})
    assert bed.derived("oxygen_extraction").missing == "Venous content is not below arterial"


def test_that_the_gas_of_the_draw_goes_with_the_draw() -> None:
    bed = Watched()
    bed.read(90)  # FdO2 80
    bed.draw({Q.POST_OXYGENATOR_PO2: 400.0}, ago_s=30)
    bed.read(60, {Q.FDO2: 50.0})
    found = bed.derived("post_oxygenator_ratio")
    assert [part.value for part in found.inputs] == [400.0, 80.0]
    assert found.value == pytest.approx(500)


def test_that_gas_of_a_draw_long_ago_is_that_of_its_minute_and_a_gap_in_it_is_not_bridged() -> None:
    bed = Watched()
    bed.read(600)
    bed.draw({Q.POST_OXYGENATOR_PO2: 400.0}, ago_s=30)
    bed.read(1200, {Q.FDO2: 50.0})
    assert bed.value("post_oxygenator_ratio") == pytest.approx(500)
    bed.wait(900)
    bed.draw({Q.POST_OXYGENATOR_PO2: 300.0}, ago_s=300)
    bed.read(60, {Q.FDO2: 50.0})  # the same before and after, and nobody knows in between
    assert bed.derived("post_oxygenator_ratio").missing == "No FdO₂ known at 00:40"


def test_that_gas_nobody_knows_at_the_draw_gives_no_ratio() -> None:
    bed = Watched()
    bed.draw({Q.POST_OXYGENATOR_PO2: 400.0})
    bed.wait(HOUR / SECOND)
    bed.read(20)
    assert bed.derived("post_oxygenator_ratio").missing == "No FdO₂ known at 00:00"


def test_that_an_unknown_pump_has_no_efficiency_and_says_why() -> None:
    bed = ready("VA", 'profile = "unheard-of"')
    assert bed.derived("overall_efficiency").missing == "The motor voltage of pump unheard-of is not known"


def test_that_the_second_pump_of_a_bed_reads_the_patient_where_the_first_does() -> None:
    second = 'support = "LV-Ao"\nheight = 170\nweight = 70\n[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA"'
    bed = Watched("LV-Ao", second)
    bed.read()
    bed.draw({Q.HAEMOGLOBIN: 100.0})
    values = {Q.PUMP_FLOW: 4.0, Q.PUMP_SPEED: 5000.0}
    bed.observe(Numbered().live("B1", 2, bed.now, values))
    assert bed.derived("flow_index", slot=2).value == pytest.approx(4.0 / 1.81812, abs=1e-4)
    assert bed.derived("arterial_content", slot=2).value == pytest.approx(1.34 * 10 * 0.99)
    assert "systemic_resistance" not in bed.ids(slot=2)


def test_that_asking_changes_nothing_and_a_restart_gives_the_same() -> None:
    bed = ready()
    kept, before = bed.engine.checkpoint(), bed.meaning()
    assert bed.engine.checkpoint() == kept
    bed.restart()
    assert (bed.meaning().derived, bed.meaning().labs) == (before.derived, before.labs)


def test_that_a_bed_entered_by_hand_keeps_its_values_until_its_next_set_is_overdue() -> None:
    bed = Watched(start='feed = "entered"\nheight = 170\nweight = 70')
    bed.draw(NUMBERS | BLOOD)
    bed.wait(3600)
    assert bed.value("systemic_resistance") == pytest.approx(1155.56, abs=0.05)
    assert bed.derived("systemic_resistance").at == bed.now - HOUR
    bed.wait(3600)
    assert bed.derived("systemic_resistance").missing.startswith("No MAP since 00:00")
