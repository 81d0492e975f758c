"""Typed numbers at the very edges of what they may have been meant as, and numbers that are known to be so."""

import pytest

from shared.entry.findings import Reason
from shared.entry.slips import meanings
from shared.entry.typed import Number
from shared.quantities import Quantity as Q
from tests.helpers.entry_bed import BASE, TABLE, bed, judged, reason_at


@pytest.mark.parametrize(
    ("quantity", "last", "text", "asked"),
    [
        (Q.SPO2_RIGHT_HAND, "84", "84", False),
        (Q.SPO2_RIGHT_HAND, "84", "80", False),  # readings usually differ by 8 at most: half of that is near
        (Q.SPO2_RIGHT_HAND, "84", "79", True),
        (Q.SPO2_RIGHT_HAND, "83", "87", False),
        (Q.SPO2_RIGHT_HAND, "82", "87", True),
        (Q.SPO2_RIGHT_HAND, "88", "87", True),  # the first one is always asked about
        (Q.BLOOD_TEMPERATURE, "38.7", "38.9", False),
        (Q.BLOOD_TEMPERATURE, "38.5", "38.6", True),
        (Q.BLOOD_TEMPERATURE, "38.7", "39", True),
        (Q.URINE_OUTPUT, "505", "528", False),
    ],
)
def test_that_what_was_confirmed_an_hour_ago_and_is_as_it_was_is_not_asked_about_again(
    quantity: Q, last: str, text: str, asked: bool
) -> None:
    found = reason_at({**BASE, quantity: last}, {quantity: text}, quantity)
    assert (Reason.UNUSUAL in found) is asked


def test_that_at_the_edges_what_was_meant_must_fit_better_and_is_told_exactly() -> None:
    known = {**BASE, Q.SPO2_FOOT: "90", Q.HEPARIN_RATE: "1000", Q.LIMB_NIRS_LEFT: "72", Q.LIMB_NIRS_RIGHT: "60"}
    foot = reason_at(known, {Q.SPO2_FOOT: "69"}, Q.SPO2_FOOT, whole=False)
    assert Reason.DIGITS not in foot  # 96 lies 6 away, half as much again as the usual 4: not less
    tenfold = reason_at(known, {Q.HEPARIN_RATE: "10000"}, Q.HEPARIN_RATE, whole=False)
    assert Reason.TENFOLD in tenfold  # exactly tenfold: eleven times too much would lie beyond what is usual
    neither = reason_at(known, {Q.LIMB_NIRS_LEFT: "50"}, Q.LIMB_NIRS_LEFT, whole=False)
    assert Reason.EXCHANGED not in neither  # nearer to the right limb's, and not near
    field = TABLE.field_of(bed().run, Q.BLOOD_TEMPERATURE)
    assert field is not None
    meant = [round(one.value, 3) for one in meanings(field, Number(98.6, "98.6"))]
    assert meant == [986.0, 9.86, 89.6, 96.8, 37.0]  # the last in °F
    more = judged(bed(), {Q.PUMP_FLOW: "5.1"}).of(Q.PUMP_FLOW)
    assert more.words.startswith("Flow 5.1 L/min is 0.9 L/min more than the last, 4.2 L/min 60 min before;")
    at_once = judged(bed(), {Q.PUMP_SPEED: "350"}, read_at=0).of(Q.PUMP_SPEED)
    assert "that would fit the last, 3500 rpm 0 min before." in at_once.words
