"""Courses played: every entry of a scenario file under the shipped configuration, and looks at the screens.

A course is played once for each way of playing it, however many tests ask. Times are literals in the tests: the
ideal raw times of the design. A rule that reads a 10 s running median may be up to 10 s late, a raw rule 2 s.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from monitor.core.engine import Engine
from monitor.core.entries import Entry, EntryKind
from monitor.core.unit import Configuration
from monitor.core.view import TileView, UnitView
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.settings import load_configuration
from shared.instant import Instant
from shared.scenario import Scenario, parse_scenario
from tests.helpers.plays import once

CONFIG = Path(__file__).parents[2] / "config"
K = EntryKind
_ALERTS = (K.RAISED, K.FOLDED, K.PROMOTED, K.BOARD_BLIND)


@dataclass(slots=True)
class Looks:
    """What the screens showed: the beds' views and the unit's, each time one of them was not as before."""

    tiles: dict[str, list[tuple[float, TileView]]] = field(default_factory=dict)
    unit: list[tuple[float, UnitView]] = field(default_factory=list)

    def tile(self, at: str, bed: str = "B1") -> TileView:
        """Give a bed's view at the end of a second."""
        return next(view for moment, view in reversed(self.tiles[bed]) if moment <= clock(at))

    def unit_at(self, at: str) -> UnitView:
        """Give the unit's view at the end of a second."""
        return next(view for moment, view in reversed(self.unit) if moment <= clock(at))


def scenario_of(name: str) -> Scenario:
    """Read a shipped scenario file."""
    return parse_scenario((CONFIG / "scenarios" / f"{name}.toml").read_text())


@cache
def shipped() -> Configuration:
    """Read the shipped configuration."""
    return load_configuration(CONFIG)


@cache
def entries_of(name: str, seed: int | None = None) -> tuple[Entry, ...]:
    """Play a scenario file as it stands, hints and all; with a seed, with noise of that seed."""
    scenario = scenario_of(name)
    if seed is not None:
        scenario = scenario.model_copy(update={"noise": True, "seed": seed})

    def play() -> tuple[Entry, ...]:
        return tuple(rehearse(scenario, shipped().limits, shipped().ladder, patterns=shipped().patterns))

    return once(f"{name}-{seed}", play)


@cache
def looks_at(name: str, *moments: str) -> Looks:
    """Play a scenario file and look at its screens at the end of these seconds."""
    scenario, looks = scenario_of(name), Looks()
    wanted = {clock(moment) for moment in moments}

    def look(engine: Engine, now: Instant) -> None:
        if (at := (now - BEGIN) / 1000) not in wanted:
            return
        for bed in scenario.beds:
            looks.tiles.setdefault(bed, []).append((at, engine.tile(bed, now)))
        looks.unit.append((at, engine.unit(now)))

    until = (max(wanted) + 1) / 60  # what comes after the last look need not be played
    short = scenario.model_copy(update={"minutes": min(scenario.minutes, until)})
    list(rehearse(short, shipped().limits, shipped().ladder, look=look))
    return looks


def clock(text: str) -> float:
    """Give the seconds of a time that is written m:ss."""
    minutes, seconds_part = text.split(":")
    return int(minutes) * 60 + float(seconds_part)


def seconds(entry: Entry) -> float:
    """Give when an entry was written, in seconds from the start."""
    return (entry.at - BEGIN) / 1000


def find(entries: Iterable[Entry], kind: EntryKind, **fields: object) -> list[Entry]:
    """Give the entries of a kind that have these fields."""
    return [e for e in entries if e.kind is kind and all(getattr(e, k) == v for k, v in fields.items())]


def expect(entries: Sequence[Entry], at: str, kind: EntryKind, raw: bool = False, **fields: object) -> Entry:
    """Find exactly one such entry within the pass window of ``at``."""
    early, late = (2, 2) if raw else (2, 10)
    ideal = clock(at)
    near = [e for e in find(entries, kind, **fields) if ideal - early <= seconds(e) <= ideal + late]
    told = [f"{seconds(e):.1f}" for e in find(entries, kind, **fields)]
    assert len(near) == 1, f"{kind} {fields} at {at}: found at {told}"
    return near[0]


def alerts(entries: Iterable[Entry]) -> list[tuple[str, str | None]]:
    """Give every alert in order: how it came, and its rule."""
    return [(e.kind.value, e.rule) for e in alert_entries(entries)]


def alert_entries(entries: Iterable[Entry]) -> list[Entry]:
    """Give the entries of alerts that came."""
    return [e for e in entries if e.kind in _ALERTS]


def calls(entries: Iterable[Entry]) -> list[Entry]:
    """Give every call in order."""
    return find(entries, K.CALLED)


def called(entries: Iterable[Entry], since: Entry, episode: int | None = None) -> list[tuple[int | None, float]]:
    """Give the calls of an episode from an entry on, each with its seconds after it."""
    own = since.episode if episode is None else episode
    return [(e.rung, (e.at - since.at) / 1000) for e in calls(entries) if e.episode == own and e.at >= since.at]
