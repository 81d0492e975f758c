"""The feeds of a bench: ``... bedside FOLDER SECONDS INGEST [LINK]``. Without ``LINK`` a bare SUB hears them.

What they say is what every feed says (`shared.feed_talk`), numbered and kept; journals are in memory, for a sample
counts from the moment in which it is sent. That moment is noted for each, just before the socket is given it. All
readings are made before the first is sent. ``spread``: each bed has a moment of its own in every second, as with
consoles; ``together``: all beds are read in one moment.
"""

import json
import logging
import secrets
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

import zmq

from monitor.cli.benching.clock import now_ns
from monitor.cli.benching.unit import BEDS_OF_A_FEED, scenarios_in
from monitor.cli.trials.journal import Disk, VirtualJournal
from shared import endpoints
from shared.feed_talk import Draft, FeedTalk
from shared.frames import PART_LIMIT, encode
from shared.messages import BedDeclared, Observation, Origin
from shared.scenario import Scenario, run_of
from shared.staging import StagedPump, staged_pumps
from shared.stopping import StopRequested

FEED = "bench"
_S, _MS = 1_000_000_000, 1_000_000
_EPOCH_BYTES = 8


class Courses:
    """The readings of every bed, second by second, made beforehand; when they end they begin again."""

    def __init__(self, scenarios: Iterable[Scenario], seconds: int) -> None:
        self._of = [_course(pump, seconds) for scenario in scenarios for pump in staged_pumps(scenario)]

    def __len__(self) -> int:
        return len(self._of)

    def draft(self, bed: int, second: int) -> Draft:
        """Give what a bed says, read now."""
        course = self._of[bed]
        return replace(course[second % len(course)], read_at=time.time_ns() // _MS)


def _course(pump: StagedPump, seconds: int) -> list[Draft]:
    seen = (pump.observe(float(second)) for second in range(seconds))
    return [
        Draft(
            bed=pump.bed,
            slot=pump.slot,
            read_at=0,
            readings=dict(one.values),
            estimated=frozenset(one.estimated),
            conditions=frozenset(one.conditions),
        )
        for one in seen
    ]


class Rounds:
    """When which bed is read next, on `now_ns`: ``spread`` over the second, or all ``together``."""

    def __init__(self, beds: int, began: int) -> None:
        self.spread = True
        self._beds, self._began, self._next = beds, began, 0

    def at(self) -> int:
        """Give when the next reading is due."""
        second, bed = divmod(self._next, self._beds)
        return self._began + second * _S + (bed * _S // self._beds if self.spread else 0)

    def due(self, now: int) -> Iterator[tuple[int, int]]:
        """Give bed and second of every reading that is due."""
        while self.at() <= now:
            second, bed = divmod(self._next, self._beds)
            self._next += 1
            yield bed, second


class Bedside:
    """Sends; notes when. ``send`` of a draft is either a whole feed's or a bare socket's."""

    def __init__(self, courses: Courses) -> None:
        self.sent: list[tuple[str, int, int]] = []
        self._courses = courses
        self._reads: tuple[str, int] | None = None

    def publish(self, publish: Callable[[Sequence[Draft]], None], bed: int, second: int) -> None:
        """Read a bed and publish that."""
        draft = self._courses.draft(bed, second)
        self._reads = (draft.bed, draft.read_at)
        publish([draft])
        self._reads = None

    def send(self, socket: "zmq.Socket[bytes]", frames: list[bytes]) -> bool:
        """Send on the live line, noting when."""
        if self._reads is not None:
            self.sent.append((*self._reads, now_ns()))
        return _send(socket, frames)


def _send(socket: "zmq.Socket[bytes]", frames: list[bytes]) -> bool:
    try:
        socket.send_multipart(frames, zmq.NOBLOCK)
    except zmq.Again:
        return False
    return True


def _socket(
    context: "zmq.Context[zmq.Socket[bytes]]", kind: int, address: str, name: str = ""
) -> "zmq.Socket[bytes]":
    socket = context.socket(kind)
    socket.set_hwm(endpoints.HIGH_WATER_MARK)
    socket.setsockopt(zmq.MAXMSGSIZE, PART_LIMIT)
    socket.setsockopt(zmq.HEARTBEAT_IVL, endpoints.HEARTBEAT_IVL)
    socket.setsockopt(zmq.HEARTBEAT_TIMEOUT, endpoints.HEARTBEAT_TIMEOUT)
    socket.setsockopt(zmq.RECONNECT_IVL, endpoints.RECONNECT_IVL)
    socket.setsockopt(zmq.LINGER, 0)
    if kind == zmq.DEALER:
        socket.setsockopt(zmq.IDENTITY, name.encode())
        socket.setsockopt(zmq.IMMEDIATE, 1)
    socket.connect(address)
    return socket


class BareFeed:
    """Numbers and sends, and hears nobody."""

    def __init__(self, send: Callable[[list[bytes]], bool]) -> None:
        self._send, self._number = send, 0

    def publish(self, drafts: Sequence[Draft]) -> None:
        """Send each as an observation."""
        for draft in drafts:
            self._number += 1
            observation = Observation(
                feed=FEED,
                epoch="0" * 2 * _EPOCH_BYTES,
                seq=self._number,
                bed=draft.bed,
                slot=draft.slot,
                read_at=draft.read_at,
                sent_at=draft.read_at,
                readings=draft.readings,
                estimated=draft.estimated,
                conditions=draft.conditions,
            )
            self._send(encode(draft.bed, observation))


def _talk(
    name: str, scenario: Scenario, live: Callable[[list[bytes]], bool], line: "zmq.Socket[bytes]"
) -> FeedTalk:
    def journal() -> VirtualJournal:
        disk = Disk(name, secrets.token_hex(_EPOCH_BYTES))
        return VirtualJournal(disk, lambda *_: None, lambda *_: None)

    beds = [
        BedDeclared(bed=bed, runs=(run_of(scenario, bed, 1),), interval=1.0, origin=Origin.SIMULATED)
        for bed in scenario.beds
    ]
    return FeedTalk(
        journal(),
        beds,
        clock=lambda: time.time_ns() // _MS,
        ticks=lambda: now_ns() // _MS,
        live=live,
        talk=partial(_send, line),
        spare=journal,
        draw_epoch=lambda: secrets.token_hex(_EPOCH_BYTES),
        log=logging.getLogger(__name__),
    )


def serve(folder: Path, seconds: int, ingest: str, link: str | None) -> None:
    """Send until told to stop; a line on standard input says how, and each is answered with what was sent so far.

    ``spread`` and ``together`` say how beds are read from then on, ``sent`` asks.
    """
    scenarios = scenarios_in(folder)
    courses = Courses(scenarios, seconds)
    context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
    live = _socket(context, zmq.PUB, ingest)
    bedside = Bedside(courses)
    send = partial(bedside.send, live)
    talks: dict[zmq.Socket[bytes], FeedTalk] = {}
    if link is not None:
        for number, scenario in enumerate(scenarios, 1):
            line = _socket(context, zmq.DEALER, link, f"{FEED}-{number}")
            talks[line] = _talk(f"{FEED}-{number}", scenario, send, line)
    publishers = [talk.publish for talk in talks.values()] or [BareFeed(send).publish] * len(scenarios)
    poller = zmq.Poller()
    poller.register(sys.stdin.fileno(), zmq.POLLIN)
    for line in talks:
        poller.register(line, zmq.POLLIN)
    print(json.dumps({"beds": len(courses)}), flush=True)
    rounds = Rounds(len(courses), now_ns() + _S // 2)
    with StopRequested() as stop:
        while not stop.now:
            for bed, second in rounds.due(now_ns()):
                bedside.publish(publishers[bed // BEDS_OF_A_FEED], bed, second)
            wait = max(0, -((now_ns() - rounds.at()) // _MS))  # rounded up: never in a tight loop
            for talk in talks.values():
                talk.due()
                wait = talk.patience(wait)
            ready = dict(poller.poll(min(wait, 100)))
            for line, talk in talks.items():
                if line in ready:
                    talk.hear(line.recv_multipart())
            if sys.stdin.fileno() in ready:
                word = sys.stdin.readline().strip()
                if not word:
                    break
                rounds.spread = word != "together" if word != "sent" else rounds.spread
                print(json.dumps({"sent": bedside.sent}), flush=True)
    for socket in (live, *talks):
        socket.close()
    context.term()


if __name__ == "__main__":
    serve(Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3], sys.argv[4] if len(sys.argv) > 4 else None)
