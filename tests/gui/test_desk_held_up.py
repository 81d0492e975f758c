"""A window that was held up while its reader went on: it comes back, and what it missed is asked for anew."""

import time
from datetime import UTC

from pytestqt.qtbot import QtBot

from monitor.core.lean import Followed
from monitor.core.wire import AskSnapshot, Beat, Follow, Snapshot
from monitor.desk.bridge import Bridge
from monitor.desk.client import Client
from monitor.desk.hearing import Heard
from monitor.desk.lean_sync import LeanSync
from monitor.desk.link_state import NOT_LIVE_S, LinkState
from monitor.desk.session import Session
from monitor.desk.store import Store
from monitor.desk.sync import Following, Sync
from monitor.desk.window import DeskWindow
from tests.gui.test_desk_client import SmallHub
from tests.helpers.views import BOOT, NOW, latest, tile, unit


def snapshot(seq: int = 3) -> Snapshot:
    return Snapshot(
        request="r", seq=seq, boot=BOOT, hub_time=NOW, unit=unit(), tiles=(tile(),), readings=(latest("B7"),)
    )


def beat(seq: int = 3) -> Beat:
    return Beat(seq=seq, hub_time=NOW, boot=BOOT)


def test_that_a_window_that_was_held_up_takes_what_was_heard_meanwhile_and_is_not_called_lost(qtbot: QtBot) -> None:
    bridge, seconds, asked = Bridge(), [0.0], list[str]()
    session = Session(Store(0.0), lambda _: None, lambda: asked.append("anew"))
    window = DeskWindow(session, bridge, lambda: seconds[0], "day", UTC)
    qtbot.addWidget(window)
    bridge.deliver(Heard(0.0, snapshot()))
    window.tick()
    for second in range(1, 60):
        bridge.deliver(Heard(float(second), beat()))
    seconds[0] = 59.5
    window.tick()
    state = session.store.link.state
    assert state is LinkState.LIVE
    seconds[0] = 59.0 + NOT_LIVE_S
    window.tick()
    state = session.store.link.state
    assert state is LinkState.NOT_LIVE
    assert asked == ["anew"]
    window.tick()
    assert asked == ["anew"], "once for each time that it is lost"


def test_that_a_desk_that_calls_its_hub_lost_asks_anew_although_its_reader_missed_nothing() -> None:
    """Over real sockets: what is heard after that is no whole picture, until the hub has given one."""
    hub, bridge = SmallHub(), Bridge()
    client = Client(hub.publish, hub.commands, bridge.deliver)
    session = Session(Store(time.monotonic()), client.send, client.ask_anew)
    client.start()

    def go_on_until(state: LinkState) -> None:
        for _ in range(500):
            session.take(bridge.drain(), time.monotonic())
            if session.store.link.state is state:
                return
            hub.tell(beat())
            if hub.router.poll(10):
                who, request = hub.request()
                if isinstance(request, AskSnapshot):
                    hub.answer(who, snapshot().model_copy(update={"request": request.request}))
        raise AssertionError(f"never {state.value}")

    try:
        go_on_until(LinkState.LIVE)
        session.tick(time.monotonic() + NOT_LIVE_S + 1)
        assert session.store.link.state is LinkState.NOT_LIVE
        go_on_until(LinkState.LIVE)
    finally:
        client.stop()
        hub.close()


def said_to(lean: LeanSync, at: float) -> Snapshot:
    """Let a review say that it follows, and be heard at once; give the answer."""
    follow = Follow(request=f"at {at}")
    lean.said(follow, at)
    lean.followed(Followed(request=follow.request, ticks=round(at * 1000)))
    return snapshot().model_copy(update={"request": follow.request})


def test_that_following_asks_with_the_next_word_and_not_before() -> None:
    sync = Sync()
    sync.asked(snapshot().request, 0.0)
    sync.snapshot(snapshot())
    sync.hear(1.0)
    sync.ask_anew()
    assert not sync.must_ask(1.1)
    sync.hear(1.2)
    assert sync.must_ask(1.2)
    lean = LeanSync()
    assert lean.snapshot(said_to(lean, 1.0))
    lean.ask_anew()
    assert lean.state is Following.FOLLOWING
    assert lean.snapshot(said_to(lean, 1.5))
    assert lean.heard_at == 1.5
