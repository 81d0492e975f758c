"""What can become of a page, as a table, and in words for a desk.

Theory. A mail server that accepts a page has said nothing of the person: *handed over* is the most that is ever
known. A page is in doubt when the line was cut after its text had gone and before the server's last word, or when
the hub was killed meanwhile; it is then sent once more and says so. What was in doubt once can end as handed over,
or in doubt for good, never as "not sent". Once the call is taken, nothing more is tried for a rung that the take
holds: if the hold ends, that rung is called, and paged, anew.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from shared.language.saying import say, to_say


class PageState(StrEnum):
    """How a page stands."""

    WAITING = "waiting"
    TRYING_AGAIN = "trying_again"
    IN_DOUBT = "in_doubt"
    HANDED_OVER = "handed_over"
    REFUSED = "refused"
    NOT_SENT = "not_sent"
    LEFT_IN_DOUBT = "left_in_doubt"
    STOPPED = "stopped"
    DESKS_ONLY = "desks_only"


class PageEvent(StrEnum):
    """What happened: accepted by the server, failed for now, refused, cut off, tried enough, restart, a take."""

    ACCEPTED = "accepted"
    FAILED = "failed"
    REFUSED = "refused"
    CUT = "cut"
    GAVE_UP = "gave_up"
    RESTARTED = "restarted"
    TAKEN = "taken"


S, E = PageState, PageEvent
_NEXT: Mapping[PageState, Mapping[PageEvent, PageState]] = MappingProxyType({
    S.WAITING: {E.ACCEPTED: S.HANDED_OVER, E.FAILED: S.TRYING_AGAIN, E.REFUSED: S.REFUSED, E.CUT: S.IN_DOUBT,
                E.GAVE_UP: S.NOT_SENT, E.RESTARTED: S.IN_DOUBT, E.TAKEN: S.STOPPED},
    S.TRYING_AGAIN: {E.ACCEPTED: S.HANDED_OVER, E.FAILED: S.TRYING_AGAIN, E.REFUSED: S.REFUSED, E.CUT: S.IN_DOUBT,
                     E.GAVE_UP: S.NOT_SENT, E.RESTARTED: S.IN_DOUBT, E.TAKEN: S.STOPPED},
    S.IN_DOUBT: {E.ACCEPTED: S.HANDED_OVER, E.FAILED: S.IN_DOUBT, E.REFUSED: S.LEFT_IN_DOUBT, E.CUT: S.IN_DOUBT,
                 E.GAVE_UP: S.LEFT_IN_DOUBT, E.RESTARTED: S.IN_DOUBT, E.TAKEN: S.LEFT_IN_DOUBT},
})  # fmt: skip

#: Nothing more is done about a page in one of these.
SETTLED = frozenset(set(PageState) - set(_NEXT))
#: Nobody may count on a page in one of these: telephone.
TELEPHONE = frozenset({S.TRYING_AGAIN, S.IN_DOUBT, S.REFUSED, S.NOT_SENT, S.LEFT_IN_DOUBT})
#: These will not be sent any more, and raise a line in the header.
LOST = frozenset({S.REFUSED, S.NOT_SENT, S.LEFT_IN_DOUBT})

#: With the time of the last change, and without it.
_WORDS: Mapping[PageState, tuple[str, str]] = MappingProxyType(
    {
        S.WAITING: (to_say("waiting for the mail server since {at}"), to_say("waiting for the mail server")),
        S.TRYING_AGAIN: (
            to_say("not sent at {at}, tried again: telephone"),
            to_say("not sent, tried again: telephone"),
        ),
        S.IN_DOUBT: (
            to_say("delivery unknown at {at}, sent again: telephone"),
            to_say("delivery unknown, sent again: telephone"),
        ),
        S.HANDED_OVER: (
            to_say("handed to the mail server {at}, delivery unknown"),
            to_say("handed to the mail server, delivery unknown"),
        ),
        S.REFUSED: (
            to_say("refused by the mail server {at}: telephone"),
            to_say("refused by the mail server: telephone"),
        ),
        S.NOT_SENT: (to_say("not sent: telephone"),) * 2,
        S.LEFT_IN_DOUBT: (to_say("delivery unknown, not tried again: telephone"),) * 2,
        S.STOPPED: (to_say("not sent, the call was taken at {at}"), to_say("not sent, the call was taken")),
        S.DESKS_ONLY: (to_say("at the desks only"),) * 2,
    }
)


def next_state(state: PageState, event: PageEvent) -> PageState:
    """Give what follows. Raises KeyError where a page is settled: nothing can happen to it."""
    return _NEXT[state][event]


def state_words(state: PageState, at: str = "") -> str:
    """Say how a page stands; ``at`` is the time of its last change as hh:mm, left out where it stands beside."""
    with_time, without = _WORDS[state]
    return say(with_time, at=at) if at else say(without)
