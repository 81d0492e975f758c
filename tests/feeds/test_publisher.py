"""The publisher against a hub, over real sockets: nothing lost, nothing twice, live data never waits."""

import json
import logging
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from feeds.journal import Journal
from feeds.publisher import Publisher
from shared.errors import ConfigurationError
from shared.feed_talk import Draft
from shared.messages import FEED_MESSAGES, BedDeclared, Origin, RefusalReason, Refused, Stored
from shared.quantities import Quantity as Q
from shared.support import Support, describe_run
from tests.feeds.fake_hub import FakeHub, free_port, until

BEDS = (BedDeclared(bed="B1", runs=(describe_run(Support.VA, "r1"),), interval=1.0, origin=Origin.SIMULATED),)
VECTORS = Path(__file__).parents[2] / "shared" / "vectors" / "feed_messages.json"


def draft(n: int) -> Draft:
    return Draft(bed="B1", read_at=1_000 * n, readings={Q.PUMP_FLOW: 4.0 + n / 1000})


@pytest.fixture
def hub() -> Iterator[FakeHub]:
    with FakeHub() as hub:
        yield hub


Opens = Callable[..., Publisher]


@pytest.fixture
def opens(tmp_path: Path) -> Iterator[Opens]:
    """Open the one feed of a test; a feed that is opened again goes on with its journal."""
    opened: list[tuple[Publisher, Journal]] = []

    def close() -> None:
        for publisher, journal in opened:
            publisher.close()
            journal.close()
        opened.clear()

    def open_feed(ingest: str, link: str) -> Publisher:
        close()
        journal = Journal(tmp_path / "north.journal", "north")
        try:
            publisher = Publisher(journal, BEDS, ingest=ingest, link=link, clock=lambda: 77)
        except ConfigurationError:
            journal.close()
            raise
        opened.append((publisher, journal))
        return publisher

    yield open_feed
    close()


def meet(feed: Publisher, hub: FakeHub) -> None:
    """Take turns until both sockets carry."""
    until(lambda: feed.link.state == "welcomed" and bool(hub.beats), lambda: feed.turn(5), lambda: hub.turn(5))


def settle(feed: Publisher, hub: FakeHub, count: int) -> None:
    until(
        lambda: len(hub.record) == count and feed.link.stored == feed.link.next_seq - 1,
        lambda: feed.turn(5),
        lambda: hub.turn(5),
    )


def test_that_a_feed_introduces_itself_with_its_beds(hub: FakeHub, opens: Opens) -> None:
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    assert hub.hellos[0].feed == "north"
    assert hub.hellos[0].beds == BEDS
    assert (hub.hellos[0].first, hub.hellos[0].next) == (1, 1)
    assert hub.hellos[0].sent_at == 77, "stamped by the injected clock"


def test_that_observations_arrive_live_and_are_forgotten_when_stored(hub: FakeHub, opens: Opens) -> None:
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    for n in range(1, 11):
        feed.publish([draft(n)])
    settle(feed, hub, 10)
    assert [o.seq for o in hub.live] == list(range(1, 11))
    assert hub.live[3].readings == {Q.PUMP_FLOW: 4.004}
    assert hub.live[3].read_at == 4_000
    assert feed.link.first == 11


def test_that_nothing_is_forgotten_before_it_is_stored(hub: FakeHub, opens: Opens) -> None:
    hub.stores = False
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    feed.publish([draft(n) for n in range(1, 6)])
    until(lambda: len(hub.record) == 5, lambda: feed.turn(5), lambda: hub.turn(5))
    assert feed.link.first == 1
    hub.stores = True
    settle(feed, hub, 5)


def test_that_lost_live_observations_come_again_byte_for_byte(hub: FakeHub, opens: Opens) -> None:
    hub.lose = lambda observation: 3 <= observation.seq <= 7 or observation.seq == 10
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    feed.publish([draft(n) for n in range(1, 11)])
    settle(feed, hub, 10)
    assert [o.seq for o in hub.live] == [1, 2, 8, 9]
    assert [hub.record[feed.link.epoch, n].readings[Q.PUMP_FLOW] for n in (3, 10)] == [4.003, 4.01]


def test_that_a_feed_goes_on_without_a_hub_and_tells_all_when_it_comes(opens: Opens) -> None:
    ingest, link = free_port(), free_port()
    feed = opens(f"tcp://127.0.0.1:{ingest}", f"tcp://127.0.0.1:{link}")
    for n in range(1, 51):
        feed.publish([draft(n)])
        feed.turn(0)
    assert feed.link.state == "silent"
    with FakeHub(ingest, link) as hub:
        settle(feed, hub, 50)
        assert hub.numbers == list(range(1, 51))


def test_that_a_feed_that_was_killed_goes_on_where_it_was(hub: FakeHub, opens: Opens) -> None:
    hub.stores = False
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    feed.publish([draft(n) for n in range(1, 6)])
    epoch = feed.link.epoch
    again = opens(hub.ingest, hub.link)
    assert again.link.epoch == epoch
    again.publish([draft(6)])
    hub.stores = True
    settle(again, hub, 6)
    assert hub.numbers == [1, 2, 3, 4, 5, 6]


def test_that_a_hub_that_begins_again_is_told_what_it_lacks(opens: Opens) -> None:
    with FakeHub() as first:
        first.stores = False
        feed = opens(first.ingest, first.link)
        meet(feed, first)
        feed.publish([draft(n) for n in range(1, 4)])
        until(lambda: len(first.record) == 3, lambda: feed.turn(5), lambda: first.turn(5))
        ports = first.ingest_port, first.link_port
    feed.publish([draft(4)])
    with FakeHub(*ports) as second:
        settle(feed, second, 4)
        assert second.numbers == [1, 2, 3, 4]


def test_that_live_data_does_not_wait_for_old_data(opens: Opens) -> None:
    ingest, link = free_port(), free_port()
    feed = opens(f"tcp://127.0.0.1:{ingest}", f"tcp://127.0.0.1:{link}")
    for start in range(0, 3_000, 500):
        feed.publish([draft(n) for n in range(start + 1, start + 501)])
    with FakeHub(ingest, link) as hub:
        meet(feed, hub)
        until(lambda: 100 < len(hub.record) < 2_500, lambda: feed.turn(5), lambda: hub.turn(5))
        feed.publish([draft(3_001)])
        until(lambda: any(o.seq == 3_001 for o in hub.live), lambda: feed.turn(5), lambda: hub.turn(5))
        assert len(hub.record) < 2_900, "the new one came before the old ones were through"
        settle(feed, hub, 3_001)


def test_that_a_hub_that_holds_more_makes_the_feed_begin_a_new_epoch(
    hub: FakeHub, opens: Opens, caplog: pytest.LogCaptureFixture
) -> None:
    hub.stores = False
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    feed.publish([draft(1), draft(2)])
    until(lambda: len(hub.record) == 2, lambda: feed.turn(5), lambda: hub.turn(5))
    old = feed.link.epoch
    hub.say("north", Stored(feed="north", epoch=old, up_to=9))
    until(lambda: feed.link.epoch != old, lambda: feed.turn(5))
    assert "begins" in caplog.text
    caplog.clear()
    hub.stores = True
    settle(feed, hub, 4)
    assert hub.record[feed.link.epoch, 2].readings == {Q.PUMP_FLOW: 4.002}


def test_that_rubbish_from_the_hub_changes_nothing(
    hub: FakeHub, opens: Opens, caplog: pytest.LogCaptureFixture
) -> None:
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    for parts in ([b""], [b"hub", b"WK9", b"{}"], [b"hub", b"WK1", b"\xff"], [b"a", b"b", b"c", b"d"]):
        hub.say_raw("north", parts)
    until(lambda: feed.unread == 4, lambda: feed.turn(5))
    assert [record.levelno for record in caplog.records] == [logging.WARNING], "said once, counted always"
    caplog.clear()
    feed.publish([draft(1)])
    settle(feed, hub, 1)


def test_that_a_refusal_is_counted_and_told_once(
    hub: FakeHub, opens: Opens, caplog: pytest.LogCaptureFixture
) -> None:
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    for seq in (1, 2):
        hub.say("north", Refused(reason=RefusalReason.IMPOSSIBLE_VALUE, detail="pump_flow = 42", seq=seq))
    until(lambda: feed.refused[RefusalReason.IMPOSSIBLE_VALUE] == 2, lambda: feed.turn(5))
    assert caplog.messages == ["the hub refuses: impossible_value: pump_flow = 42"]
    caplog.clear()


def test_that_a_new_declaration_is_told_at_once(hub: FakeHub, opens: Opens) -> None:
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    other = BedDeclared(bed="B2", runs=(), interval=1.0, origin=Origin.SIMULATED)
    feed.declare([*BEDS, other])
    until(lambda: hub.beds == (*BEDS, other), lambda: feed.turn(5), lambda: hub.turn(5))


def test_that_live_data_goes_on_when_the_disk_refuses(
    hub: FakeHub, opens: Opens, caplog: pytest.LogCaptureFixture
) -> None:
    hub.stores = False
    feed = opens(hub.ingest, hub.link)
    meet(feed, hub)
    feed.publish([draft(1)])
    old = feed.link.epoch
    journal = feed._talk._journal
    assert isinstance(journal, Journal)
    journal._db.execute("PRAGMA query_only = 1")
    feed.publish([draft(2)])
    assert feed.link.epoch != old, "no number of the old epoch is given that the disk does not know"
    assert [record.levelno for record in caplog.records] == [logging.ERROR]
    caplog.clear()
    feed.publish([draft(3)])
    until(lambda: len(hub.record) == 3, lambda: feed.turn(5), lambda: hub.turn(5))
    assert [hub.record[feed.link.epoch, n].read_at for n in (1, 2)] == [2_000, 3_000]
    again = opens(hub.ingest, hub.link)
    assert again.link.epoch == old, "the disk still holds what it held"
    assert (again.link.first, again.link.next_seq) == (1, 2)


def test_that_an_address_off_this_machine_needs_keys(opens: Opens) -> None:
    with pytest.raises(ConfigurationError, match="leaves this machine"):
        opens("tcp://192.0.2.7:17311", "tcp://127.0.0.1:17312")


def test_that_a_feed_whose_second_address_is_wrong_leaves_nothing_open(opens: Opens) -> None:
    with pytest.raises(ConfigurationError, match="is no address"):
        opens(f"tcp://127.0.0.1:{free_port()}", "tcp://127.0.0.1:none")


def test_that_what_the_feed_writes_are_the_golden_frames(tmp_path: Path) -> None:
    cases = {case["name"]: case for case in json.loads(VECTORS.read_text(encoding="utf-8"))["messages"]}
    case = cases["observation_marked"]
    wanted = FEED_MESSAGES.validate_json(json.dumps(case["message"]))
    assert wanted.type == "observation"
    journal = Journal(tmp_path / "j", "north")
    journal.begin_epoch(wanted.epoch, [])
    address = f"tcp://127.0.0.1:{free_port()}"
    with Publisher(journal, (), ingest=address, link=address, clock=lambda: wanted.sent_at) as feed:
        made = Draft(
            bed=wanted.bed,
            read_at=wanted.read_at,
            readings=wanted.readings,
            estimated=wanted.estimated,
            doubtful=wanted.doubtful,
            conditions=wanted.conditions,
        )
        _, frames = feed._talk._frame(made, wanted.seq)
    journal.close()
    assert [part.hex() for part in frames] == case["frames"]
