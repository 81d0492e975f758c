"""Two people take the same alert within 50 ms: one has it, the other is also going, and every screen says so."""

import os
import random
from pathlib import Path

from monitor.core.commands import CallHelp, HelpKind, Reason, Seen, Take
from monitor.core.entries import EntryKind
from monitor.core.wire import CommandAnswer, EntryDelta, GiveCommand, TileDelta
from tests.helpers.hub import DeskEnd, Rig, bed
from tests.helpers.hub_play import give

PAIRS = 1_000 if os.environ.get("WEIRKEEPER_LONG") else 60
GOING = (EntryKind.TAKEN, EntryKind.ALSO_RESPONDING)
PEOPLE = ("nurse-1", "charge-2", "charge-5")


def going(desk: DeskEnd) -> tuple[str | None, tuple[str, ...]]:
    """Who has the episode of B1 and who is also going, as a desk has been told of it last."""
    told = [delta.tile.episodes for delta in desk.sub.of(TileDelta) if delta.tile.bed == "B1"]
    if not told:
        return None, ()
    [episode] = told[-1]
    return episode.holder.person if episode.holder is not None else None, episode.also


def entries(desk: DeskEnd) -> list[tuple[EntryKind, str | None]]:
    """What a desk heard of who is going, in order."""
    said = (delta.entry for delta in desk.sub.of(EntryDelta))
    return [(entry.kind, entry.person) for entry in said if entry.kind in GOING]


def test_that_of_two_takes_at_once_one_holds_and_every_screen_and_the_record_say_the_same(tmp_path: Path) -> None:
    draw = random.Random(18)
    with Rig(tmp_path) as rig:
        rig.feed("ward", bed("B1"))
        desks = [rig.desk(), rig.desk()]
        for pair in range(PAIRS):
            rig.times.ms += 600_000  # the episode before is closed
            call = CallHelp(id=f"help-{pair:04}", person="nurse-5", bed="B1", what=HelpKind.AIR)
            assert give(rig, desks[0], call).accepted
            stands = rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes[0]
            answer = {"bed": "B1", "alert": stands.lead, "revision": stands.revision, "reason": Reason.AT_BEDSIDE}
            for desk in desks:
                desk.sub.heard.clear()
                desk.ask.heard.clear()
            both = draw.sample(PEOPLE, 2)
            for which in draw.sample((0, 1), 2):
                take = Take.model_validate(answer | {"id": f"take-{pair:04}-{which}", "person": both[which]})
                desks[which].ask.say("desk", GiveCommand(command=take))
                rig.times.ms += draw.randrange(51)
                if draw.random() < 0.5:
                    rig.turn()
            rig.until(lambda: all(desk.ask.of(CommandAnswer) for desk in desks))
            first, second = both
            ends = ((first, (second,)), (second, (first,)))
            rig.until(lambda ends=ends: all(going(desk) in ends for desk in desks))  # type: ignore[misc]
            holder, also = going(desks[0])
            assert (holder, also) == going(desks[1]), "both screens say the same"
            told = [entries(desk) for desk in desks]
            assert told[0] == told[1] == [(EntryKind.TAKEN, holder), (EntryKind.ALSO_RESPONDING, also[0])]
            revision = rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes[0].revision
            end = Seen(id=f"seen-{pair:04}", person="charge-2", bed="B1", alert=stands.lead, revision=revision)
            assert give(rig, desks[0], end).accepted
        log = [entry.kind for entry in rig.record.entries(None, 40 * PAIRS) if entry.kind in GOING]
        assert [log.count(kind) for kind in GOING] == [PAIRS, PAIRS]
