"""The mutable state of the engine: plain data, no behaviour, whole in a checkpoint.

Only the engine and the modules that it calls change these; nothing outside ever sees them.
"""

from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import PlainSerializer, PlainValidator

from monitor.analysis.baseline import Baseline
from monitor.analysis.minutes import Minutes
from monitor.analysis.quarters import Quarters
from monitor.analysis.signal import Signal, kept, restored
from monitor.analysis.worked import WorkedPast
from monitor.core.alerts.alert import ConditionState, SignalState
from monitor.core.bed_commands import DepartureItem
from monitor.core.call_back_state import CallBackState
from monitor.core.equipment.state import EquipmentState
from monitor.core.grades import AlertClass, LadderClass, Priority, TrialKind
from monitor.core.hint_state import HintState
from monitor.core.roster.state import RosterState
from shared.instant import Instant
from shared.messages import Condition, Observation, Origin, RoundKind
from shared.quantities import Quantity
from shared.support import RunDescription


def _signal(value: Any) -> Signal:
    return value if isinstance(value, Signal) else restored(*value)


#: A signal in a checkpoint is its kept readings; the running medians are built anew.
KeptSignal = Annotated[Signal, PlainValidator(_signal), PlainSerializer(kept)]

#: Worked out from the configuration; a checkpoint leaves it out.
Unkept = Annotated[Any, PlainValidator(lambda _: None), PlainSerializer(lambda _: None)]


@dataclass(slots=True)
class RuleState:
    """How one rule stands at one run.

    Attributes:
        elapsed_ms, last_at: the running delay, and the sample it last advanced on; ``began``: its first sample;
            ``past_half``: half of it had run when a care marker began, which makes it no longer.
        reference: what was usual before the first sample beyond; held until the condition ends.
        dips: ends of excursions that were too short to count.
        windows: verdicts of the last windows (unsteadiness); ``window`` is the one being filled.
        blocks: middle and median of the last windows (trends), oldest first; ``windows`` is then the last verdict.
        judged_at: when the rule last had all its inputs.
        alert: id of its open alert.
    """

    condition: ConditionState = ConditionState.QUIET
    elapsed_ms: int = 0
    last_at: Instant = 0
    began: Instant = 0
    past_half: bool = False
    reference: dict[Quantity, float] = field(default_factory=dict)
    dips: list[Instant] = field(default_factory=list)
    windows: list[bool] = field(default_factory=list)
    window: int = 0
    window_values: list[float] = field(default_factory=list)
    blocks: list[tuple[Instant, float]] = field(default_factory=list)
    moved_at: Instant | None = None
    judged_at: Instant | None = None
    value: float | None = None
    limit: float | None = None
    alert: int | None = None


@dataclass(slots=True)
class Trial:
    """An open trial: its kind, who started it with whom, its hard end, and the rules that it suspends.

    ``told``: countdowns already given. ``low_since``, ``reminded``: how long flow has dwelt low.
    """

    kind: TrialKind
    by: str
    began: Instant
    until: Instant
    floor_flow: float | None
    suspended: list[str]
    second: str
    told: list[Instant] = field(default_factory=list)
    low_since: Instant | None = None
    reminded: bool = False


@dataclass(slots=True)
class OwnLimit:
    """A bed's own limit of one rule, in the quantity's unit. ``told``: its end was announced."""

    value: float
    by: str
    second: str | None
    since: Instant
    until: Instant
    reason: str
    told: bool = False


@dataclass(slots=True)
class Proposal:
    """A limit that somebody proposed, in the quantity's unit. ``ends``: it lapses then, unless it was answered."""

    value: float
    by: str
    at: Instant
    until: Instant
    reason: str
    ends: Instant


@dataclass(slots=True)
class CallMeState:
    """Somebody asked to be called when a quantity is below or above a value, until a moment."""

    below: float | None
    above: float | None
    calls: str
    by: str
    until: Instant
    note: str


@dataclass(slots=True)
class Ordered:
    """An order of the last day, in the quantity's unit, and what was measured around it.

    ``before``: medians right before it. ``after``: by minutes after it, the medians then; empty: no readings.
    """

    quantity: Quantity
    value: float
    at: Instant
    by: str
    prescriber: str
    before: dict[Quantity, float]
    after: dict[int, dict[Quantity, float]] = field(default_factory=dict)


@dataclass(slots=True)
class KeptSet:
    """The newest version of a set entered by hand.

    ``counted``: it was not for the trends alone. ``found``: its findings, with the words of whoever looked.
    ``entered_at``: when this version was entered. ``unchecked``: by whom was not checked.
    """

    version: int
    read_at: Instant
    readings: dict[Quantity, float]
    counted: bool
    by: str
    round: RoundKind | None
    found: dict[str, str]
    entered_at: Instant
    unchecked: bool = False


@dataclass(slots=True)
class RoundDone:
    """The newest round of a kind: when it was done, and by whom."""

    at: Instant
    by: str


@dataclass(slots=True)
class OffSupport:
    """A run is off support: who said so, and since when."""

    by: str
    since: Instant


@dataclass(slots=True)
class CardTick:
    """A step of an emergency card was done: when it was ticked, and by whom."""

    at: Instant
    by: str


@dataclass(slots=True)
class CardUse:
    """An emergency card in use at a bed: its ticks by step. ``last_at``: when one was last set or taken back."""

    title: str
    version: int
    last_at: Instant
    ticks: dict[int, CardTick] = field(default_factory=dict)


@dataclass(slots=True)
class RunState:
    """One support run as the engine knows it.

    ``minutes``: what was measured, as medians of minutes; a flow that the console estimates is left out.
    ``draws``: laboratory values with the times of their draws, oldest first. ``outside``: minutes outside target.
    ``aims``: the targets of the last day of what is counted there, each with the time from which it stood.
    ``own_limits``, ``proposals``: by rule. ``call_me``: by quantity. ``devices``: when each was new.
    ``unset_alert``: stands until there are targets.
    ``timed``: a rule that speaks from silence -> its open alert (0: the board's blindness stands
    for it). ``effects_due``: when the next result of an order can be fixed. ``hints``: remembered
    while an alert is present. ``worked``: minutes that flow and current are learned from, kept for longer.
    ``sets``: the newest ones entered by hand, by their ids; ``early``: the newest versions of sets that came before
    their first one. ``rounds``: the newest of each kind; ``findings``: what rounds found and no later one found in
    order, with the words of whoever looked. ``back_at``: from a transport.
    ``gaps``: begin and end of the newest silences of a feed that were told.
    ``owed``: devices of which it is not recorded which item they are, since when.
    """

    description: RunDescription
    started_at: Instant
    targets: dict[Quantity, float] = field(default_factory=dict)
    signals: dict[Quantity, KeptSignal] = field(default_factory=dict)
    rules: dict[str, RuleState] = field(default_factory=dict)
    run_baselines: dict[Quantity, Baseline] = field(default_factory=dict)
    order_baselines: dict[Quantity, Baseline] = field(default_factory=dict)
    orders: list[Instant] = field(default_factory=list)
    last_reading_at: Instant | None = None
    conditions: frozenset[Condition] = frozenset()
    timed: dict[str, int] = field(default_factory=dict)
    trial: Trial | None = None
    own_limits: dict[str, OwnLimit] = field(default_factory=dict)
    proposals: dict[str, Proposal] = field(default_factory=dict)
    call_me: dict[Quantity, CallMeState] = field(default_factory=dict)
    devices: dict[str, Instant] = field(default_factory=dict)
    unset_alert: int | None = None
    minutes: dict[Quantity, Minutes] = field(default_factory=dict)
    draws: dict[Quantity, list[tuple[Instant, float]]] = field(default_factory=dict)
    outside: dict[str, Quarters] = field(default_factory=dict)
    aims: dict[Quantity, list[tuple[Instant, float]]] = field(default_factory=dict)
    ordered: list[Ordered] = field(default_factory=list)
    effects_due: Instant | None = None
    hints: HintState | None = None
    worked: WorkedPast = field(default_factory=WorkedPast)
    sets: dict[str, KeptSet] = field(default_factory=dict)
    early: dict[str, Observation] = field(default_factory=dict)
    rounds: dict[RoundKind, RoundDone] = field(default_factory=dict)
    findings: dict[str, str] = field(default_factory=dict)
    back_at: Instant | None = None
    gaps: list[tuple[Instant, Instant]] = field(default_factory=list)
    owed: dict[str, Instant] = field(default_factory=dict)
    off_support: OffSupport | None = None
    plan: Unkept = None


@dataclass(slots=True)
class AlertState:
    """One alert. ``value`` and ``limit`` are those of the raise; ``held_until``: while a take of a low holds."""

    id: int
    rule: str
    bed: str | None
    slot: int | None
    quantity: Quantity | None
    title: str
    priority: Priority
    alert_class: AlertClass
    circuit_critical: bool
    patient_side: bool
    latching: bool
    raised_at: Instant
    value: float | None
    limit: float | None
    episode: int | None = None
    signal: SignalState = SignalState.RAISED
    ended_at: Instant | None = None
    seen_by: list[str] = field(default_factory=list)
    rung: int | None = None
    held_until: Instant | None = None

    @property
    def present(self) -> bool:
        """Tell whether its condition persists."""
        return self.ended_at is None


@dataclass(slots=True)
class Clock:
    """The clock of one ladder class within an episode: its zero, and what it has already done."""

    zero: Instant
    done: list[int] = field(default_factory=list)
    repeats: int = 0


@dataclass(slots=True)
class LadderState:
    """A running ladder.

    Attributes:
        ladder: the present class; ``clocks`` holds one clock for each class that the episode was in.
        called, persons: last call of each rung in this episode, and who was called.
        skipped: rungs found empty at their time.
        early: a rung's time brought forward; ``not_before``: a rung held back by advice.
        held_until: while a take holds; ``exempt``: rungs that this take does not hold.
        nobody_since, nobody_at: nobody at all can be called, since when, and when that is next looked at.
    """

    ladder: LadderClass
    clocks: dict[LadderClass, Clock]
    called: dict[int, Instant] = field(default_factory=dict)
    persons: dict[int, str] = field(default_factory=dict)
    skipped: list[int] = field(default_factory=list)
    early: dict[int, Instant] = field(default_factory=dict)
    not_before: dict[int, Instant] = field(default_factory=dict)
    held_until: Instant | None = None
    exempt: list[int] = field(default_factory=list)
    began: Instant = 0
    nobody_since: Instant | None = None
    nobody_at: Instant | None = None

    @property
    def clock(self) -> Clock:
        """The clock of the present class."""
        return self.clocks[self.ladder]


@dataclass(slots=True)
class Holder:
    """Who has an episode, since when, and the values that stood then (``slot:quantity:way that is worse``)."""

    person: str
    where: str
    reason: str | None
    eta_at: Instant | None
    told_to: str | None
    taken_at: Instant
    at_take: dict[str, float] = field(default_factory=dict)
    renewals: int = 0
    late: bool = False
    asked_reason: bool = False


@dataclass(slots=True)
class EpisodeState:
    """Alerts that belong together. ``bed`` ``None``: the unit's."""

    id: int
    bed: str | None
    opened_at: Instant
    members: list[int]
    revision: int = 1
    ladder: LadderState | None = None
    holder: Holder | None = None
    also: list[str] = field(default_factory=list)
    advising: list[str] = field(default_factory=list)
    call_backs: dict[str, CallBackState] = field(default_factory=dict)
    seen_by: list[str] = field(default_factory=list)
    closes_at: Instant | None = None
    witnesses: int = 0
    usual: dict[str, float] = field(default_factory=dict)


@dataclass(slots=True)
class Cylinder:
    """The gas cylinder of a transport: litres at a moment, and the sweep in L/min that empties it since."""

    litres: float
    at: Instant
    sweep: float | None


@dataclass(slots=True)
class Transport:
    """A transport: open until somebody ends it; then it waits for its return check.

    ``departure``: what was checked before leaving. ``gas_alerts``: by rule. ``silent_since``: no feed since then,
    for so long that it stands on the list.
    """

    leader: str
    began: Instant
    back: Instant
    destination: str = ""
    departure: dict[DepartureItem, Instant] = field(default_factory=dict)
    ended_at: Instant | None = None
    late_alert: int | None = None
    check_alert: int | None = None
    cylinder: Cylinder | None = None
    gas_alerts: dict[str, int] = field(default_factory=dict)
    silent_since: Instant | None = None


@dataclass(slots=True)
class AudioPause:
    """The desks' sound of a bed is paused: by whom, until when. Alerts from ``next_alert`` on are new to it."""

    by: str
    until: Instant
    next_alert: int = 0


@dataclass(slots=True)
class Look:
    """When a person last looked at a bed, at which runs by slot, and what was usual there, in units."""

    at: Instant
    runs: dict[int, str]
    usual: dict[int, dict[Quantity, float]]


@dataclass(slots=True)
class EventState:
    """Something that is planned at a bed, until somebody says that it was done or is taken back."""

    at: Instant
    what: str
    by: str


@dataclass(slots=True)
class BedState:
    """One bed: its runs by slot, its alerts and episodes that are not over and done with.

    ``care``: begin and end of the care markers of the last hour, the newest last. ``looks``: by person. ``cards``:
    when a person last looked at the handover card, for a day. ``events``: what is planned, by number.
    ``emergency_cards``: those in use, by name. ``ended``: by slot, when the last run there ended or left.
    """

    label: str
    runs: dict[int, RunState] = field(default_factory=dict)
    origin: Origin | None = None
    interval_ms: int = 1_000
    alerts: dict[int, AlertState] = field(default_factory=dict)
    episodes: dict[int, EpisodeState] = field(default_factory=dict)
    note: str = ""
    care: list[tuple[Instant, Instant]] = field(default_factory=list)
    transport: Transport | None = None
    audio_paused: AudioPause | None = None
    looks: dict[str, Look] = field(default_factory=dict)
    cards: dict[str, Instant] = field(default_factory=dict)
    events: dict[int, EventState] = field(default_factory=dict)
    emergency_cards: dict[str, CardUse] = field(default_factory=dict)
    ended: dict[int, Instant] = field(default_factory=dict)

    @property
    def by_sets(self) -> bool:
        """No feed reads here: a person reads and enters sets."""
        return self.origin is Origin.ENTERED


@dataclass(slots=True)
class BeyondState:
    """A command that went beyond a role, until the charge nurse has seen it. ``what``: its kind."""

    number: int
    at: Instant
    person: str
    bed: str | None
    what: str
    why: str


@dataclass(slots=True)
class UnitState:
    """What belongs to no bed.

    ``uncovered``: rung -> its alert; ``blind``: the alert while the board is blind; ``sees_again_at``: feeds are
    coming back, and what is still missing then speaks for itself. ``configuration_seen``: by person, up to when.
    ``rivals``: beds that two feeds claim; ``clashes``: bed -> its alert of that; ``clocks``: feed -> by how many ms
    it is off, and its alert.
    """

    roster: RosterState = field(default_factory=RosterState)
    equipment: EquipmentState = field(default_factory=EquipmentState)
    alerts: dict[int, AlertState] = field(default_factory=dict)
    episodes: dict[int, EpisodeState] = field(default_factory=dict)
    uncovered: dict[int, int] = field(default_factory=dict)
    blind: int | None = None
    sees_again_at: Instant | None = None
    rivals: list[str] = field(default_factory=list)
    clashes: dict[str, int] = field(default_factory=dict)
    clocks: dict[str, tuple[int, int]] = field(default_factory=dict)
    next_alert: int = 1
    next_episode: int = 1
    beyond: list[BeyondState] = field(default_factory=list)
    next_beyond: int = 1
    next_event: int = 1
    configuration_seen: dict[str, Instant] = field(default_factory=dict)


@dataclass(slots=True)
class EngineState:
    """The one mutable root."""

    now: Instant
    unit: UnitState = field(default_factory=UnitState)
    beds: dict[str, BedState] = field(default_factory=dict)
