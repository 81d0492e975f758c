"""A real hub on real sockets, killed and started again, also under other rules: judged again, it is the same."""

from pathlib import Path

import pytest

from monitor.core.entries import EntryKind
from monitor.record.reading import read_only
from monitor.record.slice_reading import open_slice
from monitor.record.slicing import Hours
from monitor.reports.incident.retracing import Retraced, retrace
from monitor.settings import configuration_of, texts_in
from shared.instant import HOUR
from tests.helpers.hub import CONFIG, NOON, FeedEnd, Rig, bed
from tests.helpers.hub_play import LOW, play, raise_high


def retraced(path: Path, to: Path) -> tuple[Retraced, list[str]]:
    with read_only(path) as record:
        record.cut(to, Hours("B1", NOON - HOUR, NOON + HOUR))
    with open_slice(to) as cut:
        assert cut.broken() is None
        return retrace(cut), [row.body for row in cut.entries()]


def up_again(rig: Rig, before: FeedEnd) -> FeedEnd:
    """Start the hub again, and the feed too: a new epoch, whose numbers are not those of the one before.

    The older feed is gone first: two of one name would be in each other's way.
    """
    rig.peers.remove(before)
    before.close()
    rig.up()
    feed = rig.feed("ward", bed("B1"), epoch="00000000000000bb")
    feed.next = before.next
    return feed


@pytest.mark.parametrize("clean", [True, False], ids=["stopped", "killed"])
def test_that_a_hub_that_went_down_is_judged_the_same_again(tmp_path: Path, clean: bool) -> None:
    with Rig(tmp_path, files=texts_in(CONFIG)) as rig:
        feed = rig.feed("ward", bed("B1"))
        raise_high(rig, feed)
        if clean:
            rig.down()
        else:
            rig.drop()
        play(rig, up_again(rig, feed), 15, readings=LOW)
        rig.down()
        found, bodies = retraced(rig.path, tmp_path / "slice")
    assert found.is_same, found.differences[0]
    assert any(f'"kind":"{EntryKind.RAISED.value}"' in body for body in bodies)
    assert found.own >= 3


def test_that_other_rules_after_a_clean_stop_are_followed(tmp_path: Path) -> None:
    with Rig(tmp_path, files=texts_in(CONFIG)) as rig:
        feed = rig.feed("ward", bed("B1"))
        play(rig, feed, 15, readings=LOW)
        rig.down()
        slower = rig.files["limits.toml"].replace("delay_s = 10\n", "delay_s = 25\n")
        rig.files = rig.files | {"limits.toml": slower}
        rig.configuration = configuration_of(rig.files)
        play(rig, up_again(rig, feed), 30, readings=LOW)
        rig.down()
        found, bodies = retraced(rig.path, tmp_path / "slice")
    assert found.is_same, found.differences[0]
    assert sum("another configuration" in body for body in bodies) == 2
    (changed,) = rig.hub.views.unit(rig.hub.clock.now()).configured
    assert changed.files == ("limits.toml",)
