"""What the form needs of a unit's folder: the table of the form, beds and runs, people, pumps, where the hub is.

Faults are told as everywhere: file, line, key, value, what is allowed, all at once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from shared.beds_now import BedsNow
from shared.endpoints import endpoints_at
from shared.entry.checking import check_entry
from shared.entry.known import Known
from shared.entry.table import EntryTable
from shared.entry.who import WHO_CAN, Enters, enters
from shared.errors import ConfigurationError
from shared.messages import BedDeclared, Name, Origin
from shared.pump_profile import PumpProfile
from shared.unit_runs import BedEntry, RunEntry
from shared.written.faults import SettingsError, did_you_mean, unreadable
from shared.written.reading import Check, Source, fit, read_source
from shared.written.tables import named_twice, tables_at

UNIT, ENTRY, PUMPS = "unit.toml", "entry.toml", "pumps"
#: A set every hour, the longest interval that a declaration may name being two.
INTERVAL_S = 3600.0

M = TypeVar("M", bound=BaseModel)


class _Part(BaseModel):
    """A table of which only a part is read here; the rest is the hub's."""

    model_config = ConfigDict(frozen=True, extra="ignore", strict=True, defer_build=True)


class PersonRow(_Part):
    """A person of the roster: a roster name, never a person's own."""

    name: Name
    label: str = Field(min_length=1, max_length=24)
    role: str
    also: tuple[str, ...] = ()

    @property
    def roles(self) -> frozenset[str]:
        """All roles of the person."""
        return frozenset({self.role, *self.also})

    @property
    def is_charge(self) -> bool:
        """Tell whether this is the charge nurse's role."""
        return "charge_nurse" in self.roles


class Addresses(_Part):
    """Where feeds reach the hub."""

    ingest: str = endpoints_at().ingest
    link: str = endpoints_at().link
    commands: str = endpoints_at().commands


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
        beds: all labels. seats: one for each run, blank, in the order of the beds: a bed with two pumps has two.
        notes: what is written beside a bed, by label.
        people: those who enter readings anywhere; ``others``: those who do not.
        zone: of the clock on the wall. top_speeds: of the pumps, by profile.
    """

    table: EntryTable
    beds: tuple[str, ...]
    seats: tuple[Known, ...]
    notes: Mapping[str, str]
    people: tuple[PersonRow, ...]
    zone: ZoneInfo
    addresses: Addresses = field(default_factory=Addresses)
    others: tuple[PersonRow, ...] = ()
    top_speeds: Mapping[str, float] = field(default_factory=dict)

    def person(self, name: str) -> PersonRow | None:
        """Give a person who enters readings by roster name."""
        return next((one for one in self.people if one.name == name), None)

    def label(self, name: str) -> str:
        """Give the label of anybody of the unit; the name where it is nobody's."""
        return next((one.label for one in (*self.people, *self.others) if one.name == name), name)

    def why_not(self, name: str) -> str:
        """Say why somebody of the unit, or a stranger, enters nothing anywhere."""
        known = next((one for one in self.others if one.name == name), None)
        if known is None:
            return f"{name} is not among the unit's people"
        role = known.role.replace("_", " ")
        return f"{known.label} ({role}) does not enter readings: the bed's own nurse, {WHO_CAN}"

    def seat_at(self, bed: str) -> Known | None:
        """Give the first run of a bed."""
        return next((seat for seat in self.seats if seat.bed.casefold() == bed.casefold()), None)

    def with_beds(self, now: BedsNow) -> "FormFolder":
        """Give the same with the runs that the hub says are open; a bed that it leaves out is as it was."""
        said = {bed.bed: tuple(one.run for one in bed.runs) for bed in now.beds}
        beds = tuple(dict.fromkeys((*self.beds, *said)))
        seats = []
        for bed in beds:
            before = [seat for seat in self.seats if seat.bed == bed]
            runs = said.get(bed, tuple(seat.run for seat in before))
            seats += [Known(bed, run, self.top_speeds.get(run.profile)) for run in runs]
        return self if tuple(seats) == self.seats else replace(self, beds=beds, seats=tuple(seats))

    def declarations(self) -> tuple[BedDeclared, ...]:
        """Give what the feed says of its beds in its hello: all of them, since a run may begin at any."""
        runs: dict[str, list[Known]] = {bed: [] for bed in self.beds}
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
    people = tuple(person for person in unit.people if enters(person.roles) is not Enters.NOWHERE)
    others = tuple(person for person in unit.people if person not in people)
    seats = tuple(_seat(bed, run, pumps) for bed in unit.beds for run in bed.runs)
    if not people:
        lacks = "person who enters readings (bedside_nurse, charge_nurse or perfusionist)"
        raise ConfigurationError(f"{folder / UNIT}: there is no {lacks}, so nothing can be entered here")
    notes, beds = {bed.label: bed.note for bed in unit.beds}, tuple(bed.label for bed in unit.beds)
    zone, speeds = ZoneInfo(unit.time_zone), {name: pump.speed_max for name, pump in pumps.items()}
    return FormFolder(table, beds, seats, notes, people, zone, unit.endpoints, others, speeds)


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
