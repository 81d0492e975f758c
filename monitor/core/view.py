"""The frozen read model: what a board, a tile and a bed page show. A desk computes nothing about alerts.

Times are absolute, in the hub's clock; a desk counts down against the hub's time. Numbers of quantities are not
here: they travel as readings, many times more often than these views change.
"""

from monitor.core.bed_commands import DepartureItem
from monitor.core.drill import Drill
from monitor.core.equipment.view import EquipmentView
from monitor.core.grades import AlertClass, LadderClass, Priority, TrialKind
from monitor.core.model import Frozen
from monitor.core.pages.states import PageState
from monitor.core.roster.view import RosterView
from shared.instant import MINUTE, Instant
from shared.messages import Origin, RoundKind
from shared.quantities import Quantity
from shared.support import RunDescription
from shared.word import Word


class RungState(Word):
    """What a rung of the staff shows."""

    EMPTY = "empty"
    NEXT = "next"
    CALLED = "called"
    SKIPPED = "skipped"
    HELD = "held"


class RungView(Frozen):
    """One rung of a running ladder. ``at``: of the call, or when it is due."""

    rung: int
    person: str | None = None
    state: RungState
    at: Instant | None = None


class LadderView(Frozen):
    """A running ladder: the rungs that this class can reach, lowest first.

    ``next_rung`` and ``next_at`` say who is called next and when; ``None`` while held or when all are called.
    ``repeats_at``: when those called are called again. ``began``: where the present countdown started.
    ``nobody_since``: nobody at all can be called. ``call_back_by``: an answer of the perfusionist, who is not in
    the unit, is expected by then; who has seen it and gives none brings ``next_at`` forward to it.
    """

    ladder: LadderClass
    rungs: tuple[RungView, ...]
    next_rung: int | None = None
    next_person: str | None = None
    next_at: Instant | None = None
    began: Instant
    repeats_at: Instant | None = None
    nobody_since: Instant | None = None
    call_back_by: Instant | None = None


class HolderView(Frozen):
    """Who has it. ``until``: when the hold ends and those called so far are called again."""

    person: str
    where: str
    reason: str | None = None
    eta_at: Instant | None = None
    told_to: str | None = None
    taken_at: Instant
    until: Instant


class AlertView(Frozen):
    """One alert as it stands."""

    id: int
    rule: str
    title: str
    slot: int | None = None
    quantity: Quantity | None = None
    priority: Priority
    alert_class: AlertClass
    circuit_critical: bool
    patient_side: bool
    raised_at: Instant
    present: bool
    ended_at: Instant | None = None
    listed: bool
    value: float | None = None
    limit: float | None = None
    last_reading_at: Instant | None = None
    revision: int


class CallBackView(Frozen):
    """What somebody elsewhere said of coming back to it, and when somebody will be there.

    ``says``: as in ``CallBack``, ``cannot``, or ``seen`` and no more; ``late``: the next rung was called for it.
    """

    person: str
    says: str
    at: Instant
    eta_at: Instant | None = None
    late: bool = False


class EpisodeView(Frozen):
    """Alerts that belong together: what people answer. A low is an episode view of its own, never called.

    ``alerts`` has the open and the still listed ones, the leading first. ``over``: every condition has ended and it
    is listed only until seen.
    """

    id: int | None = None
    lead: int
    priority: Priority
    alert_class: AlertClass
    circuit_critical: bool
    title: str
    since: Instant
    revision: int
    alerts: tuple[AlertView, ...]
    over: bool
    seen_by: tuple[str, ...]
    holder: HolderView | None = None
    also: tuple[str, ...]
    advising: tuple[str, ...]
    call_backs: tuple[CallBackView, ...] = ()
    ladder: LadderView | None = None


class OwnLimitView(Frozen):
    """A bed's own limit: its value in the quantity's unit, who owns it, until when, and why."""

    value: float
    by: str
    second: str | None = None
    since: Instant
    until: Instant
    reason: str = ""


class ProposalView(Frozen):
    """A limit that was proposed and is not in force; it lapses at ``ends``."""

    value: float
    by: str
    at: Instant
    until: Instant
    reason: str = ""
    ends: Instant


class LimitView(Frozen):
    """A limit that can be set for this bed. ``default``: what stands without one, ``None``: not known."""

    rule: str
    priority: Priority
    quantity: Quantity
    above: bool
    default: float | None = None
    own: OwnLimitView | None = None
    proposed: ProposalView | None = None


class CallMeView(Frozen):
    """Who wants to be called when a quantity is below or above a value."""

    quantity: Quantity
    below: float | None = None
    above: float | None = None
    calls: str
    by: str
    until: Instant
    note: str = ""


class TrialView(Frozen):
    """An open trial of a run: its kind, who started it with whom, and its hard end."""

    kind: TrialKind
    by: str
    second: str
    began: Instant
    until: Instant
    floor_flow: float | None = None


class OffSupportView(Frozen):
    """A run is off support: who said so, and since when."""

    by: str
    since: Instant


class TickView(Frozen):
    """A step of an emergency card that is done: when it was ticked, and by whom."""

    step: int
    at: Instant
    by: str


class EmergencyCardView(Frozen):
    """An emergency card in use at a bed. After ``until`` its ticks are of another emergency and no longer shown."""

    card: str
    title: str
    version: int
    until: Instant
    ticks: tuple[TickView, ...] = ()


class RoundView(Frozen):
    """A round of a kind at a run: the newest one, by whom, and when the next is due or was."""

    kind: RoundKind
    done_at: Instant | None = None
    by: str | None = None
    due_at: Instant


class RunView(Frozen):
    """A support run at the bed, with its targets and the limits that stand (quantity -> low, high).

    ``settable``: the limits that can be set for this bed, in table order. ``call_me``: calls asked for.
    ``device_since``: since when pump head, oxygenator and tubing are in use; an exchange begins one anew.
    ``device_due``: when a notice of its age stands, where the unit has set one.
    ``battery_empty_at``: on battery, when it is empty as the rules project it, to the whole minute before.
    ``rounds``: those that are ever due here. ``findings``: what a round found and none since found in order, by the
    words of the item, with those of whoever looked. ``owed``: devices of which it is not recorded which item of the
    unit's equipment they are, since when.
    """

    description: RunDescription
    targets: dict[Quantity, float]
    limits: dict[Quantity, tuple[float | None, float | None]]
    baseline: dict[Quantity, float]
    order_baseline: dict[Quantity, float]
    settable: tuple[LimitView, ...] = ()
    call_me: tuple[CallMeView, ...] = ()
    device_since: dict[str, Instant] = {}
    device_due: dict[str, Instant] = {}
    trial: TrialView | None = None
    battery_empty_at: Instant | None = None
    rounds: tuple[RoundView, ...] = ()
    findings: dict[str, str] = {}
    owed: dict[str, Instant] = {}
    off_support: OffSupportView | None = None


class EventView(Frozen):
    """Something that is planned at a bed: its number, when, what in words, and who wrote it down."""

    number: int
    at: Instant
    what: str
    by: str


class LookView(Frozen):
    """The newest look at a bed: by whom, when."""

    by: str
    at: Instant


class TransportView(Frozen):
    """A transport of a bed; ``ended_at``: it is back, and the return check is due.

    Attributes:
        destination: where to, in words.
        departure: what was checked before leaving, each with its time; ``missing``: what was not.
        gas_empty_at: when the cylinder is empty at the last known sweep, ``None`` where that is not known.
        silent_since: no feed since then, for long enough to stand on the list.
    """

    leader: str
    began: Instant
    back: Instant
    ended_at: Instant | None = None
    destination: str = ""
    departure: dict[DepartureItem, Instant] = {}
    missing: tuple[DepartureItem, ...] = ()
    gas_empty_at: Instant | None = None
    silent_since: Instant | None = None


class AudioPauseView(Frozen):
    """The desks' sound of a bed is paused: by whom, until when."""

    by: str
    until: Instant


class TileView(Frozen):
    """One bed.

    Attributes:
        runs: none: no support run, nothing is watched.
        nurse: roster name of the bedside nurse.
        origin: where readings come from, ``None`` before the first.
        interval_s: declared time between readings.
        last_reading_at: newest reading, of two pumps by hand the older set; ages show from ``age_from_s`` after it.
        stale_after_s: from this age nothing is judged.
        stale: that age is passed (or nothing was ever read).
        rules, judged: how many rules this bed has, and how many may speak now.
        not_watched: labels of what is not fitted although usual for the support type.
        episodes: worst first.
        notes: plain remarks, e.g. short dips.
        care_until: end of the last care marker; over once the hub's time has passed it.
        orders: times of orders in the last 72 h, for marks on trends.
        audio_paused: the desks are silent for this bed meanwhile.
        events: what is planned, the next first; it stays until somebody ends it.
        looked: the newest look at the bed; ``cards``: by person, the last look at its handover card within a day.
        emergency_cards: those in use, by name.
    """

    bed: str
    runs: tuple[RunView, ...]
    nurse: str | None = None
    origin: Origin | None = None
    interval_s: float
    last_reading_at: Instant | None = None
    age_from_s: float
    stale_after_s: float
    stale: bool
    rules: int
    judged: int
    not_watched: tuple[str, ...]
    episodes: tuple[EpisodeView, ...]
    notes: tuple[str, ...]
    orders: tuple[Instant, ...] = ()
    by_hand_note: str = ""
    care_until: Instant | None = None
    transport: TransportView | None = None
    audio_paused: AudioPauseView | None = None
    events: tuple[EventView, ...] = ()
    looked: LookView | None = None
    cards: dict[str, Instant] = {}
    emergency_cards: tuple[EmergencyCardView, ...] = ()


class CoverView(Frozen):
    """Who has a rung now. ``empty_since``: nobody can be called there.

    ``unreachable_until``: who has it cannot be reached until then; ``instead`` is called meanwhile.
    """

    rung: int
    person: str | None = None
    empty_since: Instant | None = None
    unreachable_until: Instant | None = None
    instead: str | None = None


class PersonView(Frozen):
    """A person of the roster as screens show it. ``looks_on``: answers nothing, in none of their roles."""

    name: str
    label: str
    role: str
    in_unit: bool
    phone: str
    looks_on: bool = False


class PageView(Frozen):
    """A page: who was paged of which call, what it says, and how it stands since ``changed_at``. No address."""

    number: int
    at: Instant
    bed: str | None = None
    episode: int
    rung: int
    person: str
    text: str
    state: PageState
    changed_at: Instant


#: `BeyondView.what` where it was no command, but a set entered by hand.
ENTERED_SET = "entered_set"


class BeyondView(Frozen):
    """Something done beyond a role that the charge nurse has not seen yet. ``what``: the kind of the command."""

    number: int
    at: Instant
    person: str
    bed: str | None = None
    what: str
    why: str


class DueKind(Word):
    """What is due at a bed, or waits for an answer; the last two are what has come up since the shift began."""

    READING = "reading"
    NO_FEED = "no_feed"
    ROUND = "round"
    DRAW = "draw"
    TARGET = "target"
    EVENT = "event"
    ITEM = "item"
    PROPOSAL = "proposal"
    GAP = "gap"
    SET = "set"


#: What nobody can do any more, but look through before the shift ends.
SINCE_SHIFT = frozenset({DueKind.GAP, DueKind.SET})


class DueView(Frozen):
    """Something due at a bed. ``at``: since when, or when it came up. ``late``: long overdue, as the unit says."""

    bed: str
    slot: int | None = None
    kind: DueKind
    at: Instant
    words: str
    late: bool = False


class ConfiguredView(Frozen):
    """A change of the configuration: from when on it holds, and the files that differ."""

    at: Instant
    files: tuple[str, ...]


class SignInView(Frozen):
    """Signing in, where secrets are set up.

    Attributes:
        asks: the names whose secret is asked for.
        idle_s: a desk forgets who sits there after so many seconds without a key.
        fault: why nothing is checked although it should be; empty: it is.
    """

    asks: tuple[str, ...] = ()
    idle_s: int = 900
    fault: str = ""


#: From this age on the newest downtime sheet is too old: the log says so, and every desk.
SHEET_OVERDUE_MS = 75 * MINUTE


class SheetView(Frozen):
    """The downtime sheets that the hub has made beside it.

    Attributes:
        folder: where they lie, on ``host``.
        newest: name of the newest one; ``at``: how the unit stood then. None: not one yet.
        since: when the hub began to have them made.
        fault: why the last one could not be made; empty: it was.
    """

    folder: str
    host: str
    newest: str = ""
    at: Instant | None = None
    since: Instant
    fault: str = ""


class UnitView(Frozen):
    """What belongs to no bed: cover, people, unit alerts, feeds and the hub itself.

    ``not_recorded``: the record refuses writes since then. ``speed``: how many times faster than the wall the hub's
    clock runs (a demonstration), else 1. ``drill``: its beds are invented. ``pages``: newest of each rung, episode.
    ``due``: what is due at the beds, oldest first, then what came up since the shift began. ``configured``: changes
    of the last 14 days, newest first; ``configuration_seen``: by person, up to when they saw them.
    """

    name: str
    beds: tuple[str, ...]
    cover: tuple[CoverView, ...]
    deputy: str | None = None
    people: tuple[PersonView, ...]
    episodes: tuple[EpisodeView, ...]
    feeds_live: int
    feeds_known: int
    roster: RosterView = RosterView()
    equipment: EquipmentView = EquipmentView()
    pages: tuple[PageView, ...] = ()
    beyond: tuple[BeyondView, ...] = ()
    due: tuple[DueView, ...] = ()
    configured: tuple[ConfiguredView, ...] = ()
    configuration_seen: dict[str, Instant] = {}
    sign_in: SignInView | None = None
    sheet: SheetView | None = None
    demonstration: bool = False
    drill: Drill | None = None
    not_recorded: Instant | None = None
    speed: float = 1.0
