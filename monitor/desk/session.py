"""The desk at work: what was heard goes into the store, the past is asked for, commands are sent and watched."""

from collections.abc import Callable, Iterable

from monitor.core.commands import Command
from monitor.core.wire import GiveCommand, Request
from monitor.desk.hearing import Heard
from monitor.desk.history_queue import HistoryQueue
from monitor.desk.link_state import LinkState
from monitor.desk.store import Changes, Store


class Session:
    """Store, history and commands together.

    Args:
        send: hands a request to the network and never blocks.
        ask_anew: lets the network ask for everything anew with the hub's next word; called when the hub is lost.

    Attributes:
        token: the session of who signed in here; it goes along with every command.
        second: that of the second person of the command that is given next.
        lean: the hub is heard over a thin line, which leaves out what lies between readings that it tells.
    """

    def __init__(
        self,
        store: Store,
        send: Callable[[Request], None],
        ask_anew: Callable[[], None] = lambda: None,
        *,
        lean: bool = False,
    ) -> None:
        self.store = store
        self._send = send
        self._ask_anew = ask_anew
        self.lean = lean
        self._history = HistoryQueue(lean=lean)
        self.token = self.second = ""

    def take(self, heard: Iterable[Heard], monotonic: float) -> Changes:
        """Apply what was heard and give what it changed."""
        changes = Changes()
        for one in heard:
            self.store.apply(one, changes)
        if changes.snapshot or changes.past:
            self._history.plan(self.store)
        self._history.answered(changes.sparks)
        self._ask(monotonic)
        return changes

    def tick(self, monotonic: float) -> Changes:
        """Let time pass: the link may go silent, a command may stay without an answer."""
        changes = Changes()
        changes.unit = self.store.link.tick(monotonic)
        if changes.unit and self.store.link.state is LinkState.NOT_LIVE:
            self._ask_anew()
        changes.commands = bool(self.store.commands.tick(monotonic))
        self._ask(monotonic)
        return changes

    @property
    def is_filling(self) -> bool:
        """Tell whether the hours before are still asked for."""
        return self._history.is_filling

    def ask(self, request: Request) -> None:
        """Send a request; its answer comes among the replies of a later `take`."""
        self._send(request)

    def command(self, command: Command, monotonic: float) -> bool:
        """Give a command to the hub, once; ``False``: commands are off, nothing was sent."""
        if not self.store.link.commands_allowed:
            return False
        self.store.commands.sent(command, monotonic)
        given_at = self.store.now(monotonic)
        self._send(GiveCommand(command=command, session=self.token, second=self.second, given_at=given_at))
        self.second = ""
        return True

    def _ask(self, monotonic: float) -> None:
        now = self.store.now(monotonic)
        while (request := self._history.next(self.store, now, monotonic)) is not None:
            self._send(request)
