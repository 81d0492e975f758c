"""What became of the commands that were given here, as a table.

sent           on its way
recorded       the hub wrote it down, at a time
unrecorded     it counts, but the hub's record refuses writes
refused        the hub said no, with a reason
not recorded   no answer within 5 s, or no connection: telephone. It is never sent again by itself.

An answer that comes later than 5 s is still the truth and replaces "not recorded".
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

from monitor.core.commands import Command
from monitor.core.wire import CommandAnswer
from shared.instant import Instant
from shared.language.saying import say

ANSWER_WITHIN_S = 5.0
_KEPT = 50


class Life(StrEnum):
    """Where a command stands."""

    SENT = "sent"
    RECORDED = "recorded"
    UNRECORDED = "unrecorded"
    REFUSED = "refused"
    NOT_RECORDED = "not recorded"


class Fate(StrEnum):
    """What befalls a command."""

    WRITTEN = "written"
    COUNTS = "counts, not written"
    NO = "refused"
    NOTHING = "no answer"


TABLE: Mapping[tuple[Life, Fate], Life] = MappingProxyType(
    {
        (Life.SENT, Fate.WRITTEN): Life.RECORDED,
        (Life.SENT, Fate.COUNTS): Life.UNRECORDED,
        (Life.SENT, Fate.NO): Life.REFUSED,
        (Life.SENT, Fate.NOTHING): Life.NOT_RECORDED,
        (Life.NOT_RECORDED, Fate.WRITTEN): Life.RECORDED,
        (Life.NOT_RECORDED, Fate.COUNTS): Life.UNRECORDED,
        (Life.NOT_RECORDED, Fate.NO): Life.REFUSED,
        (Life.UNRECORDED, Fate.WRITTEN): Life.RECORDED,
    }
)


@dataclass(frozen=True, slots=True)
class Given:
    """A command and what became of it.

    ``at``: hub time of the answer; ``moved``: second of the last step. Refused for the role alone:
    ``with_reason``; because a name is not signed in: ``sign_in``.
    """

    command: Command
    sent: float
    life: Life = Life.SENT
    at: Instant | None = None
    reason: str = ""
    moved: float = 0.0
    with_reason: bool = False
    sign_in: str = ""


class CommandBook:
    """The commands of this desk, newest last."""

    def __init__(self) -> None:
        self._given: dict[str, Given] = {}

    def sent(self, command: Command, monotonic: float) -> None:
        """Note a command that leaves now."""
        self._given[command.id] = Given(command, monotonic, moved=monotonic)
        while len(self._given) > _KEPT:
            del self._given[next(iter(self._given))]

    def answered(self, answer: CommandAnswer, monotonic: float) -> Given | None:
        """Take the hub's answer; ``None`` when the command is not ours."""
        counts = Fate.WRITTEN if answer.recorded else Fate.COUNTS
        fate = counts if answer.accepted else Fate.NO
        given = self._move(answer.id, fate, monotonic, answer.at, answer.reason)
        if given is not None and given.life is Life.REFUSED:
            given = replace(given, with_reason=answer.with_reason, sign_in=answer.sign_in)
            self._given[answer.id] = given
        return given

    def failed(self, command: str, reason: str, monotonic: float) -> Given | None:
        """Note that a command could not leave."""
        return self._move(command, Fate.NOTHING, monotonic, None, reason)

    def tick(self, monotonic: float) -> list[Given]:
        """Let time pass; give those that have just become *not recorded*."""
        late = [
            given.command.id
            for given in self._given.values()
            if given.life is Life.SENT and monotonic - given.sent >= ANSWER_WITHIN_S
        ]
        words = say("no answer from the hub within 5 s")
        moved = (self._move(one, Fate.NOTHING, monotonic, None, words) for one in late)
        return [given for given in moved if given is not None]

    def last(self) -> Given | None:
        """Give the newest command."""
        return next(reversed(self._given.values()), None)

    def get(self, command: str) -> Given | None:
        """Give one command by its id."""
        return self._given.get(command)

    def _move(self, command: str, fate: Fate, monotonic: float, at: Instant | None, reason: str) -> Given | None:
        given = self._given.get(command)
        if given is None:
            return None
        life = TABLE.get((given.life, fate))
        if life is None:
            return given
        given = replace(given, life=life, at=at, reason=reason, moved=monotonic)
        self._given[command] = given
        return given
