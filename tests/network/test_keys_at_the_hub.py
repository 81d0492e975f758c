"""The gate of the network on real sockets: who is let in, who is not, what each may say, and what nobody learns."""

import logging
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import zmq

from feeds.journal import Journal
from feeds.publisher import Publisher
from monitor.core.endpoints import Endpoints
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Commanded
from monitor.core.grades import Role
from monitor.core.wire import DELTAS, REPLIES, ReadingsDelta
from monitor.desk.client import Client
from monitor.desk.hearing import Heard
from monitor.hub.gate import TOLD_A_MINUTE, Gate
from monitor.hub.room import Room
from monitor.hub.sockets import Sockets
from monitor.settings.key_files import load_keys
from monitor.settings.key_names import FOLDER, KEYS
from shared.beds_now import FORM_REPLIES, AskBeds, BedsNow
from shared.errors import ConfigurationError
from shared.feed_talk import Draft
from shared.keys import Keys, fingerprint
from shared.messages import Hello, Observation, Origin, RefusalReason, Refused
from tests.helpers.hub import BASE, NOON, Peer, Rig, bed
from tests.helpers.keyed import LONG_AGO, KeyedUnit, Relay
from tests.helpers.signing import SigningDesk


@pytest.fixture
def unit(tmp_path: Path) -> KeyedUnit:
    return KeyedUnit(tmp_path)


@pytest.fixture
def rig(tmp_path: Path, unit: KeyedUnit, caplog: pytest.LogCaptureFixture) -> Iterator[Rig]:
    # Whoever is turned away is logged as a warning; here it is read in the record.
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"), Rig(tmp_path, keys=tmp_path) as rig:
        yield rig


def short(keys: Keys) -> str:
    return fingerprint(keys.own_public.decode())


def peers_said(rig: Rig) -> list[str]:
    rig.turn()
    return [e.text or "" for e in reversed(rig.record.entries(None, 500)) if e.kind is EntryKind.PEER]


def taken_in(rig: Rig) -> None:
    """Let the hub look at its list."""
    rig.turn(1.1)


def readings(heard: list[Any], label: str) -> list[ReadingsDelta]:
    return [one for one in heard if isinstance(one, ReadingsDelta) and one.bed == label]


DISCLOSING = (b'"bed":"B1"', b"pump_flow", b"readings", b"beat")


def test_that_who_has_no_key_for_it_is_refused_written_down_and_learns_nothing(rig: Rig, unit: KeyedUnit) -> None:
    ward, old = unit.feed("ward", "B1"), unit.station("old", revoked=LONG_AGO)
    desk_keys, odd = unit.station("desk-1"), unit.stranger()
    lost = Keys(desk_keys.own_public, desk_keys.own_secret, odd.own_public)
    taken_in(rig)
    feed, desk = rig.feed("ward", bed("B1"), keys=ward), rig.desk(desk_keys)
    with Relay(rig.endpoints.publish) as relay, Relay(rig.endpoints.commands) as asked:
        subs = [Peer(zmq.SUB, relay.address, DELTAS, keys=keys) for keys in (None, odd, old, ward, lost, desk_keys)]
        asks = [Peer(zmq.DEALER, asked.address, REPLIES, keys=keys) for keys in (None, odd, old, ward)]
        try:
            rig.until(
                lambda: bool(readings(subs[-1].heard, "B1") and readings(desk.sub.heard, "B1")),
                lambda: feed.read("B1", rig.hub.clock.now()),
                *(peer.listen for peer in (*subs, *asks)),
            )
            refused = [
                "Somebody came to publish without a key of this network: refused",
                "Somebody came to commands without a key of this network: refused",
                *(
                    f"{who} knocked at {room} from 127.0.0.1: refused"
                    for who in (
                        f"A stranger with the key {short(odd)}",
                        f"Station old with its revoked key {short(old)}",
                        f"Feed ward with the key {short(ward)}",
                    )
                    for room in ("publish", "commands")
                ),
            ]
            rig.until(lambda: set(refused) <= set(peers_said(rig)), *(peer.listen for peer in (*subs, *asks)))
            assert [peer.heard for peer in (*subs[:-1], *asks)] == [[]] * 9
        finally:
            for peer in (*subs, *asks):
                peer.close()
        assert len(relay.bytes) > 1000
        assert not [word for word in DISCLOSING if word in relay.bytes + asked.bytes], "in clear text on the line"
    said = peers_said(rig)
    assert [words for words in said if said.count(words) > 1] == [], "once a minute, however often they knock"
    assert f"Feed ward connected with the key {short(ward)}" in said
    assert f"Station desk-1 connected with the key {short(desk_keys)}" in said


def test_that_the_same_line_without_keys_shows_all_of_it(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig, Relay(rig.endpoints.publish) as relay:
        feed, sub = rig.feed("ward", bed("B1")), Peer(zmq.SUB, relay.address, DELTAS)
        try:
            rig.until(
                lambda: bool(readings(sub.heard, "B1")), lambda: feed.read("B1", rig.hub.clock.now()), sub.listen
            )
            rig.until(lambda: b"beat" in relay.bytes, lambda: rig.hub.publishing.beat(rig.hub.clock.now()))
        finally:
            sub.close()
        assert [word for word in DISCLOSING if word not in relay.bytes] == []


def test_that_a_feed_speaks_for_the_beds_of_its_key_and_under_its_name_alone(rig: Rig, unit: KeyedUnit) -> None:
    ward, other = unit.feed("ward", "B1"), unit.feed("other", "B2")
    taken_in(rig)
    feed = rig.feed("ward", bed("B1"), keys=ward)
    sly = rig.feed("other", bed("B1"), bed("B2"), bed("B99"), epoch="00000000000000bb", keys=other)
    now = rig.hub.clock.now()
    false = {**BASE, **dict.fromkeys(list(BASE)[1:2], 0.1)}
    sly.read("B1", now, readings=false)
    sly.read("B99", now)
    honest = sly.read("B2", now)
    sly.live.say(
        "B1", Observation(feed="ward", epoch=feed.epoch, seq=1, bed="B1", read_at=now, sent_at=now, readings=false)
    )
    sly.talk.say("ward", Hello(version=1, feed="ward", epoch=feed.epoch, first=1, next=9, sent_at=NOON, beds=()))
    own = feed.read("B1", now)
    rig.until(lambda: len(rig.observations()) == 2)
    assert {one.bed: one.readings for one in rig.observations()} == {"B1": own.readings, "B2": honest.readings}
    key = f"Feed other, key {short(other)},"
    told = {
        f"{key} spoke for B1: refused",
        f"{key} spoke for B99: refused",
        f"{key} spoke in the name of ward: refused",
    }
    rig.until(lambda: told <= set(peers_said(rig)))
    assert not [one for one in feed.talk.of(Refused) if one.reason is not RefusalReason.NOT_HELLO]
    details = {one.detail for one in sly.talk.of(Refused)}
    assert not [words for words in details if "ward speaks for" in words or "no bed" in words], "learns nothing"
    rig.until(lambda: rig.hub.feeds.marks() == {} and len(rig.observations()) == 2, lambda: rig.turn(0.5))


def test_that_a_form_alone_enters_by_hand_and_asks_for_its_own_beds(rig: Rig, unit: KeyedUnit) -> None:
    form, ward = unit.feed("form", "B1", "B2", by_hand=True), unit.feed("ward", "all")
    taken_in(rig)
    ask = Peer(zmq.DEALER, rig.endpoints.commands, FORM_REPLIES, keys=form)
    answers: list[BedsNow] = []
    try:
        ask.say("form", AskBeds(request="1"))
        rig.until(lambda: bool(ask.of(BedsNow)), ask.listen)
        answers = ask.of(BedsNow)
    finally:
        ask.close()
    assert [one.bed for one in answers[0].beds] == ["B1", "B2"]
    by_hand = rig.feed("ward", bed("B1", Origin.ENTERED, 3600), keys=ward)
    by_hand.read("B1", rig.hub.clock.now(), by="nurse-1")
    wanted = f"Feed ward, key {short(ward)}, spoke for B1 as entered by hand: refused"
    rig.until(lambda: wanted in peers_said(rig))
    assert rig.observations() == []


def test_that_a_station_acts_in_the_roles_of_its_key_and_its_key_is_in_the_record(
    rig: Rig, unit: KeyedUnit
) -> None:
    unit.station("hall", Role.VIEWER)
    unit.station("desk-1", Role.CHARGE_NURSE)
    taken_in(rig)
    hall, desk = SigningDesk(rig, unit.of("hall")), SigningDesk(rig, unit.of("desk-1"))
    signed = hall.sign_in("charge-2", "0000")
    assert signed.session == ""
    assert "cannot act from hall: it is for viewer" in signed.reason
    refused = hall.give("", "charge-2")
    assert (refused.accepted, refused.reason) == (False, signed.reason)
    assert hall.give("", "charge-2", "help", bed="B1", what="bleeding").accepted, "help is anybody's, anywhere"
    assert desk.give("", "charge-2").accepted
    assert not desk.give("", "nurse-1").accepted, "a nurse at the desk of the charge nurse"
    said = peers_said(rig)
    key = f"Station hall, key {short(unit.of('hall'))}, "
    assert f"{key}gave care marker as charge-2: refused" in said
    assert "charge-2 wanted to sign in" in " ".join(said)
    entries: list[Entry] = rig.record.entries(None, 500)
    keys = {entry.kind: entry.key for entry in entries if entry.person == "charge-2"}
    assert keys[EntryKind.CARE_MARKER] == short(unit.of("desk-1"))
    assert [e.key for e in entries if e.kind is EntryKind.RAISED and e.rule and "help" in e.rule] == [
        short(unit.of("hall"))
    ]
    replayed = [event.key for event, _ in rig.record.replay(0) if isinstance(event, Commanded)]
    assert replayed == [short(unit.of("hall")), short(unit.of("desk-1"))]


class Others:
    """A feed and a desk that stay allowed, as they are in use: the feed's publisher, the desk's reader thread."""

    def __init__(self, rig: Rig, folder: Path, feed: Keys, desk: Keys) -> None:
        endpoints, self._now = rig.endpoints, rig.times.wall
        self.journal = Journal(folder / "ward.journal", "ward")
        self.feed = Publisher(
            self.journal, [bed("B1")], ingest=endpoints.ingest, link=endpoints.link,
            clock=self._now, keys=feed,
        )  # fmt: skip
        self.heard: list[Heard] = []
        self.desk = Client(endpoints.publish, endpoints.commands, self.heard.append, keys=desk)
        self.desk.start()

    def read(self) -> None:
        self.feed.publish([Draft(bed="B1", read_at=self._now(), readings=BASE)])
        self.feed.turn(0)

    def fresh(self) -> list[float]:
        return [one.at for one in self.heard if isinstance(one.message, ReadingsDelta)]

    def close(self) -> None:
        self.desk.stop()
        self.feed.close()
        self.journal.close()


def test_that_a_revoked_peer_is_cut_off_at_once_and_the_others_are_fresh_within_2_s(
    rig: Rig, unit: KeyedUnit, tmp_path: Path
) -> None:
    ward, lent = unit.feed("ward", "B1"), unit.feed("lent", "B2")
    unit.station("desk-1")
    unit.station("stolen")
    taken_in(rig)
    gone, stolen = rig.feed("lent", bed("B2"), keys=lent), rig.desk(unit.of("stolen"))
    others = Others(rig, tmp_path, ward, unit.of("desk-1"))
    try:
        rig.until(lambda: bool(others.fresh()), others.read)
        unit.revoke("lent")
        unit.revoke("stolen")
        cut = f"Feed lent is not heard any more: its key {short(lent)} is revoked"
        rig.until(lambda: cut in peers_said(rig), others.read)
        at, heard, before = time.monotonic(), len(stolen.sub.heard), len(others.fresh())
        gone.read("B2", rig.hub.clock.now())
        rig.until(lambda: len(others.fresh()) > before, others.read)
        assert others.fresh()[before] - at < 2.0
        ends = time.monotonic() + 1.5
        rig.until(lambda: time.monotonic() > ends, lambda: gone.read("B2", rig.hub.clock.now()))
        assert len(stolen.sub.heard) == heard, "nothing more is told to who was revoked"
        assert {one.bed for one in rig.observations()} == {"B1"}
    finally:
        others.close()


def test_that_a_list_is_read_anew_and_a_faulty_one_changes_nothing(rig: Rig, unit: KeyedUnit) -> None:
    ward = unit.feed("ward", "B1")
    taken_in(rig)
    feed = rig.feed("ward", bed("B1"), bed("B2"), keys=ward)
    path = unit.folder / KEYS
    good = path.read_text()
    path.write_text(good.replace('beds = ["B1"]', 'beds = ["B1", "B77"]'))
    taken_in(rig)
    said = peers_said(rig)[-1]
    assert said.startswith("The list of keys is faulty, the one before stays in force: keys.toml:8: beds")
    feed.read("B1", rig.hub.clock.now())
    rig.until(lambda: len(rig.observations()) == 1)
    path.unlink()
    taken_in(rig)
    assert "there is no keys.toml" in peers_said(rig)[-1]
    path.write_text(good.replace('beds = ["B1"]', 'beds = ["B1", "B2"]'))
    path.chmod(0o600)
    taken_in(rig)
    assert peers_said(rig)[-1] == "The list of keys was read anew"
    feed.hello()
    feed.read("B2", rig.hub.clock.now())
    rig.until(lambda: len(rig.observations()) == 2)


def test_that_each_kind_of_key_opens_its_own_sockets_and_no_other(
    unit: KeyedUnit, caplog: pytest.LogCaptureFixture
) -> None:
    rooms = {
        unit.feed("ward", "B1").own_public: {Room.INGEST, Room.LINK},
        unit.feed("form", "B1", by_hand=True).own_public: {Room.INGEST, Room.LINK, Room.COMMANDS},
        unit.station("desk-1").own_public: {Room.PUBLISH, Room.COMMANDS},
        unit.stranger().own_public: set(),
    }
    gate = Gate(unit.folder, ["B1"])
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"):
        for key, opens in rooms.items():
            public = key.decode()
            assert {room for room in Room if gate.admits(room, public, "192.0.2.1")} == opens
            assert {room for room in Room if gate.hears(room, public)} == opens


def test_that_a_key_ends_at_its_moment_without_a_change_of_the_list(unit: KeyedUnit) -> None:
    at = datetime(2026, 6, 1, tzinfo=UTC)
    old = unit.station("desk-1", revoked=at)
    new = unit.station("desk-1")
    now = [round(at.timestamp() * 1000) - 1]
    gate = Gate(unit.folder, ["B1"], wall=lambda: now[0], ticks=lambda: 0)
    lets = [gate.admits(Room.PUBLISH, one.own_public.decode(), "192.0.2.1") for one in (old, new)]
    assert lets == [True, True]
    assert not gate.look()
    now[0] += 1
    assert gate.look(), "whoever is connected with it is cut off"
    assert not gate.hears(Room.COMMANDS, old.own_public.decode())
    assert gate.hears(Room.COMMANDS, new.own_public.decode())


def test_that_a_crowd_of_strangers_fills_no_log(unit: KeyedUnit, caplog: pytest.LogCaptureFixture) -> None:
    ticks = [0]
    gate = Gate(unit.folder, ["B1"], ticks=lambda: ticks[0])
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"):
        for number in range(1000):
            assert not gate.admits(Room.LINK, f"{number:040}", "192.0.2.1")
        assert len(gate.said()) == TOLD_A_MINUTE
        ticks[0] = 60_000
        gate.stranger(Room.LINK)
    assert gate.said()[0].endswith("network: refused (980 more were turned away before)")


def test_that_what_was_numbered_is_in_the_record_once_after_the_hub_was_killed(
    rig: Rig, unit: KeyedUnit, tmp_path: Path
) -> None:
    ward = unit.feed("ward", "B1")
    unit.station("desk-1")
    taken_in(rig)
    others = Others(rig, tmp_path, ward, unit.of("desk-1"))
    try:
        rig.until(lambda: len(rig.observations()) > 3, others.read)
        rig.drop()
        for _ in range(5):
            others.read()
        rig.up()
        last = others.journal.next_seq
        rig.until(lambda: len(rig.observations()) == last - 1, lambda: others.feed.turn(0))
        assert sorted(one.seq for one in rig.observations()) == list(range(1, last))
        rig.until(lambda: others.journal.first == last, lambda: others.feed.turn(0))
    finally:
        others.close()


def test_that_a_key_that_others_may_read_and_an_open_address_without_keys_stop_the_start(unit: KeyedUnit) -> None:
    unit.station("desk-1")
    files = unit.folder / FOLDER
    (files / "desk-1.key_secret").chmod(0o604)
    with pytest.raises(
        ConfigurationError, match=r"desk-1.key_secret: others than its owner may read it \(mode 0604\)"
    ):
        load_keys(files / "desk-1.key_secret", files / "hub.key")
    (files / "hub.key_secret").chmod(0o640)
    with pytest.raises(ConfigurationError, match=r"hub.key_secret: others than its owner may read it"):
        Gate(unit.folder, ["B1"])
    (files / "hub.key_secret").unlink()
    with pytest.raises(ConfigurationError, match="cannot be read"):
        Gate(unit.folder, ["B1"])
    with pytest.raises(
        ConfigurationError,
        match=r"endpoints.publish = tcp://192.0.2.1:1 leaves this machine, and there are no keys: make",
    ):
        Sockets(Endpoints(publish="tcp://192.0.2.1:1"))
    with pytest.raises(ConfigurationError, match=r"tcp://192.0.2.1:1 leaves this machine: give keys"):
        Client("tcp://192.0.2.1:1", "tcp://127.0.0.1:1", lambda _: None)
