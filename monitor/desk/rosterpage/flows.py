"""Changing the roster by key: each key asks what is missing, and one command is given at the end.

Nobody's acceptance is assumed: who sits here writes down what another person said, under both names, or asks them.
"""

import uuid
from collections.abc import Callable, Iterable
from enum import StrEnum
from typing import TypedDict

from monitor.core.commands import ChangeRoster, Command
from monitor.core.grades import Role, Rung
from monitor.core.roster.state import OfferKind
from monitor.core.roster.view import OfferView, PostView, RosterView
from monitor.core.roster_commands import (
    AcceptOffer,
    DeclineOffer,
    DropPlan,
    EndBreak,
    OfferPosts,
    PlanPost,
    SayReachable,
    SayUnreachable,
    StartBreak,
    WithdrawOffer,
)
from monitor.core.view import EpisodeView
from monitor.desk.people import People
from monitor.desk.question import Choice, Question, Ticks
from monitor.desk.rosterpage.words import offer_on, unseen
from monitor.desk.session import Session
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say, to_say


class Do(StrEnum):
    """What can be done with a post."""

    ACCEPT = "accept"
    OFFER = "offer"
    PERSON = "person"
    BREAK = "break"
    UNREACHABLE = "unreachable"
    ENDS = "ends"
    NOBODY = "nobody"
    CLOSE = "close"
    PLAN = "plan"


DO_OF_KEY = {
    "a": Do.ACCEPT,
    "o": Do.OFFER,
    "p": Do.PERSON,
    "b": Do.BREAK,
    "x": Do.UNREACHABLE,
    "e": Do.ENDS,
    "n": Do.NOBODY,
    "w": Do.CLOSE,
    "v": Do.PLAN,
}
_ROLE = {
    Rung.BEDSIDE: Role.BEDSIDE_NURSE,
    Rung.CHARGE: Role.CHARGE_NURSE,
    Rung.PERFUSIONIST: Role.PERFUSIONIST,
    Rung.INTENSIVIST: Role.INTENSIVIST,
    Rung.SURGEON: Role.SURGEON,
}
_BREAKS = (10, 15, 20, 30, 45, 60)
_AGREED, _ASK = "agreed", "ask"
_HOW = (Choice(_AGREED, to_say("Agrees, told to me"), "1"), Choice(_ASK, to_say("Not yet: ask"), "2"))
_AWAY = tuple(
    Choice(str(minutes), said)
    for minutes, said in ((30, "30 min"), (60, "1 h"), (90, "1 h 30"), (120, "2 h"), (240, "4 h"), (480, "8 h"))
)
_HOURS = tuple(Choice(str(hours), f"{hours} h") for hours in (1, 2, 4, 8, 12, 24))
_NOBODY = Choice("", to_say("Nobody"), "0")
_TAKES_NOTE = to_say(
    "A take goes along only where it is named; what is not named is called again if the person leaves."
)


class _Who(TypedDict):
    id: str
    person: str


class RosterFlows:
    """Asks step by step and gives the command. Escape at any step: nothing is written.

    Args:
        ask: puts a question on the screen.
        tell: says something at the foot of the screen; ``True`` when somebody must act on it.
        monotonic: seconds.
        who_first: asks who sits here, then goes on.
    """

    def __init__(
        self,
        session: Session,
        people: People,
        ask: Callable[[Question], None],
        tell: Callable[[str, bool], None],
        monotonic: Callable[[], float],
        who_first: Callable[[Callable[[], None]], None],
    ) -> None:
        self._session = session
        self._people = people
        self._ask = ask
        self._tell = tell
        self._monotonic = monotonic
        self._who_first = who_first

    def begin(self, do: Do, one: PostView) -> None:
        """Do what a key asks for, for a post."""
        if not self._session.store.link.commands_allowed:
            self._tell(say("Not live: the roster cannot be changed from here. Telephone."), True)
        elif self._people.name is None:
            self._who_first(lambda: self.begin(do, one))
        else:
            {
                Do.ACCEPT: self._accept,
                Do.OFFER: self._offer,
                Do.PERSON: self._person,
                Do.BREAK: self._break,
                Do.UNREACHABLE: self._unreachable,
                Do.ENDS: self._ends,
                Do.NOBODY: self._nobody,
                Do.CLOSE: self._close,
                Do.PLAN: self._plan,
            }[do](one)

    # -- accept, with the takes that go along ----------------------------------------------------------------

    def _accept(self, one: PostView) -> None:
        here = offer_on(self._roster, one.post)
        offers = {str(offer.id): offer for offer in ([here] if here is not None else self._roster.offers)}
        if not offers:
            self._tell(say("Nothing is offered to anybody."), False)
        elif len(offers) == 1:
            self._accepting(next(iter(offers.values())))
        else:
            choices = tuple(Choice(number, self._offer_label(offer)) for number, offer in offers.items())
            self._choose(say("Who accepts what?"), choices, lambda number: self._accepting(offers[number]))

    def _accepting(self, offer: OfferView) -> None:
        told_to = self._people.name if self._people.name != offer.to else None

        def give(takes: tuple[int, ...]) -> None:
            number = self._who()["id"]
            self._give(AcceptOffer(id=number, person=offer.to, offer=offer.id, takes=takes, told_to=told_to))

        has = {one.person for one in self._roster.posts if one.post in offer.posts}
        told = say(", told to {label}", label=self._label(told_to)) if told_to is not None else ""
        unit = self._session.store.unit
        changed = (
            say(" · configuration changed, not seen: X") if unit is not None and unseen(unit, offer.to) else ""
        )
        title = f"{self._offer_label(offer)}{told}{changed}"
        if offer.kind is OfferKind.INSTEAD:
            self._choose(title, (Choice("", say("Accepts"), "1"),), lambda _: give(()))
        else:
            self._takes(title, {offer.giver, *has}, give)

    def _takes(self, title: str, givers: set[str | None], then: Callable[[tuple[int, ...]], None]) -> None:
        """Show every open take of those who go; all, none, or ticked one by one."""
        found = self._open_takes(givers)
        if not found:
            self._choose(title, (Choice("", say("Accepts; no take is open"), "1"),), lambda _: then(()))
            return
        choices = (
            Choice(
                "all",
                say(
                    "With {more}",
                    more=say("the take") if len(found) == 1 else say("all {count} takes", count=len(found)),
                ),
                "1",
            ),
            Choice("none", say("Without any take"), "2"),
            Choice("each", say("One by one"), "3"),
        )

        def answer(value: str) -> None:
            if value == "each":
                self._one_by_one(title, found, then)
            else:
                then(tuple(found) if value == "all" else ())

        listed = " · ".join(found.values())
        self._choose(
            title,
            choices,
            answer,
            say("Open takes: {listed}. {takes_note}", listed=listed, takes_note=say(_TAKES_NOTE)),
        )

    def _one_by_one(self, title: str, found: dict[int, str], then: Callable[[tuple[int, ...]], None]) -> None:
        ticks = Ticks(lambda: self._session.store.now(self._monotonic()))
        choices = tuple(Choice(str(number), said) for number, said in found.items())
        done = say("Tick what goes along, then 0. {takes_note}", takes_note=say(_TAKES_NOTE))
        self._ask(Question(title, choices, lambda _: then(tuple(int(n) for n in ticks.at)), done, ticks=ticks))

    def _open_takes(self, people: Iterable[str | None]) -> dict[int, str]:
        names, store = set(people), self._session.store
        places: list[tuple[str, tuple[EpisodeView, ...]]] = [
            (bed, tile.episodes) for bed, tile in store.tiles.items()
        ]
        places += [(say("Unit"), store.unit.episodes)] if store.unit is not None else []
        return {
            episode.id: f"{place} {episode.title}"
            for place, episodes in places
            for episode in episodes
            if episode.id is not None and episode.holder is not None and episode.holder.person in names
        }

    # -- the rest ---------------------------------------------------------------------------------------------

    def _offer(self, one: PostView) -> None:
        giver = one.went or one.person
        own = [other.post for other in self._roster.posts if (other.went or other.person) == giver]

        def to(name: str) -> None:
            if giver is None or len(own) == 1:
                self._give(OfferPosts(**self._who(), giver=giver, to=name, posts=(one.post,)))
                return
            choices = (
                Choice("all", say("All {count} posts", count=len(own)), "1"),
                Choice("one", one.post.label, "2"),
            )

            def posts(value: str) -> None:
                chosen = () if value == "all" else (one.post,)
                self._give(OfferPosts(**self._who(), giver=giver, to=name, posts=chosen))

            self._choose(
                say("{label} offers to {label2}", label=self._label(giver), label2=self._label(name)),
                choices,
                posts,
            )

        keeps = (
            say("{label} keeps it until it is accepted.", label=self._label(giver))
            if giver is not None
            else say("Nobody stands there.")
        )
        self._choose(say("Offer {label} to", label=one.post.label), self._fit(one, giver), to, keeps, find=True)

    def _person(self, one: PostView) -> None:
        note = say("Counts at once. Write down only what is so; otherwise offer it.")
        self._choose(
            say("{label}: who stands there now?", label=one.post.label),
            self._fit(one, one.person),
            self._puts(one),
            note,
            find=True,
        )

    def _nobody(self, one: PostView) -> None:
        self._choose(
            say("{label}: nobody from now on?", label=one.post.label),
            (Choice("", say("Nobody"), "1"),),
            self._puts(one),
        )

    def _puts(self, one: PostView) -> Callable[[str], None]:
        def put(name: str) -> None:
            post = one.post
            self._give(ChangeRoster(**self._who(), rung=post.rung, bed=post.bed, stands=name or None))

        return put

    def _break(self, one: PostView) -> None:
        who = one.person
        if who is None:
            self._tell(say("{label}: nobody stands there.", label=one.post.label), False)
            return

        def cover(name: str) -> None:
            told = tuple(Choice(f"{m}", say("{m} min, agrees", m=m), f"{n}") for n, m in enumerate(_BREAKS, 1))
            asked = tuple(
                Choice(f"?{m}", say("{m} min, ask first", m=m), "abcdef"[n]) for n, m in enumerate(_BREAKS)
            )
            title = say("Break of {label}, covered by {label2}", label=self._label(who), label2=self._label(name))
            note = say("Agrees: told to you, and it begins now. It ends by itself.")
            self._choose(title, (*told, *asked), lambda value: minutes(name, value), note)

        def minutes(name: str, value: str) -> None:
            def give(takes: tuple[int, ...]) -> None:
                agreed = None if value.startswith("?") or name == self._people.name else self._people.name
                length = int(value.lstrip("?"))
                self._give(
                    StartBreak(**self._who(), who=who, cover=name, minutes=length, takes=takes, told_to=agreed)
                )

            if value.startswith("?") or not self._open_takes({who}):
                give(())
            else:
                self._takes(
                    say("{label} covers for {label2}", label=self._label(name), label2=self._label(who)),
                    {who},
                    give,
                )

        self._choose(
            say("Break of {label}: who covers?", label=self._label(who)), self._fit(one, who), cover, find=True
        )

    def _unreachable(self, one: PostView) -> None:
        who = one.person
        if who is None:
            self._tell(say("{label}: nobody stands there.", label=one.post.label), False)
            return

        def give(minutes: str, name: str, agreed: bool) -> None:
            until = self._after(int(minutes) * MINUTE)
            told_to = self._people.name if agreed and name and name != self._people.name else None
            self._give(SayUnreachable(**self._who(), who=who, until=until, instead=name or None, told_to=told_to))

        def instead(minutes: str, name: str) -> None:
            if not name or name == self._people.name:
                give(minutes, name, False)
            else:
                title = say(
                    "{label} is called instead of {label2}", label=self._label(name), label2=self._label(who)
                )
                self._choose(title, _HOW, lambda how: give(minutes, name, how == _AGREED))

        def lasts(minutes: str) -> None:
            people = (_NOBODY, *self._fit(one, who))
            self._choose(say("Who is called instead?"), people, lambda name: instead(minutes, name), find=True)

        self._choose(
            say("{label} cannot be reached for", label=self._label(who)),
            _AWAY,
            lasts,
            say("It ends by itself at its time."),
        )

    def _ends(self, one: PostView) -> None:
        if one.went is not None:
            self._give(EndBreak(**self._who(), who=one.went))
        elif one.person is not None and one.unreachable_until is not None:
            self._give(SayReachable(**self._who(), who=one.person))
        else:
            self._tell(say("{label}: no break, and nobody unreachable.", label=one.post.label), False)

    def _close(self, one: PostView) -> None:
        offer = offer_on(self._roster, one.post)
        if offer is None:
            self._tell(say("{label} is not offered.", label=one.post.label), False)
            return
        choices = (
            Choice("declined", say("{label} does not accept", label=self._label(offer.to)), "1"),
            Choice("withdrawn", say("Taken back"), "2"),
        )
        kind = {"declined": DeclineOffer, "withdrawn": WithdrawOffer}
        title = self._offer_label(offer)
        self._choose(title, choices, lambda value: self._give(kind[value](**self._who(), offer=offer.id)))

    def _plan(self, one: PostView) -> None:
        stand = {str(plan.id): plan for plan in self._roster.plans if plan.post == one.post}
        if not stand:
            self._new_plan(one)
            return
        back = tuple(
            Choice(number, say("Take back: {person}", person=self._label(plan.person) if plan.person else "nobody"))
            for number, plan in stand.items()
        )

        def answer(value: str) -> None:
            if value == "new":
                self._new_plan(one)
            else:
                self._give(DropPlan(**self._who(), plan=int(value)))

        self._choose(say("Plan of {label}", label=one.post.label), (Choice("new", say("New plan")), *back), answer)

    def _new_plan(self, one: PostView) -> None:
        ends_at, now = self._roster.shift_ends, self._after(0)
        begins = [Choice("0", say("Now"))]
        if ends_at is not None:
            begins.append(Choice(str(ends_at - now), say("At the end of this shift")))
        begins += [Choice(str(hours * HOUR), say("In {hours} h", hours=hours)) for hours in (1, 2, 4, 8, 12, 24)]

        def person(name: str) -> None:
            self._choose(say("From when?"), tuple(begins), lambda begin: start(name, int(begin)))

        def start(name: str, begin: int) -> None:
            self._choose(say("For how long?"), _HOURS, lambda hours: give(name, begin, int(hours)))

        def give(name: str, begin: int, hours: int) -> None:
            at, post = now + begin, one.post
            self._give(
                PlanPost(
                    **self._who(),
                    rung=post.rung,
                    bed=post.bed,
                    stands=name or None,
                    begins=at,
                    ends=at + hours * HOUR,
                )
            )

        note = say("At its time it is offered; nobody's acceptance is assumed.")
        self._choose(
            say("Plan {label} for", label=one.post.label), (_NOBODY, *self._fit(one, None)), person, note, find=True
        )

    # -- what all share ---------------------------------------------------------------------------------------

    @property
    def _roster(self) -> RosterView:
        unit = self._session.store.unit
        return unit.roster if unit is not None else RosterView()

    def _fit(self, one: PostView, but: str | None) -> tuple[Choice, ...]:
        """Give the people for a post: those of its role first, those who cannot be reached last."""
        store, wanted = self._session.store, _ROLE[one.post.rung]
        away = {person.person for person in self._roster.away}
        people = [choice for choice in self._people.choices() if choice.value != but]

        def order(choice: Choice) -> tuple[bool, bool]:
            person = store.person(choice.value)
            return choice.value in away, person is None or person.role != wanted

        return tuple(sorted(people, key=order))

    def _offer_label(self, offer: OfferView) -> str:
        posts = ", ".join(post.label for post in offer.posts) or say("to be called")
        to, giver = self._label(offer.to), self._label(offer.giver) if offer.giver is not None else ""
        if offer.kind is OfferKind.INSTEAD:
            return say("{to} is called instead of {giver}", to=to, giver=giver)
        if offer.kind is OfferKind.BREAK:
            return say(
                "{to} covers {posts} for {giver}, {minutes} min",
                to=to,
                posts=posts,
                giver=giver,
                minutes=offer.minutes,
            )
        return say("{to} accepts {posts}", to=to, posts=posts) + (
            say(" from {giver}", giver=giver) if giver else ""
        )

    def _label(self, name: str | None) -> str:
        return self._session.store.label(name)

    def _after(self, span: int) -> Instant:
        return (self._session.store.now(self._monotonic()) or 0) + span

    def _who(self) -> _Who:
        return _Who(id=uuid.uuid4().hex, person=self._people.name or "")

    def _choose(
        self,
        title: str,
        choices: tuple[Choice, ...],
        then: Callable[[str], None],
        note: str = "",
        *,
        find: bool = False,
    ) -> None:
        self._ask(Question(title, choices, then, note, keeps=True, find=find))

    def _give(self, command: Command) -> None:
        if not self._session.command(command, self._monotonic()):
            self._tell(say("Not live: nothing was sent. Telephone."), True)
