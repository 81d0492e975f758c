"""What is new to somebody at every bed: asked of a running hub, over its sockets."""

from pathlib import Path

from monitor.core.bed_commands import LookedAt
from monitor.core.commands import SetTarget
from monitor.core.entries import EntryKind
from monitor.core.wire import AskNews, News
from shared.quantities import Quantity as Q
from tests.helpers.hub import DeskEnd, Rig, bed
from tests.helpers.hub_play import give, play


def news(rig: Rig, desk: DeskEnd, person: str) -> News:
    before = len(desk.ask.of(News))
    desk.ask.say("desk", AskNews(request="n", person=person))
    rig.until(lambda: len(desk.ask.of(News)) > before)
    found: News = desk.ask.of(News)[-1]
    return found


def test_that_only_what_came_after_a_persons_look_is_new_to_them(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig:
        feed, desk = rig.feed("ward", bed("B1")), rig.desk()
        play(rig, feed, 3)
        early = SetTarget(id="target-01", person="charge-2", bed="B1", slot=1, quantity=Q.PUMP_FLOW, value=4.0)
        late = early.model_copy(update={"id": "target-02", "value": 4.5})
        assert give(rig, desk, early).accepted
        rig.turn(1.0)
        assert give(rig, desk, LookedAt(id="looked-01", person="perfusionist-1", bed="B1")).accepted
        rig.turn(1.0)
        assert give(rig, desk, late).accepted
        told = {one.bed: one for one in news(rig, desk, "perfusionist-1").beds}
        assert [(one.kind, one.value) for one in told["B1"].entries] == [(EntryKind.TARGET, 4.5)]
        assert told["B1"].looked[1].at is not None
        others = {one.bed: one for one in news(rig, desk, "charge-2").beds}
        assert others["B1"].looked[1].at is None
        assert others["B1"].entries == ()
        assert rig.hub.views.defects == 0
