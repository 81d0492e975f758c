"""The roster over the running hub: told to the desks, in the record, and to the second after a kill."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.entries import EntryKind
from monitor.core.wire import CommandAnswer, EntryDelta
from shared.instant import MINUTE
from tests.helpers.hub import DeskEnd, Rig
from tests.helpers.hub_play import give, snapshot


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


def said(rig: Rig, desk: DeskEnd, kind: str, number: int, **fields: Any) -> CommandAnswer:
    command = {"kind": kind, "id": f"roster-{number}", "person": "charge-2", **fields}
    return give(rig, desk, COMMANDS.validate_python(command, strict=False))


def test_that_offers_breaks_and_absences_survive_a_kill_and_come_to_their_end(rig: Rig) -> None:
    desk = rig.desk()
    begun = rig.hub.clock.now()
    assert said(rig, desk, "offer", 1, giver="charge-2", to="charge-5", posts=[{"rung": 2}]).accepted
    cover = {"who": "nurse-1", "cover": "deputy", "minutes": 20, "told_to": "charge-2"}
    assert said(rig, desk, "break", 2, **cover).accepted
    assert said(rig, desk, "unreachable", 3, who="perfusionist-1", until=begun + 15 * MINUTE).accepted
    before = snapshot(rig, desk).unit.roster
    rig.drop()
    rig.up()
    after = snapshot(rig, desk).unit.roster
    assert after == before
    assert [post.stands for post in after.posts if post.post.key in ("1:B1", "3")] == [None, "deputy"]

    def told(*kinds: EntryKind) -> list[tuple[EntryKind, str | None, int]]:
        entries = [d.entry for d in desk.sub.of(EntryDelta) if d.entry.kind in kinds]
        return [(e.kind, e.person, round((e.at - begun) / MINUTE)) for e in entries]

    for _ in range(21):
        rig.turn(60)
        rig.turn()
    rig.until(lambda: bool(told(EntryKind.BREAK_ENDED)))
    assert (EntryKind.NOTE, "charge-5", 10) in told(EntryKind.NOTE)
    assert told(EntryKind.REACHABLE) == [(EntryKind.REACHABLE, "perfusionist-1", 15)]
    assert told(EntryKind.BREAK_ENDED) == [(EntryKind.BREAK_ENDED, "nurse-1", 20)]
    assert said(rig, desk, "accept", 4, offer=1, told_to="charge-2").reason == "this is offered to Charge 5"
    assert rig.record.verify() is None
