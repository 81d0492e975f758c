"""The sound of one desk: what the hub says in, bursts out."""

from collections.abc import Callable

from monitor.desk.people import People
from monitor.desk.session import Session
from monitor.desk.sound.player import Player
from monitor.desk.sound.policy import SoundPolicy
from monitor.desk.store import Changes


class DeskSound:
    """Asks the policy a few times a second, and tells the header the player's state."""

    def __init__(
        self,
        session: Session,
        people: People,
        player: Player,
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
        """Play what is due."""
        self._tell(self._player.state.value)
        if not self._session.store.link.commands_allowed:
            return
        episodes = (episode for _, episode in self._session.store.needs())
        burst = self._policy.due(episodes, self._people.name, self._monotonic())
        if burst is not None:
            self._player.play(burst)
