"""Support types and fitted sensors: nothing is fitted that the type cannot have."""

import pytest
from pydantic import ValidationError

from shared.quantities import Quantity as Q
from shared.support import (
    DEFAULT_SENSORS,
    SIDE_OF,
    SUPPORT_LABEL,
    WITH_OXYGENATOR,
    RunDescription,
    Side,
    Support,
    describe_run,
    size_fault,
)

GAS = {Q.PRE_OXYGENATOR_PRESSURE, Q.SWEEP_GAS_FLOW, Q.FDO2}


@pytest.mark.parametrize("support", Support)
def test_that_every_type_has_side_label_and_sensors(support: Support) -> None:
    run = describe_run(support, "r")
    assert run.side is SIDE_OF[support]
    assert run.sensors == DEFAULT_SENSORS[support]
    assert SUPPORT_LABEL[support]
    assert Q.PUMP_FLOW in run.sensors


@pytest.mark.parametrize("support", Support)
def test_that_gas_sensors_are_fitted_exactly_where_an_oxygenator_is(support: Support) -> None:
    assert (DEFAULT_SENSORS[support] >= GAS) is (support in WITH_OXYGENATOR)
    assert bool(DEFAULT_SENSORS[support] & GAS) is (support in WITH_OXYGENATOR)


@pytest.mark.parametrize("support", [Support.VV, Support.RA_PA, Support.RA_PA_OXY])
def test_that_types_that_leave_the_left_heart_alone_show_no_pulse_pressure(support: Support) -> None:
    assert Q.PULSE_PRESSURE not in DEFAULT_SENSORS[support]


@pytest.mark.parametrize("support", [Support.LA_AO, Support.LV_AO])
def test_that_drained_arterial_blood_is_never_called_mixed_venous(support: Support) -> None:
    assert Q.SVO2 not in DEFAULT_SENSORS[support]


def test_that_a_run_without_oxygenator_names_no_sensor_of_one() -> None:
    with pytest.raises(ValidationError, match="no oxygenator"):
        describe_run(Support.LA_AO, "r", sensors=frozenset({Q.PUMP_FLOW, Q.FDO2}))


def test_that_a_derived_quantity_cannot_be_fitted() -> None:
    with pytest.raises(ValidationError, match="oxygenator_resistance"):
        describe_run(Support.VA, "r", sensors=frozenset({Q.OXYGENATOR_RESISTANCE}))


def test_that_a_run_id_names_no_person() -> None:
    with pytest.raises(ValidationError):
        describe_run(Support.VA, "Jane Doe")


def test_that_a_run_comes_back_from_json_as_it_was() -> None:
    run = describe_run(Support.VV, "r", slot=2, profile="small", started_at=5)
    assert RunDescription.model_validate_json(run.model_dump_json()) == run
    assert run.side is Side.NONE


def test_that_a_size_comes_back_and_is_left_out_where_nobody_wrote_it_down() -> None:
    run = describe_run(Support.VA, "r", weight=82, height=178)
    assert RunDescription.model_validate_json(run.model_dump_json()) == run
    assert describe_run(Support.VA, "r").weight is None


@pytest.mark.parametrize(
    ("weight", "height"), [(178, 82), (0.9, None), (401, None), (None, 29), (None, 251), (3.5, 250)]
)
def test_that_a_slip_is_no_size(weight: float | None, height: float | None) -> None:
    with pytest.raises(ValidationError):
        describe_run(Support.VA, "r", weight=weight, height=height)


@pytest.mark.parametrize(("weight", "height"), [(3.0, 50), (25, 125), (70, 170), (250, 180)])
def test_that_a_newborn_and_a_very_heavy_adult_are_sizes(weight: float, height: float) -> None:
    assert size_fault(weight, height) == ""
