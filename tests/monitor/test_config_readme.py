"""The README of the configuration is the one that the models make, and says everything that it must."""

import re
from pathlib import Path

from monitor.settings.manual import keys_without_meaning, manual
from shared.quantities import CATALOGUE

README = Path(__file__).parents[2] / "config" / "README.md"


def test_that_the_committed_readme_is_the_generated_one() -> None:
    made = manual()
    assert README.read_text(encoding="utf-8") == made, (
        "the models have changed: python -m monitor.settings.manual > config/README.md"
    )


def test_that_every_key_has_a_meaning_and_every_meaning_a_key() -> None:
    assert list(keys_without_meaning()) == []


def test_that_bounds_and_defaults_are_those_of_the_models() -> None:
    text = manual()
    assert "| `delay_s` | a number 0 to 86400 | 0 | seconds from the first reading beyond until the alert |" in text
    assert "| `window_s` | a number 0 to 600 | 10 | seconds of the running median; 0: each reading |" in text
    assert "| `high_s` | a number above 0 | 180 |" in text
    assert "| `slot` | a whole number 1 to 2 | 1 |" in text
    assert '| `at` | a time "m:ss" | must be given |' in text


def test_that_it_explains_the_marks_and_that_nothing_is_advice() -> None:
    text = manual()
    assert "**Limits and timers here are settings, not advice.**" in text
    for mark in ("M", "CP", "TD", "unit"):
        assert re.search(rf"^\| `{mark}` \| ", text, re.MULTILINE), mark


def test_that_it_lists_every_quantity_with_its_range() -> None:
    text = manual()
    for quantity, spec in CATALOGUE.items():
        assert f"| `{quantity.value}` | {spec.label} | {spec.unit} | {spec.low:g} to {spec.high:g} |" in text


def test_that_tables_are_tables_in_every_row() -> None:
    for block in re.findall(r"(?:^\|.*\n)+", manual(), re.MULTILINE):
        widths = {len(re.split(r"(?<!\\)\|", row)) for row in block.splitlines()}
        assert len(widths) == 1, block.splitlines()[0]
