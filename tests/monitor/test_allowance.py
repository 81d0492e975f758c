"""How much one peer may say: what the hub takes of a flood, and what that costs anybody else."""

import logging
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.core.wire import AskEntries, AskHistory, AskSnapshot, Entries, NotUnderstood
from monitor.hub.allowance import Allowance
from monitor.hub.desks import BURST, JOBS_OF_A_PEER, RATE
from monitor.hub.feeds import BURST as FEED_BURST
from monitor.hub.room import Room
from shared.frames import encode
from shared.messages import Resend
from shared.quantities import Quantity as Q
from tests.helpers.hub import NOON, Rig, bed
from tests.helpers.inputs import AT, EPOCH, observation
from tests.monitor.test_hub_feeds import Door, seqs


@given(st.lists(st.integers(0, 3_000), min_size=1, max_size=60), st.integers(1, 50), st.integers(1, 20))
def test_that_nobody_gets_more_than_the_burst_and_the_rate_and_whoever_rests_gets_it_again(
    gaps: list[int], rate: int, burst: int
) -> None:
    allowance, at, taken = Allowance(rate, burst), 0, 0
    for gap in gaps:
        at += gap
        taken += allowance.take("flood", at)
        assert taken <= burst + rate * at / 1_000 + 1e-6
        assert allowance.take(f"other-{at}-{gap}-{taken}-{len(gaps)}", at), "somebody else pays nothing"
    at += round(1_000 * burst / rate) + 1
    assert all(allowance.take("flood", at) for _ in range(burst))


def test_that_what_a_feed_says_beyond_its_allowance_is_asked_for_later_and_not_lost(
    caplog: pytest.LogCaptureFixture,
) -> None:
    door = Door()
    door.hello("ward", bed("B1"))
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"):
        let_in = [seqs(door.live(observation(seq, read_at=AT))) for seq in range(1, FEED_BURST + 101)]
        assert sum(map(len, let_in)) == FEED_BURST
        door.ticks += 1_000
        assert seqs(door.live(observation(FEED_BURST + 101, read_at=AT))) == [FEED_BURST + 101]
    door.ticks += 200
    door.feeds.due(door.ticks)
    asked = Resend(feed="ward", epoch=EPOCH, first=FEED_BURST + 1, last=FEED_BURST + 100)
    assert door.told[-1] == ("ward", asked)


def test_that_a_desk_that_floods_is_told_so_and_keeps_no_other_desk_from_its_answer(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"), Rig(tmp_path) as rig:
        desk, flood = rig.desk(), rig.desk()
        for _ in range(BURST + 500):
            rig.hub._hear(Room.COMMANDS, [b"flood", *encode("desk", AskSnapshot(request="s"))])
        assert len(rig.hub.desks._asked) <= BURST + 3 * RATE, "what waits is bounded"
        rig.hub.desks._asked.clear()
        series = AskHistory(
            request="h",
            bed="B1",
            slot=1,
            quantities=(Q.PUMP_FLOW,),
            begin=NOON - 3_600_000,
            end=NOON,
            width_ms=60_000,
        )
        for _ in range(JOBS_OF_A_PEER + 10):
            flood.ask.say("desk", series)
        rig.hub.desks.refused = 0
        desk.ask.say("desk", AskEntries(request="e", most=3))
        rig.until(lambda: bool(desk.ask.of(Entries)))
        rig.until(lambda: len(flood.ask.heard) == JOBS_OF_A_PEER + 10)  # every one is answered
        refused = [one for one in flood.ask.of(NotUnderstood) if "too many series" in one.reason]
        assert len(refused) <= 10
