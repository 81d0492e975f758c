"""What happened, in plain words: one line for an entry of the alert log."""

from collections.abc import Callable

from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.pages.states import PageState, state_words
from monitor.core.titles import rule_name
from shared.language.saying import say, to_say

K = EntryKind
_WHERE = {"at_bed": to_say("at the bed"), "going": to_say("going"), "phone": to_say("by phone")}
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
            return say("{text}, joined", text=text)
        case K.PROMOTED:
            return say("{text}, rises to {priority}", text=text, priority=say(entry.priority or ""))
        case K.CALLED:
            rung = say(RUNG_LABEL[Rung(entry.rung or 1)])
            return say("{who} called", who=who) if entry.person else say("{rung} called", rung=rung)
        case K.PAGED:
            stands = f": {state_words(entry.page_state)}" if entry.page_state is not None else ""
            return "" if entry.page_state in _NO_NEWS else say("Page to {who}{stands}", who=who, stands=stands)
        case K.SKIPPED:
            return say("{rung_label}: nobody, skipped", rung_label=say(RUNG_LABEL[Rung(entry.rung or 1)]))
        case K.TAKEN | K.ALSO_RESPONDING:
            verb = say("has it") if entry.kind is K.TAKEN else say("also responding")
            where = f", {say(_WHERE.get(entry.where or '', ''))}".rstrip(", ")
            told = say(", told to {told_to}", told_to=label(entry.told_to)) if entry.told_to else ""
            return f"{who} {verb}{where}{told}"
        case K.SEEN:
            return say("Seen by {who}", who=who) + (say(": answer expected") if entry.until is not None else "")
        case K.ADVISED:
            there = say(", there in {eta_min} min", eta_min=entry.eta_min) if entry.eta_min else ""
            return f"{who} {text or say('helps by phone')}{there}"
        case K.DECLINED:
            return say("Passed on by {who}", who=who)
        case K.RENEWED:
            return say("Held anew by {who}", who=who)
        case K.HOLD_ENDED | K.WORSENED:
            return say("Calls go on: {text}", text=text) if text else say("Calls go on")
        case K.CLEARED:
            return say("{rule} ended", rule=_rule(entry))
        case K.LATCHED:
            return say("{rule} ended, not seen", rule=_rule(entry))
        case K.REVIEWED:
            return say("{rule} reviewed by {who}", rule=_rule(entry), who=who)
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
            return say("{text}, by {who}", text=text, who=who) if entry.person else text
        case (
            K.LIMIT_PROPOSED
            | K.SET_CORRECTED
            | K.SET_UNCHECKED
            | K.ROUND_DONE
            | K.OFF_SUPPORT
            | K.BACK_ON_SUPPORT
            | K.CARD
        ):
            return say("{text}, by {who}", text=text, who=who)
        case K.SET_STRUCK:
            return say("{text}, by {who}", text=text, who=who) + (
                say(" and {told_to}", told_to=label(entry.told_to)) if entry.told_to else ""
            )
        case K.VALUE_CORRECTED:
            return say("What raised it was entered by hand: {text}", text=text)
        case K.HINT:
            return say("Possible pattern: {text}", text=text)
        case K.REASON:
            return say("Why {who} took it: {replace}", who=who, replace=say((entry.reason or "").replace("_", " ")))
        case K.TRANSPORT_STARTED:
            return say("In transport, {who} leads", who=who) + (f": {text}" if text else "")
        case K.TRANSPORT_ENDED:
            return say("Back from transport: return check due")
        case K.RETURN_CHECKED:
            return say("Return check by {who}", who=who)
        case K.TAKE_MOVED:
            told = say(", told to {told_to}", told_to=label(entry.told_to)) if entry.told_to else ""
            return say("{who} has it, {text}{told}", who=who, text=text, told=told)
        case K.NOBODY_THERE:
            return say("Nobody can be called: telephone")
        case K.LATE_ARRIVAL:
            if entry.rung is None:
                return f"{who} {text}"
            return say("{who} {text}: next rung", who=who, text=text)
        case K.NO_ANSWER:
            following = say("next rung") if entry.rung is not None else say("nobody left to call")
            return say("No answer from {who} {text}: {following}", who=who, text=text, following=following)
        case K.UNREACHABLE:
            return say("{who} unreachable", who=who) + (f": {text}" if text else "")
        case K.REACHABLE:
            return say("{who} can be reached again", who=who)
        case K.COVERED:
            return f"{say(RUNG_LABEL[Rung(entry.rung or 1)])}: {who}"
        case K.RUN_STARTED:
            return say("Run started: {text}", text=text)
        case K.RUN_ENDED:
            return say("Run ended {text}{text2}", text=text[:1].lower(), text2=text[1:]).rstrip()
        case K.FEED_LOST:
            return say("No readings")
        case K.FEED_BACK:
            return say("Readings are back")
        case _:
            return ""


def _rule(entry: Entry) -> str:
    return (entry.text or say(rule_name(entry.rule or "alert"))).strip()
