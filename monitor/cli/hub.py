"""``monitor hub``: run the hub of a unit until it is told to stop."""

import argparse
import sys
from pathlib import Path

from monitor.cli.hub_children import KEPT, card_command
from monitor.cli.paths import ROOT
from monitor.core.endpoints import Endpoints
from monitor.hub.clock import HubClock
from monitor.hub.gate import gate_of
from monitor.hub.opening import open_hub
from monitor.hub.runner import Hub
from monitor.hub.sheets import Sheets
from monitor.settings import load_configuration, texts_in
from shared.given_back import give_back_big_blocks
from shared.stopping import StopRequested

_ROOMS = {
    "ingest": "what feeds publish",
    "link": "the talk with feeds",
    "publish": "what desks see",
    "commands": "what desks ask",
}


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
        "--sheets", type=Path, metavar="DIR", help="have a downtime sheet made there at the start and every hour"
    )
    parser.add_argument(
        "--keep-sheets", type=int, default=KEPT, metavar="N", help=f"the newest N of them stay (default: {KEPT})"
    )
    for room, what in _ROOMS.items():
        parser.add_argument(
            f"--{room}", metavar="ADDRESS", help=f"where to bind for {what} (default: the configuration's)"
        )


def run(args: argparse.Namespace) -> int:
    """Run until SIGINT or SIGTERM; give the exit status of a clean end.

    One line on standard output says when the sockets are bound and the record is replayed.

    Raises:
        ConfigurationError: the configuration or an option is wrong, or a port is in use.
        RecordError: the record is held by another hub, or cannot be read or written.
    """
    give_back_big_blocks()
    with StopRequested() as stop:
        configuration = load_configuration(args.config)
        endpoints = _endpoints(args, configuration.unit.endpoints)
        files = texts_in(args.config)
        hub = open_hub(
            configuration,
            args.record,
            lambda last: HubClock(args.speed, args.start, last),
            endpoints,
            files,
            args.config,
            card_command(args.record),
            _sheets(args),
            gate_of(args.config, [bed.label for bed in configuration.unit.beds]),
        )
        try:
            print(_ready(hub, args, endpoints), flush=True)
            hub.run(lambda: stop.now)
        finally:
            hub.keeper.record.close()
    return 0


def _endpoints(args: argparse.Namespace, configured: Endpoints) -> Endpoints:
    given = {room: getattr(args, room) for room in _ROOMS if getattr(args, room) is not None}
    return configured.model_copy(update=given)


def _sheets(args: argparse.Namespace) -> Sheets | None:
    if args.sheets is None:
        return None
    folder = args.sheets.resolve()
    command = (sys.executable, "-m", "monitor", "sheet", str(args.record.resolve()), "--into", str(folder))
    return Sheets((*command, "--keep", str(args.keep_sheets)), folder, ROOT)


def _ready(hub: Hub, args: argparse.Namespace, endpoints: Endpoints) -> str:
    number, digest = hub.keeper.record.head
    return (
        f"hub ready record={args.record} head={number}:{digest.hex()} replayed={hub.replayed} "
        f"boot={hub.publishing.boot} ingest={endpoints.ingest} link={endpoints.link} "
        f"publish={endpoints.publish} commands={endpoints.commands}"
    )
