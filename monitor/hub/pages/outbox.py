"""The outbox: every page from its call to the last that is known of it. On the hub's thread; it never waits.

A page is written into the alert log, as an entry ``paged``, in the transaction of the call that it tells of; every
change of its state is a further entry. So the log alone says what was paged, it is hash-chained like the rest, and
a restart finds there what was under way: that is in doubt then, is sent again, and says so. Nothing goes out before
its entry is written, or is owed by a record that refuses.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from monitor.core.effects import CallsHeld, Page
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import RANK, Priority, Rung
from monitor.core.pages.states import SETTLED, PageEvent, PageState, next_state
from monitor.core.pages.text import again, text_of
from monitor.core.unit import Person, Unit
from monitor.core.view import PageView
from monitor.hub.pages.delivery import Job
from monitor.hub.pages.post import Post
from shared.instant import SECOND, Instant
from shared.language.saying import say

#: Pages that may wait for the mail server; what comes beyond is told as not sent.
WAITING_AT_MOST = 200
#: Seconds of the hub's clock from one attempt to the next; after the last the page is given up.
BACKOFF_S = (5, 15, 30, 60, 120)
#: Pages that desks see: the newest of each rung of each episode.
SHOWN = 40


@dataclass(slots=True)
class _Waiting:
    """A page that is not settled.

    ``due``: of its next attempt; ``gone``: an attempt is under way; ``taken``: it is the last.
    """

    entry: Entry
    due: Instant
    called_at: Instant
    tries: int = 0
    gone: bool = False
    taken: bool = False


class Outbox:
    """All pages of a unit.

    Args:
        unit: its people, with their addresses.
        post: the way out; ``None``: pages stand at the desks only.
        test: the hub is a demonstration, and every page says so.
        after: number of the record's newest entry; no page has a number beyond it, so new ones count from there.
        past: entries ``paged`` of the record, newest first.
    """

    def __init__(
        self, unit: Unit, post: Post | None, *, test: bool, after: int = 0, past: Iterable[Entry] = ()
    ) -> None:
        self._zone = unit.zone
        self._people: dict[str, Person] = {person.name: person for person in unit.people}
        self._post = post
        self._test = test
        self._waiting: dict[int, _Waiting] = {}
        self._shown: dict[tuple[str | None, int | None, int | None, str | None], PageView] = {}
        self._last = after
        self._past: list[Entry] = []
        newest: dict[int, Entry] = {}
        first: dict[int, Instant] = {}
        for entry in past:
            if entry.page is not None:
                newest.setdefault(entry.page, entry)
                first[entry.page] = entry.at
        for number in sorted(newest):
            self._last = max(self._last, number)
            self._show(newest[number], first[number])
            if newest[number].page_state not in SETTLED:
                self._past.append(newest[number])

    @property
    def is_sending(self) -> bool:
        """Tell whether a page is with the mail server now."""
        return any(one.gone for one in self._waiting.values())

    def resume(self, now: Instant) -> list[Entry]:
        """Take up what was under way when the hub ended; give what is to be written. Called once."""
        entries: list[Entry] = []
        for past in self._past:
            entry = self._changed(past, PageEvent.RESTARTED, now, say("the hub was started again"))
            entry = entry.model_copy(update={"text": again(entry.text or "")})
            if self._address(entry.person, entry.rung) is None:
                entry = self._changed(entry, PageEvent.GAVE_UP, now, say("there is no address any more"))
            entries.append(self._settle_or_wait(entry, past.at, now))
        self._past = []
        return entries

    def take(self, page: Page, now: Instant) -> Entry:
        """Take a new page; give its entry, to be written with the call."""
        facts = page.facts
        self._last += 1
        state, why = self._first_state(page)
        entry = Entry(
            at=now,
            kind=EntryKind.PAGED,
            bed=facts.bed,
            episode=page.episode,
            priority=facts.priority,
            rung=int(facts.rung),
            person=page.person,
            page=self._last,
            page_state=state,
            reason=why,
            text=text_of(facts, self._zone, test=self._test),
        )
        return self._settle_or_wait(entry, now, now)

    def held(self, held: CallsHeld, now: Instant) -> list[Entry]:
        """Somebody has taken a call: try its pages no more; give what is to be written.

        What is with the mail server now is not called back: its outcome is told first.
        """
        entries: list[Entry] = []
        for number, one in list(self._waiting.items()):
            if one.entry.episode != held.episode or one.entry.rung not in held.rungs:
                continue
            if one.gone:
                one.taken = True
                continue
            del self._waiting[number]
            entries.append(self._changed(one.entry, PageEvent.TAKEN, now, one.entry.reason or ""))
            self._show(entries[-1], one.called_at)
        return entries

    def heard(self, now: Instant) -> list[Entry]:
        """Take in what the mail server said; give what is to be written."""
        entries: list[Entry] = []
        for outcome in self._post.outcomes() if self._post is not None else ():
            waiting = self._waiting.get(outcome.page)
            if waiting is None:
                continue
            waiting.gone = False
            before = waiting.entry
            entry = self._changed(before, outcome.event, now, outcome.why)
            if outcome.event is PageEvent.CUT and not waiting.taken:
                entry = entry.model_copy(update={"text": again(entry.text or "")})
            if entry.page_state not in SETTLED and waiting.taken:
                entry = self._changed(entry, PageEvent.TAKEN, now, outcome.why)
            if entry.page_state not in SETTLED and waiting.tries > len(BACKOFF_S):
                entry = self._changed(entry, PageEvent.GAVE_UP, now, outcome.why)
            if entry.page_state in SETTLED:
                del self._waiting[outcome.page]
            else:
                waiting.due = now + BACKOFF_S[waiting.tries - 1] * SECOND
                waiting.entry = entry
            if (entry.page_state, entry.text) != (before.page_state, before.text):
                self._show(entry, waiting.called_at)
                entries.append(entry)
        return entries

    def send(self, now: Instant) -> None:
        """Give the post what is due, the most urgent first. What finds no room stays here."""
        if self._post is None:
            return
        due = [one for one in self._waiting.values() if one.due <= now and not one.gone]
        for one in sorted(due, key=_urgency):
            number, to = one.entry.page, self._address(one.entry.person, one.entry.rung)
            assert number is not None
            if to is None or not self._post.offer(
                Job(number, one.tries + 1, to, one.entry.text or "", one.called_at)
            ):
                return
            one.tries += 1
            one.gone = True

    def views(self) -> tuple[PageView, ...]:
        """Give what desks see: the newest page of each rung of each episode, newest first."""
        return tuple(sorted(self._shown.values(), key=lambda view: view.number, reverse=True))

    def stop(self) -> None:
        """End the thread. What it has not told by then is in doubt at the next start."""
        if self._post is not None:
            self._post.stop()

    def _first_state(self, page: Page) -> tuple[PageState, str | None]:
        if self._post is None:
            return PageState.DESKS_ONLY, say("no mail server")
        if self._address(page.person, page.facts.rung) is None:
            return PageState.DESKS_ONLY, say("no address for this rung")
        if len(self._waiting) >= WAITING_AT_MOST:
            return PageState.NOT_SENT, say("too many pages wait")
        return PageState.WAITING, None

    def _address(self, name: str | None, rung: int | None) -> str | None:
        person = self._people.get(name or "")
        if self._post is None or person is None or rung is None or Rung(rung) not in person.page_on:
            return None
        return person.page_to

    def _changed(self, entry: Entry, event: PageEvent, now: Instant, why: str) -> Entry:
        assert entry.page_state is not None
        state = next_state(entry.page_state, event)
        return entry.model_copy(update={"at": now, "page_state": state, "reason": why or None})

    def _settle_or_wait(self, entry: Entry, called_at: Instant, now: Instant) -> Entry:
        if entry.page_state not in SETTLED and entry.page is not None:
            self._waiting[entry.page] = _Waiting(entry, now, called_at)
        self._show(entry, called_at)
        return entry

    def _show(self, entry: Entry, called_at: Instant) -> None:
        assert entry.page is not None
        assert entry.page_state is not None
        place = (entry.bed, entry.episode, entry.rung, entry.person)
        stands = self._shown.get(place)
        if stands is not None and stands.number > entry.page:
            return
        self._shown[place] = PageView(
            number=entry.page,
            at=called_at,
            bed=entry.bed,
            episode=entry.episode or 0,
            rung=entry.rung or 1,
            person=entry.person or "",
            text=entry.text or "",
            state=entry.page_state,
            changed_at=entry.at,
        )
        if len(self._shown) > SHOWN:
            del self._shown[min(self._shown, key=lambda one: self._shown[one].number)]


def _urgency(one: _Waiting) -> tuple[int, int]:
    return RANK[one.entry.priority or Priority.LOW], one.entry.page or 0
