"""What the engine writes into the alert log: one frozen entry for everything that happened."""

from pydantic import Field

from monitor.core.grades import AlertClass, Priority
from monitor.core.model import Frozen
from monitor.core.pages.states import PageState
from shared.instant import Instant
from shared.word import Word


class EntryKind(Word):
    """What happened. The words are those of the rehearsal's output."""

    RAISED = "raised"
    FOLDED = "folded"
    PROMOTED = "promoted"
    CALLED = "called"
    PAGED = "paged"
    SKIPPED = "skipped"
    SEEN = "seen"
    TAKEN = "taken"
    ALSO_RESPONDING = "also_responding"
    ADVISED = "advised"
    DECLINED = "declined"
    RENEWED = "renewed"
    HOLD_ENDED = "hold_ended"
    WORSENED = "worsened"
    CLEARED = "cleared"
    LATCHED = "latched"
    REVIEWED = "reviewed"
    EPISODE_CLOSED = "episode_closed"
    UNCOVERED = "uncovered"
    COVERED = "covered"
    BOARD_BLIND = "board_blind"
    ORDER = "order"
    TARGET = "target"
    LIMIT_SET = "limit_set"
    LIMIT_ENDED = "limit_ended"
    LIMIT_PROPOSED = "limit_proposed"
    PROPOSAL_ENDED = "proposal_ended"
    CALL_ME_SET = "call_me_set"
    CALL_ME_ENDED = "call_me_ended"
    REASON = "reason"
    AUDIO_PAUSED = "audio_paused"
    AUDIO_BACK = "audio_back"
    ROSTER = "roster"
    STANDS = "stands"
    OFFERED = "offered"
    OFFER_ACCEPTED = "offer_accepted"
    OFFER_DECLINED = "offer_declined"
    OFFER_WITHDRAWN = "offer_withdrawn"
    TAKE_MOVED = "take_moved"
    BREAK_BEGAN = "break_began"
    BREAK_ENDED = "break_ended"
    UNREACHABLE = "unreachable"
    REACHABLE = "reachable"
    PLAN_SET = "plan_set"
    PLAN_ENDED = "plan_ended"
    NOBODY_THERE = "nobody_there"
    LATE_ARRIVAL = "late_arrival"
    NO_ANSWER = "no_answer"
    CARE_MARKER = "care_marker"
    EXCHANGE = "exchange"
    TRIAL_STARTED = "trial_started"
    TRIAL_ENDED = "trial_ended"
    TRANSPORT_STARTED = "transport_started"
    TRANSPORT_ENDED = "transport_ended"
    RETURN_CHECKED = "return_checked"
    RUN_STARTED = "run_started"
    RUN_ENDED = "run_ended"
    RUN_MOVED = "run_moved"
    CYLINDER = "cylinder"
    ITEM_PLACED = "item_placed"
    ITEM_FREED = "item_freed"
    ITEM_CHECKED = "item_checked"
    ITEM_QUARANTINED = "item_quarantined"
    ITEM_RETURNED = "item_returned"
    ITEM_NOTED = "item_noted"
    ITEM_ADDED = "item_added"
    LOOKED = "looked"
    CONFIGURATION_SEEN = "configuration_seen"
    EVENT_PLANNED = "event_planned"
    EVENT_OVER = "event_over"
    SIGN_IN = "sign_in"
    PEER = "peer"
    BEYOND_ROLE = "beyond_role"
    BEYOND_SEEN = "beyond_seen"
    BASELINE = "baseline"
    FEED_LOST = "feed_lost"
    FEED_BACK = "feed_back"
    REFUSED = "refused"
    HINT = "hint"
    ROUND_DONE = "round_done"
    SET_CORRECTED = "set_corrected"
    SET_STRUCK = "set_struck"
    SET_UNCHECKED = "set_unchecked"
    VALUE_CORRECTED = "value_corrected"
    TAKEN_OUT = "taken_out"
    OFF_SUPPORT = "off_support"
    BACK_ON_SUPPORT = "back_on_support"
    CARD = "card"
    NOTE = "note"


class Entry(Frozen):
    """One thing that happened, with whatever fields belong to its kind; the rest stay empty.

    Attributes:
        at: the hub's time.
        bed, slot: where; no bed: the unit.
        alert, episode, rule, priority, alert_class: of the alert concerned.
        rung, person: who was called, or who did it; ``told_to`` wrote it down for ``person``.
        value, limit: the value that was out, and its limit, in the rule's unit; of ``back_on_support`` the seconds.
        until: when a hold ends, when what is planned is due, or by when an answer is expected.
        command: id of the command that caused it.
        text: words for a person; of a page, what it says.
        page, page_state: number of a page, and how it stands; ``reason`` then says why.
        hint: letter of a possible pattern, with the words of its signs for and against, and the letters of what
            fits too; ``text`` is its title.
        item: the piece of equipment concerned.
        key: fingerprint of the station at which a person did it, where the network has keys.
        sounds: the desks sound one burst of this entry's priority.
    """

    at: Instant
    kind: EntryKind
    bed: str | None = None
    slot: int | None = None
    alert: int | None = None
    episode: int | None = None
    rule: str | None = None
    priority: Priority | None = None
    alert_class: AlertClass | None = Field(default=None, alias="class")
    circuit_critical: bool | None = None
    rung: int | None = None
    person: str | None = None
    told_to: str | None = None
    reason: str | None = None
    where: str | None = None
    eta_min: int | None = None
    value: float | None = None
    limit: float | None = None
    until: Instant | None = None
    command: str | None = None
    text: str | None = None
    page: int | None = None
    page_state: PageState | None = None
    hint: str | None = None
    signs_for: tuple[str, ...] | None = None
    signs_against: tuple[str, ...] | None = None
    alternatives: tuple[str, ...] | None = None
    item: str | None = None
    key: str | None = None
    sounds: bool | None = None
