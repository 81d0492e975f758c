"""Recordings: what is a value, what is a gap, what is a fault, and that units convert exactly or not at all."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import ConfigurationError
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.recording import Recording, read_recording
from shared.recording_map import RecordingMap, map_of_header, parse_map
from shared.recording_units import EXACT, converter

MAP = """
[time]
number = 1
format = "'[%H:%M:%S %d/%m/%Y]'"

[[column]]
number = 3
quantity = "mean_arterial_pressure"
unit = "mm[Hg]"
keep = [10, 200]
off = [0]

[[column]]
number = 2
quantity = "heart_rate"
unit = "/min"
off = [0]
"""
ROWS = """'[12:00:00 01/02/2011]',80.0,72.0
'[12:01:00 01/02/2011]',81.0,0.000
'[12:02:00 01/02/2011]',0.000,-
'[12:03:00 01/02/2011]',-,9.9
'[12:05:00 01/02/2011]',82.0,200.0
"""


def read(text: str, columns: RecordingMap | None = None, strict: bool = False) -> Recording:
    return read_recording(text.splitlines(), columns or parse_map(MAP), strict)


def test_that_each_row_stands_at_its_time_from_the_first() -> None:
    recording = read(ROWS)
    assert [(row.t, dict(row.values)) for row in recording.rows] == [
        (0.0, {Q.HEART_RATE: 80.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0}),
        (60.0, {Q.HEART_RATE: 81.0}),
        (300.0, {Q.HEART_RATE: 82.0, Q.MEAN_ARTERIAL_PRESSURE: 200.0}),
    ]
    assert recording.interval == 60.0
    assert recording.length == 300.0
    assert not recording.faults


def test_that_a_value_outside_the_keep_range_is_left_out_and_counted() -> None:
    assert read(ROWS).left_out == {Q.MEAN_ARTERIAL_PRESSURE: 1}


def test_that_a_value_that_cannot_be_is_left_out_where_no_range_is_given() -> None:
    recording = read("time [s],pump_flow [L/min]\n0,42\n1,4.2\n", map_of_header("time [s],pump_flow [L/min]"))
    assert [row.t for row in recording.rows] == [1.0]
    assert recording.left_out == {Q.PUMP_FLOW: 1}


def test_that_a_row_without_any_value_is_a_gap() -> None:
    assert 120.0 not in [row.t for row in read(ROWS).rows]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("'[12:04:00 01/02/2011]',80.0", "it has 2 columns; column 3 is missing"),
        ("'[12:04:00 01/02/2011]',8o,72", 'column 2 (heart_rate): "8o" is no number'),
        ("'[12:04:00 01/02/2011]',80,nan", 'column 3 (mean_arterial_pressure): "nan" is no number'),
        ("'[12:04:00 01/02/2011]',80,inf", '"inf" is no number'),
        ("'[25:04:00 01/02/2011]',80,72", "is not written as"),
        ("2011-02-01T12:04:00,80,72", "is not written as"),
        ("'[11:00:00 01/02/2011]',80,72", "not after that of the row before"),
        ("'[12:03:00 01/02/2011]',80,72", "not after that of the row before"),
        ("rubbish", 'the time "rubbish" is not written as'),
        ("'[12:04:00 01/02/2011]'", "it has 1 columns; column 3 is missing"),
        ("'[12:04:00 01/02/2011]',80\r,72", "it is no row of cells"),
        ('"', "is not written as"),
        ("\x00", "is not written as"),
    ],
)
def test_that_a_bad_row_is_told_by_line_and_costs_no_other(row: str, words: str) -> None:
    lines = ROWS.splitlines()
    recording = read_recording([*lines[:4], row, lines[4]], parse_map(MAP))
    assert [fault.line for fault in recording.faults] == [5]
    assert words in recording.faults[0].why
    assert recording.rows == (*read(ROWS).rows[:2], recording.rows[2])
    assert recording.rows[2].t == 300.0


def test_that_strict_stops_at_a_bad_row() -> None:
    with pytest.raises(ConfigurationError, match="line 6: the time"):
        read(ROWS + "rubbish\n", strict=True)


def test_that_a_header_names_quantity_and_unit() -> None:
    text = "time,pump_flow [mL/min],haemoglobin [g/dL],blood_temperature [[degF]]\n"
    columns = map_of_header(text.strip())
    recording = read(text + "2026-01-01T00:00:00Z,4200,9.5,98.6\n2026-01-01T00:00:01Z,,,98.6\n", columns)
    assert recording.rows[0].values[Q.PUMP_FLOW] == pytest.approx(4.2)
    assert recording.rows[0].values[Q.HAEMOGLOBIN] == pytest.approx(95.0)
    # 98.6 degrees Fahrenheit are 37 degrees Celsius by definition of the scales
    assert recording.rows[0].values[Q.BLOOD_TEMPERATURE] == pytest.approx(37.0)
    assert dict(recording.rows[1].values) == {Q.BLOOD_TEMPERATURE: pytest.approx(37.0)}
    assert recording.interval == 1.0


@pytest.mark.parametrize(
    ("header", "words"),
    [
        ("time,pump_flov [L/min]", ['column 2 "pump_flov [L/min]" is not known', "pump_flow [L/min]"]),
        ("time,pump_flow [L/s]", ['column 2 "pump_flow [L/s]"', "allowed for pump_flow: L/min, mL/min, L/h"]),
        ("time,pump_flow", ['column 2 "pump_flow"', "allowed for pump_flow: L/min"]),
        ("time,speed_yield [1]", ['column 2 "speed_yield [1]" is not known']),
        ("time,haemoglobin [mmol/L]", ["unit [mmol/L] does not convert exactly", "g/L, g/dL"]),
        ("pump_flow [L/min]", ['needs one column "time"']),
        ("", ['needs one column "time"']),
        ("time,fdo2 [%],fdo2 [%]", ["quantity fdo2 stands twice"]),
        ("time", ["header is wrong"]),
    ],
)
def test_that_a_wrong_header_names_the_column_and_what_is_allowed(header: str, words: list[str]) -> None:
    with pytest.raises(ConfigurationError) as caught:
        map_of_header(header)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize(
    ("good", "bad", "words"),
    [
        ('"heart_rate"', '"pulse"', '[[column]] number 2, key "quantity"'),
        ('"mm[Hg]"', '"kPa"', "allowed for mean_arterial_pressure: mm[Hg]"),
        ("[10, 200]", "[200, 10]", "below its high end"),
        ("number = 2", "number = 3", "column 3 stands twice"),
        ("number = 2", "number = 0", '[[column]] number 2, key "number" = 0'),
    ],
)
def test_that_a_wrong_map_names_place_and_value(good: str, bad: str, words: str) -> None:
    with pytest.raises(ConfigurationError) as caught:
        parse_map(MAP.replace(good, bad))
    assert words in str(caught.value)


def test_that_every_conversion_leads_to_a_unit_of_the_catalogue() -> None:
    units = {entry.ucum for entry in CATALOGUE.values()}
    assert {wanted for _, wanted in EXACT} <= units


def test_that_the_units_of_the_catalogue_convert_to_themselves() -> None:
    for quantity, entry in CATALOGUE.items():
        assert converter(quantity, entry.ucum)(12.5) == 12.5
        assert converter(quantity, entry.unit)(12.5) == 12.5


@given(st.lists(st.text(max_size=60), max_size=15))
def test_that_any_lines_are_read_or_told(lines: list[str]) -> None:
    recording = read_recording(lines, parse_map(MAP))
    assert len(recording.rows) + len(recording.faults) <= len(lines)


@given(st.text(max_size=80))
def test_that_any_header_is_a_map_or_a_configuration_error(header: str) -> None:
    try:
        columns = map_of_header(header)
    except ConfigurationError:
        return
    assert columns.header
