"""The sound of one desk: what the hub says in, bursts out, and for each of them the words that say the same.

A desk that watches several units has one sound: what is heard is the highest need of any, and words name the unit.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from monitor.core.entries import Entry
from monitor.core.grades import Priority
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
from shared.language.saying import say

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


@dataclass(frozen=True, slots=True)
class Heeded:
    """A unit that is listened to, and who sits there. ``name`` gives what its captions begin with."""

    session: Session
    people: People
    name: Callable[[], str] = str

    @property
    def is_lost(self) -> bool:
        """Tell whether its hub is lost: that is itself a medium need, and only the desk can sound it."""
        return self.session.store.link.state is LinkState.NOT_LIVE

    @property
    def is_drill(self) -> bool:
        """Tell whether its beds are invented: they make no sound, so that whatever sounds is live."""
        return self.session.store.is_drill

    def place(self, bed: str | None) -> str:
        """Name a bed, or the unit itself."""
        name = self.name()
        return " ".join(filter(None, (name, bed or ("" if name else say("the unit")))))


class DeskSound:
    """Asks the policy a few times a second, and tells the screen how the sound stands.

    Args:
        show: shows the state of the sound.
        say: says at the foot of the screen, for a while, what a sound means.
        checked: the start-up check counts as answered.
    """

    def __init__(
        self,
        units: Sequence[Heeded],
        player: Plays,
        show: Callable[[SoundFace], None],
        monotonic: Callable[[], float],
        say: Callable[[str], None] = lambda _: None,
        checked: bool = False,
    ) -> None:
        self._units = tuple(units)
        self._player = player
        self._show = show
        self._say = say
        self._monotonic = monotonic
        self._policy = SoundPolicy()
        self._why: dict[Priority, tuple[int, str]] = {}
        self._check = Check.HEARD if checked else Check.DUE
        self._asked_at = 0.0
        self._reminded_at: float | None = None

    @property
    def check(self) -> Check:
        """How the start-up check stands."""
        return self._check

    def changed(self, changes: Changes, unit: int = 0) -> None:
        """Take what the hub of a unit has told."""
        if self._units[unit].is_drill:
            return
        for entry in heard_still(changes.entries, self._paused(self._units[unit])):
            self._hear(unit, entry)
        if changes.views or changes.entries or changes.unit:  # readings alone make no sound
            self.tick()

    def tick(self) -> None:
        """Play what is due."""
        now = self._monotonic()
        if self._check is Check.ASKED and now - self._asked_at >= CHECK_WITHIN_S:
            self._check = Check.NOT_CHECKED
        self._show(sound_face(self._player.state, self._check, self._asked_at + CHECK_WITHIN_S - now))
        self._burst(now)
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

    def _hear(self, unit: int, entry: Entry) -> None:
        sound = SOUND_OF.get(entry.kind, Sound.NEW)
        priority = entry.priority
        if entry.kind in ALWAYS:
            priority = self._priority_of(unit, entry)
        elif not entry.sounds:
            return
        if priority is not None:
            self._policy.new(priority, unit)
            words = caption(sound, self._units[unit].place(entry.bed), entry.text or "")
            self._why.setdefault(priority, (unit, words))

    def _priority_of(self, unit: int, entry: Entry) -> Priority | None:
        """Give the priority of the episode that nobody has any more; ``None`` where somebody has it again."""
        needs = self._units[unit].session.store.needs()
        found = (one for bed, one in needs if bed == entry.bed and one.id == entry.episode and is_open(one))
        return next((one.priority for one in found if one.holder is None), None)

    def _burst(self, now: float) -> None:
        lost = [place for place, unit in enumerate(self._units) if unit.is_lost]
        for place in lost:
            self._policy.forget(place)
        self._why = {priority: why for priority, why in self._why.items() if why[0] not in lost}
        waiting = [one for unit in self._units if not unit.is_drill for one in self._waiting(unit)]
        burst = self._policy.due({priority for priority, _ in waiting}, now)
        if burst is None:
            return
        self._player.play(burst)
        where = dict.fromkeys(words for priority, words in waiting if priority is burst)
        self._say(self._why.pop(burst, (0, " · ".join(where)))[1])

    def _waiting(self, unit: Heeded) -> Iterator[tuple[Priority, str]]:
        """Give what sounds in a unit until somebody has it, in the words of its repeats."""
        if unit.is_lost:
            name = unit.name()
            yield Priority.MEDIUM, f"{name}: {caption(Sound.HUB_LOST)}" if name else caption(Sound.HUB_LOST)
            return
        beds: dict[Priority, dict[str, None]] = {}
        for bed, episode in not_paused(unit.session.store.needs(), self._paused(unit)):
            for priority in waiting_for([episode], unit.people.name):
                beds.setdefault(priority, {})[unit.place(bed)] = None
        for priority, places in beds.items():
            yield priority, caption(Sound.REPEAT, ", ".join(places))

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
        paused = {unit.place(bed): left for unit in self._units for bed, left in self._paused(unit).items()}
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
        beds = ", ".join(say("{bed} ({left} left)", bed=bed, left=left) for bed, left in paused.items())
        self._say(caption(Sound.REMINDER, beds) if paused else say("Sound is off: nothing is heard at this desk"))

    def _paused(self, unit: Heeded) -> dict[str, str]:
        store = unit.session.store
        if not store.link.commands_allowed:  # what the hub last said of a pause is not known to stand
            return {}
        return paused_beds(store, store.now(self._monotonic()))
