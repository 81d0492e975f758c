"""A machine with a desk on it: what the real desk makes of the hub's words, without window and sockets."""

from collections.abc import Callable

from monitor.core.commands import Command
from monitor.core.wire import CommandAnswer, GiveCommand, Request
from monitor.desk.client import TOPIC
from monitor.desk.hearing import Heard, Hearing, SendFailed
from monitor.desk.store import Changes, Store
from monitor.desk.sync import Following
from monitor.rehearsal.trials.findings import Story
from monitor.rehearsal.trials.network import Deliver, Network
from monitor.rehearsal.trials.timeline import Timeline
from shared.frames import encode
from shared.instant import SECOND


class DeskMachine:
    """One desk.

    Args:
        is_up: tells whether the hub can be reached at all.

    Attributes:
        store: what it shows.
        heard_at: when anything came from the hub last, ms since the trial began.
        answers: what the hub answered, by command.
    """

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
    def number(self) -> int | None:
        """The number of the last delta that the picture holds; ``None``: it is not complete."""
        sync = self._hearing.sync
        return sync.seq if self.is_on and sync.state is Following.FOLLOWING else None

    def on(self) -> None:
        """Start it: it knows nothing."""
        self.is_on = True
        self.store = Store(self.seconds)
        self._hearing = Hearing(self._take)
        self.heard_at = -(10**9)

    def off(self) -> None:
        """End it."""
        self.is_on = False
        self._story.counts["desk starts"] += 1

    def published(self, parts: list[bytes]) -> None:
        """Hear what the hub tells everybody."""
        if self.is_on:
            self.heard_at = self._timeline.now
            gaps = self._hearing.sync.gaps
            self._hearing.published(parts, self.seconds)
            self._story.counts["gaps seen by desks"] += self._hearing.sync.gaps - gaps

    def replied(self, parts: list[bytes]) -> None:
        """Hear what the hub answers."""
        if self.is_on:
            self.heard_at = self._timeline.now
            self._hearing.replied(parts, self.seconds)

    def second(self) -> None:
        """Let a second pass."""
        if self.is_on:
            self.store.link.tick(self.seconds)
            self.store.commands.tick(self.seconds)
            self._hearing.ask(self.seconds, self._send)

    def give(self, command: Command) -> bool:
        """Give a command, as the desk does: never while the picture is lost; give whether it has left."""
        if not (self.is_on and self.store.link.commands_allowed):
            return False
        self.store.commands.sent(command, self.seconds)
        if not self._send(GiveCommand(command=command)):
            self._take(Heard(self.seconds, SendFailed(command.id, "no connection to the hub")))
            return False
        self._story.counts["commands"] += 1
        return True

    def _send(self, request: Request) -> bool:
        if not self._is_up() or self._network.is_cut(self.name):
            return False
        self._network.send(self.name, [self.name.encode(), *encode(TOPIC, request)], self.to_hub)
        return True

    def _take(self, heard: Heard) -> None:
        if isinstance(heard.message, CommandAnswer):
            self.answers.append(heard.message)
        self.store.apply(heard, Changes())
