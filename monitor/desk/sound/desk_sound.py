"""The sound of one desk: what the hub says in, bursts out."""

from collections.abc import Callable
from typing import Protocol

from monitor.core.grades import Priority
from monitor.desk.link_state import LinkState
from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.sound.player import SoundState
from monitor.desk.sound.policy import SoundPolicy, waiting_for
from monitor.desk.store import Changes


class Plays(Protocol):
    """What a player can do."""

    @property
    def state(self) -> SoundState:
        """Whether a burst would be heard."""

    def play(self, priority: Priority) -> bool:
        """Play a burst."""


class DeskSound:
    """Asks the policy a few times a second, and tells the header the player's state."""

    def __init__(
        self,
        session: Session,
        people: People,
        player: Plays,
        tell: Callable[[str], None],
        monotonic: Callable[[], float],
    ) -> None:
        self._session = session
        self._people = people
        self._player = player
        self._tell = tell
        self._monotonic = monotonic
        self._policy = SoundPolicy()

    def changed(self, changes: Changes) -> None:
        """Take what the hub has told."""
        self._policy.hear(changes.entries)
        self.tick()

    def tick(self) -> None:
        """Play what is due. A lost hub is itself a medium need of the unit, and only the desk can sound it."""
        self._tell(self._player.state.value)
        state = self._session.store.link.state
        if state is LinkState.STARTING:
            return
        if state is LinkState.NOT_LIVE:
            self._policy.forget()
            waiting = {Priority.MEDIUM}
        else:
            waiting = waiting_for((episode for _, episode in self._session.store.needs()), self._people.name)
        burst = self._policy.due(waiting, self._monotonic())
        if burst is not None:
            self._player.play(burst)
