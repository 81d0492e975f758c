"""A scenario in virtual time, turn by turn: what happened at a moment, and what the engine wrote.

In one second the time itself comes first (what is due is due), then the readings, then what people do.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry
from monitor.core.events import Commanded, Declared, Event, Observed, TimePassed
from monitor.core.unit import Configuration
from monitor.rehearsal.acts import commands_of
from monitor.rehearsal.sources import FEED, Numbered, second_of
from shared.entry.table import EntryTable
from shared.entry.telling import Said
from shared.errors import ConfigurationError
from shared.instant import SECOND, Instant, ms
from shared.messages import BedDeclared, Origin
from shared.rounds_played import RoundsPlayed
from shared.scenario import Scenario, feed_of, run_of, slots_of
from shared.scenario_acts import Act
from shared.scenario_parts import Entry as EnteredSet
from shared.staging import staged_pumps


@dataclass(frozen=True, slots=True)
class Turn:
    """What happened at a moment, and the effects. No event: the engine's start, or a remark of the rehearsal."""

    at: Instant
    event: Event | None
    effects: tuple[Effect, ...]

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The entries among the effects."""
        return tuple(entries_of(self.effects))


@dataclass(frozen=True, slots=True)
class _Moment:
    """What somebody does at a time: enters a set, does a round, gives a command."""

    at: Instant
    what: EnteredSet | Said | tuple[int, Act]


def turns_of(
    engine: Engine,
    scenario: Scenario,
    configuration: Configuration,
    begin: Instant,
    entry: EntryTable | None = None,
    look: Callable[[Instant], None] | None = None,
) -> Iterator[Turn]:
    """Play a scenario on an engine, from its start to its end; the first turn is the engine's own start.

    Args:
        entry: how rounds are typed; a scenario with rounds needs it.
        look: is called at the end of each second.

    Raises:
        ConfigurationError: the scenario asks for something that cannot be rehearsed.
    """
    yield Turn(begin, None, tuple(engine.start(begin)))
    yield _handle(engine, Declared(FEED, declared(scenario)), begin)
    pumps, numbered = staged_pumps(scenario, configuration.pumps), Numbered()
    moments = _moments(scenario, configuration, begin, entry)
    by_seconds = bool(pumps) or look is not None
    for second in range(int(scenario.seconds) + 1) if by_seconds else (int(scenario.seconds),):
        now = begin + second * SECOND
        if by_seconds:
            yield from turns_until(engine, now)
        for observation in second_of(scenario, pumps, second, begin, numbered):
            yield _handle(engine, Observed(observation), now)
        while moments and moments[0].at < now + SECOND:
            yield from _moment(engine, moments.pop(0), begin, numbered)
        if look is not None:
            look(now)
    yield from turns_until(engine, begin + ms(scenario.seconds))


def turns_until(engine: Engine, now: Instant) -> Iterator[Turn]:
    """Let time pass to ``now``, stopping wherever something is due."""
    while (due := engine.next_deadline()) is not None and due <= now:
        yield _handle(engine, TimePassed(), due)


def until(engine: Engine, now: Instant) -> Iterator[Entry]:
    """Let time pass to ``now``; give what is written meanwhile."""
    for turn in turns_until(engine, now):
        yield from turn.entries


def entries_of(effects: list[Effect] | tuple[Effect, ...]) -> Iterator[Entry]:
    """Give the entries among effects."""
    return (effect.entry for effect in effects if isinstance(effect, Persist))


def _moments(
    scenario: Scenario, configuration: Configuration, begin: Instant, entry: EntryTable | None
) -> list[_Moment]:
    """Give all that people do, in order; in one moment sets come before rounds, and rounds before commands."""
    if scenario.round and entry is None:
        raise ConfigurationError("the scenario has rounds: entry.toml, which says how they are typed, is not there")
    found = [_Moment(begin + ms(one.at), one) for one in scenario.entry]
    if entry is not None and scenario.round:
        found += [
            _Moment(said.at, said) for said in RoundsPlayed(scenario, entry, begin, configuration.pumps).said()
        ]
    found += [_Moment(begin + ms(act.at), (number, act)) for number, act in enumerate(scenario.act, 1)]
    ends = begin + ms(scenario.seconds)
    return sorted((moment for moment in found if moment.at <= ends), key=lambda moment: moment.at)


def _moment(engine: Engine, moment: _Moment, begin: Instant, numbered: Numbered) -> Iterator[Turn]:
    yield from turns_until(engine, moment.at)
    match moment.what:
        case EnteredSet() as entered:
            yield _handle(engine, Observed(numbered.entered(entered, begin)), moment.at)
        case Said() as said:
            yield _handle(engine, Observed(numbered.told(said)), moment.at)
        case (number, act):
            yield from _act(engine, act, number, moment.at, begin)


def _act(engine: Engine, act: Act, number: int, now: Instant, begin: Instant) -> Iterator[Turn]:
    tile = engine.tile(act.bed, now) if act.bed is not None else None
    commands = commands_of(act, number, tile, engine.unit(now), begin)
    if not commands:
        yield Turn(now, None, (Persist(note(now, act.bed, f"{act.by}: {act.do}, but nothing is open")),))
    for command in commands:
        yield _handle(engine, Commanded(command), now)


def note(now: Instant, bed: str | None, text: str) -> Entry:
    """Give a remark of the rehearsal itself."""
    return Entry.model_validate({"at": now, "kind": "note", "bed": bed, "text": text}, strict=False)


def _handle(engine: Engine, event: Event, now: Instant) -> Turn:
    return Turn(now, event, tuple(engine.handle(event, now)))


def declared(scenario: Scenario) -> tuple[BedDeclared, ...]:
    """Give the beds of a scenario as its feed declares them."""

    def origin(bed: str) -> Origin:
        return Origin.ENTERED if feed_of(scenario, bed) == "entered" else Origin.SIMULATED

    return tuple(
        BedDeclared(
            bed=bed,
            runs=tuple(run_of(scenario, bed, slot) for slot in slots_of(scenario, bed)),
            interval=1.0,
            origin=origin(bed),
        )
        for bed in scenario.beds
    )
