"""What the engine wants done. Persist comes before publish, sound and page, always."""

from dataclasses import dataclass

from monitor.core.entries import Entry
from monitor.core.grades import Priority


@dataclass(frozen=True, slots=True)
class Persist:
    """Write an entry into the alert log (and tell the desks of it)."""

    entry: Entry


@dataclass(frozen=True, slots=True)
class Publish:
    """A bed's view has changed; ``None``: the unit's."""

    bed: str | None


@dataclass(frozen=True, slots=True)
class Sound:
    """Sound one burst of a priority at the desk, about a bed (``None``: the unit)."""

    priority: Priority
    bed: str | None


@dataclass(frozen=True, slots=True)
class Accept:
    """A command was carried out."""

    command: str


@dataclass(frozen=True, slots=True)
class Refuse:
    """A command was not carried out; ``reason`` is for the person who gave it."""

    command: str
    reason: str


Effect = Persist | Publish | Sound | Accept | Refuse
