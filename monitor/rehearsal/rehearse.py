"""Rehearse a scenario: beds, people and engine in virtual time, entry by entry.

In one second the time itself comes first (what is due is due), then the readings, then what people do.
"""

from collections.abc import Callable, Iterator, Mapping

from monitor.core.commands import Command
from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import Entry
from monitor.core.events import Commanded, Declared, Event, Observed, TimePassed
from monitor.core.ladder_table import LadderTable
from monitor.core.patterns import Patterns
from monitor.core.rules import Limits
from monitor.rehearsal.acts import command_of
from monitor.rehearsal.sources import FEED, Numbered, second_of
from monitor.rehearsal.stage import NO_PATTERNS, stage_of
from shared.circuit import SHIPPED_PROFILES, PumpProfile
from shared.instant import SECOND, Instant, ms
from shared.messages import BedDeclared, Origin
from shared.scenario import Scenario, feed_of, run_of, slots_of
from shared.scenario_acts import Act
from shared.staging import staged_pumps

#: Virtual zero: 2026-01-01 00:00 UTC. Any other would do; a rehearsal tells times from its start.
BEGIN: Instant = 1_767_225_600_000


def rehearse(
    scenario: Scenario,
    limits: Limits,
    ladder: LadderTable,
    profiles: Mapping[str, PumpProfile] = SHIPPED_PROFILES,
    begin: Instant = BEGIN,
    look: Callable[[Engine, Instant], None] | None = None,
    patterns: Patterns = NO_PATTERNS,
) -> Iterator[Entry]:
    """Give every entry of a scenario, in order, as it happens.

    Args:
        look: is shown the engine at the end of each second, to see what the screens would show.
        patterns: what hints follow from; without any there are none.

    Raises:
        ConfigurationError: the scenario asks for something that cannot be rehearsed.
    """
    engine = Engine(stage_of(scenario, limits, ladder, profiles, patterns), begin)
    yield from entries_of(engine.start(begin))
    yield from entries_of(engine.handle(Declared(FEED, _declared(scenario)), begin))
    pumps, numbered = staged_pumps(scenario, profiles), Numbered()
    sets = sorted(scenario.entry, key=lambda entry: entry.at)
    acts = sorted(enumerate(scenario.act, 1), key=lambda pair: pair[1].at)
    for second in range(int(scenario.seconds) + 1):
        now = begin + second * SECOND
        yield from until(engine, now)
        for observation in second_of(scenario, pumps, second, begin, numbered):
            yield from entries_of(engine.handle(Observed(observation), now))
        while sets and sets[0].at < second + 1:
            at = begin + ms(sets[0].at)
            yield from until(engine, at)
            yield from entries_of(engine.handle(Observed(numbered.entered(sets.pop(0), begin)), at))
        while acts and acts[0][1].at < second + 1:
            number, act = acts.pop(0)
            yield from _act(engine, act, number, begin)
        if look is not None:
            look(engine, now)


def until(engine: Engine, now: Instant) -> Iterator[Entry]:
    """Let time pass to ``now``, stopping wherever something is due."""
    while (due := engine.next_deadline()) is not None and due <= now:
        yield from entries_of(engine.handle(TimePassed(), due))


def entries_of(effects: list[Effect]) -> Iterator[Entry]:
    """Give the entries among effects."""
    return (effect.entry for effect in effects if isinstance(effect, Persist))


def _act(engine: Engine, act: Act, number: int, begin: Instant) -> Iterator[Entry]:
    now = begin + ms(act.at)
    yield from until(engine, now)
    tile = engine.tile(act.bed, now) if act.bed is not None else None
    command: Command | None = command_of(act, number, tile, engine.unit(now), begin)
    if command is None:
        yield note(now, act.bed, f"{act.by}: {act.do}, but nothing is open")
        return
    event: Event = Commanded(command)
    yield from entries_of(engine.handle(event, now))


def note(now: Instant, bed: str | None, text: str) -> Entry:
    """Give a remark of the rehearsal itself."""
    return Entry.model_validate({"at": now, "kind": "note", "bed": bed, "text": text}, strict=False)


def _declared(scenario: Scenario) -> tuple[BedDeclared, ...]:
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
