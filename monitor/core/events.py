"""What the engine is told. Nothing else moves it."""

from dataclasses import dataclass

from monitor.core.commands import Command
from monitor.core.grades import Role
from shared.messages import BedDeclared, Observation


@dataclass(frozen=True, slots=True)
class Observed:
    """An observation was accepted at the door."""

    observation: Observation


@dataclass(frozen=True, slots=True)
class Declared:
    """A feed has said what it speaks for: origin and interval of a bed."""

    feed: str
    beds: tuple[BedDeclared, ...]


@dataclass(frozen=True, slots=True)
class Commanded:
    """A person has given a command.

    Attributes:
        key: fingerprint of the station that it came from; empty: without keys.
        roles: those of the person's roles that may act from that station; ``None``: all of them.
    """

    command: Command
    key: str = ""
    roles: frozenset[Role] | None = None


@dataclass(frozen=True, slots=True)
class TimePassed:
    """Nothing came; it is later."""


@dataclass(frozen=True, slots=True)
class Rival:
    """A bed that a second feed claims while the first one speaks for it; the first one is shown."""

    bed: str
    holder: str
    rival: str


@dataclass(frozen=True, slots=True)
class ClockOff:
    """A feed whose clock is ``off_ms`` ahead of the hub's (negative: behind); its readings are corrected for it."""

    feed: str
    off_ms: int


@dataclass(frozen=True, slots=True)
class FeedsFound:
    """What the door finds wrong with feeds: the whole of it, each time that it changes."""

    rivals: tuple[Rival, ...] = ()
    clocks: tuple[ClockOff, ...] = ()


Event = Observed | Declared | Commanded | TimePassed | FeedsFound
