"""The engine behind a wall: one event at a time, and a defect of ours costs that event and no more."""

import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from monitor.core.effects import Accept, CallsHeld, Effect, Page, Persist, Publish, Refuse
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Event, Observed
from monitor.core.meaning.looked_view import LookedView
from monitor.core.meaning.view import Meaning
from monitor.core.view import TileView, UnitView
from monitor.core.wire import CommandAnswer
from monitor.record import Begin, Step
from shared.instant import MINUTE, Instant
from shared.language.saying import to_say
from shared.messages import Observation, Unchecked
from shared.quantities import Quantity

log = logging.getLogger(__name__)

_DEFECT = to_say(
    "The hub failed on this. It is not known whether it counts: look at the bed, telephone, tell your support."
)
_AGAIN_MS = MINUTE


class EngineLike(Protocol):
    """What the hub needs of the engine."""

    def handle(self, event: Event, now: Instant) -> list[Effect]:
        """Do what is due by ``now``, then handle the event."""

    def next_deadline(self) -> Instant | None:
        """Give when something is due without any event."""

    def tile(self, bed: str, now: Instant) -> TileView:
        """Give a bed as it stands."""

    def meaning(self, bed: str, slot: int, person: str | None, now: Instant) -> Meaning | None:
        """Give what the numbers of a run mean now."""

    def looked(self, bed: str, person: str, now: Instant) -> dict[int, LookedView]:
        """Give by slot a person's last look at a bed and what is usual there no more."""

    def ended(self, bed: str) -> Mapping[int, Instant]:
        """Give when the last run ended, by the slots of a bed in which none is open."""

    def newest(self, bed: str, slot: int) -> dict[Quantity, tuple[Instant, float]]:
        """Give when each quantity of a run was last read, and what."""

    def unchecked(self, bed: str, slot: int) -> frozenset[Quantity]:
        """Give the quantities of which it was not checked who entered what `newest` gives."""

    def is_replaced(self, observation: Observation) -> bool:
        """Tell whether a later version of a set has come before this first one."""

    def entering(self, bed: str) -> tuple[str | None, tuple[str, ...]]:
        """Give who stands at a bed, if anybody does, and who may enter readings there."""

    def held_to_roles(self, observation: Observation) -> Observation:
        """Give a set entered by hand as the table of roles has it now, marked where it is unchecked."""

    def unit(self, now: Instant) -> UnitView:
        """Give what belongs to no bed."""

    def checkpoint(self) -> bytes:
        """Give the whole state."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What came of an event.

    A step for the record, the beds (``None``: the unit) whose view has changed, its pages, and what is held.
    """

    step: Step
    touched: tuple[str | None, ...]
    pages: tuple[Page, ...] = ()
    held: tuple[CallsHeld, ...] = ()


class Judge:
    """Hands events to the engine.

    A failure is counted each time; logged and written down, the same words once a minute.

    Attributes:
        defects: how many events the engine failed on; more than 0 is a defect of ours.
    """

    def __init__(self, engine: EngineLike) -> None:
        self.engine = engine
        self.defects = 0
        self._told: dict[str, Instant] = {}

    def held_to_roles(self, event: Event) -> Event:
        """Mark a set entered by hand that is unchecked; other events are as they were. Never raises."""
        if not isinstance(event, Observed) or event.observation.by is None:
            return event
        try:
            return Observed(self.engine.held_to_roles(event.observation))
        except Exception:  # a defect of ours must lose no set: it is taken, and said not to have been checked
            self.defects += 1
            log.exception("the engine failed to hold a set to the table of roles")
            return Observed(event.observation.model_copy(update={"unchecked": Unchecked.NOT_ASKED}))

    def handle(self, event: Event, now: Instant) -> Judged:
        """Handle an event; never raises."""
        try:
            effects = self.engine.handle(event, now)
        except Exception as error:  # a defect of ours must not end the watch over the other beds
            # It is never silent: log, count, entry.
            self.defects += 1
            return self._failed(event, now, error)
        return judged(event, now, effects)

    def _failed(self, event: Event, now: Instant, error: Exception) -> Judged:
        bed = event.observation.bed if isinstance(event, Observed) else None
        words = f"defect: the engine failed on {type(event).__name__}: {type(error).__name__}: {error}"[:300]
        entries: tuple[Entry, ...] = ()
        if now - self._told.get(f"{bed} {words}", -_AGAIN_MS) >= _AGAIN_MS:
            self._told[f"{bed} {words}"] = now
            log.error("the engine failed on %s", type(event).__name__, exc_info=error)
            entries = (Entry(at=now, kind=EntryKind.NOTE, bed=bed, text=words),)
        answer = None
        if isinstance(event, Commanded):
            answer = CommandAnswer(id=event.command.id, accepted=False, at=now, recorded=True, reason=_DEFECT)
        return Judged(Step(now, event, entries, answer), (bed,))


def judged(event: Event | Begin, now: Instant, effects: Iterable[Effect]) -> Judged:
    """Sort the effects of an event."""
    entries: list[Entry] = []
    touched: list[str | None] = []
    pages: list[Page] = []
    held: list[CallsHeld] = []
    answer: CommandAnswer | None = None
    for effect in effects:
        match effect:
            case Persist():
                entries.append(effect.entry)
            case Page():
                pages.append(effect)
            case CallsHeld():
                held.append(effect)
            case Publish():
                touched.append(effect.bed)
            case Accept():
                answer = CommandAnswer(id=effect.command, accepted=True, at=now, recorded=True)
            case Refuse():
                answer = CommandAnswer(
                    id=effect.command,
                    accepted=False,
                    at=now,
                    recorded=True,
                    reason=effect.reason,
                    with_reason=effect.with_reason,
                )
    return Judged(Step(now, event, tuple(entries), answer), tuple(touched), tuple(pages), tuple(held))
