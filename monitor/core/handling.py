"""One event being handled: what the rules of the game are, the state, the time, and the effects so far."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from monitor.core.effects import Effect, Persist, Publish
from monitor.core.entries import Entry, EntryKind
from monitor.core.equipment.table import EquipmentTable
from monitor.core.judging.observing import Watch
from monitor.core.judging.silences import Silences
from monitor.core.ladder_table import LadderTable
from monitor.core.roster.planning import Shifts
from monitor.core.rules import LimitRule, RuleBase
from monitor.core.state import AlertState, BedState, EngineState, EpisodeState, UnitState
from monitor.core.unit import Person, Unit
from shared.entry.round_table import RoundTable
from shared.instant import Instant
from shared.language.saying import say


@dataclass(slots=True)
class Handling:
    """The event in hand.

    Attributes:
        explains: rule -> rules that it explains.
        silences: those of the rules that speak from silence.
        edges: those that are one-sided limits of medium or high priority; ``settable``: that a bed may set itself.
        projections: ids of the rules that work out when a battery is empty.
        shifts: which shift runs.
        blind_rule: id of the rule that speaks when the board is blind.
        touched: beds (``None``: the unit) whose view has changed.
        key: fingerprint of the station whose command is being carried out; its entries carry it.
    """

    unit: Unit
    watch: Watch
    ladder: LadderTable
    rules: Mapping[str, RuleBase]
    silences: Silences
    edges: Sequence[LimitRule]
    settable: Sequence[LimitRule]
    projections: Sequence[str]
    shifts: Shifts
    people: dict[str, Person]
    explains: dict[str, frozenset[str]]
    blind_rule: str | None
    equipment: EquipmentTable
    state: EngineState
    now: Instant
    effects: list[Effect] = field(default_factory=list)
    touched: dict[str | None, None] = field(default_factory=dict)
    rounds: RoundTable = field(default_factory=RoundTable)
    key: str | None = None

    def write(self, kind: EntryKind, bed: str | None = None, **fields: Any) -> None:
        """Write an entry at this moment and mark the bed as changed."""
        said = {"at": self.now, "kind": kind, "bed": bed, "key": self.key, **fields}
        self.effects.append(Persist(Entry.model_validate(said)))
        self.touch(bed)

    def touch(self, bed: str | None) -> None:
        """Mark a bed's view, or the unit's, as changed."""
        self.touched[bed] = None

    def place(self, bed: str | None) -> BedState | UnitState:
        """Where alerts and episodes of a bed live; ``None``: the unit's."""
        return self.state.unit if bed is None else self.state.beds[bed]

    def places(self) -> list[tuple[str | None, BedState | UnitState]]:
        """All places, the unit first."""
        return [(None, self.state.unit), *self.state.beds.items()]

    def finish(self) -> list[Effect]:
        """Give the effects in order: entries as they happened, then each changed view once."""
        return [*self.effects, *(Publish(bed) for bed in self.touched)]


def cannot_stand(handling: Handling, person: str) -> str | None:
    """Give the reason why a person stands on no post, or ``None``."""
    found = handling.people.get(person)
    if found is None:
        return say("{person} is not among the unit's people", person=person)
    if found.looks_on:
        return say("{label} looks on and cannot stand anywhere", label=found.label)
    return None


def person_label(handling: Handling, person: str | None) -> str:
    """Give a person as shown; ``None`` is nobody. Who is no longer among the unit's people has the name alone."""
    found = handling.people.get(person) if person is not None else None
    return found.label if found is not None else person or say("nobody")


def may_write_down(handling: Handling, name: str) -> bool:
    """Tell whether a person may write down what another one said: in the unit, and not only looking on."""
    person = handling.people.get(name)
    return person is not None and person.in_unit and not person.looks_on


def present_members(place: BedState | UnitState, episode: EpisodeState) -> list[AlertState]:
    """Give the members whose condition persists, oldest first."""
    found = (place.alerts.get(member) for member in episode.members)
    return [alert for alert in found if alert is not None and alert.present]


def of_alert(alert: AlertState) -> dict[str, Any]:
    """Give the fields that every entry about an alert carries."""
    return {
        "slot": alert.slot,
        "alert": alert.id,
        "episode": alert.episode,
        "rule": alert.rule,
        "priority": alert.priority,
        "class": alert.alert_class,
        "circuit_critical": alert.circuit_critical or None,
    }
