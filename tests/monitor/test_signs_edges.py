"""Signs at their edges: a value right at what the table names, a bed that is read seldom, what cannot be told.

The tables are this test's own; the numbers are those of `monitor.core.patterns` (our defaults, no source).
"""

import json
from typing import Any

import pytest

from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Declared
from monitor.core.meaning.hint_view import HintView
from monitor.core.patterns import Patterns
from monitor.rehearsal.sources import Numbered
from shared.instant import SECOND
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity as Q
from tests.helpers.courses import shipped
from tests.helpers.meaning import NUMBERS, Watched

MOVES = [
    {"of": "pump_flow", "moved": 0.2, "still": 0.1},
    {"of": "svo2", "moved": 4, "still": 2},
    {"of": "mean_arterial_pressure", "moved": 6, "still": 3},
    {"of": "speed_yield", "moved": 0.1, "still": 0.05},
]


def table(*signs: dict[str, Any], moves: list[dict[str, Any]] | None = None) -> Patterns:
    """A table with one pattern of these signs."""
    said = [{"role": "required", "words": f"sign {place}", **sign} for place, sign in enumerate(signs)]
    row = {
        "id": "A",
        "title": "Tried",
        "sign": said,
        "alternatives": ["A"],
        "apart": "x",
        "mark": "TD",
        "source": "x",
    }
    return Patterns.model_validate({"move": MOVES if moves is None else moves, "pattern": [row]}, strict=False)


class Beside(Watched):
    """A bed with a table of patterns, read as often as its feed declares."""

    def __init__(self, patterns: Patterns, interval: int = 1, start: str = "") -> None:
        super().__init__(start=start)
        self.configuration = self.configuration.model_copy(update={"patterns": patterns})
        self.restart()
        self._live, self._step = Numbered(), interval
        run = self.configuration.unit.beds[0].runs[0].description
        said = BedDeclared(bed="B1", interval=float(interval), origin=Origin.SIMULATED, runs=(run,))
        self._keep(self.engine.handle(Declared("feed", (said,)), self.now))

    def live(self, seconds: int, change: dict[Q, float] | None = None, without: frozenset[Q] = frozenset()) -> None:
        for _ in range(seconds // self._step):
            self.now += self._step * SECOND
            self._due()
            values = {q: v for q, v in (NUMBERS | (change or {})).items() if q not in without}
            self.observe(self._live.live("B1", 1, self.now, values))

    @property
    def hints(self) -> tuple[HintView, ...]:
        return self.meaning().hints

    def words(self) -> list[str]:
        """The signs of the pattern that were seen; none where it is not named."""
        return [sign.words for hint in self.hints for sign in hint.signs_for]


@pytest.mark.parametrize(
    ("word", "value", "seen"),
    [("above", 70.0, False), ("above", 70.1, True), ("below", 70.0, False), ("below", 69.9, True)],
)
def test_that_a_value_is_above_or_below_only_beyond_what_the_table_names(
    word: str, value: float, seen: bool
) -> None:
    bed = Beside(table({"of": "svo2", "is": [word], "than": 70}))
    bed.live(60, {Q.SVO2: value})
    assert bool(bed.hints) is seen


@pytest.mark.parametrize(
    "sign",
    [
        {"of": "svo2", "is": ["above"]},
        {"of": "svo2", "is": ["below"]},
        {"of": "pump_flow", "is": ["leads"]},
        {"of": "one_pressure", "is": ["moves"]},
    ],
)
def test_that_a_sign_that_does_not_say_enough_is_never_seen(sign: dict[str, Any]) -> None:
    """Such a table is refused when it is read from a file; here nothing may follow from it."""
    said = sign if sign["of"] != "one_pressure" else {"of": "head_against_curve", "is": ["moves"]}
    bed = Beside(table(said))
    bed.live(400)
    bed.live(60, {Q.PUMP_FLOW: 3.9})
    assert bed.hints == ()
    assert bed.meaning().not_judged == ("Tried: cannot be judged now: what is usual here is not known yet",)


@pytest.mark.parametrize(("interval", "seen"), [(2, True), (4, False)])
def test_that_what_swings_is_told_only_where_a_window_has_four_readings(interval: int, seen: bool) -> None:
    """A window is ten seconds long: of two or three readings in it nobody can tell that it swings."""
    bed = Beside(table({"of": "pump_flow", "is": ["unsteady"]}), interval)
    bed.live(600)
    for number in range(30):
        bed.live(interval, {Q.PUMP_FLOW: 3.6 if number % 2 else 5.4})
    assert bool(bed.hints) is seen


@pytest.mark.parametrize(("moves", "seen"), [(MOVES, True), (MOVES[1:], False)])
def test_that_what_swings_is_told_by_what_the_table_calls_moved(moves: list[dict[str, Any]], seen: bool) -> None:
    bed = Beside(table({"of": "pump_flow", "is": ["unsteady"]}, moves=moves))
    bed.live(400)
    for number in range(60):
        bed.live(1, {Q.PUMP_FLOW: 3.2 if number % 2 else 2.6})
    assert "flow_low" in {rule for _, rule in bed.raised()}
    assert bool(bed.of(EntryKind.HINT)) is seen
    assert bool(bed.hints) is seen


def test_that_what_is_drawn_now_and_then_does_not_swing() -> None:
    signs = {"of": "pump_flow", "is": ["unchanged"]}, {"of": "lactate", "is": ["unsteady"], "role": "against"}
    bed = Beside(table(*signs))
    bed.live(400)
    for value in (1.0, 6.0, 1.0, 6.0):
        bed.draw({Q.LACTATE: value})
        bed.live(20)
    [hint] = bed.hints
    assert hint.signs_against == ()


def test_that_a_reading_that_never_came_has_not_risen() -> None:
    """SvO2 is fitted and was never read, while flow is down: the pattern stands, with nothing against it."""
    signs = {"of": "pump_flow", "is": ["down"]}, {"of": "svo2", "is": ["rose"], "role": "against"}
    bed = Beside(table(*signs))
    never = frozenset({Q.SVO2})
    bed.live(400, without=never)
    bed.live(60, {Q.PUMP_FLOW: 3.3}, without=never)
    [written] = bed.of(EntryKind.HINT)
    assert (written.signs_for, written.signs_against) == (("sign 0",), ())
    assert bed.words() == ["sign 0"]


@pytest.mark.parametrize(("moves", "seen"), [(MOVES, True), ([MOVES[0]], False)])
def test_that_a_rise_is_told_by_what_the_table_calls_moved(moves: list[dict[str, Any]], seen: bool) -> None:
    """Without a row that says from when on it has moved, nothing rose."""
    signs = {"of": "pump_flow", "is": ["down"]}, {"of": "svo2", "is": ["rose"]}
    bed = Beside(table(*signs, moves=moves))
    bed.live(400)
    bed.live(60, {Q.PUMP_FLOW: 3.3, Q.SVO2: 78.0})
    assert bool(bed.of(EntryKind.HINT)) is seen


def test_that_one_pressure_alone_needs_a_second_one_to_be_told_by() -> None:
    one = 'sensors = ["pump_speed", "pump_flow", "inlet_pressure", "mean_arterial_pressure"]'
    two = one.replace("inlet_pressure", 'inlet_pressure", "post_oxygenator_pressure')
    moves = [{"of": of, "moved": 10, "still": 5} for of in ("inlet_pressure", "post_oxygenator_pressure")]
    said = {}
    for name, sensors in (("one", one), ("two", two)):
        bed = Beside(table({"of": "one_pressure", "is": ["alone"]}, moves=moves), start=sensors)
        fitted = bed.configuration.unit.beds[0].runs[0].description.sensors
        bed.live(400, without=frozenset(NUMBERS) - fitted)
        bed.live(60, {Q.INLET_PRESSURE: -90.0}, without=frozenset(NUMBERS) - fitted)
        said[name] = (len(bed.hints), bed.meaning().not_judged)
    assert said["one"] == (0, ("Tried: cannot be judged here: no second pressure fitted",))
    assert said["two"] == (1, ())


def test_that_a_checkpoint_from_before_a_quantity_was_known_leaves_its_signs_open() -> None:
    """An older program kept no usual value of it: it is not known yet, and nothing stops."""
    bed = Beside(table({"of": "speed_yield", "is": ["down"]}))
    bed.live(400)
    head, _, body = bed.engine.checkpoint().partition(b"{")
    state = json.loads(b"{" + body)
    del state["beds"]["B1"]["runs"]["1"]["run_baselines"]["speed_yield"]
    bed.engine = Engine.restore(bed.configuration, head + json.dumps(state).encode())
    bed.live(60, {Q.PUMP_FLOW: 3.3})
    assert bed.hints == ()
    assert bed.meaning().not_judged == ("Tried: cannot be judged now: what is usual here is not known yet",)


def test_that_a_flow_that_never_came_stops_neither_hints_nor_the_page() -> None:
    """The flow sensor is fitted and not plugged in yet; speed and motor current are read, and an alert stands."""
    bed = Beside(table({"of": "current_for_flow", "is": ["up"]}))
    never = frozenset({Q.PUMP_FLOW})
    bed.live(120, without=never)
    bed.live(70, {Q.MEAN_ARTERIAL_PRESSURE: 50.0}, without=never)
    assert "map_low" in {rule for _, rule in bed.raised()}
    assert bed.hints == ()
    current = bed.meaning().current
    assert current is not None
    assert current.expected is None


def test_that_the_shipped_table_goes_on_without_a_flow_that_never_came() -> None:
    bed = Beside(shipped().patterns)
    never = frozenset({Q.PUMP_FLOW})
    bed.live(400, without=never)
    worse = {Q.MEAN_ARTERIAL_PRESSURE: 50.0, Q.INLET_PRESSURE: -25.0, Q.PRE_OXYGENATOR_PRESSURE: 145.0,
             Q.POST_OXYGENATOR_PRESSURE: 125.0, Q.MOTOR_CURRENT: 1.8}  # fmt: skip
    bed.live(70, worse, without=never)
    assert "map_low" in {rule for _, rule in bed.raised()}
    estimate = bed.meaning().flow_estimate
    assert estimate is not None
    assert estimate.measured is None
