"""Numbers as they are typed: what is read, what is refused in words, and that nothing is silently mended.

Refusing what can be read in two ways instead of mending it: Thimbleby and Cairns 2010, J R Soc Interface,
PMC2935596 (blocking syntax errors can halve errors of a factor of ten).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.desk.typed import NumberField, Refused, number_field, read_number, read_words, toggled_minus
from shared.quantities import CATALOGUE, Quantity

FLOW = number_field(Quantity.PUMP_FLOW)
SPEED = number_field(Quantity.PUMP_SPEED)
DRAIN = number_field(Quantity.INLET_PRESSURE)


@pytest.mark.parametrize(
    ("text", "value"),
    [("4.2", 4.2), ("4,2", 4.2), ("0.42", 0.42), ("-1.5", -1.5), ("4", 4.0), (" 4.25 ", 4.25), ("−1", -1.0)],
)
def test_that_a_point_and_a_comma_both_stand_for_the_decimal(text: str, value: float) -> None:
    assert read_number(text, FLOW) == value


@pytest.mark.parametrize(
    "text",
    ["4..2", "4,2,1", ".", ",", ".5", "5.", "4.255", "1 000", "1'000", "1.234,5", "04", "-", "--1", "1-", "4e1",
     "nan", "inf", "42", "10.1", "-5.1", "٤"],
)  # fmt: skip
def test_that_what_can_be_read_in_two_ways_or_cannot_be_is_refused_with_words(text: str) -> None:
    read = read_number(text, FLOW)
    assert isinstance(read, Refused)
    assert read.why.endswith(".")


@pytest.mark.parametrize("text", ["3,500", "3.500", "3 500", "3500.0", "-3500", "12001"])
def test_that_a_speed_is_whole_and_has_no_separators(text: str) -> None:
    assert isinstance(read_number(text, SPEED), Refused)
    assert read_number("3500", SPEED) == 3500.0


def test_that_an_empty_field_is_no_number() -> None:
    assert read_number("  ", FLOW) is None
    assert read_words("   ") is None


def test_that_the_refusal_names_the_possible_range() -> None:
    read = read_number("-401", DRAIN)
    assert isinstance(read, Refused)
    assert "mmHg" in read.why
    assert DRAIN.write(-400.0) in read.why


def test_that_the_low_end_itself_can_be_refused() -> None:
    litres = NumberField("Gas", "L", 0, 100, above_low=True)
    assert isinstance(read_number("0", litres), Refused)
    assert read_number("1", litres) == 1.0


def test_that_the_change_is_told_against_what_stands_else_against_the_default() -> None:
    stands = number_field(Quantity.INLET_PRESSURE, standing=-90.0, default=-100.0, standing_words="own limit")
    assert stands.change(-80.0) == "+10 against own limit"
    default = number_field(Quantity.INLET_PRESSURE, default=-100.0)
    assert default.change(-110.0).endswith("10 against default")
    assert "Other sign" in default.change(90.0)
    assert DRAIN.change(-90.0) == ""


def test_that_the_minus_turns() -> None:
    assert toggled_minus("90") == "-90"
    assert toggled_minus("-90") == "90"
    assert toggled_minus("") == "-"


def test_that_words_longer_than_120_characters_are_refused() -> None:
    assert isinstance(read_words("x" * 121), Refused)
    assert read_words(" two  words ") == "two words"


@given(st.sampled_from(list(Quantity)), st.text(alphabet="0123456789.,-' e", max_size=12))
def test_that_whatever_is_typed_is_a_possible_value_or_refused(quantity: Quantity, text: str) -> None:
    read = read_number(text, number_field(quantity))
    if isinstance(read, float):
        assert CATALOGUE[quantity].admits(read)
        assert float(text.strip().replace(",", ".")) == read
