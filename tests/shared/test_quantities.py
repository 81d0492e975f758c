"""The catalogue: complete, and its ranges leave room for everything that can really be read."""

import pytest

from shared.quantities import CATALOGUE, Quantity, Scope, spec

DERIVED = {Quantity.OXYGENATOR_PRESSURE_DROP, Quantity.OXYGENATOR_RESISTANCE, Quantity.SPEED_YIELD}


def test_that_every_quantity_has_an_entry_and_no_other() -> None:
    assert set(CATALOGUE) == set(Quantity)


def test_that_only_the_three_derived_quantities_are_derived() -> None:
    assert {quantity for quantity in Quantity if spec(quantity).derived} == DERIVED


@pytest.mark.parametrize("quantity", Quantity)
def test_that_an_entry_hangs_together(quantity: Quantity) -> None:
    entry = spec(quantity)
    assert entry.low < entry.high
    assert entry.signed == (entry.low < 0 and entry.ucum != "Cel")
    assert entry.label
    assert entry.ucum
    assert 0 <= entry.decimals <= 2


def test_that_labels_are_unique() -> None:
    labels = [entry.label for entry in CATALOGUE.values()]
    assert len(set(labels)) == len(labels)


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        # values that the scenario design uses, and what open recordings hold (zeros of a transducer that is off)
        (Quantity.PUMP_FLOW, -1.8),
        (Quantity.PUMP_FLOW, 5.6),
        (Quantity.INLET_PRESSURE, -199),
        (Quantity.INLET_PRESSURE, 15),
        (Quantity.POST_OXYGENATOR_PRESSURE, 320),
        (Quantity.MEAN_ARTERIAL_PRESSURE, 0),
        (Quantity.PUMP_SPEED, 7000),
        (Quantity.FDO2, 21),
        (Quantity.FDO2, 100),
    ],
)
def test_that_a_real_value_is_admitted(quantity: Quantity, value: float) -> None:
    assert spec(quantity).admits(value)


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        (Quantity.PUMP_FLOW, 42),
        (Quantity.HAEMOGLOBIN, 9.5),
        (Quantity.FDO2, 0.8),
        (Quantity.SPO2_FOOT, 100.5),
        (Quantity.MEAN_ARTERIAL_PRESSURE, float("nan")),
    ],
)
def test_that_an_impossible_value_is_not_admitted(quantity: Quantity, value: float) -> None:
    assert not spec(quantity).admits(value)


def test_that_what_belongs_to_the_patient_is_not_counted_to_a_pump() -> None:
    assert spec(Quantity.MEAN_ARTERIAL_PRESSURE).scope is Scope.BED
    assert spec(Quantity.PUMP_FLOW).scope is Scope.RUN
    assert spec(Quantity.POST_OXYGENATOR_PO2).scope is Scope.RUN
