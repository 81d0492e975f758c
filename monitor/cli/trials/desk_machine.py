"""A machine with a desk on it: what the real desk makes of the hub's words, without window and sockets."""

from collections.abc import Callable

from monitor.core.commands import Command
from monitor.core.wire import CommandAnswer, GiveCommand, Request
from monitor.desk.client import TOPIC
from monitor.desk.hearing import Heard, Hearing, SendFailed
from monitor.desk.link_state import LinkState
from monitor.desk.store import Changes, Store
from monitor.desk.sync import Following
from monitor.hub.runner import Hub
from monitor.rehearsal.trials.findings import Story
from monitor.rehearsal.trials.network import Deliver, Network
from monitor.rehearsal.trials.timeline import Timeline
from shared.frames import encode
from shared.instant import SECOND, Instant

#: Before any trial.
NEVER: Instant = -(10**9)


class DeskMachine:
    """One desk at the station.

    Args:
        is_up: tells whether the hub can be reached at all.

    Attributes:
        store: what it shows.
        on_at: when it was started, ms since the trial began.
        heard_at: when anything came from the hub last, ms since the trial began.
        said_at: when the hub said the newest word that was laid over the picture.
        answers: what the hub answered, by command.
        kind: what it is, in words of a story.
        shows_readings_at_once: nothing that was read waits on its line.
    """

    kind = "boards"
    shows_readings_at_once = True

    def __init__(
        self, name: str, timeline: Timeline, network: Network, story: Story, is_up: Callable[[], bool]
    ) -> None:
        self.name = name
        self.to_hub: Deliver = lambda parts: None
        self.answers: list[CommandAnswer] = []
        self.is_on = False
        self._timeline, self._network, self._story, self._is_up = timeline, network, story, is_up
        self.on()

    @property
    def seconds(self) -> float:
        """The machine's monotonic clock."""
        return self._timeline.now / SECOND

    @property
    def is_veiled(self) -> bool:
        """Tell whether it says of itself that nothing it shows is current."""
        return self.store.link.state is LinkState.NOT_LIVE

    def is_whole(self, hub: Hub) -> bool:
        """Tell whether it shows what the hub stands on: nothing that was told is under way or missing."""
        sync = self._hearing.sync
        follows = self.is_on and sync.state is Following.FOLLOWING
        return follows and (sync.boot, sync.seq) == (hub.publishing.boot, hub.publishing.seq)

    def age_promised(self) -> int | None:
        """Give how old, in ms, what it calls live is at most; ``None``: its line promises nothing of that.

        A desk at the station takes what comes for what is now: its line has no answer to measure a way by.
        """
        return None

    def on(self) -> None:
        """Start it: it knows nothing."""
        self.is_on = True
        self.store = Store(self.seconds)
        self._hearing = self._begin_to_hear()
        self.on_at, self.heard_at, self.said_at = self._timeline.now, NEVER, NEVER
        self._in_hand: Instant = NEVER

    def off(self) -> None:
        """End it."""
        self.is_on = False
        self._story.counts["desk starts"] += 1

    def published(self, said_at: Instant, parts: list[bytes]) -> None:
        """Hear what the hub told everybody at ``said_at``."""
        if self.is_on:
            self.heard_at, self._in_hand = self._timeline.now, said_at
            gaps = self._hearing.sync.gaps
            self._hearing.published(parts, self.seconds)
            self._story.counts["gaps seen by desks"] += self._hearing.sync.gaps - gaps

    def replied(self, said_at: Instant, parts: list[bytes]) -> None:
        """Hear what the hub answered at ``said_at``."""
        if self.is_on:
            self.heard_at, self._in_hand = self._timeline.now, said_at
            self._hearing.replied(parts, self.seconds)

    def second(self) -> None:
        """Let a second pass."""
        if not self.is_on:
            return
        if self.store.link.tick(self.seconds) and self.is_veiled:
            self._hearing.ask_anew()
        self.store.commands.tick(self.seconds)
        self._hearing.ask(self.seconds, self._send)

    def give(self, command: Command) -> bool:
        """Give a command, as the desk does: never while the picture is lost; give whether it has left."""
        if not (self.is_on and self.store.link.commands_allowed):
            return False
        self.store.commands.sent(command, self.seconds)
        given_at = self.store.now(self.seconds)
        if not self._send(GiveCommand(command=command, given_at=given_at)):
            self._take(Heard(self.seconds, SendFailed(command.id, "no connection to the hub")))
            return False
        self._story.counts["commands"] += 1
        return True

    def _begin_to_hear(self) -> Hearing:
        return Hearing(self._take)

    def _send(self, request: Request) -> bool:
        if not self._is_up() or self._network.is_cut(self.name):
            return False
        parts = [self.name.encode(), *encode(TOPIC, request, packed=self._hearing.packed)]
        self._network.send(self.name, parts, self.to_hub, up=True)
        return True

    def _take(self, heard: Heard) -> None:
        if isinstance(heard.message, CommandAnswer):
            self.answers.append(heard.message)
        elif not isinstance(heard.message, SendFailed):
            self.said_at = max(self.said_at, self._in_hand)
        self.store.apply(heard, Changes())
