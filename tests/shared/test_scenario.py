"""The scenario file: what it may hold, and how a fault in it is told."""

from pathlib import Path

import pytest

from shared.circuit import ORDERABLE
from shared.errors import ConfigurationError
from shared.quantities import Quantity as Q
from shared.scenario import KNOBS, Scenario, holder_of, nurse_of, parse_scenario, run_of, slots_of, target_flow
from shared.scenario_acts import ACT_FIELDS
from shared.support import DEFAULT_SENSORS, Side, Support

FILES = sorted((Path(__file__).parents[2] / "config" / "scenarios").glob("*.toml"))

TEXT = """
title = "Slow bleed, then worse"
minutes = 60
beds = ["B1", "B2"]
seed = 9

[[start]]
bed = "B2"
pump_flow = 3.9

[[ramp]]
bed = "B1"
quantity = "inlet_pressure"
from = "10:00"
to = "40:00"
value = -115.0

[[entry]]
bed = "B1"
at = "30:00"
by = "nurse-B1"
values = { haemoglobin = 78 }

[[act]]
at = "33:00"
by = "nurse-B1"
bed = "B1"
do = "take"
reason = "at_bedside"

[[link]]
beds = "all"
down = "2:00"
up = "7:00"
"""


def with_text(more: str) -> Scenario:
    return parse_scenario(TEXT + more)


def told(text: str) -> str:
    with pytest.raises(ConfigurationError) as caught:
        parse_scenario(text)
    return str(caught.value)


def test_that_the_tables_of_a_file_are_read() -> None:
    scenario = parse_scenario(TEXT)
    assert scenario.seconds == 3600
    assert scenario.ramp[0].begins == 600.0
    assert scenario.ramp[0].ends == 2400.0
    assert scenario.ramp[0].quantity is Q.INLET_PRESSURE
    assert scenario.entry[0].values == {Q.HAEMOGLOBIN: 78.0}
    assert scenario.entry[0].taken_at == 1800.0
    assert scenario.act[0].do == "take"
    assert scenario.act[0].at == 1980.0
    assert scenario.link[0].cuts("B2", 419.0)
    assert not scenario.link[0].cuts("B2", 420.0)


def test_that_a_bed_is_the_base_bed_where_the_file_says_nothing() -> None:
    scenario = parse_scenario(TEXT)
    run = run_of(scenario, "B1")
    assert run.support is Support.VA
    assert run.side is Side.BOTH
    assert run.profile == "broad"
    assert run.sensors == DEFAULT_SENSORS[Support.VA]
    assert slots_of(scenario, "B1") == (1,)


def test_that_the_target_does_not_follow_the_starting_flow() -> None:
    assert target_flow(parse_scenario(TEXT), "B2") == 4.2


def test_that_a_target_can_be_given_for_one_bed() -> None:
    text = TEXT.replace("pump_flow = 3.9", "pump_flow = 3.9\ntarget_flow = 4.0")
    assert target_flow(parse_scenario(text), "B2") == 4.0
    assert target_flow(parse_scenario(text), "B1") == 4.2


def test_that_the_usual_roster_stands_where_the_file_names_none() -> None:
    scenario = parse_scenario(TEXT)
    assert nurse_of(scenario, "B2") == "nurse-B2"
    assert scenario.roster.deputy == "deputy"
    assert [holder_of(scenario, rung) for rung in (2, 3, 4, 5)] == [
        "charge",
        "perfusionist",
        "intensivist",
        "surgeon",
    ]


def test_that_a_named_roster_replaces_the_usual_one() -> None:
    scenario = with_text('[roster]\nnurses = { B2 = "nurse-a" }\ndeputy = "nurse-d"\nuncovered = [3]\n')
    assert nurse_of(scenario, "B1") == "nurse-B1"
    assert nurse_of(scenario, "B2") == "nurse-a"
    assert scenario.roster.deputy == "nurse-d"
    assert holder_of(scenario, 3) == ""


def test_that_a_start_may_give_a_bed_its_own_support_and_sensors() -> None:
    scenario = with_text('[[start]]\nbed = "B1"\nsupport = "LV-Ao"\nprofile = "small"\n')
    run = run_of(scenario, "B1")
    assert run.support is Support.LV_AO
    assert not run.oxygenator
    assert Q.PRE_OXYGENATOR_PRESSURE not in run.sensors
    assert run.profile == "small"


def test_that_a_start_may_name_its_sensors() -> None:
    scenario = with_text('[[start]]\nbed = "B1"\nsensors = ["pump_flow", "inlet_pressure"]\n')
    assert run_of(scenario, "B1").sensors == {Q.PUMP_FLOW, Q.INLET_PRESSURE}
    message = told(TEXT + '[[start]]\nbed = "B1"\nsensors = ["pump_flow", 3]\n')
    assert '[[start]] number 2, key "sensors' in message
    message = told(TEXT + '[[start]]\nbed = "B1"\nsensors = ["pump_flov", "inlet_pressure"]\n')
    assert '[[start]] number 2, key "sensors' in message
    assert "pump_flov" in message


def test_that_a_second_pump_carries_no_readings_of_the_patient() -> None:
    scenario = with_text('[[start]]\nbed = "B1"\nslot = 2\nsupport = "RA-PA"\n')
    assert slots_of(scenario, "B1") == (1, 2)
    second = run_of(scenario, "B1", slot=2)
    assert second.slot == 2
    assert Q.PUMP_FLOW in second.sensors
    assert Q.MEAN_ARTERIAL_PRESSURE not in second.sensors


def test_that_a_quantity_that_a_ramp_moves_counts_as_fitted() -> None:
    scenario = with_text('[[ramp]]\nbed = "B1"\nquantity = "heart_rate"\nfrom = "1:00"\nvalue = 120\n')
    assert Q.HEART_RATE in run_of(scenario, "B1").sensors
    assert Q.HEART_RATE not in run_of(scenario, "B2").sensors


def test_that_times_may_carry_milliseconds_and_hundreds_of_minutes() -> None:
    text = TEXT.replace('"33:00"', '"1:20.040"').replace("minutes = 60", "minutes = 250")
    scenario = parse_scenario(text.replace('"10:00"', '"240:00"').replace('"40:00"', '"241:00"'))
    assert scenario.act[0].at == pytest.approx(80.040)
    assert scenario.ramp[0].begins == 14_400.0


@pytest.mark.parametrize(
    ("good", "bad", "words"),
    [
        ('"inlet_pressure"', '"inlet_presure"', ['number 1, key "quantity"', "inlet_presure", "'pump_flow'"]),
        ('"10:00"', '"10:60"', ['[[ramp]] number 1, key "from"', "10:60", '"m:ss"']),
        ('"10:00"', "600", ['[[ramp]] number 1, key "from"', "600", '"m:ss"']),
        ("-115.0", '"-115"', ['[[ramp]] number 1, key "value"', '"-115"', "number"]),
        ("-115.0", "nan", ['[[ramp]] number 1, key "value"', "finite"]),
        ("-115.0", "-500", ["[[ramp]] number 1", "inlet_pressure = -500", "-400 to 100"]),
        ('"40:00"', '"9:00"', ["[[ramp]] number 1", "`to` is before `from`"]),
        ("pump_flow = 3.9", "pump_flov = 3.9", ["[[start]] number 1", "pump_flov", "known:"]),
        ("pump_flow = 3.9", "oxygenator_resistance = 7", ["[[start]] number 1", "derived"]),
        ("haemoglobin = 78", "haemoglobin = 9.5", ["[[entry]] number 1", "haemoglobin = 9.5 g/L", "20 to 250"]),
        ("values = { haemoglobin = 78 }", "values = {}", ["[[entry]] number 1", "values"]),
        ('"take"', '"mute"', ['[[act]] number 1, key "do"', "mute", "'take'"]),
        ('reason = "at_bedside"', "minutes = 2", ["[[act]] number 1", "carries no minutes", "reason"]),
        ('reason = "at_bedside"', 'reason = "busy"', ['[[act]] number 1, key "reason"', "busy", "'at_bedside'"]),
        ('do = "take"\nreason = "at_bedside"', 'do = "order"', ["[[act]] number 1", "needs quantity, value"]),
        ('bed = "B1"\ndo', 'bed = "B7"\ndo', ['[[act]] number 1, key "bed"', "B7", "B1, B2"]),
        ('up = "7:00"', 'up = "1:00"', ["[[link]] number 1", "`up` is not after `down`"]),
        ('beds = "all"', 'beds = ["B9"]', ['[[link]] number 1, key "beds"', "B9", "B1, B2"]),
        ('title = "Slow', 'titel = "Slow', ['key "title": is missing', 'key "titel"', "known:"]),
        ("minutes = 60", "minutes = 20", ["[[entry]] number 1: begins after the end (20 min)"]),
        ("minutes = 60", "minutes = -1", ['key "minutes" = -1', "greater than 0"]),
        ('["B1", "B2"]', '["B1", "B2", "B1"]', ['key "beds"', "twice"]),
        ("seed = 9", "seed = ", ["not TOML", "line 5"]),
    ],
)  # fmt: skip
def test_that_a_fault_names_place_value_and_what_is_allowed(good: str, bad: str, words: list[str]) -> None:
    assert good in TEXT
    message = told(TEXT.replace(good, bad, 1))
    for word in words:
        assert word in message, message


def test_that_all_faults_are_told_at_once() -> None:
    message = told(TEXT.replace("-115.0", '"x"').replace('"take"', '"mute"'))
    assert "2 faults" in message
    assert "[[ramp]]" in message
    assert "[[act]]" in message


def test_that_a_fault_of_the_circuit_is_refused_at_a_scripted_bed() -> None:
    fault = '[[fault]]\nbed = "B1"\nat = "1:00"\nkind = "inlet_kink"\nseverity = 0.4\n'
    assert 'faults need feed = "circuit"' in told(TEXT + fault)
    circuit = parse_scenario('title = "c"\nminutes = 9\nbeds = ["B1"]\nfeed = "circuit"\n' + fault)
    assert circuit.fault[0].severity == 0.4


def test_that_a_circuit_bed_takes_knobs_and_faults_only() -> None:
    head = 'title = "c"\nminutes = 9\nbeds = ["B1"]\nfeed = "circuit"\n'
    knob = '[[start]]\nbed = "B1"\nsweep_gas_flow = 4.0\n'
    assert parse_scenario(head + knob).start[0].values == {Q.SWEEP_GAS_FLOW: 4.0}
    ramp = '[[ramp]]\nbed = "B1"\nquantity = "pump_flow"\nfrom = "1:00"\nvalue = 3\n'
    message = told(head + ramp + '[[start]]\nbed = "B1"\npump_flow = 3.0\n')
    assert '[[ramp]] number 1, key "bed" = "B1": its readings follow from the circuit' in message
    assert "[[start]] number 1: pump_flow follows from the circuit" in message
    assert KNOBS == ORDERABLE


def test_that_a_ramp_of_a_sensor_that_is_not_among_the_named_ones_is_refused() -> None:
    message = told('sensors = ["pump_flow"]\n' + TEXT)
    assert "not among the sensors of B1; allowed: pump_flow" in message


def test_that_an_entry_is_never_read_after_it_is_entered() -> None:
    message = told(TEXT.replace('at = "30:00"', 'at = "30:00"\nread_at = "31:00"'))
    assert "`read_at` is after `at`" in message


def test_that_every_kind_of_act_has_its_fields() -> None:
    act = {
        "order": 'quantity = "pump_speed"\nvalue = 3100',
        "care_marker": "minutes = 2",
        "transport_start": 'leader = "charge"\nback = "45:00"',
        "trial_start": 'kind = "turn_down"\nfloor_flow = 1.0\nuntil = "60:00"\nsecond = "charge"',
        "exchange": 'device = "console"',
        "limit": 'rule = "flow_low"\nvalue = 3.0\nuntil = "50:00"\nsecond = "charge"',
        "audio_pause": "minutes = 2",
        "roster": 'rung = 1\nperson = ""',
        "help": 'what = "air"',
        "take": 'reason = "at_bedside"\ntold_to = "charge"\nwhere = "going"\neta = 3',
    }
    for kind in ACT_FIELDS:
        bed = 'bed = "B1"\n' if kind != "accept" else ""
        head = f'[[act]]\nat = "5:00"\nby = "nurse-B1"\n{bed}do = "{kind}"\n'
        scenario = with_text(head + act.get(kind, "") + "\n")
        assert scenario.act[1].do == kind


def test_that_a_roster_act_on_rung_1_names_the_bed() -> None:
    message = told(TEXT + '[[act]]\nat = "5:00"\nby = "charge"\ndo = "roster"\nrung = 1\nperson = "nurse-d"\n')
    assert "names the bed" in message


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_that_a_shipped_scenario_can_be_read(path: Path) -> None:
    scenario = parse_scenario(path.read_text(encoding="utf-8"))
    assert scenario.title
    assert path.read_text(encoding="utf-8").startswith("# "), "says what must happen"


def test_that_scenarios_are_shipped() -> None:
    assert len(FILES) >= 27


ROUNDS = """
title = "Rounds"
minutes = 60
beds = ["B1", "B2"]
feed = "entered"

[[round]]
bed = "B1"
by = "nurse-B1"
read_at = "5:00"
every = "20:00"
until = "59:00"
skip = [2]
"""


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ('[[round]]\nbed = "B1"\nby = "n"\nread_at = "5:00"\nevery = "9:00"\n', "`every` and `until` go together"),
        ('[[round]]\nbed = "B1"\nby = "n"\nread_at = "5:00"\nat = "4:00"\n', "`at` is before `read_at`"),
        (
            '[[round]]\nbed = "B1"\nby = "n"\nread_at = "5:00"\nevery = "9:00"\nuntil = "50:00"\nkey = "a"\n',
            "a series has no `at` and no `key`",
        ),
        (
            '[[round]]\nbed = "B1"\nby = "n"\nread_at = "5:00"\nkind = "safety_walk"\nslip = { pump_flow = "4" }\n',
            "no number is typed on a safety walk",
        ),
        ('[[mend]]\nof = "a"\nat = "5:00"\nby = "n"\nvalues = { fdo2 = 60 }\n', "no [[round]] has this key"),
        ('[[mend]]\nof = "a"\nat = "5:00"\nby = "n"\n', "either `values`, which correct"),
        (
            '[[mend]]\nof = "a"\nat = "5:00"\nby = "n"\nsecond = "m"\nagreed = "4:00"\n',
            "nobody agrees before it is asked",
        ),
        ('[[start]]\nbed = "B1"\nfeed = "circuit"\n', 'a bed with rounds is feed = "entered"'),
        ('[[fault]]\nbed = "B2"\nat = "5:00"\nkind = "inlet_kink"\n', "faults need"),
        ('[[start]]\nbed = "B1"\npump_flow = 3.0\n', "follows from the circuit"),
        ('[[shift]]\nname = "N"\nbegins = "1:00"\nends = "9:00"\nnurses = { B9 = "n" }\n', "no such bed"),
    ],
)
def test_that_a_round_that_cannot_be_is_told(more: str, words: str) -> None:
    assert list(parse_scenario(ROUNDS).round[0].moments()) == [300, 2700]
    assert words in told(ROUNDS + more)
