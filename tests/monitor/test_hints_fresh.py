"""Hints and what is not fresh: no sign from a stale, doubtful or estimated reading; the same after a restart."""

from collections.abc import Callable, Iterable, Mapping

import pytest

from monitor.analysis.patterns import Role
from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Observed, TimePassed
from monitor.core.meaning.hint_view import HintView
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.rehearsal.stage import stage_of
from shared.instant import SECOND
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from tests.helpers.courses import shipped
from tests.helpers.one_bed import USUAL

STAGE = stage_of(
    parse_scenario('title = "Fresh"\nminutes = 60\nbeds = ["B1"]'),
    shipped().limits,
    shipped().ladder,
    patterns=shipped().patterns,
)
ALL = {**USUAL, Q.MOTOR_CURRENT: 0.8, Q.PULSE_PRESSURE: 25.0, Q.SPO2_RIGHT_HAND: 97.0, Q.SPO2_FOOT: 97.0,
       Q.SVO2: 70.0, Q.CENTRAL_VENOUS_PRESSURE: 8.0, Q.SWEEP_GAS_FLOW: 3.0, Q.FDO2: 80.0}  # fmt: skip
#: What is read while something is wrong; the letter that comes first then.
PICTURES: dict[str, dict[Q, float]] = {
    "A": {Q.PUMP_FLOW: 2.9, Q.INLET_PRESSURE: -130.0, Q.PRE_OXYGENATOR_PRESSURE: 160.0,
          Q.POST_OXYGENATOR_PRESSURE: 139.3, Q.MEAN_ARTERIAL_PRESSURE: 62.0},
    "B": {Q.PUMP_FLOW: 2.2, Q.INLET_PRESSURE: -14.0, Q.PRE_OXYGENATOR_PRESSURE: 305.0,
          Q.POST_OXYGENATOR_PRESSURE: 289.3},
    "E": {Q.PUMP_FLOW: 2.8, Q.INLET_PRESSURE: -25.0, Q.PRE_OXYGENATOR_PRESSURE: 145.0,
          Q.POST_OXYGENATOR_PRESSURE: 125.0, Q.MOTOR_CURRENT: 1.8},
    "F": {Q.PUMP_SPEED: 0.0, Q.PUMP_FLOW: -1.2, Q.INLET_PRESSURE: 15.0, Q.PRE_OXYGENATOR_PRESSURE: 24.0,
          Q.POST_OXYGENATOR_PRESSURE: 32.0},
    "G": {Q.PUMP_FLOW: 0.0},
    "L": {Q.SPO2_RIGHT_HAND: 80.0},
}  # fmt: skip


class Bedside:
    """One bed, read once a second: a quiet first part, then a picture."""

    def __init__(self, picture: Mapping[Q, float], quiet: int = 700) -> None:
        self.engine, self.now, self.numbered = Engine(STAGE, BEGIN), BEGIN, Numbered()
        self.entries: list[Entry] = []
        self.engine.start(BEGIN)
        self.picture = {**ALL, **picture}
        self.read(quiet, ALL)

    def read(
        self,
        seconds: int,
        values: Mapping[Q, float] | None = None,
        doubtful: Iterable[Q] = (),
        estimated: Iterable[Q] = (),
    ) -> None:
        for _ in range(seconds):
            self.now += SECOND
            shown = self.numbered.live("B1", 1, self.now, values or self.picture, frozenset(estimated))
            shown = shown.model_copy(update={"doubtful": frozenset(doubtful)})
            self.keep(self.engine.handle(Observed(shown), self.now))

    def wait(self, seconds: int) -> None:
        self.now += seconds * SECOND
        self.keep(self.engine.handle(TimePassed(), self.now))

    def keep(self, effects: list[Effect]) -> None:
        self.entries += [effect.entry for effect in effects if isinstance(effect, Persist)]

    def hints(self) -> tuple[HintView, ...]:
        meaning = self.engine.meaning("B1", 1, None, self.now)
        assert meaning is not None
        return meaning.hints

    def written(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.kind is EntryKind.HINT]


def letters(hints: Iterable[HintView]) -> list[str]:
    return [hint.id for hint in hints]


@pytest.mark.parametrize("letter", PICTURES)
def test_that_a_picture_is_named_on_the_page_and_in_the_log(letter: str) -> None:
    bed = Bedside(PICTURES[letter])
    bed.read(100)
    assert letters(bed.hints())[:1] == [letter]
    assert [entry.hint for entry in bed.written()][-1] == letter


def required(letter: str) -> list[Q]:
    """Quantities without which a row is not named; what stands for another one is not among them."""
    row = next(row for row in STAGE.patterns.pattern if row.id == letter)
    signs = (sign for sign in row.sign if sign.role is Role.REQUIRED and not sign.one_of)
    return list(dict.fromkeys(sign.of for sign in signs if isinstance(sign.of, Q)))


def parts_of(quantity: Q) -> list[Q]:
    """What must be read for a quantity; of a derived one, each of its parts."""
    both = [Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE]
    return {Q.OXYGENATOR_PRESSURE_DROP: both, Q.OXYGENATOR_RESISTANCE: both}.get(quantity, [quantity])


#: A flow that is read no more is what G is about.
STALE = [(x, q, p) for x in PICTURES for q in required(x) for p in parts_of(q) if (x, p) != ("G", Q.PUMP_FLOW)]
WAYS: dict[str, Callable[[Bedside, Q], None]] = {
    "missing": lambda bed, part: bed.read(30, {q: v for q, v in bed.picture.items() if q is not part}),
    "doubtful": lambda bed, part: bed.read(30, doubtful=[part]),
}


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(("letter", "quantity", "part"), STALE, ids=lambda value: str(value))
def test_that_a_required_reading_that_is_not_fresh_takes_its_pattern_away(
    letter: str, quantity: Q, part: Q, way: str
) -> None:
    bed = Bedside(PICTURES[letter])
    bed.read(100)
    before = len(bed.written())
    WAYS[way](bed, part)
    assert letter not in letters(bed.hints())
    assert letter not in [entry.hint for entry in bed.written()[before:]]


@pytest.mark.parametrize("letter", PICTURES)
def test_that_no_pattern_is_shown_or_written_without_readings(letter: str) -> None:
    bed = Bedside(PICTURES[letter])
    bed.read(100)
    before = len(bed.written())
    for _ in range(30):
        bed.wait(10)
        if bed.now - BEGIN > 831 * SECOND:  # the last reading is shown with its age from 30 s on
            assert bed.hints() == ()
    assert bed.written()[before:] == []


def test_that_an_estimated_flow_is_no_flow_but_a_flow_signal_that_is_lost() -> None:
    bed = Bedside({Q.PUMP_FLOW: 2.9, Q.SPO2_RIGHT_HAND: 80.0})
    bed.read(100, estimated=[Q.PUMP_FLOW])
    assert "G" in letters(bed.hints())
    assert not {"A", "B", "E", "L"} & set(letters(bed.hints()))


def test_that_a_restart_goes_on_with_the_same_hints() -> None:
    straight, broken = Bedside(PICTURES["B"]), Bedside(PICTURES["B"])
    straight.read(25)
    broken.read(25)
    broken.engine = Engine.restore(STAGE, broken.engine.checkpoint())
    for bed in (straight, broken):
        bed.read(60, {**ALL, **PICTURES["E"]})
    assert [entry.model_dump() for entry in broken.written()] == [
        entry.model_dump() for entry in straight.written()
    ]
    assert broken.hints() == straight.hints()
    assert len(straight.written()) >= 2


def test_that_another_pattern_must_hold_before_it_is_written() -> None:
    bed = Bedside(PICTURES["B"])
    bed.read(60)
    for _ in range(6):  # it comes and goes faster than it has to hold
        bed.read(9, {**ALL, **PICTURES["E"]})
        bed.read(9)
    assert [entry.hint for entry in bed.written()] == ["B"] * len(bed.written())


def test_that_what_is_over_is_forgotten() -> None:
    bed = Bedside(PICTURES["B"])
    bed.read(60)
    bed.read(200, ALL)
    assert bed.hints() == ()
    bed.read(60, {**ALL, **PICTURES["B"]})
    assert [entry.hint for entry in bed.written()][-1] == "B"
    since = [hint.since for hint in bed.hints() if hint.id == "B"]
    assert since
    assert since[0] is not None
    assert bed.now - since[0] <= 61 * SECOND


def test_that_nothing_is_derived_from_a_doubtful_reading() -> None:
    bed = Bedside({Q.PRE_OXYGENATOR_PRESSURE: 500.0}, quiet=700)
    bed.read(1500, doubtful=[Q.PRE_OXYGENATOR_PRESSURE])
    assert "resistance_up" not in [entry.rule for entry in bed.entries]
    bed.read(1500)
    assert "resistance_up" in [entry.rule for entry in bed.entries]
