"""A whole configuration folder, looked through in one pass: what starts a unit, and what it may play besides."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from pydantic import BaseModel

from monitor.core.emergency_cards import EmergencyCard
from monitor.core.unit import Configuration
from monitor.settings.card_files import cards_in
from monitor.settings.keys_file import load_keys_file
from monitor.settings.loading import Faults, gather_configuration, load_entry_in, names_in, pump_names, read
from monitor.settings.people_file import load_people
from monitor.settings.screen_file import load_screen_in
from shared.look.screen import ScreenTable
from shared.recording_map import RecordingMap
from shared.scenario import Scenario
from shared.written.faults import Fault, did_you_mean
from shared.written.reading import Check, Source, fit, read_source
from shared.written.tables import tables_at

SCENARIOS, DRILLS, MAPS = "scenarios", "drills", "maps"


@dataclass(frozen=True, slots=True)
class Examination:
    """What was found: the configuration where it is whole, every fault, and what else was read."""

    configuration: Configuration | None
    faults: tuple[Fault, ...]
    pumps: int
    scenarios: int
    drills: int
    maps: int
    entry_fields: int
    cards: Mapping[str, EmergencyCard]
    screen: ScreenTable | None


def examine(folder: Path) -> Examination:
    """Look through a folder. Raises ConfigurationError only where the folder itself is not there."""
    pot = Faults()
    configuration = gather_configuration(folder, pot)
    entry = Faults().gather(lambda: load_entry_in(folder))  # its faults are among those of the configuration
    pot.gather(lambda: load_people(folder))
    beds = None if configuration is None else [bed.label for bed in configuration.unit.beds]
    pot.gather(lambda: load_keys_file(folder, beds))
    screen = pot.gather(lambda: load_screen_in(folder))
    cards = cards_in(folder)
    pot.found += cards.faults
    pumps = pump_names(folder)
    named = partial(_pumps_named, pumps=pumps)
    scenarios, drills = (_read_all(folder, inner, Scenario, named, pot) for inner in (SCENARIOS, DRILLS))
    maps = _read_all(folder, MAPS, RecordingMap, None, pot)
    faults = sorted(pot.found, key=lambda fault: (fault.file, fault.line, str(fault)))
    fields = len(entry.field) if entry else 0
    return Examination(
        configuration, tuple(faults), len(pumps), scenarios, drills, maps, fields, cards.cards, screen
    )


def _read_all(folder: Path, inner: str, model: type[BaseModel], check: Check | None, pot: Faults) -> int:
    names = list(names_in(folder, inner))
    for name in names:
        pot.gather(_reading(folder, name, model, check))
    return len(names)


def _reading(folder: Path, name: str, model: type[BaseModel], check: Check | None) -> Callable[[], BaseModel]:
    return lambda: fit(read_source(read(folder, name), name), model, check)


def _pumps_named(source: Source, pumps: list[str]) -> Iterator[Fault]:
    """Find pumps that a scenario names and that are not there."""
    for table in ("start", "act"):
        for place, values in tables_at(source, (table,)):
            yield from _pump(source, (*place, "profile"), values.get("profile"), pumps)
    yield from _pump(source, ("profile",), source.data.get("profile"), pumps)


def _pump(source: Source, path: tuple[str | int, ...], name: object, pumps: list[str]) -> Iterable[Fault]:
    if isinstance(name, str) and name not in pumps:
        yield source.fault(path, f"there is no such pump in pumps/{did_you_mean(name, pumps)}", ", ".join(pumps))
