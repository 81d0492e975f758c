"""A record begun anew in the place of one that was lost: the unit is told until somebody has it and has looked."""

from monitor.core.commands import Command, Reason, Seen, Take
from monitor.core.effects import Effect, Persist
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Commanded, TimePassed
from monitor.settings import load_configuration
from shared.instant import MINUTE
from tests.helpers.courses import CONFIG

NOW = 1_800_000_000_000


def kinds(effects: list[Effect]) -> list[EntryKind]:
    return [effect.entry.kind for effect in effects if isinstance(effect, Persist)]


def give(engine: Engine, command: Command) -> list[EntryKind]:
    return kinds(engine.handle(Commanded(command), NOW + MINUTE))


def test_that_it_is_called_and_ends_only_by_somebody_who_has_it_and_has_seen_it() -> None:
    configuration = load_configuration(CONFIG)
    engine = Engine(configuration, NOW)
    assert EntryKind.CALLED in kinds(engine.start(NOW, anew=True))
    engine = Engine.restore(configuration, engine.checkpoint())
    [episode] = engine.unit(NOW).episodes
    alert, revision = episode.lead, episode.revision
    assert (episode.alerts[0].title, episode.priority) == ("Record begun anew: look at every bed", "medium")
    give(engine, Seen(id="seen-1", person="charge-2", alert=alert, revision=revision))
    assert engine.unit(NOW).episodes
    take = Take(id="take-1", person="charge-2", alert=alert, revision=revision, reason=Reason.TEAM_AT_BED)
    assert EntryKind.TAKEN in give(engine, take)
    assert EntryKind.CLEARED not in kinds(engine.handle(TimePassed(), NOW + MINUTE + 1))
    [episode] = engine.unit(NOW + MINUTE).episodes
    done = give(engine, Seen(id="seen-2", person="charge-2", alert=alert, revision=episode.revision))
    assert {EntryKind.LATCHED, EntryKind.REVIEWED} <= set(done)
    assert not engine.unit(NOW + MINUTE).episodes


def test_that_an_ordinary_beginning_has_nothing_to_tell() -> None:
    engine = Engine(load_configuration(CONFIG), NOW)
    engine.start(NOW)
    assert not engine.unit(NOW).episodes
