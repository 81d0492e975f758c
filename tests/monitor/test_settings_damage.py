"""The shipped files, damaged at random: a fault at file and line, or a configuration; never a traceback."""

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.settings import SettingsError, load_ladder, load_limits, load_unit
from shared.written.lines import lines_of

CONFIG = Path(__file__).parents[2] / "config"
LOADERS: dict[str, Callable[[str, str], object]] = {
    "limits.toml": load_limits,
    "ladder.toml": load_ladder,
    "unit.toml": lambda text, name: load_unit(text, name, ["broad", "small"]),
}
TEXTS = {name: (CONFIG / name).read_text() for name in LOADERS}
#: Lines of the form ``key = value``, by file, from 0.
PAIRS = {
    name: sorted(
        {line - 1 for path, line in lines_of(text).items() if isinstance(path[-1], str)}
        & {n for n, row in enumerate(text.splitlines()) if "=" in row and not row.lstrip().startswith(("[", "#"))}
    )
    for name, text in TEXTS.items()
}
PLACES = st.sampled_from(sorted(TEXTS)).flatmap(lambda name: st.tuples(st.just(name), st.sampled_from(PAIRS[name])))
MANY = settings(max_examples=120, deadline=None)


def damaged(name: str, number: int, change: Callable[[str], str]) -> str:
    rows = TEXTS[name].splitlines()
    rows[number] = change(rows[number])
    return "\n".join(rows) + "\n"


def error_of(name: str, text: str) -> SettingsError | None:
    try:
        LOADERS[name](text, name)
    except SettingsError as error:
        return error
    return None


def faults_of(name: str, text: str) -> SettingsError | None:
    """Load a text; whatever is wrong with it must have a place and words."""
    error = error_of(name, text)
    if error is not None:
        assert error.faults
        for fault in error.faults:
            assert str(fault).startswith(f"{name}:{fault.line}: ")
            assert 1 <= fault.line <= text.count("\n") + 1
            assert fault.wrong
    return error


@MANY
@given(PLACES)
def test_that_a_misspelt_key_is_always_told_at_its_line(place: tuple[str, int]) -> None:
    name, number = place
    error = faults_of(name, damaged(name, number, lambda row: row.replace(row.split("=")[0].strip(), "zzz", 1)))
    assert error is not None
    told = [fault for fault in error.faults if "zzz" in str(fault)]
    assert told, str(error)
    # without its kind a rule cannot be read at all: then the line is that of the rule
    assert all(fault.line == number + 1 or fault.path[-1] == "kind" for fault in told), str(error)


@MANY
@given(PLACES, st.sampled_from(["[{}]", "[[[]]]", "1979-05-27", "inf", "nan", '{ a = "b" }', "-1e308"]))
def test_that_a_value_of_another_type_is_told_at_its_line_or_is_allowed(place: tuple[str, int], value: str) -> None:
    name, number = place
    text = damaged(name, number, lambda row: f"{row.split('=')[0]}= {value}")
    error = faults_of(name, text)
    if value in ("[{}]", "[[[]]]"):
        assert error is not None
    if error is not None and value in ("inf", "nan"):
        assert any(fault.line == number + 1 for fault in error.faults), str(error)


@MANY
@given(PLACES)
def test_that_a_key_that_must_be_given_is_missed_in_its_own_table(place: tuple[str, int]) -> None:
    name, number = place
    key = TEXTS[name].splitlines()[number].split("=")[0].strip()
    error = faults_of(name, damaged(name, number, lambda row: ""))
    for fault in error.faults if error else ():
        assert fault.line <= number + 1 or fault.path[-1:] != (key,), str(error)


@MANY
@given(st.sampled_from(sorted(TEXTS)), st.data())
def test_that_any_change_of_characters_gives_a_fault_or_a_configuration(name: str, data: st.DataObject) -> None:
    text = TEXTS[name]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        length = data.draw(st.integers(0, 12))
        put = data.draw(st.text(alphabet="[]{}=\",.#\n\\'a9_- \t", max_size=6))
        text = text[:at] + put + text[at + length :]
    faults_of(name, text)


@pytest.mark.parametrize("name", sorted(TEXTS))
@pytest.mark.parametrize("written", ["3", '"word"', "true", "[]", "{}", "[3]", "[[]]", "{ a = [] }"])
def test_that_a_value_of_any_shape_at_the_top_gives_a_fault(name: str, written: str) -> None:
    for key in tomllib.loads(TEXTS[name]):
        assert faults_of(name, f"{key} = {written}\n") is not None
