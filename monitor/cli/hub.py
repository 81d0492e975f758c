"""``monitor hub``: run the hub of a unit until it is told to stop."""

import argparse
import signal
from pathlib import Path
from types import FrameType

from monitor.core.unit import Endpoints
from monitor.hub.clock import HubClock
from monitor.hub.runner import Hub
from monitor.record import Record
from monitor.settings import load_configuration
from shared.endpoints import LOOPBACK
from shared.errors import ConfigurationError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = "Run the hub: it judges, calls, records and tells the desks. It needs no screen."
    parser.add_argument("--config", type=Path, required=True, metavar="DIR", help="the unit's configuration folder")
    parser.add_argument("--record", type=Path, required=True, metavar="FILE", help="the record; made if it is new")
    parser.add_argument("--speed", type=float, default=1.0, metavar="X", help="a demonstration, X times faster")
    parser.add_argument(
        "--start", type=int, metavar="MS", help="wall-clock ms since 1970 UTC at which the demonstration began"
    )
    parser.add_argument(
        "--ports-base",
        type=int,
        metavar="N",
        help="bind ports N to N+3 of this machine: ingest, link, publish, commands (default: the configuration's)",
    )


def run(args: argparse.Namespace) -> int:
    """Run until SIGINT or SIGTERM; give the exit status of a clean end.

    One line on standard output says when the sockets are bound and the record is replayed.

    Raises:
        ConfigurationError: the configuration or an option is wrong, or a port is in use.
        RecordError: the record is held by another hub, or cannot be read or written.
    """
    stop = _Stop()
    configuration = load_configuration(args.config)
    endpoints = _endpoints(args.ports_base) or configuration.unit.endpoints
    record = Record.open(args.record)
    try:
        clock = HubClock(args.speed, args.start, floor=record.last_at())
        hub = Hub(configuration, record, clock, endpoints)
        print(_ready(hub, args, endpoints), flush=True)
        hub.run(lambda: stop.now)
    finally:
        record.close()
    return 0


class _Stop:
    """SIGINT and SIGTERM set `now`; the loop ends after its turn."""

    def __init__(self) -> None:
        self.now = False
        for number in (signal.SIGINT, signal.SIGTERM):
            signal.signal(number, self._heard)

    def _heard(self, number: int, frame: FrameType | None) -> None:
        self.now = True


def _endpoints(base: int | None) -> Endpoints | None:
    if base is None:
        return None
    if not 1024 <= base <= 65_532:
        raise ConfigurationError(f"--ports-base {base}: allowed 1024 to 65532")
    names = ("ingest", "link", "publish", "commands")
    return Endpoints(**{name: f"tcp://{LOOPBACK}:{base + place}" for place, name in enumerate(names)})


def _ready(hub: Hub, args: argparse.Namespace, endpoints: Endpoints) -> str:
    return (
        f"hub ready record={args.record} replayed={hub.replayed} boot={hub.publishing.boot} "
        f"ingest={endpoints.ingest} link={endpoints.link} "
        f"publish={endpoints.publish} commands={endpoints.commands}"
    )
