"""A naive reading of the limits: one row for each rule, and the delay and deadband applied sample by sample.

Written from the description of the rules alone and without a line of the engine, to be held against it. It keeps
all readings for ever and works every median out anew. Times are whole seconds.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from statistics import median

#: A gap between two samples adds at most one and a half of the bed's intervals (a second) to a delay.
STEP = 1.5
#: A reading counts as live for so long.
LIVE = 30


@dataclass(frozen=True)
class Row:
    """One rule. ``side``: ``<``, ``<=`` or ``>``. ``back``: in the quantity's unit."""

    rule: str
    quantity: str
    side: str
    limit: float
    delay: int
    priority: str
    back: float
    raw: bool = False
    critical: bool = False
    latched: bool = False
    technical: bool = False
    patient: bool = False

    def beyond(self, value: float) -> bool:
        if self.side == ">":
            return value > self.limit
        return value <= self.limit if self.side == "<=" else value < self.limit

    def is_back(self, value: float) -> bool:
        if self.side == ">":
            return value <= self.limit - self.back
        return value >= self.limit + self.back and not self.beyond(value)


_Q, _PIN, _OUT, _MAP, _O2 = (
    "pump_flow",
    "inlet_pressure",
    "post_oxygenator_pressure",
    "mean_arterial_pressure",
    "spo2_right_hand",
)
TARGET = 4.2

#: In table order. A target of 4.2 L/min: 85 % and 60 % of it, back by 5 % of it.
ROWS = (
    Row("flow_low", _Q, "<", 0.85 * TARGET, 30, "medium", 0.05 * TARGET),
    Row("flow_very_low", _Q, "<", 0.60 * TARGET, 10, "high", 0.05 * TARGET),
    Row("flow_floor", _Q, "<", 1.5, 10, "high", 0.2),
    Row("flow_none", _Q, "<=", 0.5, 10, "high", 0.2, raw=True, critical=True),
    Row("inlet_warn", _PIN, "<", -80, 600, "low", 10),
    Row("inlet_low", _PIN, "<", -100, 30, "medium", 10),
    Row("inlet_very_low", _PIN, "<", -150, 15, "high", 10),
    Row("return_high", _OUT, ">", 300, 30, "medium", 10),
    Row("return_very_high", _OUT, ">", 400, 15, "high", 10),
    Row("map_above", _MAP, ">", 90, 600, "low", 3, patient=True),
    Row("map_high", _MAP, ">", 100, 300, "medium", 3, patient=True),
    Row("map_low", _MAP, "<", 60, 60, "medium", 3, patient=True),
    Row("map_very_low", _MAP, "<", 50, 30, "high", 3, patient=True),
    Row("spo2_low", _O2, "<", 88, 60, "medium", 2, patient=True),
    Row("spo2_very_low", _O2, "<", 80, 30, "high", 2, patient=True),
    Row("pump_stopped", "pump_speed", "<", 500, 0, "high", 0, raw=True, critical=True, latched=True),
    Row("on_battery", "on_mains", "<", 0.5, 5, "low", 0, raw=True, technical=True),
    Row("on_battery_long", "on_mains", "<", 0.5, 300, "medium", 0, raw=True, technical=True),
    Row("battery_short", "on_mains", "<", 30, 0, "medium", 2, technical=True),
    Row("battery_critical", "on_mains", "<", 10, 0, "high", 2, critical=True, latched=True, technical=True),
    Row("trial_floor", _Q, "<", 0, 10, "high", 0.2),
)
BATTERY = ("battery_short", "battery_critical")

#: What speaks without readings.
HELP = Row("help", "", "", 0, 0, "high", 0, critical=True, latched=True)
NO_FEED = Row("no_feed", "", "", 0, 120, "medium", 0, technical=True)
UNCOVERED = Row("uncovered", "", "", 0, 300, "medium", 0, technical=True)

#: What a trial sets aside.
TRIALS = {
    "turn_down": ("flow_low", "flow_very_low", "flow_floor"),
    "clamp": ("flow_low", "flow_very_low", "flow_floor", "flow_none"),
}


@dataclass
class Trial:
    kind: str
    floor: float | None
    until: int


@dataclass
class Running:
    """How a rule stands: ``ran`` is the delay so far in seconds."""

    state: str = "quiet"
    ran: float = 0
    last: int = 0
    ran_half: bool = False
    began: int = 0


@dataclass(frozen=True)
class Turn:
    row: Row
    started: bool
    value: float


@dataclass
class NaiveReadings:
    """All readings of one bed, and how each rule stands."""

    seen: dict[str, list[tuple[int, float]]] = field(default_factory=dict)
    last: int = 0
    running: dict[str, Running] = field(default_factory=lambda: {row.rule: Running() for row in ROWS})
    care: list[tuple[int, int]] = field(default_factory=list)
    trial: Trial | None = None

    def observe(self, now: int, values: Mapping[str, float]) -> list[Turn]:
        self.last = now
        for quantity, value in values.items():
            self.seen.setdefault(quantity, []).append((now, value))
        return [turn for row in ROWS if row.quantity in values for turn in self._judge(row, now)]

    def begin_care(self, now: int, minutes: int) -> None:
        """Note which delays have run half by now: they are not made longer."""
        runs = any(begin <= now < end for begin, end in self.care)
        self.care.append((now, now + 60 * minutes))
        for row in ROWS:
            state = self.running[row.rule]
            if state.state == "pending" and not runs:
                state.ran_half = state.ran > 0 and 2 * state.ran >= row.delay

    def live(self, quantity: str, now: int) -> float | None:
        readings = self.seen.get(quantity)
        return readings[-1][1] if readings and now - readings[-1][0] <= LIVE else None

    def drop(self, now: int) -> float | None:
        """The oxygenator's pressure drop at the last moment when both pressures were read: never of two moments."""
        before = dict(self.seen.get("pre_oxygenator_pressure", [])[-2 * LIVE :])
        for at, after in reversed(self.seen.get("post_oxygenator_pressure", [])[-2 * LIVE :]):
            if at in before and now - at <= LIVE:
                return before[at] - after
        return None

    def middle(self, quantity: str, begin: int, end: int) -> float | None:
        """The median of the readings later than ``begin`` up to ``end``."""
        found = []
        for at, value in reversed(self.seen.get(quantity, [])):
            if at <= begin:
                break
            if at <= end:
                found.append(value)
        return median(found) if found else None

    def before(self, quantity: str, began: int) -> float | None:
        """The median of the five minutes before a moment, from at least sixty seconds of readings."""
        found = [(at, value) for at, value in self.seen.get(quantity, []) if began - 300 <= at < began]
        enough = bool(found) and found[-1][0] - found[0][0] >= 60 - STEP
        return median(value for _, value in found) if enough else None

    def now_of(self, quantity: str) -> float | None:
        """The ten-second median at the quantity's own last reading."""
        readings = self.seen.get(quantity)
        return self.middle(quantity, readings[-1][0] - 10, readings[-1][0]) if readings else None

    def _judge(self, row: Row, now: int) -> Iterator[Turn]:
        state = self.running[row.rule]
        if self.trial and row.rule in TRIALS[self.trial.kind] and state.state != "present":
            state.state = "quiet"
            return
        judged = self._verdict(row, now)
        if judged is None:
            return
        beyond, back, value = judged
        if beyond:
            if state.state == "quiet":
                state.state, state.ran, state.ran_half, state.began = "pending", 0, False, now
            else:
                state.ran += min(now - state.last, STEP)
            if state.state == "pending" and state.ran >= self._delay(row, state, now):
                state.state = "present"
                yield Turn(row, True, value)
        elif state.state == "pending":
            state.state = "quiet"
        elif state.state == "present" and back:
            state.state = "quiet"
            yield Turn(row, False, value)
        state.last = now

    def _delay(self, row: Row, state: Running, now: int) -> int:
        marked = any(begin <= now < end for begin, end in self.care)
        if row.priority == "high" or not marked or state.ran_half:
            return row.delay
        return row.delay + min(row.delay, 120)

    def _verdict(self, row: Row, now: int) -> tuple[bool, bool, float] | None:
        """Tell whether a rule is beyond, back past its deadband, and by which value."""
        if row.rule == "trial_floor":
            return self._floor(row)
        if row.rule in BATTERY:
            return self._battery(row, now)
        value = self.seen[row.quantity][-1][1] if row.raw else self.now_of(row.quantity)
        assert value is not None
        return row.beyond(value), row.is_back(value), value

    def _floor(self, row: Row) -> tuple[bool, bool, float]:
        flow = self.now_of(row.quantity)
        assert flow is not None
        if self.trial is None or self.trial.floor is None:
            return False, True, flow
        return flow < self.trial.floor, flow >= self.trial.floor + row.back, flow

    def _battery(self, row: Row, now: int) -> tuple[bool, bool, float] | None:
        if self.seen["on_mains"][-1][1] >= 0.5:
            return False, True, 0
        minutes = self.live("battery_minutes", now)
        return None if minutes is None else (row.beyond(minutes), row.is_back(minutes), minutes)
