"""Rehearse a scenario: beds, people and engine in virtual time, entry by entry."""

from collections.abc import Callable, Iterator, Mapping

from monitor.core.engine import Engine
from monitor.core.entries import Entry
from monitor.core.ladder_table import LadderTable
from monitor.core.patterns import Patterns
from monitor.core.rules import Limits
from monitor.rehearsal.stage import NO_PATTERNS, NO_ROUNDS, stage_of
from monitor.rehearsal.turns import turns_of
from shared.circuit import SHIPPED_PROFILES, PumpProfile
from shared.entry.table import EntryTable
from shared.instant import Instant
from shared.scenario import Scenario

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
    entry: EntryTable | None = None,
) -> Iterator[Entry]:
    """Give every entry of a scenario, in order, as it happens.

    Args:
        look: is shown the engine at the end of each second, to see what the screens would show.
        patterns: what hints follow from; without any there are none.
        entry: how rounds are typed and when they are due; a scenario with rounds needs it.

    Raises:
        ConfigurationError: the scenario asks for something that cannot be rehearsed.
    """
    rounds = NO_ROUNDS if entry is None else entry.rounds
    configuration = stage_of(scenario, limits, ladder, profiles, patterns, rounds, begin)
    engine = Engine(configuration, begin)
    looks = None if look is None else lambda now: look(engine, now)
    for turn in turns_of(engine, scenario, configuration, begin, entry, looks):
        yield from turn.entries
