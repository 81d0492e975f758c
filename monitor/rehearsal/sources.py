"""Where a rehearsal's observations come from: the staged pumps of a scenario, and sets entered by hand."""

from collections.abc import Iterable, Iterator, Mapping

from shared.entry.telling import Said
from shared.instant import Instant, ms
from shared.messages import Condition, Observation
from shared.quantities import Quantity
from shared.scenario import Scenario
from shared.scenario_parts import Entry as EnteredSet
from shared.scripted import is_linked
from shared.staging import StagedPump

FEED, EPOCH = "rehearsal", "0000000000000000"


class Numbered:
    """Makes observations, numbered from 1. What a rehearsal makes itself needs no check at the door."""

    def __init__(self) -> None:
        self._last = 0

    def live(
        self,
        bed: str,
        slot: int,
        at: Instant,
        values: Mapping[Quantity, float],
        estimated: frozenset[Quantity] = frozenset(),
        conditions: frozenset[Condition] = frozenset(),
    ) -> Observation:
        """Give readings of a bed with a cable."""
        self._last += 1
        return Observation.model_construct(
            type="observation",
            feed=FEED,
            epoch=EPOCH,
            seq=self._last,
            bed=bed,
            slot=slot,
            read_at=at,
            sent_at=at,
            readings=dict(values),
            estimated=estimated,
            doubtful=frozenset(),
            conditions=conditions,
            entered_at=None,
            by=None,
        )

    def entered(self, entry: EnteredSet, begin: Instant) -> Observation:
        """Give a set entered by hand."""
        self._last += 1
        return Observation(
            feed=FEED,
            epoch=EPOCH,
            seq=self._last,
            bed=entry.bed,
            slot=entry.slot,
            read_at=begin + ms(entry.taken_at),
            sent_at=begin + ms(entry.at),
            readings=dict(entry.values),
            entered_at=begin + ms(entry.at),
            by=entry.by,
        )

    def told(self, said: Said) -> Observation:
        """Give a round that people did, as the entry form tells it."""
        self._last += 1
        return Observation(
            feed=FEED,
            epoch=EPOCH,
            seq=self._last,
            bed=said.bed,
            slot=said.slot,
            read_at=said.read_at,
            sent_at=said.at,
            readings=dict(said.readings),
            entered_at=said.at,
            by=said.by,
            edition=said.edition,
            round=said.round,
            looked=dict(said.looked) or None,
        )


def second_of(
    scenario: Scenario, pumps: Iterable[StagedPump], second: int, begin: Instant, numbered: Numbered
) -> Iterator[Observation]:
    """Give the observations of one second of a scenario that reach the hub, bed by bed."""
    for pump in pumps:
        seen = pump.observe(float(second))
        if is_linked(scenario, pump.bed, second):
            at = begin + ms(second)
            yield numbered.live(pump.bed, pump.slot, at, seen.values, seen.estimated, seen.conditions)
