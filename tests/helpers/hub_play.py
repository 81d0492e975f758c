"""What the tests of the running hub share: playing seconds, raising a high, giving commands."""

from monitor.core.commands import Command, Reason, Take
from monitor.core.wire import (
    AskSnapshot,
    CommandAnswer,
    GiveCommand,
    Snapshot,
)
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, DeskEnd, FeedEnd, Rig

LOW = {**BASE, Q.PUMP_FLOW: 2.2, Q.INLET_PRESSURE: -14.0, Q.POST_OXYGENATOR_PRESSURE: 289.0}


def snapshot(rig: Rig, desk: DeskEnd) -> Snapshot:
    before = len(desk.ask.of(Snapshot))
    desk.ask.say("desk", AskSnapshot(request="s"))
    rig.until(lambda: len(desk.ask.of(Snapshot)) > before)
    found: Snapshot = desk.ask.of(Snapshot)[-1]
    return found


def play(rig: Rig, feed: FeedEnd, seconds: int, **fields: object) -> None:
    """Tell one observation a second of bed B1 for so many seconds of the hub's time."""
    for _ in range(seconds):
        rig.times.ms += 1000
        said = feed.read("B1", rig.hub.clock.now(), **fields)
        rig.until(lambda said=said: said.seq in numbers(rig))  # type: ignore[misc]


def numbers(rig: Rig) -> set[int]:
    return {seq for (seq,) in rig.record._db.execute("SELECT seq FROM observations")}


def raise_high(rig: Rig, feed: FeedEnd) -> int:
    """Bring B1 to a high alert and give its number."""
    play(rig, feed, 25, readings=LOW)
    tile = rig.hub.judge.engine.tile("B1", rig.hub.clock.now())
    assert tile.episodes[0].priority == "high"
    return tile.episodes[0].lead


def take(alert: int, revision: int, name: str = "take-0001", person: str = "charge-2") -> Command:
    return Take(id=name, person=person, bed="B1", alert=alert, revision=revision, reason=Reason.AT_BEDSIDE)


def give(rig: Rig, desk: DeskEnd, command: Command) -> CommandAnswer:
    before = len(desk.ask.of(CommandAnswer))
    desk.ask.say("desk", GiveCommand(command=command))
    rig.until(lambda: len(desk.ask.of(CommandAnswer)) > before)
    answer: CommandAnswer = desk.ask.of(CommandAnswer)[-1]
    return answer
