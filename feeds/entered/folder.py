"""What the form needs of a unit's folder: the table of the form, beds and runs, people, pumps, where the hub is.

Faults are told as everywhere: file, line, key, value, what is allowed, all at once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from shared.circuit.profile import PumpProfile
from shared.endpoints import endpoints_at
from shared.entry.checking import check_entry
from shared.entry.known import Known
from shared.entry.table import EntryTable
from shared.errors import ConfigurationError
from shared.messages import BedDeclared, Name, Origin
from shared.unit_runs import BedEntry, RunEntry
from shared.written.faults import SettingsError, did_you_mean, unreadable
from shared.written.reading import Check, Source, fit, read_source
from shared.written.tables import named_twice, tables_at

UNIT, ENTRY, PUMPS = "unit.toml", "entry.toml", "pumps"
#: Who enters readings, and whether with the charge role, by the role of unit.toml.
ENTERS: Mapping[str, bool] = {"bedside_nurse": False, "charge_nurse": True}
#: A set every hour, the longest interval that a declaration may name being two.
INTERVAL_S = 3600.0

M = TypeVar("M", bound=BaseModel)


class _Part(BaseModel):
    """A table of which only a part is read here; the rest is the hub's."""

    model_config = ConfigDict(frozen=True, extra="ignore", strict=True)


class PersonRow(_Part):
    """A person of the roster: a roster name, never a person's own."""

    name: Name
    label: str = Field(min_length=1, max_length=24)
    role: str

    @property
    def is_charge(self) -> bool:
        """Tell whether this is the charge nurse's role."""
        return ENTERS.get(self.role, False)


class Addresses(_Part):
    """Where feeds reach the hub."""

    ingest: str = endpoints_at().ingest
    link: str = endpoints_at().link


class UnitPart(_Part):
    """What is read of ``unit.toml``."""

    beds: tuple[BedEntry, ...] = Field(min_length=1, alias="bed")
    people: tuple[PersonRow, ...] = Field(default=(), alias="person")
    time_zone: str = "UTC"
    endpoints: Addresses = Addresses()


@dataclass(frozen=True, slots=True)
class FormFolder:
    """A unit as its entry form knows it.

    Attributes:
        seats: one for each run, blank, in the order of the beds: a bed with two pumps has two.
        notes: what is written beside a bed, by label.
        people: those who enter readings; ``zone``: of the clock on the wall.
    """

    table: EntryTable
    seats: tuple[Known, ...]
    notes: Mapping[str, str]
    people: tuple[PersonRow, ...]
    zone: ZoneInfo
    addresses: Addresses = field(default_factory=Addresses)

    def person(self, name: str) -> PersonRow | None:
        """Give a person by roster name."""
        return next((one for one in self.people if one.name == name), None)

    def seat_at(self, bed: str) -> Known | None:
        """Give the first run of a bed."""
        return next((seat for seat in self.seats if seat.bed.casefold() == bed.casefold()), None)

    def declarations(self) -> tuple[BedDeclared, ...]:
        """Give what the feed says of its beds in its hello."""
        runs: dict[str, list[Known]] = {}
        for seat in self.seats:
            runs.setdefault(seat.bed, []).append(seat)
        return tuple(
            BedDeclared(bed=bed, runs=tuple(s.run for s in seats), interval=INTERVAL_S, origin=Origin.ENTERED)
            for bed, seats in runs.items()
        )


def load_folder(folder: Path) -> FormFolder:
    """Read what the form needs of a configuration folder.

    Raises:
        ConfigurationError: there is no such folder, or a file is wrong: every fault of all files, by line.
    """
    if not folder.is_dir():
        raise ConfigurationError(f"{folder}: there is no such folder; name the one that holds {UNIT}")
    pot: list[SettingsError] = []
    pumps = _pumps(folder, pot)
    table = _load(folder, ENTRY, EntryTable, pot, check_entry)
    unit = _load(folder, UNIT, UnitPart, pot, lambda source: _check_unit(source, pumps))
    if table is None or unit is None or pot:
        raise SettingsError(fault for error in pot for fault in error.faults)
    people = tuple(person for person in unit.people if person.role in ENTERS)
    seats = tuple(_seat(bed, run, pumps) for bed in unit.beds for run in bed.runs)
    if not seats or not people:
        lacks = "bed with a run" if not seats else "person who enters readings (bedside_nurse or charge_nurse)"
        raise ConfigurationError(f"{folder / UNIT}: there is no {lacks}, so nothing can be entered here")
    notes = {bed.label: bed.note for bed in unit.beds}
    return FormFolder(table, seats, notes, people, ZoneInfo(unit.time_zone), unit.endpoints)


def _seat(bed: BedEntry, run: RunEntry, pumps: Mapping[str, PumpProfile]) -> Known:
    return Known(bed.label, run.described_at(bed.label), pumps[run.profile].speed_max)


def _check_unit(source: Source, pumps: Mapping[str, PumpProfile]) -> Iterator[Any]:
    yield from named_twice(source, ("bed",), "label", "this label")
    try:
        ZoneInfo(str(source.data.get("time_zone", "UTC")))
    except (KeyError, ValueError, OSError):
        yield source.fault(("time_zone",), "no such time zone", "a name such as Area/City")
    for bed_place, bed in tables_at(source, ("bed",)):
        for place, run in tables_at(source, (*bed_place, "run")):
            profile = run.get("profile", "broad")
            if pumps and profile not in pumps:
                wrong = f"no file in {PUMPS} has this name{did_you_mean(profile, pumps)}"
                yield source.fault((*place, "profile"), wrong, f"one of {', '.join(sorted(pumps))}", profile)
            else:
                yield from _does_not_fit(source, place, run, bed)


def _does_not_fit(source: Source, place: Any, run: dict[str, Any], bed: dict[str, Any]) -> Iterable[Any]:
    """Find sensors that this run cannot have; what is wrong with one key alone is the model's to tell."""
    try:
        written = RunEntry.model_validate(run, strict=False)
    except ValidationError:
        return
    try:
        written.described_at(str(bed.get("label", "")))
    except ValidationError as error:
        for told in error.errors(include_url=False):
            yield source.fault(place, told["msg"].removeprefix("Value error, "))


def _pumps(folder: Path, pot: list[SettingsError]) -> dict[str, PumpProfile]:
    found = {}
    for path in sorted((folder / PUMPS).glob("*.toml")):
        profile = _load(folder, f"{PUMPS}/{path.name}", PumpProfile, pot)
        if profile is not None:
            found[profile.name] = profile
    return found


def _load(
    folder: Path, name: str, model: type[M], pot: list[SettingsError], check: Check | None = None
) -> M | None:
    try:
        try:
            text = (folder / name).read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise unreadable(name, error) from None
        return fit(read_source(text, name), model, check)
    except SettingsError as error:
        pot.append(error)
        return None
