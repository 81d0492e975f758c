"""How often is drawn, what is remarked, and which assays must never be merged."""

import pytest

from monitor.core.laboratory import LABORATORY, Laboratory
from shared.mark import Mark
from shared.quantities import Quantity as Q

SHIPPED = Laboratory()


@pytest.mark.parametrize(
    ("quantity", "least", "most"),
    [
        # Common practice, no source: hours between checks.
        (Q.ACT, 1, 2),
        (Q.APTT, 6, 12),
        (Q.APTT_RATIO, 6, 12),
        (Q.ANTI_XA, 6, 12),
        (Q.ARTERIAL_PO2, 4, 6),
        (Q.HAEMOGLOBIN, 6, 12),
        (Q.PLATELETS, 6, 12),
        (Q.FIBRINOGEN, 6, 12),
        (Q.POST_OXYGENATOR_PO2, 24, 24),
        (Q.PLASMA_FREE_HAEMOGLOBIN, 24, 24),
        (Q.LDH, 24, 24),
        (Q.D_DIMER, 24, 24),
    ],
)
def test_that_a_check_interval_is_the_usual_one_and_marked_as_practice(
    quantity: Q, least: float, most: float
) -> None:
    assert least <= SHIPPED.every_h[quantity] <= most
    assert SHIPPED.mark is Mark.COMMON_PRACTICE


def test_that_no_interval_is_set_that_practice_does_not_name() -> None:
    unnamed = {Q.HAEMATOCRIT, Q.POST_OXYGENATOR_PCO2, Q.LACTATE, Q.PRE_OXYGENATOR_PO2, Q.PRE_OXYGENATOR_PCO2}
    assert set(LABORATORY) - set(SHIPPED.every_h) == unnamed


@pytest.mark.parametrize(
    ("table", "quantity", "bound"),
    [
        # Source: Lubnow 2014, PLoS One 9:e112316, Table 6: suspicious beyond these, per litre.
        ("notice_above", Q.LDH, 1000),
        ("notice_above", Q.D_DIMER, 25),
        ("notice_below", Q.FIBRINOGEN, 2.0),
        ("notice_below", Q.PLATELETS, 50),
        # Source: Appelt 2020, PLoS One 15:e0227793; Lehle 2015: more than 500 mg/L (50 mg/dL) is severe.
        ("notice_above", Q.PLASMA_FREE_HAEMOGLOBIN, 500),
    ],
)
def test_that_what_is_remarked_is_what_was_published(table: str, quantity: Q, bound: float) -> None:
    assert getattr(SHIPPED, table)[quantity] == bound
    assert SHIPPED.notice_mark is Mark.PUBLISHED
