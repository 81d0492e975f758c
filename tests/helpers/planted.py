"""Faults that are planted into the real code, one at a time, with the plan that finds each and what it breaks.

The plans are small ones of their own: two beds, one feed, two desks or a desk and a review, three minutes.
"""

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass, replace
from typing import Any
from unittest import mock

from monitor.core.alerts import answers, ladder
from monitor.core.engine import Engine
from monitor.core.grades import Priority, Rung
from monitor.core.judging import editions
from monitor.core.lean import Pack
from monitor.core.state import EpisodeState
from monitor.core.wire import Beat, Delta, Snapshot
from monitor.desk.lean_sync import LeanSync
from monitor.desk.link_state import Link
from monitor.desk.sync import Following, Sync
from monitor.hub import lean
from monitor.hub.desks import Desks
from monitor.hub.feeds import Feeds
from monitor.hub.keeper import Keeper
from monitor.hub.runner import Hub
from monitor.record import Batch
from monitor.record.journal import Journal
from monitor.rehearsal.trials.plan import Item, Kind, Plan
from shared.feed_link import FeedLink
from shared.instant import MINUTE, SECOND
from shared.link import HubLink
from shared.messages import RefusalReason

Planting = Callable[[], AbstractContextManager[object]]


@dataclass(frozen=True)
class Planted:
    """A fault: its name, the plan that finds it, the invariant that it breaks, and how it is planted."""

    name: str
    plan: Plan
    invariant: int
    plant: Planting


def plan_of(*befalls: tuple[float, Kind, str, float, int, str]) -> Plan:
    """Give a plan of items: second, kind, who, seconds, size, what."""
    items = tuple(
        Item(number, round(at * SECOND), kind, who, round(length * SECOND), size, what, number)
        for number, (at, kind, who, length, size, what) in enumerate(befalls, 1)
    )
    return Plan(1, {"north": ("B1", "B2")}, ("desk-1", "desk-2"), 3 * MINUTE, items)


def with_review(plan: Plan) -> Plan:
    """Give a plan with a review in the place of its second desk."""
    return replace(plan, desks=("desk-1",), reviews=("review-1",))


def with_sets(plan: Plan) -> Plan:
    """Give a plan in which somebody types the numbers of the second bed."""
    return replace(plan, feeds={"north": ("B1",), "form": ("B2",)})


def with_a_cable(plan: Plan) -> Plan:
    """Give a plan in which somebody types sets of the second bed beside its cable."""
    return replace(plan, feeds={"north": ("B1", "B2"), "form": ()}, beside=("B2",))


_HIGH = (20.0, Kind.SITUATION, "B1", 0.0, 0, "very low flow")
LOSSY = plan_of((30, Kind.LOSS, "north", 60, 70, ""))
KILLED = plan_of(_HIGH, (75, Kind.HUB_KILLED, "hub", 2, 0, ""))
#: Nothing comes from the bed after the kill: the ladder climbs by time alone.
KILLED_AND_CUT = plan_of(
    _HIGH, (70, Kind.CABLE, "B1", 200, 0, ""), (70, Kind.CABLE, "B2", 200, 0, ""),
    (75, Kind.HUB_KILLED, "hub", 2, 0, ""),
)  # fmt: skip
POWER = plan_of(
    _HIGH, (31, Kind.POWER_CUT, "hub", 1, 6, ""),
    *((second, Kind.POWER_CUT, "hub", 1, 3, "") for second in (40, 60, 80, 100, 120, 140)),
    *((second + 10, Kind.ACT, "desk-1", 0, 0, "target") for second in (40, 60, 80, 100, 120, 140)),
    *((second + 10, Kind.POWER_CUT, "hub", 1, 6, "") for second in (40, 60, 80, 100, 120, 140)),
)  # fmt: skip
DOUBLED = plan_of(
    (10, Kind.DOUBLE, "north", 100, 50, ""), (10, Kind.DOUBLE, "desk-1", 20, 60_000, ""),
    *((12 + n, Kind.ACT, "desk-1", 0, 0, "target") for n in range(6)), (40, Kind.HUB_KILLED, "hub", 1, 0, ""),
)  # fmt: skip
SILENT = plan_of((40, Kind.HUB_KILLED, "hub", 60, 0, ""))
TWO_TAKE = plan_of(_HIGH, *((60 + n, Kind.ACT, "desk-1", 0, 0, "take") for n in range(4)))
DESK_LOSES = plan_of(_HIGH, (25, Kind.LOSS, "desk-1", 60, 75, ""))
STRANGER = plan_of((20, Kind.HOSTILE, "hub", 0, 60, ""))
#: What was taken while the record refused is lost with the hub, and its hold with it.
LOST_WITH_IT = plan_of(
    _HIGH, (38, Kind.DISK_FULL, "hub", 120, 0, ""),
    *((39 + n, Kind.ACT, "desk-1", 0, 0, "take") for n in range(4)), (110, Kind.HUB_KILLED, "hub", 2, 0, ""),
)  # fmt: skip
RUN_AGAIN = plan_of(
    *((30 + n, Kind.ACT, "desk-1", 0, 0, "end run") for n in range(4)),
    *((40 + n, Kind.ACT, "desk-1", 0, 0, "begin run") for n in range(4)),
)  # fmt: skip
#: Answers of before the high come once more after it.
ANSWERED_TWICE = plan_of(
    _HIGH, (25, Kind.DOUBLE, "desk-1", 100, 60_000, ""),
    *((25 + 10 * n, Kind.DESK_STARTED, "desk-1", 1, 0, "") for n in range(8)),
)  # fmt: skip
#: Desks that lost a delta wait for their snapshots while the hub begins to count anew.
DESKS = tuple(f"desk-{number}" for number in range(1, 6))
STARTED_ANEW = replace(
    plan_of(
        _HIGH, *((60 + n, Kind.LOSS, name, 80, 80, "") for n, name in enumerate(DESKS)),
        (110, Kind.HUB_KILLED, "hub", 1, 0, ""),
    ),
    desks=DESKS,
)  # fmt: skip
REVIEW_LOSES = with_review(plan_of(_HIGH, (25, Kind.LOSS, "review-1", 60, 75, "")))
REVIEW_SLOW = with_review(plan_of((10, Kind.SLOW, "review-1", 60, 6_000, "")))
REVIEWED = with_review(plan_of(_HIGH, *((60 + n, Kind.ACT, "review-1", 0, 0, "take") for n in range(4))))
#: A set is typed while the form's line is cut, and taken back by who sent it just after.
MENDED_LATE = with_sets(plan_of(
    (61, Kind.SET, "B2", 0, 0, "set"), (70, Kind.PARTITION, "form", 15, 0, ""),
    (84.5, Kind.SET, "B2", 1, 0, "taken back"),
))  # fmt: skip
#: A set waits on the form's disk, its correction is told from memory, and the hub that heard the set is killed.
MENDED_FIRST = with_sets(plan_of(
    (40, Kind.DISK_FULL, "hub", 90, 0, ""), (61, Kind.SET, "B2", 10, 0, "mistyped"),
    (64, Kind.FEED_FULL, "form", 20, 0, ""), (80, Kind.HUB_KILLED, "hub", 2, 0, ""),
))  # fmt: skip
#: An older set comes after a newer one, which is struck: seeds of which both bring what no console reads.
LATE_BESIDE = with_a_cable(plan_of(
    (100, Kind.SET, "B2", 1, 0, "set"), (110, Kind.SET, "B2", 1, 0, "older"), (130, Kind.SET, "B2", 1, 0, "strike"),
))  # fmt: skip
LATE_BESIDE = replace(LATE_BESIDE, items=tuple(replace(one, seed=one.seed + 400) for one in LATE_BESIDE.items))
SETS_AND_A_KILL = with_sets(plan_of(
    *((61 + n, Kind.SET, "B2", 0, 0, "set") for n in range(4)), (100, Kind.HUB_KILLED, "hub", 1, 0, ""),
    (120, Kind.SET, "B2", 0, 0, "strike"),
))  # fmt: skip
PLANS = (
    *(LOSSY, KILLED, KILLED_AND_CUT, POWER, DOUBLED, SILENT, TWO_TAKE, DESK_LOSES, STRANGER),
    *(LOST_WITH_IT, RUN_AGAIN, ANSWERED_TWICE, STARTED_ANEW, REVIEW_LOSES, REVIEW_SLOW, REVIEWED, MENDED_LATE),
    SETS_AND_A_KILL,
    MENDED_FIRST,
    LATE_BESIDE,
)


def _patched(owner: object, name: str, make: Callable[[Any], object]) -> Planting:
    """Plant what ``make`` gives, of what stands there, in its place."""
    return lambda: mock.patch.object(owner, name, make(getattr(owner, name)))


def _after_restore(change: Callable[[Engine], None]) -> Planting:
    """Plant a change of each engine that is restored from a checkpoint."""
    original = Engine.restore.__func__  # type: ignore[attr-defined]

    def restore(cls: type[Engine], configuration: object, checkpoint: bytes) -> Engine:
        engine: Engine = original(cls, configuration, checkpoint)
        change(engine)
        return engine

    return lambda: mock.patch.object(Engine, "restore", classmethod(restore))


def _episodes(engine: Engine) -> Iterator[EpisodeState]:
    for bed in engine._state.beds.values():
        yield from bed.episodes.values()


def _forget_timers(engine: Engine) -> None:
    engine.next_deadline = lambda: None  # type: ignore[method-assign]


def _forget_calls(engine: Engine) -> None:
    for episode in _episodes(engine):
        if episode.ladder is not None:
            episode.ladder.clock.done = list(Rung)
    engine._settle(*engine._state.beds)


def _lower_highs(engine: Engine) -> None:
    for bed in engine._state.beds.values():
        for alert in bed.alerts.values():
            alert.priority = Priority.MEDIUM


def _forget_minutes(engine: Engine) -> None:
    for bed in engine._state.beds.values():
        for run in bed.runs.values():
            run.minutes.clear()


def _said_as_it_comes(real: Callable[..., list[Delta]]) -> Callable[..., list[Delta]]:
    def pack(self: LeanSync, pack: Pack, at: float) -> list[Delta]:
        found = real(self, pack, at)
        self.heard_at = at if found else self.heard_at
        return found

    return pack


def _forget_sets(engine: Engine) -> None:
    for bed in engine._state.beds.values():
        for run in bed.runs.values():
            run.sets.clear()


def _called_twice(call: Any) -> object:
    return lambda *said, **more: 2 * call(*said, **more)


def _written_a_turn_late(write: Any) -> object:
    kept: list[Batch] = []

    def late(self: Keeper, batch: Batch, now: int, ticks: int) -> bool:
        kept.append(batch)
        return bool(write(self, kept.pop(0), now, ticks)) if len(kept) > 1 else True

    return late


def _flushed_without_sync(flush: Any) -> object:
    transaction = Journal._transaction

    def unsynced(self: Journal, stored: dict[str, int]) -> None:
        with mock.patch.object(Journal, "_transaction", lambda self, full: transaction(self, full=False)):
            flush(self, stored)

    return unsynced


def _duplicates_accepted(observation: Any) -> object:
    def accepts(self: HubLink, seq: int, now: int) -> RefusalReason | None:
        reason: RefusalReason | None = observation(self, seq, now)
        return None if reason is RefusalReason.DUPLICATE else reason

    return accepts


def _holder_overlooked(take: Any) -> object:
    def overlooks(handling: object, command: object, place: object, episode: EpisodeState) -> object:
        episode.holder = None
        return take(handling, command, place, episode)

    return overlooks


def _gaps_overlooked(_: Any) -> object:
    def delta(self: Sync, one: Any) -> list[Any]:
        self.seq = max(self.seq, one.seq)
        return [one]

    return delta


@contextmanager
def _starts_mixed() -> Iterator[None]:
    """What was told in one start of the hub is laid over the picture of another."""
    snapshot, delta = Sync.snapshot, Sync.delta

    def of(boot: str, one: Delta) -> Delta:
        return one if isinstance(one, Beat) else one.model_copy(update={"boot": boot})

    def begins(self: Sync, one: Snapshot) -> list[Snapshot | Delta]:
        self._kept = deque(of(one.boot, kept) for kept in self._kept)
        return snapshot(self, one)

    with ExitStack() as planted:
        planted.enter_context(mock.patch.object(Sync, "snapshot", begins))
        planted.enter_context(mock.patch.object(Sync, "delta", lambda self, one: delta(self, of(self.boot, one))))
        yield


def _any_answer(snapshot: Any) -> object:
    """An answer is laid over the picture whenever it comes."""

    def takes(self: Sync, one: Snapshot) -> object:
        self.state = Following.WAITING
        self._asked.append(one.request)
        return snapshot(self, one)

    return takes


def _packs_overlooked(pack: Any) -> object:
    def takes(self: LeanSync, one: Any, at: float) -> object:
        self.number = one.number - 1
        return pack(self, one, at)

    return takes


def _slots_only_close(tell: Any) -> object:
    def tells(self: Hub, bed: str, now: int, *, always: bool) -> None:
        before = self.feeds.slots[bed]
        tell(self, bed, now, always=always)
        self.feeds.slots[bed] &= before

    return tells


@contextmanager
def _ids_forgotten() -> Iterator[None]:
    """No command's id is known any more once its answer was given."""
    command = Desks._command

    def forgets(self: Desks, *said: Any) -> object:
        self._answers.clear()
        return command(self, *said)

    with ExitStack() as planted:
        planted.enter_context(mock.patch.object(Keeper, "answer", return_value=None))
        planted.enter_context(mock.patch.object(Desks, "_command", forgets))
        yield


def _any_epoch(known: Any) -> object:
    def knows(self: Feeds, feed: str, epoch: str) -> object:
        peer = self._peers.get(feed)
        return known(self, feed, epoch) or (next(iter(peer.links.values()), None) if peer else None)

    return knows


PLANTED: Sequence[Planted] = (
    Planted("a resend is dropped", LOSSY, 1, _patched(FeedLink, "resend", lambda _: lambda self, now: None)),
    Planted("a feed is never asked again", LOSSY, 1, _patched(HubLink, "due", lambda _: lambda self, now: None)),
    Planted("a duplicate number is accepted", DOUBLED, 1, _patched(HubLink, "observation", _duplicates_accepted)),
    Planted("a flush does not sync", POWER, 1, _patched(Journal, "flush", _flushed_without_sync)),
    Planted("a run that began is not heard of", RUN_AGAIN, 1, _patched(Hub, "_tell_bed", _slots_only_close)),
    Planted("a desk overlooks a gap", DESK_LOSES, 2, _patched(Sync, "delta", _gaps_overlooked)),
    Planted("starts are mixed", STARTED_ANEW, 2, _starts_mixed),
    Planted("an answer comes late", ANSWERED_TWICE, 2, _patched(Sync, "snapshot", _any_answer)),
    Planted("a review overlooks a gap", REVIEW_LOSES, 2, _patched(LeanSync, "pack", _packs_overlooked)),
    Planted("a pack waits", REVIEWED, 2, _patched(lean, "_without_values", lambda _: lambda tile: tile.bed)),
    Planted("a slow line", REVIEW_SLOW, 5, _patched(LeanSync, "pack", _said_as_it_comes)),
    Planted("a set is not waited for", MENDED_LATE, 2, _patched(HubLink, "must_wait", lambda _: lambda *_: False)),
    Planted("a correction is lost", MENDED_FIRST, 2, _patched(editions, "_keep_early", lambda _: lambda *_: None)),
    Planted("a late set stays behind", LATE_BESIDE, 2, _patched(editions, "_bring_up", lambda _: lambda *_: None)),
    Planted("a restart forgets old sets", SETS_AND_A_KILL, 2, _after_restore(_forget_sets)),
    Planted("a restart lowers a high", KILLED_AND_CUT, 2, _after_restore(_lower_highs)),
    Planted("a restart forgets a timer", KILLED_AND_CUT, 3, _after_restore(_forget_timers)),
    Planted("a restart forgets a call", KILLED, 3, _after_restore(_forget_calls)),
    Planted("a call is made twice", KILLED, 3, _patched(ladder, "_call", _called_twice)),
    Planted("two have what one took", TWO_TAKE, 4, _patched(answers, "_take", _holder_overlooked)),
    Planted("a command's id is lost", DOUBLED, 4, _ids_forgotten),
    Planted("a silent hub is not noticed", SILENT, 5, _patched(Link, "tick", lambda _: lambda self, at: False)),
    Planted("told before it is written", KILLED, 6, _patched(Keeper, "write", _written_a_turn_late)),
    Planted("the alert log is not synced", POWER, 6, lambda: mock.patch.object(Batch, "may_wait", True)),
    Planted("a restart forgets what was read", KILLED, 7, _after_restore(_forget_minutes)),
    Planted("a stranger's epoch is believed", STRANGER, 8, _patched(Feeds, "_known", _any_epoch)),
)  # fmt: skip
