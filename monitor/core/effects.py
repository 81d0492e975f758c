"""What the engine wants done. Persist comes before publish and sound, always."""

from dataclasses import dataclass

from monitor.core.entries import Entry
from monitor.core.grades import Rung
from monitor.core.pages.text import PageFacts


@dataclass(frozen=True, slots=True)
class Persist:
    """Write an entry into the alert log and tell the desks; an entry that ``sounds`` is heard there."""

    entry: Entry


@dataclass(frozen=True, slots=True)
class Page:
    """Tell ``person`` of a call outside of the desks, by whatever ways there are; it follows the call's entry."""

    facts: PageFacts
    episode: int
    person: str


@dataclass(frozen=True, slots=True)
class CallsHeld:
    """Somebody has taken an episode: no page of an earlier call to one of these rungs need be tried any more."""

    episode: int
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, slots=True)
class Publish:
    """A bed's view has changed; ``None``: the unit's."""

    bed: str | None


@dataclass(frozen=True, slots=True)
class Accept:
    """A command was carried out."""

    command: str


@dataclass(frozen=True, slots=True)
class Refuse:
    """A command was not carried out; ``reason`` is for the person who gave it.

    ``with_reason``: it would be with a reason why somebody acts at a bed that is not theirs.
    """

    command: str
    reason: str
    with_reason: bool = False


Effect = Persist | Page | CallsHeld | Publish | Accept | Refuse
