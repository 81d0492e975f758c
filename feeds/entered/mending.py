"""A set that was sent, mended: corrected whole with a reason, or struck by two people, and put down elsewhere.

Nothing is deleted: every step is a further version that names why, by whom and when.
"""

import secrets
from collections.abc import Callable
from dataclasses import replace

from feeds.entered.choice import Offer
from feeds.entered.rounds import Posted, Rounds
from feeds.entered.words import posted_words
from shared.entry.known import Place
from shared.entry.versions import SentSet, SetState, agree, ask_strike, lapse, moved, withdraw
from shared.language.saying import say, to_say
from shared.language.writing import shortest
from shared.messages import Why

WHY_WORDS = {
    Why.MISTYPED: to_say("mistyped"),
    Why.MISREAD: to_say("misread"),
    Why.WRONG_TIME: to_say("wrong time"),
    Why.WRONG_BED: to_say("wrong bed"),
    Why.SENSOR_OR_LINE: to_say("sensor or line"),
    Why.OTHER: to_say("other"),
}


class Mending:
    """What is offered about the sets of the open form, list by list.

    Args:
        offer: shows a list. say: says what was done, or why not.
        corrects: the form is now for correcting a set.
    """

    def __init__(
        self,
        rounds: Rounds,
        offer: Callable[[Offer], None],
        say: Callable[[str], None],
        corrects: Callable[[], None],
    ) -> None:
        self._rounds, self._offer, self._say, self._corrects = rounds, offer, say, corrects

    def begin(self) -> None:
        """Offer the sets that can still be mended, the last sent first."""
        rounds = self._rounds
        times, now = rounds.folder.table.times, rounds.clock()
        sets = [self._lapsed(one) for one in rounds.posted()]
        sets = [one for one in sets if one.numbered.kept.state is not SetState.STRUCK]
        if not sets:
            self._say(say("No set was sent from this form that could be mended."))
            return
        rows = [posted_words(one, now, rounds.folder.zone) for one in sets]
        foot = say(
            "Two people strike a set, within {second_min} min. Nothing is deleted. Escape leaves.",
            second_min=shortest(times.second_min),
        )
        self._offer(Offer(say("Sent sets: which one?"), rows, lambda n: self._acts(sets[n]), foot=foot))

    def _lapsed(self, one: Posted) -> Posted:
        rounds = self._rounds
        kept = lapse(one.numbered.kept, rounds.clock(), rounds.folder.table.times)
        if kept is not one.numbered.kept:
            rounds.hold(kept, one.numbered)
        return replace(one, numbered=replace(one.numbered, kept=kept))

    def _acts(self, one: Posted) -> None:
        kept = one.numbered.kept
        if kept.state is SetState.STRIKE_ASKED:
            rows = [say("Agree: strike it"), say("Withdraw: it stands")]
            acts: list[Callable[[], None]] = [lambda: self._agree(kept), lambda: self._withdraw(one)]
        else:
            rows = [
                say("Correct it: the whole set is sent again"),
                say("Ask to strike it: a second person must agree"),
            ]
            acts = [
                lambda: self._ask_why(lambda why: self._correct(kept, why)),
                lambda: self._ask_why(lambda why: self._ask_where(one, why)),
            ]
        self._offer(Offer(say("What is to be done?"), rows, lambda n: acts[n]()))

    def _ask_why(self, then: Callable[[Why], None]) -> None:
        whys = list(WHY_WORDS)
        self._offer(Offer(say("Why?"), [say(WHY_WORDS[why]) for why in whys], lambda n: then(whys[n])))

    def _correct(self, kept: SentSet, why: Why) -> None:
        self._rounds.begin_correction(kept, why)
        self._corrects()

    def _ask_where(self, one: Posted, why: Why) -> None:
        if why is not Why.WRONG_BED:
            self._ask_strike(one, why, None)
            return
        here = one.numbered.kept.place
        places = [seat.place for seat in self._rounds.folder.seats if seat.place != here]
        rows = [
            say("Nowhere: strike it only"),
            *(say("{bed}, pump {slot}", bed=place.bed, slot=place.slot) for place in places),
        ]
        targets: list[Place | None] = [None, *places]
        self._offer(Offer(say("Where does it belong?"), rows, lambda n: self._ask_strike(one, why, targets[n])))

    def _ask_strike(self, one: Posted, why: Why, move_to: Place | None) -> None:
        rounds = self._rounds
        try:
            asked = ask_strike(one.numbered.kept, rounds.draft.by, rounds.clock(), why, move_to)
        except ValueError as error:
            self._say(str(error))
            return
        rounds.hold(asked, one.numbered)
        self._say(say("It stands until a second person agrees: that person's name (F6), then F7."))

    def _withdraw(self, one: Posted) -> None:
        self._rounds.hold(withdraw(one.numbered.kept), one.numbered)
        self._say(say("Withdrawn: the set stands."))

    def _agree(self, kept: SentSet) -> None:
        rounds = self._rounds
        now = rounds.clock()
        try:
            struck, again = agree(kept, rounds.draft.by, now, rounds.folder.table.times)
        except ValueError as error:
            self._say(str(error))
            return
        rounds.tell(struck, now)
        if again is None:
            self._say(say("The set is struck."))
            return
        rounds.tell(moved(again, secrets.token_hex(8), struck), now)
        self._say(say("The set is struck here and put down at {bed}.", bed=again.place.bed))


def corrected_words(bed: str, versions: int) -> str:
    """Say that a corrected set is sent."""
    return say("{bed}: corrected, version {versions} of the whole set is sent.", bed=bed, versions=versions)


def correcting_words(read_at: str, why: Why) -> str:
    """Say what is typed while a set is corrected, and what becomes of it."""
    return say(
        "CORRECTING the set read at {read_at} ({why}): type only what is wrong, F4: its time, "
        "Delete: it was not read. F2 sends the whole set again, Escape leaves it as it is.",
        read_at=read_at,
        why=say(WHY_WORDS[why]),
    )
