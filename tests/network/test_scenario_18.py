"""Scenario 18: two takes at once, then a cut link; hub, desk and review on real sockets, the line through a relay.

A take is for who is in the unit, and the perfusionist of this unit is not: an intensivist sits at the review.
"""

from pathlib import Path
from typing import Any

from monitor.core.bed_commands import SetLimit
from monitor.core.commands import Reason, Take
from monitor.core.entries import EntryKind
from monitor.desk.command_life import Life
from monitor.desk.link_state import LinkState
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE
from tests.helpers.relay import Line
from tests.network.test_review_line import Screen, Ward, _ward, desk, review

LOW_MAP = BASE | {Q.MEAN_ARTERIAL_PRESSURE: 58.0}


def moving(second: int) -> dict[Q, float]:
    """What is read in a second: a little else each time, so that nothing counts as frozen."""
    return {quantity: value + second % 7 / 100 for quantity, value in LOW_MAP.items() if quantity is not Q.ON_MAINS}


class Play:
    """The ward by the second: B1 alone is read, every screen looks."""

    def __init__(self, ward: Ward) -> None:
        self.ward, self.second = ward, 0

    def to(self, second: int) -> None:
        rig = self.ward.rig
        while self.second < second:
            self.second += 1
            rig.times.ms += 1000
            for screen in self.ward.screens:
                screen.ahead += 1.0
            said = self.ward.feed.read("B1", rig.hub.clock.now(), readings=moving(self.second))
            self.ward.until(lambda said=said: self.ward.newest() >= said.seq)  # type: ignore[misc]


def log(screen: Screen) -> list[Any]:
    return [(e.kind, e.person) for e in screen.entries if e.bed == "B1" and e.kind in GOING]


GOING = (EntryKind.RAISED, EntryKind.TAKEN, EntryKind.ALSO_RESPONDING)


def test_that_two_takes_at_once_and_a_cut_link_end_as_they_must(tmp_path: Path) -> None:
    with _ward(tmp_path) as ward, review(ward, Line()) as (far, relay):
        near, play = desk(ward), Play(ward)
        ward.until(lambda: near.link is far.link is LinkState.LIVE)
        play.to(62)
        ward.until(lambda: all(one.store.tiles["B1"].episodes for one in (near, far)))
        [episode] = near.store.tiles["B1"].episodes
        assert episode.title.startswith("MAP 58")
        play.to(80)
        fields = {"bed": "B1", "alert": episode.lead, "revision": episode.revision, "reason": Reason.OTHER}
        charge = Take.model_validate(fields | {"id": "take-near", "person": "charge-2"})
        other = Take.model_validate(fields | {"id": "take-far0", "person": "intensivist-1"})
        assert near.session.command(charge, near.now())
        ward.until(lambda: near.life_of("take-near") is Life.RECORDED)
        ward.rig.times.ms += 40
        assert far.session.command(other, far.now())
        ward.until(lambda: far.life_of("take-far0") is Life.RECORDED)

        def going(one: Screen) -> tuple[object, ...]:
            [episode] = one.store.tiles["B1"].episodes
            return episode.holder and episode.holder.person, episode.also

        ward.until(lambda: going(near) == going(far) == ("charge-2", ("intensivist-1",)))
        play.to(120)
        relay.line.silent = True
        play.to(135)
        # 15 s are counted from the last word, and one may have been on its way at the cut
        ward.until(lambda: far.link is LinkState.NOT_LIVE, seconds=2.0)
        play.to(150)
        limit = SetLimit(
            id="limit-far", person="intensivist-1", bed="B1", rule="map_low", value=55.0,
            until=ward.rig.hub.clock.now() + HOUR,
        )  # fmt: skip
        assert not far.session.command(limit, far.now()), "commands are off"
        play.to(180)
        relay.line.silent = False
        ward.until(lambda: far.link is LinkState.LIVE)
        play.to(190)
        ward.until(lambda: log(near) == log(far))
        assert {kind for kind, _ in log(near)} == set(GOING)
        written = ward.rig.hub.keeper.entries("B1", 500, None)
        assert not [entry for entry in written if entry.command == "limit-far"], "nothing is sent by itself"
        again = limit.model_copy(update={"id": "limit-new"})
        assert far.session.command(again, far.now())
        ward.until(lambda: far.life_of("limit-new") is Life.RECORDED)
