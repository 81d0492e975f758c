"""Answering from the desk: what a key means for the bed in focus, what must be asked, and the command that follows.

Seen and take are two acts, never one. Enter and Escape never answer. Who acts is asked once, before the first act.
"""

import uuid
from collections.abc import Callable
from datetime import tzinfo
from enum import StrEnum
from typing import TypedDict

from monitor.core.bed_commands import PauseAudio
from monitor.core.commands import (
    SOMEBODY,
    CallBack,
    CallHelp,
    CareMarker,
    Command,
    GiveReason,
    HelpByPhone,
    HelpKind,
    PassOn,
    Reason,
    Renew,
    Seen,
    Take,
    Where,
)
from monitor.core.grades import Priority
from monitor.core.view import EpisodeView
from monitor.desk.bed_menu import BedMenu
from monitor.desk.beyond import BeyondRole
from monitor.desk.menu.asking import Asking
from monitor.desk.menu.table import Item
from monitor.desk.need import leading, order_of_need, owes_reason
from monitor.desk.people import People
from monitor.desk.question import Choice, Question
from monitor.desk.session import Session
from monitor.desk.signing import Signing
from monitor.desk.sound.paused import paused_left
from shared.language.saying import say, to_say

#: Two presses within this call for help.
HELP_WITHIN_S = 3.0
#: Without a key for its kind, help is called as "other" after this.
HELP_KIND_WITHIN_S = 5.0


class Act(StrEnum):
    """What a person can do from here."""

    SEEN = "seen"
    TAKE = "take"
    PASS_ON = "pass on"
    BY_PHONE = "help by phone"
    HELP = "help"
    CARE = "care"
    AUDIO = "audio pause"
    MENU = "menu"
    REASON = "reason"
    WHO = "who"
    BEYOND = "beyond a role"
    PANEL = "panel"


ACT_OF_KEY = {
    "s": Act.SEEN,
    "t": Act.TAKE,
    "n": Act.PASS_ON,
    "a": Act.BY_PHONE,
    "h": Act.HELP,
    "c": Act.CARE,
    "q": Act.AUDIO,
    "m": Act.MENU,
    "w": Act.REASON,
    "u": Act.WHO,
    "g": Act.BEYOND,
}

_WHERE = (
    Choice(Where.AT_BED, to_say("At the bed"), "b"),
    Choice(Where.GOING, to_say("Going"), "g"),
    Choice(Where.PHONE, to_say("By phone"), "p"),
    Choice("voice", to_say("Told by voice, for another"), "v"),
)
_REASONS = (
    Choice(Reason.AT_BEDSIDE, to_say("At the bed")),
    Choice(Reason.CIRCULATION_CHECKED, to_say("Circulation checked")),
    Choice(Reason.TEAM_AT_BED, to_say("Team at the bed")),
    Choice(Reason.EXPECTED, to_say("Expected: order, trial")),
    Choice(Reason.CARE_ACTIVITY, to_say("Care")),
    Choice(Reason.SENSOR_OR_LINE, to_say("Sensor or line")),
    Choice(Reason.LIMIT_WRONG, to_say("Limit wrong, change asked")),
    Choice(Reason.OTHER, to_say("Other")),
)
#: Of these, what whoever passes on can say without having been there; never words of a take.
_REASONS_TO_PASS_ON = tuple(
    choice
    for choice in _REASONS
    if choice.value not in (Reason.AT_BEDSIDE, Reason.CIRCULATION_CHECKED, Reason.TEAM_AT_BED)
)
#: A high is taken first; its reason is asked for within ten minutes.
_LATER = Choice("", to_say("No reason yet"), "0")
_TAKE, _PASS_ON = to_say("Take"), to_say("Pass on")
#: A question that is left open answers nothing, and whoever walks off in the middle of it must know.
_NOT_YET = to_say("Not taken yet.")
_ETA = tuple(Choice(str(minutes), f"{minutes} min") for minutes in (1, 2, 3, 5, 10, 15, 20, 30, 60))
_CANNOT = "cannot"
_CALL_BACK = (
    Choice("", to_say("Helping by phone"), "p"),
    Choice(CallBack.CALLING, to_say("Calling in"), "c"),
    Choice(CallBack.COMING, to_say("On the way"), "o"),
    Choice(CallBack.DEPUTY, to_say("Deputy sent"), "d"),
    Choice(_CANNOT, to_say("Cannot: pass on"), "n"),
)
_CARE = (Choice("2", "2 min", "2"), Choice("5", "5 min", "5"), Choice("15", "15 min", "1"))
_HELP = (
    Choice(HelpKind.AIR, to_say("Air in the circuit"), "a"),
    Choice(HelpKind.LINE_OUT, to_say("Cannula or line out"), "l"),
    Choice(HelpKind.BLEEDING, to_say("Bleeding from the circuit"), "b"),
    Choice(HelpKind.PUMP_NOISE, to_say("Pump noise or shaking"), "p"),
    Choice(HelpKind.GAS_LOST, to_say("Gas lost"), "g"),
    Choice(HelpKind.OTHER, to_say("Other"), "o"),
)


class _For(TypedDict):
    """What every answer names: who, where, and the alert and revision that the person saw."""

    id: str
    person: str
    bed: str | None
    alert: int
    revision: int


class Answering:
    """Turns keys into questions and commands.

    Args:
        ask: puts a question on the screen.
        tell: says something at the foot of the screen; ``True`` when somebody must act on it.
        monotonic: seconds.
        zone: where written clock times are; ``None``: that of this machine.
        is_asking: whether a question is open.
    """

    def __init__(
        self,
        session: Session,
        people: People,
        ask: Callable[[Question], None],
        tell: Callable[[str, bool], None],
        monotonic: Callable[[], float],
        zone: tzinfo | None = None,
        is_asking: Callable[[], bool] = lambda: False,
    ) -> None:
        self._session = session
        self._people = people
        self._ask = ask
        self._tell = tell
        self.monotonic = monotonic
        self._help: tuple[str, float] | None = None
        self.asking = asking = Asking(
            session, people, ask, self._give, tell, lambda: session.store.now(monotonic()), zone
        )
        self.signing = Signing(session, people, ask, tell, self._give, is_asking, monotonic)
        self.beyond = BeyondRole(session.store, people, ask, self._give, zone)
        self._menu = BedMenu(asking, self._care, self._help_kind, lambda bed: self.act(Act.REASON, bed))

    @property
    def person(self) -> str | None:
        """Who is signed in at this desk."""
        return self._people.name

    def act(self, act: Act, bed: str) -> None:
        """Do what a key asks for, for a bed; an empty label is the unit itself."""
        if act is Act.WHO:
            self.signing.who(lambda: None)
        elif not self._session.store.link.commands_allowed:
            self._tell(say("Not live: nothing can be answered from here. Telephone."), True)
        elif act is Act.HELP:
            self._help_pressed(bed)
        elif act is Act.BEYOND:
            self._review()
        elif act is Act.MENU:
            self._open_menu(bed)
        elif act is Act.REASON:
            self._reason_of_take(bed)
        elif act is Act.CARE:
            self._care(bed)
        elif act is Act.AUDIO:
            self._pause_sound(bed)
        elif act is Act.PANEL:
            self._panel(bed)
        else:
            self._answer(act, bed)

    def write_down(self, bed: str, item: Item) -> None:
        """Begin one flow of the menu at once: what a button of the bed page asks for. Help needs it twice."""
        if item is Item.HELP:
            self.act(Act.HELP, bed)
        elif not self._session.store.link.commands_allowed:
            self._tell(say("Not live: nothing can be written down from here. Telephone."), True)
        elif self._people.name is None:
            self.signing.who(lambda: self._menu.begin(bed, item))
        else:
            self._menu.begin(bed, item)

    def clock(self, bed: str, back: bool) -> None:
        """Start or end the off-support clock of a bed, from this press on also where a name is asked first."""
        pressed = self._session.store.now(self.monotonic())
        if not self._session.store.link.commands_allowed:
            self._tell(say("Not live: the clock was not recorded. Write the time down."), True)
        elif self._people.name is None:
            self.signing.who(lambda: self._menu.clock(bed, back, pressed))
        else:
            self._menu.clock(bed, back, pressed)

    def episode(self, bed: str) -> EpisodeView | None:
        """Give the episode that an answer at this bed counts for; for no bed the unit's own."""
        store = self._session.store
        if not bed:
            return min(store.unit.episodes, key=order_of_need, default=None) if store.unit is not None else None
        tile = store.tiles.get(bed)
        return leading(tile) if tile is not None else None

    # -- seen, take, pass on, help by phone -----------------------------------------------------------------

    def _answer(self, act: Act, bed: str) -> None:
        episode = self.episode(bed)
        if episode is None:
            self._tell(
                say("Nothing to answer at {bed}.", bed=bed)
                if bed
                else say("Choose a bed first: arrows or its number."),
                False,
            )
            return
        if self._people.name is None:
            self.signing.who(lambda: self._answer(act, bed))
            return
        if act is Act.SEEN:
            self._give(Seen(**self._for(bed, episode)))
        elif act is Act.BY_PHONE:
            self._by_phone(bed, episode)
        elif act is Act.PASS_ON:
            self._ask_reason(_PASS_ON, bed, episode, lambda why: self._pass_on(bed, episode, why))
        else:
            self._take(bed, episode)

    def _by_phone(self, bed: str, episode: EpisodeView) -> None:
        """Help by phone at once; whoever is elsewhere is asked what they say of coming back to it."""
        unit = self._session.store.unit
        away = unit is not None and any(one.name == self._people.name and not one.in_unit for one in unit.people)
        if not away:
            self._give(HelpByPhone(**self._for(bed, episode), reason=Reason.ADVISING))
            return
        title = f"{bed or say('Unit')}: {episode.title}"
        note = say("The calls go on, and nobody has it by this. Not written down yet.")
        self._ask(Question(title, _CALL_BACK, lambda says: self._call_back(bed, episode, says), note))

    def _call_back(self, bed: str, episode: EpisodeView, says: str) -> None:
        fields = self._for(bed, episode)
        if says == _CANNOT:
            self._answer(Act.PASS_ON, bed)
        elif says in (CallBack.COMING, CallBack.DEPUTY):
            self._ask(
                Question(
                    say("{where}: there in", where=bed or say("Unit")),
                    _ETA,
                    lambda eta: self._give(
                        HelpByPhone(**fields, reason=Reason.ADVISING, says=CallBack(says), eta_min=int(eta))
                    ),
                    say("Not written down yet."),
                )
            )
        else:
            said = CallBack(says) if says else None
            self._give(HelpByPhone(**fields, reason=Reason.ADVISING, says=said))

    def _pass_on(self, bed: str, episode: EpisodeView, why: Reason | None) -> None:
        self._give(PassOn(**self._for(bed, episode), reason=why))

    def _take(self, bed: str, episode: EpisodeView, for_whom: str | None = None) -> None:
        if for_whom is None and episode.holder is not None and episode.holder.person == self._people.name:
            self._ask_reason(
                say("You have it. Hold anew"), bed, episode, lambda why: self._renew(bed, episode, why)
            )
            return
        name = self._session.store.label(for_whom or self._people.name)
        title = say("{name} takes {where}: {title}", name=name, where=bed or say("it"), title=episode.title)
        choices = _WHERE if for_whom is None else _WHERE[:3]
        whose = say("Where are you?") if for_whom is None else say("Where is {name}?", name=name)
        question = Question(
            title, choices, lambda where: self._where(bed, episode, where, for_whom), f"{whose} {say(_NOT_YET)}"
        )
        self._ask(question)

    def _where(self, bed: str, episode: EpisodeView, where: str, for_whom: str | None) -> None:
        if where == "voice":
            people = tuple(one for one in self._people.choices(bed) if one.value != self._people.name)
            question = Question(
                say("Who has {where}?", where=bed or say("it")),
                people,
                lambda name: self._take(bed, episode, name),
                say("Told by voice. {not_yet}", not_yet=say(_NOT_YET)),
                find=True,
            )
            self._ask(question)
        elif where == Where.GOING:
            title = say("{where}: there in", where=bed or say("Unit"))
            self._ask(
                Question(
                    title, _ETA, lambda eta: self._reason(bed, episode, where, for_whom, int(eta)), say(_NOT_YET)
                )
            )
        else:
            self._reason(bed, episode, where, for_whom, None)

    def _reason(self, bed: str, episode: EpisodeView, where: str, for_whom: str | None, eta: int | None) -> None:
        def give(why: Reason | None) -> None:
            fields = self._for(bed, episode)
            told_to = fields["person"] if for_whom is not None else None
            fields["person"] = for_whom or fields["person"]
            self._give(Take(**fields, reason=why, where=Where(where), eta_min=eta, told_to=told_to))

        self._ask_reason(_TAKE, bed, episode, give)

    def _renew(self, bed: str, episode: EpisodeView, why: Reason | None) -> None:
        self._give(Renew(**self._for(bed, episode), reason=why))

    def _ask_reason(self, what: str, bed: str, episode: EpisodeView, then: Callable[[Reason | None], None]) -> None:
        title = f"{say(what)} · {bed or say('Unit')}: {episode.title}"
        later = (_LATER,) if episode.priority is Priority.HIGH and what != _PASS_ON else ()
        choices = (*(_REASONS_TO_PASS_ON if what == _PASS_ON else _REASONS), *later)
        note = say("Why? {more}", more=say(_NOT_YET) if what == _TAKE else say("Not written down yet."))
        self._ask(Question(title, choices, lambda value: then(Reason(value) if value else None), note))

    def _reason_of_take(self, bed: str) -> None:
        """Ask why the one who has it took it, where that is not written down yet."""
        episode, tile = self.episode(bed), self._session.store.tiles.get(bed)
        if episode is None or tile is None or not owes_reason(tile):
            self._tell(
                say("No reason is asked for at {bed}.", bed=bed) if bed else say("Choose a bed first, then W."),
                False,
            )
        elif self._people.name is None:
            self.signing.who(lambda: self._reason_of_take(bed))
        else:
            taken = say("Why it was taken · {bed}: {title}", bed=bed, title=episode.title)
            fields = self._for(bed, episode)
            question = Question(
                taken,
                _REASONS,
                lambda value: self._give(GiveReason(**fields, reason=Reason(value))),
                say("Goes into the record beside the take."),
                keeps=True,
            )
            self._ask(question)

    def _panel(self, bed: str) -> None:
        episode = self.episode(bed)
        if episode is None:
            return
        choices = (
            Choice(Act.SEEN, say("Seen"), "s"),
            Choice(Act.TAKE, say("Take"), "t"),
            Choice(Act.PASS_ON, say("Pass on"), "n"),
            Choice(Act.BY_PHONE, say("Help by phone"), "a"),
            *((Choice(Act.MENU, say("Write down"), "m"),) if bed else ()),
        )
        title = f"{bed or say('Unit')}: {episode.title}"
        note = say("Seen: I know; the calls go on. Take: I answer for it; the calls wait.")
        self._ask(Question(title, choices, lambda value: self.act(Act(value), bed), note))

    # -- care, help called by hand, signing in --------------------------------------------------------------------

    def _review(self) -> None:
        if self._people.name is None:
            self.signing.who(self._review)
        elif not self.beyond.review():
            self._tell(say("Nothing was done beyond a role that is not seen."), False)

    def _open_menu(self, bed: str) -> None:
        if not bed:
            self._tell(say("Choose a bed first, then M."), False)
        elif self._people.name is None:
            self.signing.who(lambda: self._menu.open(bed))
        else:
            self._menu.open(bed)

    def _care(self, bed: str) -> None:
        if not bed:
            self._tell(say("Choose a bed first, then C."), False)
        elif self._people.name is None:
            self.signing.who(lambda: self._care(bed))
        else:
            note = say("Delays of medium and low alerts double meanwhile; no high waits. It ends by itself.")
            self._ask(
                Question(
                    say("Care at {bed}: how long?", bed=bed), _CARE, lambda value: self._mark_care(bed, value), note
                )
            )

    def _mark_care(self, bed: str, minutes: str) -> None:
        person = self._people.name or ""
        self._give(CareMarker(id=uuid.uuid4().hex, person=person, bed=bed, minutes=int(minutes)))

    def _pause_sound(self, bed: str) -> None:
        """Pause the sound of a bed at once, or end its pause: one key, no question but who."""
        if not bed:
            self._tell(say("Choose a bed first, then Q: there is no pause of the sound for the whole unit."), False)
        elif self._people.name is None:
            self.signing.who(lambda: self._pause_sound(bed))
        else:
            now = self._session.store.now(self.monotonic())
            on = now is not None and paused_left(self._session.store.tiles.get(bed), now) is not None
            more = {"seconds": 0} if on else {}
            command = {"id": uuid.uuid4().hex, "person": self._people.name, "bed": bed, **more}
            self._give(PauseAudio.model_validate(command))

    def _help_pressed(self, bed: str) -> None:
        now = self.monotonic()
        if not bed:
            self._tell(say("Choose a bed first, then H twice."), False)
            return
        first = self._help
        if first is None or first[0] != bed or now - first[1] > HELP_WITHIN_S:
            self._help = (bed, now)
            self._tell(say("H once more within 3 s calls help to {bed}.", bed=bed), True)
            return
        self._help = None
        self._tell("", False)
        self._help_kind(bed)

    def _help_kind(self, bed: str) -> None:
        question = Question(
            title=say("Help to {bed}: what for?", bed=bed),
            choices=_HELP,
            answer=lambda value: self._call_help(bed, HelpKind(value)),
            note=say("Called as Other in 5 s. Escape: not called"),
            otherwise=HelpKind.OTHER,
            within_s=HELP_KIND_WITHIN_S,
        )
        self._ask(question)

    def _call_help(self, bed: str, what: HelpKind) -> None:
        self._give(CallHelp(id=uuid.uuid4().hex, person=self._people.name or SOMEBODY, bed=bed, what=what))

    # -- giving ---------------------------------------------------------------------------------------------

    def _for(self, bed: str, episode: EpisodeView) -> _For:
        return _For(
            id=uuid.uuid4().hex,
            person=self._people.name or "",
            bed=bed or None,
            alert=episode.lead,
            revision=episode.revision,
        )

    def _give(self, command: Command) -> None:
        if not self._session.command(command, self.monotonic()):
            self._tell(say("Not live: nothing was sent. Telephone."), True)
