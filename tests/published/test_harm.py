"""Which priority a harm and its onset ask for: table 1 of IEC 60601-1-8:2006 + A1:2012 + A2:2020, from memory.

The standard's text was not readable; **no conformance is claimed**. The signals that go with a priority are held in
`test_alarm_signals.py`.
"""

from itertools import pairwise, product
from pathlib import Path

from monitor.core.grades import RANK, Priority
from monitor.core.harm import PRIORITIES, Harm, Onset
from monitor.settings import load_limits_and_ladder

CONFIG = Path(__file__).parents[2] / "config"
TABLE_1 = """
                                immediate   prompt   delayed
death or irreversible injury    high        high     medium
reversible injury               high        medium   low
minor injury or discomfort      medium      low      low|-
"""


def test_that_harm_and_onset_give_the_nine_priorities_of_table_1() -> None:
    rows = [line.rsplit(maxsplit=3) for line in TABLE_1.strip("\n").splitlines()[1:]]
    wanted = {
        (Harm(name.strip()), onset): {None if word == "-" else Priority(word) for word in cell.split("|")}
        for name, *cells in rows
        for onset, cell in zip((Onset.IMMEDIATE, Onset.PROMPT, Onset.DELAYED), cells, strict=True)
    }
    assert wanted.keys() == set(product(Harm, Onset))
    assert {cell: set(allowed) for cell, allowed in PRIORITIES.items()} == wanted


D, R, M = Harm.DEATH, Harm.REVERSIBLE, Harm.MINOR
NOW_, SOON, LATER = Onset.IMMEDIATE, Onset.PROMPT, Onset.DELAYED
#: What may follow from each shipped rule if nobody responds, and how soon. Chosen here to state why a rule has its
#: grade; no clinician has reviewed it. "Delayed" for a death: hours, while the rules beside it watch the fall.
STATED: dict[str, tuple[Harm, Onset]] = {
    "flow_low": (D, LATER), "flow_very_low": (D, SOON), "flow_floor": (D, SOON), "flow_none": (D, NOW_),
    "flow_unsteady": (R, SOON), "inlet_warn": (R, LATER), "inlet_low": (R, SOON), "inlet_very_low": (R, NOW_),
    "return_high": (R, SOON), "return_very_high": (D, SOON), "return_rise": (R, SOON), "return_open": (D, NOW_),
    "resistance_up": (R, LATER), "resistance_far_up": (D, LATER), "map_above": (R, LATER), "map_high": (R, SOON),
    "map_low": (D, LATER), "map_very_low": (D, SOON), "spo2_low": (D, LATER), "spo2_very_low": (D, SOON),
    "svo2_low": (D, LATER), "pulse_pressure_low": (D, LATER), "pa_high": (D, LATER), "pa_mean_high": (D, LATER),
    "left_right": (D, LATER), "sweep_low": (D, LATER), "sweep_lost": (D, SOON), "temperature": (R, LATER),
    "temperature_far": (R, SOON), "pump_stopped": (D, NOW_), "help": (D, NOW_), "speed_unordered": (R, LATER),
    "yield_low": (R, LATER), "high_current": (D, LATER), "console_hot": (D, SOON), "packs_out": (D, SOON),
    "self_test": (R, LATER), "on_battery": (R, LATER), "on_battery_long": (D, LATER), "battery_short": (D, LATER),
    "battery_critical": (D, SOON), "gas_short": (D, LATER), "gas_critical": (D, SOON), "one_pressure": (M, SOON),
    "no_feed": (D, LATER), "board_blind": (D, LATER), "frozen": (D, LATER), "reading_overdue": (R, LATER),
    "reading_long_overdue": (R, SOON), "trial_floor": (D, SOON), "trial_flow_outside": (D, SOON),
    "uncovered": (D, LATER), "transport_late": (D, LATER), "return_check_due": (R, LATER),
}  # fmt: skip


def test_that_every_shipped_rule_has_the_priority_of_its_stated_harm_and_onset() -> None:
    limits, _ = load_limits_and_ladder(CONFIG)
    assert {rule.id for rule in limits.rules} == STATED.keys()
    wrong = {rule.id: rule.priority for rule in limits.rules if rule.priority not in PRIORITIES[STATED[rule.id]]}
    assert wrong == {}


def gravest(harm: Harm, onset: Onset) -> int:
    return min(RANK[one] for one in PRIORITIES[harm, onset] if one is not None)


def test_that_a_worse_harm_or_a_sooner_one_never_asks_for_less() -> None:
    for onset in Onset:
        assert all(gravest(worse, onset) <= gravest(less, onset) for worse, less in pairwise(Harm))
    for harm in Harm:
        assert all(gravest(harm, sooner) <= gravest(harm, later) for sooner, later in pairwise(Onset))
