"""What the beds of a scenario say, second by second: pure, the clock is an argument."""

from collections.abc import Sequence

from shared.errors import ConfigurationError
from shared.feed_talk import Draft
from shared.instant import HOUR, SECOND, Instant, ms
from shared.messages import BedDeclared, Origin
from shared.scenario import Scenario, feed_of, run_of, slots_of
from shared.scripted import is_linked
from shared.staging import StagedPump

_ENTERED_INTERVAL = HOUR / SECOND


class Player:
    """Plays the beds ``only`` (all, if none are named) of a scenario that began at ``start`` (ms)."""

    def __init__(self, scenario: Scenario, start: Instant, only: Sequence[str] = ()) -> None:
        """Set the beds up.

        Raises:
            ConfigurationError: a named bed is not in the scenario, it has rounds that people type, or it names a
                profile that is not there.
        """
        if scenario.round:
            raise ConfigurationError(
                "this scenario has rounds that people type, which no feed plays: "
                "./weirkeeper demo --entry --scenario FILE, or ./weirkeeper rehearse FILE"
            )
        stray = [bed for bed in only if bed not in scenario.beds]
        if stray:
            raise ConfigurationError(
                f"no such bed: {', '.join(stray)}; the scenario has {', '.join(scenario.beds)}"
            )
        self._scenario, self._start = scenario, start
        self.beds = tuple(bed for bed in scenario.beds if not only or bed in only)
        self._pumps = [
            StagedPump(scenario, bed, slot)
            for bed in self.beds
            if feed_of(scenario, bed) != "entered"
            for slot in slots_of(scenario, bed)
        ]

    def declarations(self) -> tuple[BedDeclared, ...]:
        """What the feed says of its beds in its hello."""
        return tuple(self._declare(bed) for bed in self.beds)

    def second(self, t: int) -> list[Draft]:
        """Give what all beds say at ``t`` whole seconds after the start; ``t`` never goes back.

        A bed that is cut off says nothing: its gap stays empty.
        """
        drafts = []
        for pump in self._pumps:
            readings = pump.observe(t)  # also while cut off: the bed goes on
            if is_linked(self._scenario, pump.bed, t):
                drafts.append(
                    Draft(
                        bed=pump.bed,
                        slot=pump.slot,
                        read_at=self._start + t * SECOND,
                        readings=dict(readings.values),
                        estimated=frozenset(readings.estimated),
                        conditions=frozenset(readings.conditions),
                    )
                )
        return drafts + self._entered(t)

    def _entered(self, t: int) -> list[Draft]:
        return [
            Draft(
                bed=entry.bed,
                slot=entry.slot,
                read_at=self._start + ms(entry.taken_at),
                readings=dict(entry.values),
                entered_at=self._start + ms(entry.at),
                by=entry.by,
            )
            for entry in self._scenario.entry
            if t - 1 < entry.at <= t and entry.bed in self.beds and is_linked(self._scenario, entry.bed, t)
        ]

    def _declare(self, bed: str) -> BedDeclared:
        entered = feed_of(self._scenario, bed) == "entered"
        return BedDeclared(
            bed=bed,
            runs=tuple(run_of(self._scenario, bed, slot, self._start) for slot in slots_of(self._scenario, bed)),
            interval=_ENTERED_INTERVAL if entered else 1.0,
            origin=Origin.ENTERED if entered else Origin.SIMULATED,
        )
