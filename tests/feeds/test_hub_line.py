"""The form's line to the hub: what it asks and when, how long an answer counts, and a hub that says nothing."""

from collections.abc import Iterator

import pytest
import zmq
from pydantic import TypeAdapter

from feeds.entered.hub_line import ANSWER_WITHIN_MS, ASK_EVERY_MS, COUNTS_FOR_MS, HubLine
from shared.beds_now import AskBeds, BedsNow
from shared.frames import decode, encode
from shared.sign_in import SignedIn, SignIn
from tests.feeds.fake_hub import free_port
from tests.helpers.logged import expect_logged

Asked = AskBeds | SignIn
ASKED: TypeAdapter[Asked] = TypeAdapter(Asked)


class Ends:
    """A line, its time, and a hub that answers what a test wants."""

    def __init__(self) -> None:
        self.ms = 1_000_000
        self._context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
        self._hub = self._context.socket(zmq.ROUTER)
        self._hub.setsockopt(zmq.LINGER, 0)
        address = f"tcp://127.0.0.1:{free_port()}"
        self._hub.bind(address)
        self.line = HubLine(address, ticks=lambda: self.ms)
        self._peer = b""

    def asked(self, waits_ms: int = 2000) -> Asked | None:
        """Turn the line until the hub hears something; nothing where it hears nothing."""
        for _ in range(waits_ms // 20):
            self.line.turn()
            if self._hub.poll(20):
                self._peer, *parts = self._hub.recv_multipart()
                return decode(parts, ASKED)[1]
            self.ms += 20
        return None

    def answer(self, *parts: bytes) -> None:
        """Answer, and turn the line until it has heard something."""
        self._hub.send_multipart([self._peer, *parts])
        before = (self.line.unread, self.line.beds, self.line._waiting)
        for _ in range(100):
            self.line.turn()
            if (self.line.unread, self.line.beds, self.line._waiting) != before:
                return
            self._hub.poll(10)

    def close(self) -> None:
        self.line.close()
        self._hub.close()
        self._context.term()


@pytest.fixture
def ends() -> Iterator[Ends]:
    made = Ends()
    yield made
    made.close()


def test_that_beds_are_asked_for_every_5_s_and_an_answer_counts_for_15(ends: Ends) -> None:
    first = ends.asked()
    assert isinstance(first, AskBeds)
    assert ends.asked(200) is None
    ends.answer(*encode("hub", BedsNow(request=first.request, hub_time=1, beds=(), asks=("nurse-5",))))
    assert ends.line.asks("nurse-5")
    assert ends.line.news() is not None
    assert ends.line.news() is None
    ends.ms += ASK_EVERY_MS
    assert isinstance(ends.asked(), AskBeds)
    ends.ms += COUNTS_FOR_MS
    assert ends.line.beds is None
    assert not ends.line.asks("nurse-5")


def test_that_a_secret_without_an_answer_ends_within_5_s(ends: Ends) -> None:
    ends.asked()
    heard: list[SignedIn | None] = []
    ends.line.sign_in("nurse-5", "1470", heard.append)
    sent = ends.asked()
    assert isinstance(sent, SignIn)
    assert "1470" not in repr(sent)
    stray = SignedIn(request="another", person="nurse-5", session="nurse-5:1:a")
    ends.answer(*encode("hub", stray))
    assert heard == []
    ends.ms += ANSWER_WITHIN_MS + 1
    ends.line.turn()
    assert heard == [None]


def test_that_what_cannot_be_read_is_counted_and_logged_once(ends: Ends, caplog: pytest.LogCaptureFixture) -> None:
    ends.asked()
    ends.answer(b"hub", b"WK1", b"{}")
    ends.answer(b"hub", b"WK1", b"{}")
    assert ends.line.unread == 2
    expect_logged(caplog, "answered what the form does not know")


def test_that_a_hub_that_is_not_there_is_waited_for_no_longer_than_said() -> None:
    ticks = iter(range(0, 10_000, 40))
    with HubLine(f"tcp://127.0.0.1:{free_port()}", ticks=lambda: next(ticks)) as line:
        line.wait(1000)
        assert line.beds is None
