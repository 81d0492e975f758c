"""What a review waits for: everything as it stands, and 24 h of one run, both in packed frames over one line."""

import uuid
from collections.abc import Callable

import zmq
from pydantic import BaseModel

from monitor.cli.benching.clock import now_ns
from monitor.cli.benching.figures import Asked
from monitor.core.lean import LEAN_REPLIES, LeanHistory
from monitor.core.view import TileView
from monitor.core.wire import AskHistory, Follow, Request, Snapshot
from monitor.desk.history_queue import TRENDS
from shared.errors import OurError
from shared.frames import ANSWER_LIMIT, decode, encode
from shared.instant import HOUR

_PATIENCE_MS = 20_000
_COLUMNS = 480
_DAY_MS = 24 * HOUR


def ask_as_review(commands: str) -> Asked:
    """Follow a hub as a review does, then ask for 24 h of its first bed.

    Raises:
        OurError: the hub does not answer.
    """
    context: zmq.Context[zmq.Socket[bytes]] = zmq.Context()
    line = context.socket(zmq.DEALER)
    line.setsockopt(zmq.LINGER, 0)
    try:
        line.connect(commands)
        snapshot, snapshot_ms, size = _answer(line, Follow(request=_id()), lambda said: isinstance(said, Snapshot))
        assert isinstance(snapshot, Snapshot)
        asked = _day_of(snapshot.tiles[0], snapshot.hub_time)
        told, history_ms, bytes_of = _answer(
            line, asked, lambda said: isinstance(said, LeanHistory) and said.request == asked.request
        )
        assert isinstance(told, LeanHistory)
        columns = sum(len(one.steps) for one in told.series.values())
        return Asked(snapshot_ms, size, history_ms, bytes_of, columns)
    finally:
        line.close()
        context.term()


def _day_of(tile: TileView, now: int) -> AskHistory:
    run = tile.runs[0].description
    return AskHistory(
        request=_id(),
        bed=tile.bed,
        slot=run.slot,
        quantities=tuple(quantity for quantity in TRENDS if quantity in run.sensors),
        begin=now - _DAY_MS,
        end=now,
        width_ms=_DAY_MS // _COLUMNS,
    )


def _answer(
    line: "zmq.Socket[bytes]", request: Request, is_it: Callable[[BaseModel], bool]
) -> tuple[BaseModel, float, int]:
    began = now_ns()
    line.send_multipart(encode("desk", request, packed=True))
    while line.poll(_PATIENCE_MS):
        parts = line.recv_multipart()
        _, said = decode(parts, LEAN_REPLIES, packed=True, limit=ANSWER_LIMIT)
        if is_it(said):
            return said, (now_ns() - began) / 1e6, sum(map(len, parts))
    raise OurError(f"the hub did not answer {request.type} within {_PATIENCE_MS // 1000} s")


def _id() -> str:
    return uuid.uuid4().hex
