"""Hints of courses: played with the shipped table, and what the page would show meanwhile."""

from collections.abc import Sequence

from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.meaning.view import Meaning
from monitor.core.patterns import Patterns
from monitor.rehearsal.rehearse import BEGIN, rehearse
from shared.instant import Instant
from shared.scenario import Scenario, parse_scenario
from tests.helpers.courses import clock, entries_of, shipped


def played(scenario: Scenario, patterns: Patterns | None = None) -> tuple[Entry, ...]:
    """Play a scenario with a table of patterns, the shipped one unless another is given."""
    table = shipped().patterns if patterns is None else patterns
    return tuple(rehearse(scenario, shipped().limits, shipped().ladder, patterns=table))


def hints_in(name: str, seed: int | None = None, bed: str | None = None) -> tuple[Entry, ...]:
    """Give the hints of a shipped course, of one bed if named; with a seed, with noise of that seed."""
    return tuple(e for e in entries_of(name, seed) if e.kind is EntryKind.HINT and bed in (None, e.bed))


def hints_of_text(text: str) -> list[Entry]:
    """Give the hints of a scenario that is written out."""
    return [entry for entry in played(parse_scenario(text)) if entry.kind is EntryKind.HINT]


def letters(hints: Sequence[Entry]) -> str:
    """Give the letters of hints in their order."""
    return "".join(entry.hint or "" for entry in hints)


def pages(scenario: Scenario, *moments: str, bed: str = "B1") -> list[Meaning]:
    """Give what the page of a bed would show at the end of these seconds, while the shipped table is used."""
    wanted, found = [clock(moment) for moment in moments], list[Meaning]()

    def look(engine: Engine, now: Instant) -> None:
        if (now - BEGIN) / 1000 in wanted:
            meaning = engine.meaning(bed, 1, None, now)
            assert meaning is not None
            found.append(meaning)

    short = scenario.model_copy(update={"minutes": min(scenario.minutes, (max(wanted) + 1) / 60)})
    list(rehearse(short, shipped().limits, shipped().ladder, look=look, patterns=shipped().patterns))
    return found
