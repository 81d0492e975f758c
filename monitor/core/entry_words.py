"""What happened, in plain words: one line for an entry of the alert log."""

from collections.abc import Callable

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.pages.states import PageState, state_words

K = EntryKind
_WHERE = {"at_bed": "at the bed", "going": "going", "phone": "by phone"}
#: A page that waits, or has nowhere to go, says no more than the call before it.
_NO_NEWS = frozenset({PageState.WAITING, PageState.DESKS_ONLY})


def words_of(entry: Entry, label: Callable[[str | None], str]) -> str:
    """Give an entry's words; ``label`` writes a person. Empty: an entry that says nothing to a reader."""
    who = label(entry.person)
    text = entry.text or ""
    match entry.kind:
        case K.RAISED | K.BOARD_BLIND:
            return text
        case K.FOLDED:
            return f"{text}, joined"
        case K.PROMOTED:
            return f"{text}, rises to {entry.priority}"
        case K.CALLED:
            rung = RUNG_LABEL[Rung(entry.rung or 1)]
            return f"{who} called" if entry.person else f"{rung} called"
        case K.PAGED:
            stands = f": {state_words(entry.page_state)}" if entry.page_state is not None else ""
            return "" if entry.page_state in _NO_NEWS else f"Page to {who}{stands}"
        case K.SKIPPED:
            return f"{RUNG_LABEL[Rung(entry.rung or 1)]}: nobody, skipped"
        case K.TAKEN | K.ALSO_RESPONDING:
            verb = "has it" if entry.kind is K.TAKEN else "also responding"
            where = f", {_WHERE.get(entry.where or '', '')}".rstrip(", ")
            told = f", told to {label(entry.told_to)}" if entry.told_to else ""
            return f"{who} {verb}{where}{told}"
        case K.SEEN:
            return f"Seen by {who}" + (": answer expected" if entry.until is not None else "")
        case K.ADVISED:
            there = f", there in {entry.eta_min} min" if entry.eta_min else ""
            return f"{who} {text or 'helps by phone'}{there}"
        case K.DECLINED:
            return f"Passed on by {who}"
        case K.RENEWED:
            return f"Held anew by {who}"
        case K.HOLD_ENDED | K.WORSENED:
            return f"Calls go on: {text}" if text else "Calls go on"
        case K.CLEARED:
            return f"{_rule(entry)} ended"
        case K.LATCHED:
            return f"{_rule(entry)} ended, not seen"
        case K.REVIEWED:
            return f"{_rule(entry)} reviewed by {who}"
        case (
            K.UNCOVERED
            | K.CARE_MARKER
            | K.EXCHANGE
            | K.TRIAL_STARTED
            | K.TRIAL_ENDED
            | K.ORDER
            | K.TARGET
            | K.ROSTER
            | K.OFFERED
            | K.OFFER_ACCEPTED
            | K.OFFER_DECLINED
            | K.OFFER_WITHDRAWN
            | K.BREAK_BEGAN
            | K.BREAK_ENDED
            | K.PLAN_SET
            | K.PLAN_ENDED
            | K.AUDIO_PAUSED
            | K.AUDIO_BACK
            | K.LIMIT_SET
            | K.LIMIT_ENDED
            | K.CALL_ME_SET
            | K.CALL_ME_ENDED
            | K.RUN_MOVED
            | K.CYLINDER
            | K.BEYOND_SEEN
            | K.EVENT_PLANNED
            | K.SIGN_IN
            | K.PEER
            | K.ITEM_PLACED
            | K.ITEM_FREED
            | K.ITEM_CHECKED
            | K.ITEM_QUARANTINED
            | K.ITEM_RETURNED
            | K.ITEM_NOTED
            | K.ITEM_ADDED
            | K.NOTE
            | K.TAKEN_OUT
            | K.REFUSED
        ):
            return text
        case K.EVENT_OVER | K.CONFIGURATION_SEEN:
            return f"{text}, {who}" if entry.person else text
        case K.BEYOND_ROLE:
            return f"{who} · {text}"
        case K.PROPOSAL_ENDED:
            return f"{text}, by {who}" if entry.person else text
        case (
            K.LIMIT_PROPOSED
            | K.SET_CORRECTED
            | K.SET_UNCHECKED
            | K.ROUND_DONE
            | K.OFF_SUPPORT
            | K.BACK_ON_SUPPORT
            | K.CARD
        ):
            return f"{text}, by {who}"
        case K.SET_STRUCK:
            return f"{text}, by {who}" + (f" and {label(entry.told_to)}" if entry.told_to else "")
        case K.VALUE_CORRECTED:
            return f"What raised it was entered by hand: {text}"
        case K.HINT:
            return f"Possible pattern: {text}"
        case K.REASON:
            return f"Why {who} took it: {(entry.reason or '').replace('_', ' ')}"
        case K.TRANSPORT_STARTED:
            return f"In transport, {who} leads" + (f": {text}" if text else "")
        case K.TRANSPORT_ENDED:
            return "Back from transport: return check due"
        case K.RETURN_CHECKED:
            return f"Return check by {who}"
        case K.TAKE_MOVED:
            told = f", told to {label(entry.told_to)}" if entry.told_to else ""
            return f"{who} has it, {text}{told}"
        case K.NOBODY_THERE:
            return "Nobody can be called: telephone"
        case K.LATE_ARRIVAL:
            return f"{who} {text}" + (": next rung" if entry.rung is not None else "")
        case K.NO_ANSWER:
            following = "next rung" if entry.rung is not None else "nobody left to call"
            return f"No answer from {who} {text}: {following}"
        case K.UNREACHABLE:
            return f"{who} unreachable" + (f": {text}" if text else "")
        case K.REACHABLE:
            return f"{who} can be reached again"
        case K.COVERED:
            return f"{RUNG_LABEL[Rung(entry.rung or 1)]}: {who}"
        case K.RUN_STARTED:
            return f"Run started: {text}"
        case K.RUN_ENDED:
            return f"Run ended {text[:1].lower()}{text[1:]}".rstrip()
        case K.FEED_LOST:
            return "No readings"
        case K.FEED_BACK:
            return "Readings are back"
        case _:
            return ""


def _rule(entry: Entry) -> str:
    return (entry.text or (entry.rule or "Alert").replace("_", " ").capitalize()).strip()
