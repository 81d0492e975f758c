"""``monitor review``: the screen of whoever is on call, from another computer on the unit's network."""

import argparse
from pathlib import Path

from monitor.cli.desk import add_after_argument, add_desk_arguments
from monitor.cli.desk import run as run_as_desk
from monitor.cli.desk_keys import add_key_arguments
from monitor.cli.paths import CONFIG
from monitor.core.endpoints import Endpoints


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.description = (
        "One thin line to the hub: usable at 64 kbit/s. Second look only. From elsewhere help by phone; "
        "a take is for who is in the unit."
    )
    stand = Endpoints()
    parser.add_argument(
        "--hub", default=stand.commands, metavar="ADDRESS", help="where it takes commands (tcp://...)"
    )
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="of the emergency cards (E)")
    add_key_arguments(parser)
    add_desk_arguments(parser)
    add_after_argument(parser)


def run(args: argparse.Namespace) -> int:
    """Open the review and stay until it is closed.

    Raises:
        ConfigurationError: the keys cannot be used, or the picture could not be written.
    """
    args.review, args.publish, args.commands = True, Endpoints().publish, args.hub
    return run_as_desk(args)
