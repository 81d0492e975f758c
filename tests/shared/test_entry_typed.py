"""What a person types: a number exactly, or a sentence that says why it is none."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.entry.table import EntryField, OtherUnit
from shared.entry.typed import LONGEST, Number, Unreadable, how_to_type, read_typed, same_number
from shared.mark import Mark
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q


def a_field(quantity: Q = Q.PUMP_FLOW, decimals: int = 2, *others: OtherUnit) -> EntryField:
    return EntryField(
        quantity=quantity,
        unit=CATALOGUE[quantity].unit,
        decimals=decimals,
        step=1,
        other_unit=others,
        mark=Mark.DEFAULT,
        source="made for a test",
    )


FLOW, SPEED, SWEEP = a_field(), a_field(Q.PUMP_SPEED, 0), a_field(Q.SWEEP_GAS_FLOW, 1)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("4.2", 4.2),
        ("4,2", 4.2),
        (" 4.20 ", 4.2),
        ("0", 0.0),
        ("0,42", 0.42),
        ("-1.8", -1.8),
        ("\u22121,8", -1.8),
        ("+3", 3.0),
        ("4.2 L/min", 4.2),
        ("4.2L/min", 4.2),
        ("-0", 0.0),
    ],
)
def test_that_a_number_is_read_with_a_point_or_a_comma(typed: str, value: float) -> None:
    said = read_typed(typed, FLOW)
    assert isinstance(said, Number)
    assert said.value == value
    assert str(said.value) != "-0.0"


def test_that_text_and_sign_are_kept_as_typed() -> None:
    assert read_typed("\u22121,80 L/min", FLOW) == Number(-1.8, "1.80", signed=True)
    assert read_typed("3500", SPEED) == Number(3500.0, "3500", signed=False)


@pytest.mark.parametrize("typed", ["", " ", "\t", "\u00a0"])
def test_that_an_empty_field_stays_empty(typed: str) -> None:
    assert read_typed(typed, FLOW) is None


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("4..2", "more than one point or comma"),
        ("4,2,1", "more than one point or comma"),
        ("1.234,5", "nothing parts thousands"),
        ("1,234.5", "nothing parts thousands"),
        ("1 200", "nothing parts thousands"),
        ("1\u00a0200", "nothing parts thousands"),
        ("1'200", "nothing parts thousands"),
        (".", "begins with a point"),
        (",", "begins with a comma"),
        (".42", "begins with a point: begin with 0"),
        (",42", "begins with a comma: begin with 0"),
        ("4.", "ends with a point: a digit may be missing"),
        ("4,", "ends with a comma: a digit may be missing"),
        ("042", "begins with a 0 too many: a point may be missing"),
        ("00", "begins with a 0 too many"),
        ("-", "has a sign and no digits"),
        ("+", "has a sign and no digits"),
        ("--4", '"-4" is not a number'),
        ("4.2 mL", 'is read in L/min, not in "mL"'),
        ("4.2 l/min", 'not in "l/min"'),
        ("4.2 L/min x", 'not in "L/min x"'),
        ("4e2", 'not in "e2"'),
        ("normal", '"normal" is not a number'),
        ("nan", '"nan" is not a number'),
        ("inf", '"inf" is not a number'),
        ("٤", '"٤" is not a number'),
        ("4\n2", "nothing parts thousands"),
        ("4.234", "4.234 L/min has 3 digits after the point, more than this field takes"),
        ("1" * (LONGEST + 1), "is too long for a number"),
    ],
)
def test_that_what_is_no_number_is_refused_in_words(typed: str, words: str) -> None:
    said = read_typed(typed, FLOW)
    assert isinstance(said, Unreadable), said
    assert said.words.startswith("Flow ")
    assert words in said.words
    assert said.words.endswith("Type a number with at most 2 digits after the point, in L/min.")


def test_that_a_field_below_which_nothing_can_be_takes_no_sign() -> None:
    for typed in ("-3500", "+3500", "\u22123500"):
        said = read_typed(typed, SPEED)
        assert isinstance(said, Unreadable)
        assert said.words == "Speed is never below zero and takes no sign. Type a whole number, in rpm."


def test_that_nothing_is_rounded() -> None:
    said = read_typed("3500.5", SPEED)
    assert isinstance(said, Unreadable)
    assert "3500.5 rpm has 1 digit after the point" in said.words
    assert isinstance(read_typed("1.0", SWEEP), Number)
    assert isinstance(read_typed("1.00", SWEEP), Unreadable)


def test_that_a_field_without_unit_takes_none() -> None:
    ratio = a_field(Q.APTT_RATIO, 1)
    assert read_typed("1.9", ratio) == Number(1.9, "1.9")
    said = read_typed("1.9 s", ratio)
    assert said == Unreadable('aPTT ratio has no unit: leave out "s". ' + how_to_type(ratio))
    assert how_to_type(ratio) == "Type a number with at most 1 digit after the point."


def test_that_a_number_may_be_as_long_as_a_field_takes() -> None:
    said = read_typed("1" * LONGEST, SPEED)
    assert isinstance(said, Number)


def test_that_too_fine_a_number_names_the_unit_in_which_it_would_be_a_usual_one() -> None:
    blood = a_field(Q.HAEMOGLOBIN, 0, OtherUnit(unit="g/dL", factor=10), OtherUnit(unit="mmol/L", factor=16.114))
    assert "takes: is it read in g/dL or mmol/L? Type" in words_of("9.5", blood)
    assert "takes: is it read in g/dL? Type" in words_of("21.5", blood)
    assert "than this field takes. Type" in words_of("95.5", blood)


def test_that_a_number_that_can_only_be_in_another_unit_is_read_where_the_field_asks_about_it() -> None:
    gas = a_field(
        Q.FDO2, 0, OtherUnit(unit="mmHg", factor=0.1), OtherUnit(unit="a share of 1", factor=100, ask=True)
    )
    assert read_typed("0.8", gas) == Number(0.8, "0.8")
    assert "20.9 % has 1 digit after the point" not in str(read_typed("20.9", gas))
    assert "21.0 % has 1 digit after the point" in words_of("21.0", gas)
    assert "80.5 % has 1 digit after the point" in words_of("80,5", gas)
    silent = a_field(Q.FDO2, 0, OtherUnit(unit="a share of 1", factor=100))
    assert "0.8 % has 1 digit after the point" in words_of("0.8", silent)


def words_of(typed: str, field: EntryField) -> str:
    said = read_typed(typed, field)
    assert isinstance(said, Unreadable), said
    return said.words


def test_that_trailing_zeros_make_no_other_number() -> None:
    assert same_number(Number(4.2, "4.2"), Number(4.2, "4.20"))
    assert not same_number(Number(4.2, "4.2"), Number(4.21, "4.21"))


@given(st.decimals(min_value=0, max_value=9999, places=2), st.sampled_from(".,"), st.sampled_from(["", "-", "+"]))
def test_that_every_well_formed_number_is_read_exactly(number: object, mark: str, sign: str) -> None:
    said = read_typed(f"{sign}{number}".replace(".", mark), FLOW)
    assert isinstance(said, Number)
    assert said.value == float(f"{'-' if sign == '-' else ''}{number}")


@given(st.text(alphabet="0123456789.,+-\u2212 '\u00a0eLmin/x", max_size=12))
def test_that_any_text_gives_a_number_words_or_nothing_and_only_plain_forms_a_number(text: str) -> None:
    said = read_typed(text, FLOW)
    if said is None:
        assert not text.strip()
    elif isinstance(said, Number):
        body = text.strip().removesuffix("L/min").strip().lstrip("+-\u2212")
        assert body.count(".") + body.count(",") <= 1
        assert body.replace(".", "").replace(",", "").isascii()
        assert body.replace(".", "").replace(",", "").isdigit()
        assert body[0] not in ".,"
        assert body[-1] not in ".,"
    else:
        assert said.words
