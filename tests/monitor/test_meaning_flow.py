"""Flow and motor current that a bed has learned from its own minutes: given, refused in words, or contradicted.

The pump of these beds is worked out here: head of its profile, H = a N^2 - b Q^2; its current as
I = c0 + c1 N^3 + c2 N^2 Q (Euler's turbine equation; from memory).
"""

from collections.abc import Mapping

import pytest

from monitor.core.engine import Engine
from monitor.core.events import Declared
from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.patterns import Patterns
from monitor.settings import load_limits_and_ladder
from shared.circuit import BROAD
from shared.instant import MINUTE, SECOND
from shared.messages import BedDeclared, Origin
from shared.physics.pump import pump_head
from shared.quantities import Quantity as Q
from tests.helpers.meaning import Watched
from tests.helpers.one_bed import CONFIG

#: Speeds in rpm with the flow in L/min that went through, one after the other.
WORKED = ((3000, 3.4), (4000, 5.0), (3500, 3.7), (3500, 4.2))
ALL = ("pump_speed", "pump_flow", "inlet_pressure", "pre_oxygenator_pressure", "post_oxygenator_pressure",
       "motor_current")  # fmt: skip
NO_HEAD = ("pump_speed", "pump_flow", "pre_oxygenator_pressure", "post_oxygenator_pressure")
BARE = ("pump_speed", "pump_flow")


def asked(speed: float, flow: float) -> float:
    """The current in A of this pump."""
    n = speed / 3500
    return 0.15 + 0.35 * n**3 + 0.7 * n**2 * flow / 4.2


def shown(speed: float = 3500.0, flow: float = 4.2) -> dict[Q, float]:
    """What everything reads at a speed and a flow."""
    before = pump_head(speed, flow, BROAD.head_speed_factor, BROAD.head_flow_factor) - 60.0
    return {
        Q.PUMP_SPEED: speed, Q.PUMP_FLOW: flow, Q.INLET_PRESSURE: -60.0, Q.PRE_OXYGENATOR_PRESSURE: before,
        Q.POST_OXYGENATOR_PRESSURE: before - 7.0 * flow, Q.MOTOR_CURRENT: asked(speed, flow),
        Q.MEAN_ARTERIAL_PRESSURE: 75.0,
    }  # fmt: skip


class Pump(Watched):
    """A bed that is read every ten seconds, or as its feed declares."""

    def __init__(self, sensors: tuple[str, ...] = ALL, interval: float = 10.0) -> None:
        named = ", ".join(f'"{one}"' for one in sensors)
        super().__init__(start=f"sensors = [{named}]")
        self.interval = round(interval * SECOND)
        self.declare()

    def declare(self) -> None:
        """Let the feed say how often it reads."""
        run = self.configuration.unit.beds[0].runs[0].description
        said = BedDeclared(bed="B1", interval=self.interval / SECOND, origin=Origin.SIMULATED, runs=(run,))
        self._keep(self.engine.handle(Declared("feed", (said,)), self.now))

    def goes_on(
        self, minutes: float, values: Mapping[Q, float | None] | None = None, speed: float = 3500.0,
        flow: float = 4.2, estimated: bool = False,
    ) -> None:  # fmt: skip
        """Read the bed; a value of ``None`` is not read. Flow, head and current waver a little."""
        for number in range(round(minutes * MINUTE / self.interval)):
            self.now += self.interval
            self._due()
            minute = self.now // MINUTE
            everything: dict[Q, float | None] = {**shown(speed, flow + 0.01 * (number % 3 - 1))}
            everything[Q.INLET_PRESSURE] = -60.0 + 0.5 * (minute * 3 % 7 - 3)
            everything[Q.MOTOR_CURRENT] = asked(speed, flow) + 0.004 * (minute * 5 % 7 - 3)
            read = {key: value for key, value in {**everything, **(values or {})}.items() if value is not None}
            guessed = frozenset({Q.PUMP_FLOW}) if estimated else frozenset()
            self.observe(self._numbered.live("B1", 1, self.now, read, guessed))

    def learns(self, minutes: int = 7, values: Mapping[Q, float | None] | None = None) -> None:
        """Work at three speeds, the usual one last and against more and less."""
        for speed, flow in WORKED:
            self.goes_on(minutes, values, speed=speed, flow=flow)

    @property
    def estimate(self) -> FlowEstimateView:
        found = self.meaning().flow_estimate
        assert found is not None
        return found

    @property
    def current(self) -> CurrentView:
        found = self.meaning().current
        assert found is not None
        return found


@pytest.fixture
def pump() -> Pump:
    """A bed that has worked at three speeds."""
    pump = Pump()
    pump.learns()
    return pump


def test_that_a_bed_estimates_its_flow_from_what_it_has_learned(pump: Pump) -> None:
    found = pump.estimate
    assert found.value == pytest.approx(4.2, abs=0.1)
    assert found.low is not None
    assert found.high is not None
    assert 3.9 < found.low < 4.2 < found.high < 4.5
    assert found.measured == pytest.approx(4.2, abs=0.02)
    assert (found.console, found.hollow) == (None, False)
    assert (found.source, found.caution) == ("Head and motor current of the last minute", "")
    assert (found.refused, found.differs) == ("", "")
    assert found.speeds == (3000, 3500, 4000)
    assert found.flow_low is not None
    assert found.flow_low == pytest.approx(3.4, abs=0.25)


def test_that_a_flow_that_is_not_read_any_more_is_still_estimated_and_hollow(pump: Pump) -> None:
    pump.goes_on(3, {Q.PUMP_FLOW: None}, speed=4000, flow=5.0)
    found = pump.estimate
    assert (found.measured, found.hollow) == (None, True)
    assert found.value == pytest.approx(5.0, abs=0.2)


def test_that_the_consoles_own_estimate_stands_apart_and_is_told_where_it_differs(pump: Pump) -> None:
    pump.goes_on(3, {Q.PUMP_FLOW: 2.0}, estimated=True)
    found = pump.estimate
    assert (found.measured, found.console, found.hollow) == (None, 2.0, True)
    assert "Flow estimated: low flow not watched" in pump.tile.notes
    assert found.differs == "The console's estimate 2.0 L/min is not what head and motor current say"
    assert found.value == pytest.approx(4.2, abs=0.1)


def test_that_a_measured_flow_that_is_not_what_the_pump_tells_is_said_so(pump: Pump) -> None:
    pump.goes_on(0.9, {Q.PUMP_FLOW: 2.0})
    assert pump.estimate.differs == "Measured 2.0 L/min is not what head and motor current say"


def test_that_nothing_is_estimated_before_enough_minutes_are_measured() -> None:
    pump = Pump()
    pump.goes_on(5)
    found = pump.estimate
    assert found.value is None
    assert found.refused == "Too little is measured yet: 5 of 60 min, or 1 of 3 speeds with 12 min"


def test_that_an_hour_at_one_speed_is_enough_too() -> None:
    pump = Pump()
    pump.goes_on(62)
    assert pump.estimate.refused == ""
    assert pump.estimate.value == pytest.approx(4.2, abs=0.1)


def test_that_blood_that_runs_back_is_not_estimated(pump: Pump) -> None:
    pump.goes_on(1, {Q.PUMP_FLOW: -0.5})
    assert pump.estimate.refused == "Blood runs back: not estimated"


def test_that_a_speed_that_was_never_seen_is_named_with_those_that_were(pump: Pump) -> None:
    pump.goes_on(1.5, speed=4600.0, flow=5.9)
    assert pump.estimate.value is None
    assert pump.estimate.refused.startswith("Speed 4600 rpm was never seen here: 2930 to 4070")


def test_that_a_head_that_was_never_seen_is_named(pump: Pump) -> None:
    pump.goes_on(2, {Q.PRE_OXYGENATOR_PRESSURE: 600.0, Q.PUMP_FLOW: None})
    assert pump.estimate.refused.startswith("Head 660 mmHg was never seen here: ")


def test_that_a_current_that_was_never_seen_is_named_in_its_unit(pump: Pump) -> None:
    pump.goes_on(2, {Q.MOTOR_CURRENT: 3.0, Q.PUMP_FLOW: None})
    assert pump.estimate.refused.startswith("Motor current 3.00 A was never seen here: ")


def test_that_a_flow_beyond_those_that_were_seen_is_not_told(pump: Pump) -> None:
    """At the lowest speed with less flow than was ever measured here: head and current both tell it."""
    pump.goes_on(3, {Q.PUMP_FLOW: None}, speed=3000, flow=3.05)
    assert pump.estimate.value is None
    assert pump.estimate.refused in {f"Flow {flow} L/min was never seen here: 3.2 to 5.2" for flow in (3.0, 3.1)}


def test_that_nothing_is_told_within_a_minute_of_another_speed(pump: Pump) -> None:
    pump.goes_on(0.5, speed=4000, flow=5.0)
    assert pump.estimate.refused == "The speed changed within the last minute"


def test_that_a_pump_whose_speed_is_not_read_says_so(pump: Pump) -> None:
    pump.goes_on(3, {Q.PUMP_SPEED: None})
    assert pump.estimate.refused == "Speed is not read now"
    assert pump.current.refused == "Speed is not read now"


def test_that_witnesses_that_contradict_each_other_give_no_flow(pump: Pump) -> None:
    """The head says 4.2, the current what goes with 5.4 at this speed."""
    pump.goes_on(2, {Q.MOTOR_CURRENT: asked(3500, 5.4), Q.PUMP_FLOW: None})
    found = pump.estimate
    assert found.value is None
    assert found.refused.startswith("What tells the flow contradicts itself: head 4.2, motor current 5.")


def test_that_witnesses_that_begin_to_contradict_each_other_give_no_flow_at_once(pump: Pump) -> None:
    """Of the last minute most readings agree; those of the last ten seconds do not."""
    pump.goes_on(1)
    pump.goes_on(0.34, {Q.MOTOR_CURRENT: asked(3500, 5.4)})
    found = pump.estimate
    assert found.value is None
    assert found.refused.startswith("What tells the flow contradicts itself")


def test_that_readings_that_are_changing_wait_for_their_minute(pump: Pump) -> None:
    pump.goes_on(0.34, flow=3.6)
    assert pump.estimate.refused == "The readings are changing: no minute of them yet"
    pump.goes_on(2, flow=3.6)
    assert pump.estimate.value == pytest.approx(3.6, abs=0.1)


def test_that_readings_of_the_last_seconds_beyond_what_was_seen_are_named(pump: Pump) -> None:
    pump.goes_on(0.34, {Q.PRE_OXYGENATOR_PRESSURE: 600.0})
    assert pump.estimate.refused.startswith("Head 66")


def test_that_one_witness_alone_says_what_it_would_not_show() -> None:
    pump = Pump(ALL[:-1])
    pump.learns()
    found = pump.estimate
    assert found.source == "Head of the last minute"
    assert found.caution == "From head alone: trouble in the pump head would not show"
    pump.goes_on(0.9, {Q.PUMP_FLOW: 2.0})
    assert pump.estimate.differs == "Measured 2.0 L/min is not what head says"


def test_that_without_a_head_the_oxygenators_pressure_drop_tells_the_flow() -> None:
    pump = Pump(NO_HEAD)
    pump.learns()
    assert pump.estimate.source == "Oxygenator's pressure drop of the last minute"
    assert pump.estimate.value == pytest.approx(4.2, abs=0.1)


def test_that_a_bed_where_nothing_tells_the_flow_says_whether_it_is_fitted_or_not_read() -> None:
    bare = Pump(BARE)
    bare.learns()
    assert bare.estimate.refused == "Neither head nor motor current is fitted"
    unread = Pump()
    unread.learns()
    gone = {Q.INLET_PRESSURE: None, Q.PRE_OXYGENATOR_PRESSURE: None, Q.MOTOR_CURRENT: None}
    unread.goes_on(3, gone)
    assert unread.estimate.refused == "Neither head nor motor current is read now"


def test_that_a_current_of_nothing_tells_nothing() -> None:
    pump = Pump((*BARE, "motor_current"))
    pump.learns(values={Q.MOTOR_CURRENT: 0.0})
    assert pump.estimate.refused == "Nothing that was measured here tells the flow"


def test_that_no_flow_is_estimated_where_speed_or_flow_is_not_fitted() -> None:
    pump = Pump(("pump_speed", "inlet_pressure", "motor_current"))
    pump.goes_on(1)
    assert pump.meaning().flow_estimate is None
    assert pump.meaning().current is None


def test_that_too_few_readings_of_the_last_seconds_make_no_estimate() -> None:
    """Read once a second; then six seconds are missing, and of the last ten too few are there."""
    pump = Pump(interval=1.0)
    pump.learns(minutes=6)
    assert pump.estimate.refused == ""
    pump.wait(7)
    pump.goes_on(1 / 60)
    assert pump.estimate.refused == "Speed is not read now"


def test_that_a_console_that_stands_still_tells_neither_flow_nor_current() -> None:
    """Rule *frozen* of the shipped limits: the same numbers for 120 s (our default, no source)."""
    pump = Pump()
    limits, _ = load_limits_and_ladder(CONFIG)
    pump.configuration = pump.configuration.model_copy(update={"limits": limits})
    pump.engine = Engine(pump.configuration, pump.now)
    pump.engine.start(pump.now)
    pump.declare()
    pump.learns()
    assert pump.estimate.refused == ""
    pump.goes_on(3, dict(shown()))
    assert pump.estimate.refused == "The console's readings stand still"
    assert (pump.current.sign, pump.current.expected) == ("none", None)


# -- motor current ---------------------------------------------------------------------------------------------


@pytest.fixture
def learned() -> Pump:
    """A bed whose three speeds lie more than half an hour back: its current is learned."""
    pump = Pump()
    pump.learns()
    pump.goes_on(32)
    return pump


def test_that_nothing_is_expected_of_a_current_before_half_an_hour_more(pump: Pump) -> None:
    found = pump.current
    assert found.expected is None
    assert found.refused == (
        "Too little is measured yet: 0 of 60 min, or 0 of 3 speeds with 12 min, and at least 30 min ago"
    )


def test_that_a_usual_current_is_within_what_speed_and_flow_ask_for(learned: Pump) -> None:
    found = learned.current
    assert found.expected == pytest.approx(asked(3500, 4.2), abs=0.03)
    assert (found.sign, found.words) == ("none", "Within what speed and flow ask for")
    assert found.speeds == (3000, 3500, 4000)


@pytest.mark.parametrize(
    ("share", "sign", "side", "possible"),
    [
        (1.3, "up", "above", "friction in the pump head"),
        (0.7, "down", "below", "air in the pump head, or a reading"),
    ],
)
def test_that_a_current_away_from_what_is_asked_for_is_a_sign_after_three_minutes(
    learned: Pump, share: float, sign: str, side: str, possible: str
) -> None:
    away = {Q.MOTOR_CURRENT: share * asked(3500, 4.2)}
    learned.goes_on(2, away)
    assert learned.current.sign == "none"
    assert learned.current.words.endswith(f"A {side}: too little, or not for long enough, to say anything")
    learned.goes_on(3, away)
    found = learned.current
    assert found.sign == sign
    assert found.words.endswith(f"A {side} what speed and flow ask for. Possible: {possible}")
    assert found.residual is not None
    assert abs(found.residual) == pytest.approx(0.3 * asked(3500, 4.2), abs=0.05)


def test_that_a_current_that_is_not_read_or_whose_flow_is_not_measured_is_not_judged(learned: Pump) -> None:
    learned.goes_on(3, {Q.PUMP_FLOW: None})
    assert learned.current.refused == "Flow is not measured now"
    learned.goes_on(3, {Q.MOTOR_CURRENT: None})
    assert learned.current.refused == "Motor current is not read now"
    assert learned.current.expected is None


def test_that_no_current_is_expected_at_a_speed_that_was_never_seen(learned: Pump) -> None:
    learned.goes_on(3, speed=4600.0, flow=5.0)
    assert learned.current.refused.startswith("Speed 4600 rpm was never seen here: ")


def test_that_a_current_of_nothing_is_not_learned_from() -> None:
    pump = Pump()
    pump.learns(values={Q.MOTOR_CURRENT: 0.0})
    pump.goes_on(32, {Q.MOTOR_CURRENT: 0.0})
    assert pump.current.refused == "Nothing that was measured here tells the current"


def test_that_no_hint_rests_on_the_current_of_a_minute_in_which_the_speed_was_changed(learned: Pump) -> None:
    sign = {"of": "current_for_flow", "is": ["up"], "role": "required", "words": "More current"}
    row = {
        "id": "A",
        "title": "Tried",
        "sign": [sign],
        "alternatives": ["A"],
        "apart": "x",
        "mark": "TD",
        "source": "x",
    }
    learned.configuration = learned.configuration.model_copy(
        update={"patterns": Patterns.model_validate({"pattern": [row]}, strict=False)}
    )
    learned.restart()
    learned.goes_on(5, {Q.MOTOR_CURRENT: 1.3 * asked(3500, 4.2)})
    [hint] = learned.meaning().hints
    assert [said.words for said in hint.signs_for] == ["More current"]
    learned.goes_on(0.5, {Q.MOTOR_CURRENT: 1.3 * asked(3700, 4.4)}, speed=3700, flow=4.4)
    assert learned.current.refused == "The speed changed within the last minute"
    assert learned.meaning().hints == ()
