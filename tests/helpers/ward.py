"""A small unit for tests of the roster: three beds, people, shifts; its time is turned by the test."""

from collections.abc import Iterable
from datetime import UTC, tzinfo
from functools import cache
from pathlib import Path
from typing import Any

from monitor.core.commands import COMMANDS
from monitor.core.effects import Accept, Effect, Persist, Refuse
from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded, Observed, TimePassed
from monitor.core.grades import Role
from monitor.core.ladder_table import LadderTable
from monitor.core.roster.view import PostView, RosterView
from monitor.core.rules import Limits
from monitor.core.unit import BedSettings, Configuration, Person, Roster, RunSettings, Shift, Unit
from monitor.core.view import EpisodeView
from monitor.rehearsal.sources import Numbered
from monitor.settings import load_limits_and_ladder
from shared.instant import MINUTE, SECOND, Instant
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.helpers.well_said import WellSaid

CONFIG = Path(__file__).parents[2] / "config"
BEGIN: Instant = 1_767_225_600_000  # 2026-01-01 00:00 UTC
RULES = frozenset({"help", "uncovered", "flow_low", "flow_very_low"})
BASE = {Q.PUMP_SPEED: 3500.0, Q.PUMP_FLOW: 4.2}

_PEOPLE = (
    ("nurse-1", Role.BEDSIDE_NURSE, True),
    ("nurse-2", Role.BEDSIDE_NURSE, True),
    ("nurse-3", Role.BEDSIDE_NURSE, True),
    ("nurse-4", Role.BEDSIDE_NURSE, True),
    ("deputy", Role.BEDSIDE_NURSE, True),
    ("charge-1", Role.CHARGE_NURSE, True),
    ("charge-2", Role.CHARGE_NURSE, True),
    ("perf-1", Role.PERFUSIONIST, False),
    ("perf-2", Role.PERFUSIONIST, False),
    ("int-1", Role.INTENSIVIST, True),
    ("int-2", Role.INTENSIVIST, True),
    ("surg-1", Role.SURGEON, False),
    ("viewer", Role.VIEWER, True),
    ("admin", Role.ADMINISTRATOR, True),
)
STANDS: dict[str, Any] = {
    "nurses": {"B1": "nurse-1", "B2": "nurse-2", "B3": "nurse-2"},
    "deputy": "deputy",
    "charge": "charge-1",
    "perfusionist": "perf-1",
    "intensivist": "int-1",
    "surgeon": "surg-1",
}


@cache
def _files() -> tuple[Limits, LadderTable]:
    return load_limits_and_ladder(CONFIG)


def ladder() -> LadderTable:
    return _files()[1]


def shift(name: str, begins: str, ends: str, **planned: Any) -> Shift:
    return Shift.model_validate({"name": name, "begins": begins, "ends": ends, **planned})


def configuration(
    shifts: Iterable[Shift] = (),
    zone: tzinfo = UTC,
    cards_within_min: float = 0,
    forecast_h: float = 24,
    **stands: Any,
) -> Configuration:
    """Three beds in use and an empty one; who stands may be changed by name of the post. No card is asked for."""
    limits, table = _files()
    limits = limits.model_copy(
        update={"rules": tuple(rule for rule in limits.rules if rule.id in RULES), "consequences": ()}
    )
    beds = tuple(
        BedSettings(
            label=label,
            runs=(RunSettings(description=describe_run(Support.VA, f"{label}-1"), targets={Q.PUMP_FLOW: 4.2}),),
        )
        for label in ("B1", "B2", "B3")
    )
    unit = Unit(
        name="Ward",
        beds=(*beds, BedSettings(label="B4")),
        people=tuple(Person(name=n, label=n.capitalize(), role=role, in_unit=here) for n, role, here in _PEOPLE),
        roster=Roster.model_validate(STANDS | stands),
        shifts=tuple(shifts),
        zone=zone,
    )
    changed = {"cards_within_min": cards_within_min, "forecast_h": forecast_h}
    over = table.handing_over.model_copy(update=changed)
    return Configuration(unit=unit, limits=limits, ladder=table.model_copy(update={"handing_over": over}))


class Ward:
    """An engine with what it wrote. ``begin``: when its record starts."""

    def __init__(
        self, shifts: Iterable[Shift] = (), begin: Instant = BEGIN, zone: tzinfo = UTC, **stands: Any
    ) -> None:
        self.configuration = configuration(shifts, zone, **stands)
        self.engine = Engine(self.configuration, begin)
        self.entries: list[Entry] = []
        self.begin = self.now = begin
        self._given = 0
        self._numbered = Numbered()
        self._well_said = WellSaid()
        self._keep(self.engine.start(begin))

    def to(self, now: Instant) -> None:
        """Let time pass, stopping wherever something is due."""
        while (due := self.engine.next_deadline()) is not None and due <= now:
            assert due >= self.now, "a deadline lies in the past"
            self._keep(self.engine.handle(TimePassed(), due))
            self.now = max(self.now, due)
        self.now = now

    def after(self, minutes: float) -> None:
        """Let minutes pass."""
        self.to(self.now + round(minutes * MINUTE))

    def reopen(self) -> None:
        """Kill the engine and go on from its checkpoint."""
        self.engine = Engine.restore(self.configuration, self.engine.checkpoint())

    def give(self, kind: str, person: str = "charge-1", **fields: Any) -> str | None:
        """Give a command; the answer is ``None`` or why it was refused."""
        self._given += 1
        said = {"kind": kind, "id": f"given-{self._given}", "person": person, **fields}
        effects = self.engine.handle(Commanded(COMMANDS.validate_python(said, strict=False)), self.now)
        self._keep(effects)
        (answer,) = [one for one in effects if isinstance(one, Accept | Refuse)]
        return answer.reason if isinstance(answer, Refuse) else None

    def does(self, kind: str, person: str = "charge-1", **fields: Any) -> None:
        """Give a command that must be carried out."""
        refusal = self.give(kind, person, **fields)
        assert refusal is None, refusal

    def flow(self, bed: str, value: float, seconds: int) -> None:
        """Let a bed read a flow once a second."""
        for _ in range(seconds):
            self.to(self.now + SECOND)
            said = self._numbered.live(bed, 1, self.now, BASE | {Q.PUMP_FLOW: value})
            self._keep(self.engine.handle(Observed(said), self.now))

    def help(self, bed: str) -> EpisodeView:
        """Call help by hand to a bed: a high, everybody at once."""
        self.does("help", bed=bed, what="other")
        return self.episode(bed)

    def take(self, bed: str, person: str, **fields: Any) -> EpisodeView:
        episode = self.episode(bed)
        self.does("take", person, bed=bed, alert=episode.lead, revision=episode.revision, **fields)
        return self.episode(bed)

    def episode(self, bed: str) -> EpisodeView:
        return self.engine.tile(bed, self.now).episodes[0]

    @property
    def roster(self) -> RosterView:
        return self.engine.unit(self.now).roster

    def post(self, key: str) -> PostView:
        return next(one for one in self.roster.posts if one.post.key == key)

    def stands(self, key: str) -> str | None:
        return self.post(key).stands

    def said(self, *kinds: EntryKind, since: Instant = 0) -> list[Entry]:
        return [entry for entry in self.entries if entry.kind in kinds and entry.at >= since]

    def called(self, bed: str | None = None, since: Instant = 0) -> list[tuple[int, str | None]]:
        """Who was called for a bed: seconds from the beginning, and the person."""
        found = [e for e in self.said(EntryKind.CALLED, since=since) if e.bed == bed]
        return [((e.at - self.begin) // SECOND, e.person) for e in found]

    def _keep(self, effects: list[Effect]) -> None:
        self._well_said.hear(effects)
        self.entries += [effect.entry for effect in effects if isinstance(effect, Persist)]
