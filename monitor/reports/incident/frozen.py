"""What a bundle shows of a slice: the bed's observations and entries within its hours."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import tzinfo

from monitor.core.entries import Entry
from monitor.core.events import Observed
from monitor.core.unit import Unit
from monitor.record.slice_reading import Slice, Written
from monitor.record.slicing import Hours
from monitor.settings import configuration_of
from shared.instant import Instant
from shared.messages import Observation


@dataclass(frozen=True, slots=True)
class Received:
    """An observation, and when the hub took it (the hub's time, ms)."""

    at: Instant
    observation: Observation


@dataclass(frozen=True, slots=True)
class Frozen:
    """The hours of one bed.

    Attributes:
        unit: as it was configured when the hours began.
        entries: of the bed and of the unit, within the hours, with number and text as recorded.
        late_s: a set entered by hand longer than this after it was read is late.
        received: every observation of the bed within the hours, in the order in which they came.
    """

    hours: Hours
    unit: Unit
    late_s: float
    entries: tuple[tuple[Written, Entry], ...]
    received: tuple[Received, ...]

    @property
    def zone(self) -> tzinfo:
        """The zone of the clock on the unit's wall."""
        return self.unit.zone

    def label(self, person: str | None) -> str:
        """Give how a person is written: never a person's own name."""
        return next((one.label for one in self.unit.people if one.name == person), person or "nobody")


def frozen_of(cut: Slice) -> Frozen:
    """Gather the hours of a slice. Raises RecordError or SettingsError where it cannot be read."""
    hours, configured = cut.hours, configuration_of(cut.first_configuration().files)
    late_s = configured.ladder.timings.entered_set_s
    return Frozen(hours, configured.unit, late_s, tuple(_entries(cut, hours)), tuple(_received(cut, hours)))


def _entries(cut: Slice, hours: Hours) -> Iterator[tuple[Written, Entry]]:
    for written in cut.entries():
        entry = Entry.model_validate_json(written.body)
        if hours.begin <= entry.at <= hours.finish and entry.bed in (hours.bed, None):
            yield written, entry


def _received(cut: Slice, hours: Hours) -> Iterator[Received]:
    for _, event, at in cut.inputs():
        if isinstance(event, Observed) and event.observation.bed == hours.bed and hours.begin <= at <= hours.finish:
            yield Received(at, event.observation)
