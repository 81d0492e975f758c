"""The table of patterns held to itself: a row's own signs name it, and none of its required signs may be missing.

The rows are those of the shipped table; what they say is held against the circuit and the courses elsewhere.
"""

from collections.abc import Mapping
from itertools import chain

import pytest

from monitor.analysis.patterns import Asked, Left, Ranking, Role, Row, Seen, rank
from monitor.core.patterns import Is, Pattern, Sign
from shared.support import WITH_OXYGENATOR, Support, describe_run
from tests.helpers.courses import shipped

TABLE = shipped().patterns
ROWS = {row.id: row for row in TABLE.pattern}
#: What is seen where nothing happens.
QUIET = frozenset({Is.UNCHANGED, Is.MOVES})
#: What a stopped or reversed quantity also is, and what goes with a change of its own.
IMPLIED = {Is.STOPPED: {Is.DOWN}, Is.REVERSED: {Is.DOWN}, Is.LOST: set[Is](), Is.ROSE: set[Is]()}
HOW = frozenset({Is.SUDDEN, Is.GRADUAL, Is.LEADS, Is.UNSTEADY, Is.ROSE, Is.BELOW, Is.ABOVE})

Picture = dict[str, set[Is]]


def picture_of(row: Pattern) -> Picture:
    """What is seen when a row's signs are there: its first words, of signs that contradict each other the first."""
    seen: Picture = {}
    for role in (Role.REQUIRED, Role.FOR):
        for sign in (sign for sign in row.sign if sign.role is role):
            found = seen.setdefault(sign.of.value, set())
            if found.isdisjoint(sign.is_) and (found <= HOW or sign.is_[0] in HOW or sign.is_[0] in (Is.REVERSED,)):
                found |= {sign.is_[0], *IMPLIED.get(sign.is_[0], set())}
    return seen


def seen_of(sign: Sign, picture: Mapping[str, set[Is]]) -> Seen:
    there = picture.get(sign.of.value, QUIET)
    return Seen.ABSENT if there.isdisjoint(sign.is_) else Seen.PRESENT


def ranking(picture: Picture, changes: Mapping[tuple[str, int], Seen] | None = None) -> Ranking:
    """Rank the whole table on a picture; ``changes``: letter and place of signs that were seen otherwise."""
    moved = {
        of for of, words in picture.items() if not words <= {*QUIET, Is.UNSTEADY, Is.GRADUAL, Is.SUDDEN, Is.LEADS}
    }
    explain = {move.of.value for move in TABLE.move if move.explain}
    rows = [
        Row(
            row.id,
            tuple(_asked(row.id, place, sign, picture, changes or {}) for place, sign in enumerate(row.sign)),
        )
        for row in TABLE.pattern
    ]
    return rank(rows, frozenset(moved & explain))


def _asked(letter: str, place: int, sign: Sign, picture: Picture, changes: Mapping[tuple[str, int], Seen]) -> Asked:
    seen = changes.get((letter, place), seen_of(sign, picture))
    return Asked(sign.role, seen, sign.of.value, sign.one_of, sign.if_fitted)


def letters(found: Ranking) -> list[str]:
    return [fit.id for fit in found.fits]


@pytest.mark.parametrize("letter", ROWS)
def test_that_the_signs_of_a_row_bring_it_to_the_front(letter: str) -> None:
    assert letters(ranking(picture_of(ROWS[letter])))[0] == letter


def demands(row: Pattern) -> list[list[int]]:
    """Places of required signs, those that stand for one another together."""
    groups: dict[str, list[int]] = {}
    for place, sign in enumerate(row.sign):
        if sign.role is Role.REQUIRED:
            groups.setdefault(sign.one_of or str(place), []).append(place)
    return list(groups.values())


REQUIRED = [(letter, tuple(group)) for letter, row in ROWS.items() for group in demands(row)]


@pytest.mark.parametrize(("letter", "places"), REQUIRED)
def test_that_without_a_required_sign_a_row_is_not_named(letter: str, places: tuple[int, ...]) -> None:
    gone = {(letter, place): Seen.ABSENT for place in places}
    found = ranking(picture_of(ROWS[letter]), gone)
    assert letter not in letters(found)
    assert letter not in [left.id for left in found.left]


@pytest.mark.parametrize(("letter", "places"), REQUIRED)
def test_that_a_required_sign_that_is_not_fresh_leaves_its_row_out(letter: str, places: tuple[int, ...]) -> None:
    stale = {(letter, place): Seen.UNKNOWN for place in places}
    found = ranking(picture_of(ROWS[letter]), stale)
    assert letter not in letters(found)
    assert Left(letter, places, fitted=True) in found.left


@pytest.mark.parametrize(("letter", "places"), REQUIRED)
def test_that_a_row_whose_sensor_is_not_fitted_is_said_to_be_left_out(letter: str, places: tuple[int, ...]) -> None:
    unfitted = {(letter, place): Seen.NOT_FITTED for place in places}
    found = ranking(picture_of(ROWS[letter]), unfitted)
    if all(ROWS[letter].sign[place].if_fitted for place in places):
        assert letter in letters(found)
    else:
        assert letter not in letters(found)
        assert Left(letter, places, fitted=False) in found.left


@pytest.mark.parametrize("letter", ROWS)
def test_that_signs_against_a_row_put_it_no_further_to_the_front(letter: str) -> None:
    row = ROWS[letter]
    against = {(letter, p): Seen.PRESENT for p, sign in enumerate(row.sign) if sign.role is Role.AGAINST}
    picture = picture_of(row)
    usual, worse = letters(ranking(picture)), letters(ranking(picture, against))
    assert sorted(usual) == sorted(worse)
    assert worse.index(letter) >= usual.index(letter)


def test_that_nothing_is_named_where_nothing_has_changed() -> None:
    assert letters(ranking({})) == []


@pytest.mark.parametrize("support", Support)
def test_that_wherever_a_row_can_be_an_alternative_can_be(support: Support) -> None:
    here = {row.id: row for row in TABLE.here(support, support in WITH_OXYGENATOR)}
    for row in here.values():
        assert set(row.alternatives) & set(here), row.id


def test_that_rows_stand_only_where_their_parts_are() -> None:
    # D, K, L and M only with an oxygenator; K only femoral VA; M only VV: common practice, no source.
    bare = {row.id for row in TABLE.here(Support.LA_AO, oxygenator=False)}
    assert bare & set("DKLM") == set()
    assert {row.id for row in TABLE.here(Support.VV, oxygenator=True)} & set("KM") == {"M"}
    assert {row.id for row in TABLE.here(Support.VA, oxygenator=True)} & set("KM") == {"K"}


#: Columns of the rows, from outside of the table: drainage Zakhary 2020, Crit Care 10.1186/s13054-020-02870-1;
#: pressures beside flow and MAP: Perfusion 2003, 10.1191/0267659103pf679oa; oxygenator and pump head: Lubnow 2014,
#: PLoS One 9:e112316, table 6; the rest hydraulics and common practice, no source. "-" down, "+" up, "=" unchanged,
#: "~" unsteady, "0" none or backwards, "?" anything; drain pressure "-": more negative.
COLUMNS = ("pump_flow", "inlet_pressure", "pre_oxygenator_pressure", "post_oxygenator_pressure",
           "oxygenator_resistance", "mean_arterial_pressure")  # fmt: skip
SIGNATURES = {
    "A": ("-~", "-", "-", "-", "=", "=-"),
    "B": ("-", "+", "+", "+", "=", "=-"),
    # a small rise moves flow and drain pressure by less than what counts: MAP 72 to 95 takes 5 % of the flow (loop)
    "C": ("-=", "+=", "+", "+", "=", "+"),
    "D": ("-=", "+", "+", "=-", "+", "="),
    "E": ("-", "+", "-", "-", "=", "-"),
    "F": ("0", "+", "-", "-", "?", "-"),
    "G": ("0-+", "=", "=", "=", "?", "="),
    "H": ("=", "?", "?", "?", "?", "="),
    "I": ("=+", "=-", "=-", "-", "=", "-"),
    "J": ("=", "=", "=", "=", "=", "=-"),
    "K": ("=", "=", "=", "=", "=", "="),
    "L": ("=", "=", "=", "=", "=", "="),
    "M": ("=", "=", "=", "=", "=", "="),
    "O": ("?", "-", "-", "-", "=", "-"),
    "P": ("0-~", "+", "-", "-", "?", "-"),
}
_MEANT = {"-": {Is.DOWN}, "+": {Is.UP}, "=": {Is.UNCHANGED}, "~": {Is.UNSTEADY}, "0": {Is.STOPPED, Is.REVERSED},
          "?": set(Is)}  # fmt: skip


@pytest.mark.parametrize("letter", SIGNATURES)
def test_that_a_row_says_what_its_sources_say_of_flow_and_pressures(letter: str) -> None:
    ways = {Is.UP, Is.DOWN, Is.UNCHANGED, Is.UNSTEADY, Is.STOPPED, Is.REVERSED}
    for of, column in zip(COLUMNS, SIGNATURES[letter], strict=True):
        meant = set().union(*(_MEANT[one] for one in column))
        about = [sign for sign in ROWS[letter].sign if sign.of.value == of and ways & set(sign.is_)]
        speak = [set(sign.is_) & ways for sign in about if sign.role is not Role.AGAINST]
        assert all(said <= meant for said in speak), f"{of}: {speak}, not {column}"
        assert speak or Is.UNCHANGED in meant, f"{of}: nothing asks for {column}"
        against = [set(sign.is_) & ways for sign in about if sign.role is Role.AGAINST]
        assert column == "?" or all(not said & meant for said in against), (
            f"{of}: {against} speaks against {column}"
        )


FORBIDDEN = (
    "give ", "start ", "increase", "decrease", "reduce", "raise the", "lower the", "turn up", "turn down",
    "stop the", "fluid", "bolus", "transfus", "vasopressor", "noradrenaline", "heparin", "rpm to", "set the",
)  # fmt: skip


@pytest.mark.parametrize("letter", ROWS)
def test_that_a_row_asks_for_a_look_and_never_for_a_treatment(letter: str) -> None:
    row = ROWS[letter]
    said = " ".join([row.apart, row.apart_oxygenator, *(sign.words for sign in row.sign)]).lower()
    assert not [word for word in FORBIDDEN if word in said]


@pytest.mark.parametrize(("support", "label"), [(Support.VA, "Post-oxy P"), (Support.LA_AO, "Outlet P")])
def test_that_a_sign_calls_a_pressure_what_its_run_calls_it(support: Support, label: str) -> None:
    """The words of the screens, vocabulary of the project: no oxygenator is named where there is none."""
    run = describe_run(support, "B1-run")
    about = [sign for row in TABLE.pattern for sign in row.sign if sign.of == "post_oxygenator_pressure"]
    changed = [sign for sign in about if {Is.UP, Is.DOWN, Is.UNCHANGED} & set(sign.is_)]
    assert len(changed) > 10
    for sign in changed:
        assert sign.said(run).startswith(f"{label} "), sign.words


def test_that_no_word_for_a_bed_without_an_oxygenator_names_one() -> None:
    run = describe_run(Support.LA_AO, "B1-run")
    for row in TABLE.here(Support.LA_AO, oxygenator=False):
        fitted = [
            sign for sign in row.sign if "oxygenator" not in sign.of.value or sign.of == "post_oxygenator_pressure"
        ]
        said = " ".join([row.title, row.apart, *(sign.said(run) for sign in fitted)]).lower()
        for word in ("oxygen", "oxy ", "sweep", "svo"):
            assert word not in said, (row.id, word)


def test_that_every_row_says_where_it_comes_from() -> None:
    assert all(row.source and row.mark for row in TABLE.pattern)
    assert list(ROWS) == list("ABCDEFGHIJKLMNOPQ")


def test_that_no_move_lies_within_the_noise_of_its_reading() -> None:
    # Noise of the simulated beds: SD 0.05 of flow, 3 of the pressures, 2 of MAP. A median of n readings has
    # 1.2533 / sqrt(n) of the deviation (normal noise, textbook); "unchanged" must leave it three of these.
    noise = {
        "pump_flow": 0.05, "inlet_pressure": 3.0, "pre_oxygenator_pressure": 3.0, "post_oxygenator_pressure": 3.0,
        "oxygenator_pressure_drop": 4.24, "mean_arterial_pressure": 2.0,
    }  # fmt: skip
    for move in (move for move in TABLE.move if move.of.value in noise):
        deviation = noise[move.of.value] * 1.2533 / move.median_s**0.5
        assert move.moved > move.still >= 3 * deviation, move.of


def test_that_the_generated_tests_see_every_word_of_the_table() -> None:
    used = set(chain.from_iterable(sign.is_ for row in TABLE.pattern for sign in row.sign))
    assert used == set(Is)
