"""What is news to somebody who comes back to a bed: entries of the log, and what moved since their look.

Who answered what stands among the events; here is what was ordered, moved, raised, exchanged or corrected.
"""

from monitor.core.entries import Entry
from monitor.core.entries import EntryKind as K
from monitor.core.meaning.looked_view import LookedView
from monitor.core.model import Frozen
from shared.instant import Instant

NEWS = frozenset(
    {
        K.RAISED, K.FOLDED, K.PROMOTED, K.BOARD_BLIND, K.ORDER, K.TARGET, K.LIMIT_SET, K.LIMIT_ENDED,
        K.LIMIT_PROPOSED, K.PROPOSAL_ENDED, K.CALL_ME_SET, K.CALL_ME_ENDED, K.EXCHANGE, K.TRIAL_STARTED,
        K.TRIAL_ENDED, K.TRANSPORT_STARTED, K.TRANSPORT_ENDED,
        K.RUN_STARTED, K.RUN_ENDED, K.RUN_MOVED, K.CYLINDER, K.OFF_SUPPORT, K.BACK_ON_SUPPORT,
        K.SET_CORRECTED, K.SET_STRUCK, K.VALUE_CORRECTED,
    }
)  # fmt: skip
#: Entries of a bed that are looked through, and that are told.
LOOKED_THROUGH, TOLD_AT_MOST = 200, 20


class BedNews(Frozen):
    """What is new at a bed to one person.

    ``looked``: by slot, their last look and what is usual there no more. ``entries``: since then, the newest first;
    ``more``: how many further ones were found.
    """

    bed: str
    looked: dict[int, LookedView]
    entries: tuple[Entry, ...] = ()
    more: int = 0


def looked_at(looked: dict[int, LookedView]) -> Instant | None:
    """Give when a person last looked at a bed whose runs still stand; ``None``: not at all."""
    return max((one.at for one in looked.values() if one.at is not None), default=None)


def news_of(bed: str, looked: dict[int, LookedView], entries: list[Entry]) -> BedNews:
    """Give what is new at a bed; ``entries`` are its newest ones, the newest first."""
    since = looked_at(looked)
    found = [one for one in entries if since is not None and one.at > since and one.kind in NEWS]
    more = max(0, len(found) - TOLD_AT_MOST)
    return BedNews(bed=bed, looked=looked, entries=tuple(found[:TOLD_AT_MOST]), more=more)
