"""The sound of one desk: what the hub says in, bursts out, and for each of them the words that say the same."""

from collections.abc import Callable, Iterable
from typing import Protocol

from monitor.core.entries import Entry
from monitor.core.grades import Priority
from monitor.core.view import EpisodeView
from monitor.desk.link_state import LinkState
from monitor.desk.need import is_open
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.sound.face import CHECK_WITHIN_S, Check, SoundFace, SoundState, sound_face
from monitor.desk.sound.paused import heard_still, not_paused, paused_beds
from monitor.desk.sound.policy import SoundPolicy, waiting_for
from monitor.desk.sound.tones import BURSTS, REMINDER
from monitor.desk.sound.twins import ALWAYS, SOUND_OF, Sound, caption
from monitor.desk.store import Changes

#: While the sound is off, the foot of the screen says so again and again: nothing can be heard (chosen here).
OFF_AGAIN_S = 60.0


class Plays(Protocol):
    """What a player can do."""

    @property
    def state(self) -> SoundState:
        """Whether a burst would be heard."""

    def play(self, priority: Priority) -> bool:
        """Play a burst."""

    def remind(self) -> bool:
        """Play the soft reminder."""


class DeskSound:
    """Asks the policy a few times a second, and tells the screen how the sound stands.

    Args:
        show: shows the state of the sound.
        say: says at the foot of the screen, for a while, what a sound means.
        checked: the start-up check counts as answered.
    """

    def __init__(
        self,
        session: Session,
        people: People,
        player: Plays,
        show: Callable[[SoundFace], None],
        monotonic: Callable[[], float],
        say: Callable[[str], None] = lambda _: None,
        checked: bool = False,
    ) -> None:
        self._session = session
        self._people = people
        self._player = player
        self._show = show
        self._say = say
        self._monotonic = monotonic
        self._policy = SoundPolicy()
        self._why: dict[Priority, str] = {}
        self._check = Check.HEARD if checked else Check.DUE
        self._asked_at = 0.0
        self._reminded_at: float | None = None

    @property
    def check(self) -> Check:
        """How the start-up check stands."""
        return self._check

    def changed(self, changes: Changes) -> None:
        """Take what the hub has told."""
        for entry in heard_still(changes.entries, self._paused()):
            self._hear(entry)
        self.tick()

    def tick(self) -> None:
        """Play what is due. A lost hub is itself a medium need of the unit, and only the desk can sound it."""
        now = self._monotonic()
        if self._check is Check.ASKED and now - self._asked_at >= CHECK_WITHIN_S:
            self._check = Check.NOT_CHECKED
        self._show(sound_face(self._player.state, self._check, self._asked_at + CHECK_WITHIN_S - now))
        state = self._session.store.link.state
        if state is not LinkState.STARTING:
            self._burst(now, lost=state is LinkState.NOT_LIVE)
        self._ask_once(now)
        self._remind(now)

    def take_key(self, key: str) -> bool:
        """Answer the start-up check with ``y`` or ``n``, or ask it again; false: the key was not for the sound."""
        if self._check is Check.ASKED:
            self._check = Check.HEARD if key == "y" else Check.NOT_CHECKED
        elif key == "y" and self._check is Check.NOT_CHECKED:
            self._check = Check.DUE
        else:
            return False
        self.tick()
        return True

    def _hear(self, entry: Entry) -> None:
        sound = SOUND_OF.get(entry.kind, Sound.NEW)
        priority = entry.priority
        if entry.kind in ALWAYS:
            priority = self._priority_of(entry)
        elif not entry.sounds:
            return
        if priority is not None:
            self._policy.new(priority)
            self._why.setdefault(priority, caption(sound, entry.bed or "the unit", entry.text or ""))

    def _priority_of(self, entry: Entry) -> Priority | None:
        """Give the priority of the episode that nobody has any more; ``None`` where somebody has it again."""
        needs = self._session.store.needs()
        found = (one for bed, one in needs if bed == entry.bed and one.id == entry.episode and is_open(one))
        return next((one.priority for one in found if one.holder is None), None)

    def _burst(self, now: float, lost: bool) -> None:
        needs: Iterable[tuple[str | None, EpisodeView]] = ()
        if lost:
            self._policy.forget()
            self._why.clear()
            waiting = {Priority.MEDIUM}
        else:
            needs = list(not_paused(self._session.store.needs(), self._paused()))
            waiting = waiting_for((episode for _, episode in needs), self._people.name)
        burst = self._policy.due(waiting, now)
        if burst is None:
            return
        self._player.play(burst)
        repeat = caption(Sound.HUB_LOST) if lost else self._repeat(needs, burst)
        self._say(self._why.pop(burst, repeat))

    def _repeat(self, needs: Iterable[tuple[str | None, EpisodeView]], burst: Priority) -> str:
        one = ((bed, e) for bed, e in needs if e.priority is burst)
        beds = [bed or "the unit" for bed, e in one if waiting_for([e], self._people.name)]
        return caption(Sound.REPEAT, ", ".join(dict.fromkeys(beds)))

    def _ask_once(self, now: float) -> None:
        """Play one burst and ask whether it is heard; whatever else sounds goes first."""
        if self._check is not Check.DUE or self._player.state is not SoundState.ON:
            return
        if self._policy.soft(now, BURSTS[Priority.LOW].length_s()):
            self._player.play(Priority.LOW)
            self._check, self._asked_at = Check.ASKED, now
            self._say(caption(Sound.CHECK))

    def _remind(self, now: float) -> None:
        """Remind softly that a bed's sound is paused, or, to the eye, that nothing is heard at all."""
        off = self._player.state is not SoundState.ON
        paused = self._paused()
        if not off and not paused:
            self._reminded_at = None
            return
        if self._reminded_at is None:
            self._reminded_at = now
        every = OFF_AGAIN_S if off else REMINDER.again_s or OFF_AGAIN_S
        if now - self._reminded_at < every or not self._policy.soft(now, REMINDER.length_s()):
            return
        self._reminded_at = now
        if not off:
            self._player.remind()
        beds = ", ".join(f"{bed} ({left} left)" for bed, left in paused.items())
        self._say(caption(Sound.REMINDER, beds) if paused else "Sound is off: nothing is heard at this desk")

    def _paused(self) -> dict[str, str]:
        store = self._session.store
        if not store.link.commands_allowed:  # what the hub last said of a pause is not known to stand
            return {}
        return paused_beds(store, store.now(self._monotonic()))
