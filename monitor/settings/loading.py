"""The files of a configuration: unit, limits, ladder, patterns, equipment, and one file for each pump profile."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from monitor.core.equipment.table import EquipmentTable
from monitor.core.ladder_table import LadderTable
from monitor.core.patterns import Patterns
from monitor.core.rules import Limits
from monitor.core.unit import Configuration, Unit
from monitor.settings.check_equipment import check_equipment
from monitor.settings.check_ladder import check_ladder
from monitor.settings.check_limits import check_limits
from monitor.settings.check_pages import with_page_files
from monitor.settings.check_patterns import check_patterns
from monitor.settings.check_unit import check_unit
from monitor.settings.unit_file import UnitFile
from shared.entry.checking import check_entry
from shared.entry.round_table import RoundTable
from shared.entry.table import EntryTable
from shared.errors import ConfigurationError
from shared.language.station import asked_in
from shared.pump_profile import PumpProfile
from shared.written.faults import Fault, SettingsError, unreadable
from shared.written.reading import Check, fit, read_source

M = TypeVar("M", bound=BaseModel)
T = TypeVar("T")

UNIT, LIMITS, LADDER, PUMPS = "unit.toml", "limits.toml", "ladder.toml", "pumps"
#: A folder without it gives no hints.
PATTERNS = "patterns.toml"
#: A folder without it has no list of equipment.
EQUIPMENT = "equipment.toml"
#: A folder without it has no entry form.
ENTRY = "entry.toml"
#: The unit's emergency cards, a file each; nothing is judged by them, and a hub starts whatever stands there.
CARDS = "cards"


def load_limits(text: str, name: str) -> Limits:
    """Read the text of ``limits.toml``; ``name`` is the file in an error. Raises SettingsError with all faults."""
    return _load(text, name, Limits, check_limits)


def load_ladder(text: str, name: str) -> LadderTable:
    """Read the text of ``ladder.toml``. Raises SettingsError with all faults."""
    return _load(text, name, LadderTable, check_ladder)


def load_patterns(text: str, name: str) -> Patterns:
    """Read the text of ``patterns.toml``. Raises SettingsError with all faults."""
    return _load(text, name, Patterns, check_patterns)


def load_patterns_in(folder: Path) -> Patterns:
    """Read what hints follow from; a folder without the file has no patterns. Raises SettingsError."""
    if not (folder / PATTERNS).exists():
        return Patterns()
    return load_patterns(read(folder, PATTERNS), PATTERNS)


def load_equipment(text: str, name: str, runs: Mapping[str, Iterable[int]]) -> EquipmentTable:
    """Read the text of ``equipment.toml``; ``runs``: the slots in use by bed. Raises SettingsError."""
    return _load(text, name, EquipmentTable, partial(check_equipment, runs=runs))


def load_equipment_in(folder: Path, unit: Unit) -> EquipmentTable:
    """Read the equipment of a unit; a folder without the file has none. Raises SettingsError."""
    if not (folder / EQUIPMENT).exists():
        return EquipmentTable()
    return load_equipment(read(folder, EQUIPMENT), EQUIPMENT, _slots(unit))


def _slots(unit: Unit) -> dict[str, list[int]]:
    return {bed.label: [run.description.slot for run in bed.runs] for bed in unit.beds}


def load_entry(text: str, name: str) -> EntryTable:
    """Read the text of ``entry.toml``. Raises SettingsError with all faults."""
    return _load(text, name, EntryTable, check_entry)


def load_entry_in(folder: Path) -> EntryTable | None:
    """Read what the entry form asks for; ``None`` where the folder has no such file. Raises SettingsError."""
    if not (folder / ENTRY).exists():
        return None
    return load_entry(read(folder, ENTRY), ENTRY)


def load_unit(text: str, name: str, profiles: Iterable[str] | None = None) -> Unit:
    """Read the text of ``unit.toml``; with ``profiles``, every pump named must be among these.

    Raises:
        SettingsError: all faults, each with its line.
    """
    written = _load(text, name, UnitFile, partial(check_unit, profiles=profiles))
    try:
        return written.unit()
    except ValidationError as error:
        wrong = "; ".join(str(told["msg"]).removeprefix("Value error, ") for told in error.errors())
        raise SettingsError([Fault(file=name, line=1, wrong=wrong)]) from None


def load_profile(text: str, name: str) -> PumpProfile:
    """Read the text of a pump profile. Raises SettingsError with all faults."""
    return _load(text, name, PumpProfile)


def load_profiles(folder: Path) -> dict[str, PumpProfile]:
    """Read every pump profile of a configuration folder, by name. Raises SettingsError with all faults."""
    pot = Faults()
    profiles = _profiles(folder, pot)
    pot.end()
    return profiles


def load_limits_and_ladder(folder: Path) -> tuple[Limits, LadderTable]:
    """Read what a rehearsal needs: a scenario brings its own beds and people. Raises SettingsError."""
    pot = Faults()
    limits = pot.gather(lambda: load_limits(read(folder, LIMITS), LIMITS))
    ladder = pot.gather(lambda: load_ladder(read(folder, LADDER), LADDER))
    pot.end()
    assert limits is not None  # otherwise the line above has raised
    assert ladder is not None
    return limits, ladder


def load_configuration(folder: Path) -> Configuration:
    """Read a whole configuration folder. Raises SettingsError with the faults of all its files at once."""
    pot = Faults()
    made = gather_configuration(folder, pot)
    pot.end()
    assert made is not None  # otherwise the line above has raised
    return made


def texts_in(folder: Path) -> dict[str, str]:
    """Give the text of every file that a configuration is read from, by its path in the folder. None is secret."""
    names = [name for name in (UNIT, LIMITS, LADDER, PATTERNS, EQUIPMENT, ENTRY) if (folder / name).exists()]
    texts = {name: read(folder, name) for name in (*names, *names_in(folder, PUMPS))}
    rest = {name: Faults().gather(partial(read, folder, name)) for name in names_in(folder, CARDS)}
    spoken = asked_in(texts.get(UNIT, "")).file
    if spoken and (folder / spoken).exists():
        rest[spoken] = Faults().gather(partial(read, folder, spoken))
    return texts | {name: text for name, text in rest.items() if text is not None}


def configuration_of(files: Mapping[str, str]) -> Configuration:
    """Read a configuration from what `texts_in` has given. Raises SettingsError, also where a file is missing."""
    missing = [name for name in (UNIT, LIMITS, LADDER) if name not in files]
    if missing:
        raise SettingsError([Fault(file=name, line=1, wrong="there is no such file") for name in missing])
    profiles = [load_profile(text, name) for name, text in files.items() if name.startswith(f"{PUMPS}/")]
    pumps = {profile.name: profile for profile in profiles}
    unit, items = load_unit(files[UNIT], UNIT, pumps), files.get(EQUIPMENT)
    return Configuration(
        unit=unit,
        limits=load_limits(files[LIMITS], LIMITS),
        ladder=load_ladder(files[LADDER], LADDER),
        pumps=pumps,
        patterns=load_patterns(files[PATTERNS], PATTERNS) if PATTERNS in files else Patterns(),
        rounds=load_entry(files[ENTRY], ENTRY).rounds if ENTRY in files else RoundTable(),
        equipment=load_equipment(items, EQUIPMENT, _slots(unit)) if items is not None else EquipmentTable(),
    )


@dataclass(slots=True)
class Faults:
    """A pot for the faults of several files."""

    found: list[Fault] = field(default_factory=list)

    def gather(self, load: Callable[[], T]) -> T | None:
        """Load something; its faults go into the pot, and nothing comes back."""
        try:
            return load()
        except SettingsError as error:
            self.found.extend(error.faults)
            return None

    def end(self) -> None:
        """Raise SettingsError where there is a fault."""
        if self.found:
            raise SettingsError(self.found)


def gather_configuration(folder: Path, pot: Faults) -> Configuration | None:
    """Read a whole folder; ``None`` where the pot has got faults."""
    if not folder.is_dir():
        raise ConfigurationError(f"{folder}: there is no such folder; name the one that holds {UNIT}")
    pumps = _profiles(folder, pot)
    unit = pot.gather(partial(_unit_in, folder))
    limits = pot.gather(lambda: load_limits(read(folder, LIMITS), LIMITS))
    ladder = pot.gather(lambda: load_ladder(read(folder, LADDER), LADDER))
    patterns = pot.gather(lambda: load_patterns_in(folder))
    entry = pot.gather(lambda: load_entry_in(folder))
    equipment = None if unit is None else pot.gather(partial(load_equipment_in, folder, unit))
    if unit is None or limits is None or ladder is None or patterns is None or equipment is None:
        return None
    return Configuration(
        unit=unit,
        limits=limits,
        ladder=ladder,
        pumps=pumps,
        patterns=patterns,
        rounds=entry.rounds if entry is not None else RoundTable(),
        equipment=equipment,
    )


def read(folder: Path, name: str) -> str:
    """Read a file of the folder. Raises SettingsError where it is not there or is no text."""
    try:
        return (folder / name).read_text(encoding="utf-8-sig")  # an editor may put a mark first
    except (OSError, UnicodeDecodeError) as error:
        raise unreadable(name, error) from None


def names_in(folder: Path, inner: str) -> Iterator[str]:
    """Give the files of an inner folder, such as ``pumps/broad.toml``, in order."""
    for path in sorted((folder / inner).glob("*.toml")):
        yield f"{inner}/{path.name}"


def pump_names(folder: Path) -> list[str]:
    """Give the names of the pumps; a file with faults of its own counts by its file name, to be told but once."""
    names = set()
    for file in names_in(folder, PUMPS):
        profile = Faults().gather(partial(_profile, folder, file))
        names.add(profile.name if profile else Path(file).stem)
    return sorted(names)


def _unit_in(folder: Path) -> Unit:
    text = read(folder, UNIT)
    return with_page_files(folder, text, UNIT, load_unit(text, UNIT, pump_names(folder)))


def _profile(folder: Path, file: str) -> PumpProfile:
    return load_profile(read(folder, file), file)


def _profiles(folder: Path, pot: Faults) -> dict[str, PumpProfile]:
    found: dict[str, PumpProfile] = {}
    for name in names_in(folder, PUMPS):
        profile = pot.gather(partial(_profile, folder, name))
        if profile is None:
            continue
        if profile.name in found:
            wrong = "another file in pumps has this name too"
            pot.found.append(Fault(file=name, line=1, path=("name",), value=profile.name, wrong=wrong))
        found[profile.name] = profile
    return found


def _load(text: str, name: str, model: type[M], check: Check | None = None) -> M:
    return fit(read_source(text, name), model, check)
