"""Faults of the table of patterns: each is told with file, line, key, value and what is allowed."""

from pathlib import Path

import pytest

from monitor.core.patterns import Patterns
from monitor.settings import SettingsError, load_configuration, load_patterns, load_patterns_in
from tests.helpers.courses import CONFIG

SHIPPED = (CONFIG / "patterns.toml").read_text()
#: What stands there, what is written instead, and words that the fault must have.
SLIPS = [
    ('of = "svo2"\nmoved', 'of = "svo"\nmoved', ['of = "svo"', "did you mean", "svo2"]),
    ('of = "svo2"\nmoved = 4', 'of = "svo2"\nmoved = 2', ["still is above moved"]),
    ('of = "svo2"\nmoved = 4', 'of = "fdo2"\nmoved = 4', ['of = "fdo2"', "stands twice"]),
    ("still = 60\n", "still = -1\n", ["still = -1", "out of range", "above 0"]),
    ('id = "D"', 'id = "C"', ['id = "C"', "stands twice"]),
    ('id = "D"', 'id = "dee"', ['id = "dee"', "not written as it must be"]),
    ('is = ["frozen", "lost"]', 'is = ["frozn"]', ["is", "did you mean frozen?"]),
    ('is = ["frozen", "lost"]', 'is = ["up"]', ["console can never be that", "frozen"]),
    ('is = ["alone"]', 'is = ["moves"]', ["one_pressure can never be that"]),
    ('of = "d_dimer"\nis = ["up"]', 'of = "d_dimer"\nis = ["sudden"]', ["d_dimer can never be that"]),
    ('before = "pump_flow"\nrole = "for"\nwords = "Drain P', 'role = "for"\nwords = "Drain P', ["give before"]),
    ("than = 10\n", "", ["below and above need a value", "give than"]),
    ('alternatives = ["G", "D", "A"]', 'alternatives = ["G", "Z"]', ['alternatives, item 2 = "Z"', "no such"]),
    ('alternatives = ["G", "D", "A"]', 'alternatives = ["H"]', ["no alternative to itself"]),
    ('alternatives = ["C", "D", "H"]', 'alternatives = ["C"]', ["RA-PA", "always names an alternative"]),
    ('alternatives = ["G", "D", "A"]', "alternatives = []", ["too few"]),
    ('supports = ["VV"]', 'supports = ["VW"]', ["VV, LA-Ao"]),
    ('of = "pump_speed"\nmoved = 90', 'of = "heart_rate"\nmoved = 90', ["no [[move]] says"]),
    ('of = "pump_flow"\nis = ["unsteady"]', 'of = "heart_rate"\nis = ["unsteady"]', ["no [[move]] says"]),
    ("stopped = 500 ", "# stopped = 500 ", ["does not say what counts as stopped"]),
    ("every_s = 10", "every_s = 1", ["every_s = 1", "10 to 120"]),
    ("every_s = 10", "every = 10", ["did you mean every_s?"]),
    ('words = "Speed down"', 'words = ""', ["words", "1 to 80 characters"]),
    ('words = "Speed down"', 'words = "{name} down"', ["words", "{name}", "{label}, nothing else"]),
    ('words = "Speed down"', 'words = "Speed } down"', ["words", "braces"]),
    ('words = "Head below the pump\'s curve"', 'words = "{label} low"', ["a feature has no label"]),
]


def faults_of(text: str) -> list[str]:
    with pytest.raises(SettingsError) as caught:
        load_patterns(text, "patterns.toml")
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("stands", "slip", "words"), SLIPS, ids=[f"{n}-{slip[1][:24]!r}" for n, slip in enumerate(SLIPS)]
)
def test_that_a_slip_is_told_at_its_line(stands: str, slip: str, words: list[str]) -> None:
    assert stands in SHIPPED
    told = faults_of(SHIPPED.replace(stands, slip, 1))
    assert all(fault.startswith("patterns.toml:") for fault in told)
    assert any(all(word in fault for word in words) for fault in told), told


def test_that_a_pattern_that_requires_nothing_is_a_fault() -> None:
    begin, end = SHIPPED.index('id = "M"'), SHIPPED.index("# --- N")
    part = SHIPPED[begin:end].replace('role = "required"', 'role = "for"')
    assert any("nothing is required" in fault for fault in faults_of(SHIPPED[:begin] + part + SHIPPED[end:]))


def test_that_what_belongs_to_a_required_sign_is_nowhere_else() -> None:
    text = SHIPPED.replace('one_of = "stands"\nwords = "Speed down"', 'one_of = "stands"\nwords = "Speed"', 1)
    text = text.replace(
        'role = "required"\none_of = "stands"\nwords = "Speed"', 'role = "for"\none_of = "stands"\nwords = "Speed"'
    )
    assert any("belongs to a required sign" in fault for fault in faults_of(text))


def test_that_every_fault_of_the_file_is_told_at_once() -> None:
    text = (
        SHIPPED.replace('id = "D"', 'id = "C"', 1)
        .replace("than = 10\n", "", 1)
        .replace("every_s = 10", "every = 9", 1)
    )
    assert len(faults_of(text)) >= 3


def test_that_a_folder_without_the_file_gives_no_hints(tmp_path: Path) -> None:
    assert load_patterns_in(tmp_path) == Patterns()


def test_that_the_shipped_table_is_part_of_the_configuration() -> None:
    assert load_configuration(CONFIG).patterns == load_patterns(SHIPPED, "patterns.toml")
