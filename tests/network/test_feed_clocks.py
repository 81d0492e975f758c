"""A feed whose clock is wrong, over real sockets: its readings are as old as they are, and the unit is told."""

from contextlib import closing
from pathlib import Path

import pytest

from feeds.journal import Journal
from feeds.publisher import Publisher
from shared.feed_talk import Draft
from shared.instant import SECOND
from shared.messages import RefusalReason
from shared.quantities import Quantity as Q
from tests.helpers.hub import Rig, bed


@pytest.mark.parametrize("off_s", [300, -300])
def test_that_a_wrong_clock_makes_no_reading_younger_or_older(tmp_path: Path, off_s: int) -> None:
    with Rig(tmp_path) as rig, closing(Journal(tmp_path / "ward.journal", "ward")) as journal:
        ends = rig.endpoints
        with Publisher(
            journal,
            (bed("B1"),),
            ingest=ends.ingest,
            link=ends.link,
            clock=lambda: rig.hub.clock.now() + off_s * SECOND,
            ticks=rig.times.ticks,
        ) as feed:

            def second() -> None:
                rig.turn(1.0)
                read_at = rig.hub.clock.now() + off_s * SECOND
                feed.publish([Draft(bed="B1", read_at=read_at, readings={Q.PUMP_FLOW: 4.0})])
                feed.turn(5)

            def told() -> list[str]:
                return [episode.title for episode in rig.hub.judge.engine.unit(rig.hub.clock.now()).episodes]

            words = f"Clock of feed ward 5 min {'ahead' if off_s > 0 else 'behind'}"
            rig.until(lambda: words in told(), second)
            rig.until(lambda: feed.link.stored > 30, second)
        late = [event.observation for event, at in rig.record.replay(0) if hasattr(event, "observation")][-10:]
        ages = [o.sent_at - off_s * SECOND - o.read_at for o in late]
        assert all(0 <= age <= SECOND for age in ages), ages
        turned_away = set(rig.hub.feeds.refusals.counts)
        assert turned_away <= {RefusalReason.NOT_HELLO}, "nothing for its time"
