"""What the engine is told. Nothing else moves it."""

from dataclasses import dataclass

from monitor.core.commands import Command
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
    """A person has given a command."""

    command: Command


@dataclass(frozen=True, slots=True)
class TimePassed:
    """Nothing came; it is later."""


Event = Observed | Declared | Commanded | TimePassed
