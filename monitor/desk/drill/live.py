"""What of the live unit takes the desk from a drill at once. Pure.

Any open high, whether somebody has it or not: a unit with one does not practise. And that nothing live is known:
the board is blind, the hub is silent, or was never found.
"""

from monitor.core.grades import Priority
from monitor.desk import words
from monitor.desk.need import is_open
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import is_blind
from shared.language.saying import say


def live_call(store: Store, moment: Moment | None) -> str:
    """Say why the live unit wants the desk now; empty: it does not."""
    if moment is None:
        return say("the live unit is not heard")
    if moment.veiled:
        return say("live is NOT LIVE since {clock}", clock=words.clock(store.clock.last_word, moment.zone))
    if is_blind(store) is not None:
        return say("the live board is blind")
    high = [(bed, one) for bed, one in store.needs() if is_open(one) and one.priority is Priority.HIGH]
    if not high:
        return ""
    bed, one = high[0]
    more = say(", and {count} more", count=len(high) - 1) if len(high) > 1 else ""
    return say("live high at {place}: {title}{more}", place=bed or say("the unit"), title=one.title, more=more)
