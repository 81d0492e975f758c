"""Beds in virtual time on the shipped limits: seconds of readings or of silence, and commands in between."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from monitor.core.commands import Answer, Command
from monitor.core.effects import Accept, Effect, Persist, Refuse
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, FeedsFound, Observed, TimePassed
from monitor.core.view import EpisodeView, TileView
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import Numbered
from monitor.rehearsal.stage import NO_PATTERNS, stage_of
from monitor.settings import load_limits_and_ladder, load_patterns_in
from shared.instant import SECOND, Instant
from shared.messages import Edition
from shared.quantities import Quantity as Q
from shared.scenario import parse_scenario
from tests.helpers.well_said import WellSaid

CONFIG = Path(__file__).parents[2] / "config"
USUAL = {
    Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2, Q.INLET_PRESSURE: -60.0, Q.PRE_OXYGENATOR_PRESSURE: 220.0,
    Q.POST_OXYGENATOR_PRESSURE: 190.0, Q.MEAN_ARTERIAL_PRESSURE: 72.0,
}  # fmt: skip


class Bed:
    """One bed, or several of which the first is read: ``now`` goes on by seconds.

    Args:
        beds: labels; the first is the one that is read and answered.
        more: further lines of the scenario that makes the stage.
        hints: with the shipped table of patterns.
        changed: parts of the configuration in place of the stage's.
    """

    def __init__(
        self,
        beds: tuple[str, ...] = ("B1",),
        more: str = "",
        hints: bool = False,
        changed: Mapping[str, object] | None = None,
    ) -> None:
        named = ", ".join(f'"{bed}"' for bed in beds)
        scenario = parse_scenario(f'title = "Answers"\nminutes = 60\nbeds = [{named}]\n{more}')
        self.label = beds[0]
        patterns = load_patterns_in(CONFIG) if hints else NO_PATTERNS
        self.configuration = stage_of(scenario, *load_limits_and_ladder(CONFIG), patterns=patterns)
        self.configuration = self.configuration.model_copy(update=dict(changed or {}))
        self.engine = Engine(self.configuration, BEGIN)
        self.now = BEGIN
        self.entries: list[Entry] = []
        self._numbered = Numbered()
        self._commands = 0
        self._well_said = WellSaid()
        self._keep(self.engine.start(BEGIN))

    def run(self, seconds: int, change: dict[Q, float] | None = None, by: str | None = None) -> None:
        """Read the bed once a second."""
        for _ in range(seconds):
            self.now += SECOND
            self._due()
            observation = self._numbered.live(self.label, 1, self.now, USUAL | (change or {}))
            if by is not None:
                observation = observation.model_copy(update={"by": by, "entered_at": self.now})
            self._keep(self.engine.handle(Observed(observation), self.now))

    def read_these(self, readings: Mapping[Q, float]) -> None:
        """Read these and no others, a second from now."""
        self.now += SECOND
        self._due()
        observation = self._numbered.live(self.label, 1, self.now, dict(readings))
        self._keep(self.engine.handle(Observed(observation), self.now))

    def enter_set(
        self,
        readings: Mapping[Q, float],
        by: str,
        late_s: float = 0,
        edition: Edition | None = None,
        **more: object,
    ) -> None:
        """Enter a set with these readings and no others a second from now; it was read ``late_s`` before that."""
        self.now += SECOND
        self.enter_at(self.now - round(late_s * SECOND), readings, by, edition, **more)

    def enter_at(
        self,
        read_at: Instant,
        readings: Mapping[Q, float],
        by: str,
        edition: Edition | None = None,
        **more: object,
    ) -> None:
        """Enter a set now that was read at a moment; ``more``: further fields of the observation."""
        self._due()
        observation = self._numbered.live(self.label, 1, read_at, dict(readings))
        entered = observation.model_copy(update={"by": by, "entered_at": self.now, "edition": edition, **more})
        self._keep(self.engine.handle(Observed(entered), self.now))

    def wait(self, seconds: float) -> None:
        """Let time pass without a reading; what is due is done at its moment."""
        self.now += round(seconds * SECOND)
        self._due()

    def find(self, found: FeedsFound) -> None:
        """Have the door find this of feeds, now."""
        self._due()
        self._keep(self.engine.handle(found, self.now))

    def restart(self) -> None:
        """Go on from a checkpoint."""
        self.engine = Engine.restore(self.configuration, self.engine.checkpoint())

    @property
    def tile(self) -> TileView:
        """The bed as it stands."""
        return self.engine.tile(self.label, self.now)

    @property
    def lead(self) -> EpisodeView:
        """The episode that comes first."""
        return self.tile.episodes[0]

    def give(self, kind: type[Answer], person: str, lead: EpisodeView | None = None, **more: object) -> str:
        """Give an answer to the leading episode; the reason where it was refused, else nothing."""
        lead = lead or self.lead
        fields = {"bed": self.label, "alert": lead.lead, "revision": lead.revision}
        return self.say(kind, person, **(fields | more))

    def say(self, kind: type[Any], person: str, **fields: object) -> str:
        """Give a command of a kind; the reason where it was refused, else nothing."""
        self._commands += 1
        command = kind.model_validate({"id": f"give-{self._commands}", "person": person} | fields)
        return self.command(command)

    def command(self, command: Command) -> str:
        """Give a command; the reason where it was refused, else nothing."""
        effects = self.engine.handle(Commanded(command), self.now)
        self._keep(effects)
        refused = [effect.reason for effect in effects if isinstance(effect, Refuse)]
        assert bool(refused) != any(isinstance(effect, Accept) for effect in effects)
        return refused[0] if refused else ""

    def of(self, *kinds: EntryKind) -> list[Entry]:
        """The entries of some kinds."""
        return [entry for entry in self.entries if entry.kind in kinds]

    def raised(self) -> list[tuple[float, str | None]]:
        """When, in seconds from the start, and which rules were raised, folded or promoted."""
        kinds = (EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED)
        return [(self.since(entry.at), entry.rule) for entry in self.of(*kinds)]

    def calls(self) -> list[tuple[int, str | None]]:
        """Who was called, on which rung."""
        return [(entry.rung or 0, entry.person) for entry in self.of(EntryKind.CALLED)]

    @staticmethod
    def since(at: Instant) -> float:
        """Seconds from the start."""
        return (at - BEGIN) / SECOND

    def _due(self) -> None:
        while (due := self.engine.next_deadline()) is not None and due <= self.now:
            self._keep(self.engine.handle(TimePassed(), due))

    def _keep(self, effects: list[Effect]) -> None:
        self._well_said.hear(effects)
        self.entries += [effect.entry for effect in effects if isinstance(effect, Persist)]
