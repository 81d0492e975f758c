"""What can become of a page, as a table, and in words for a desk.

Theory. A mail server that accepts a page has said nothing of the person: *handed over* is the most that is ever
known. A page is in doubt when the line was cut after its text had gone and before the server's last word, or when
the hub was killed meanwhile; it is then sent once more and says so. What was in doubt once can end as handed over,
or in doubt for good, never as "not sent". Once the call is taken, nothing more is tried for a rung that the take
holds: if the hold ends, that rung is called, and paged, anew.
"""

import re
from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


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

_AT = re.compile(r" (since |at )?\{at\}")
_WORDS: Mapping[PageState, str] = MappingProxyType({
    S.WAITING: "waiting for the mail server since {at}",
    S.TRYING_AGAIN: "not sent at {at}, tried again: telephone",
    S.IN_DOUBT: "delivery unknown at {at}, sent again: telephone",
    S.HANDED_OVER: "handed to the mail server {at}, delivery unknown",
    S.REFUSED: "refused by the mail server {at}: telephone",
    S.NOT_SENT: "not sent: telephone",
    S.LEFT_IN_DOUBT: "delivery unknown, not tried again: telephone",
    S.STOPPED: "not sent, the call was taken at {at}",
    S.DESKS_ONLY: "at the desks only",
})  # fmt: skip


def next_state(state: PageState, event: PageEvent) -> PageState:
    """Give what follows. Raises KeyError where a page is settled: nothing can happen to it."""
    return _NEXT[state][event]


def state_words(state: PageState, at: str = "") -> str:
    """Say how a page stands; ``at`` is the time of its last change as hh:mm, left out where it stands beside."""
    return _WORDS[state].format(at=at) if at else _AT.sub("", _WORDS[state])
