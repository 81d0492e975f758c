"""``python -m monitor``: the table of its commands."""

import logging
import sys
from collections.abc import Sequence

from shared.commandline import Command, run_command

COMMANDS = (
    Command("demo", "a simulated unit with its desk", "monitor.cli.demo"),
    Command("station", "the hub and the desk of a real unit", "monitor.cli.station"),
    Command("hub", "the hub alone, without a window", "monitor.cli.hub"),
    Command("desk", "a desk alone, for a hub that runs already", "monitor.cli.desk"),
    Command("rehearse", "a scenario or a recording in virtual time", "monitor.cli.rehearse"),
    Command("check", "is the configuration right?", "monitor.cli.check"),
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command of the monitor; ``argv`` is without the program's name. Gives the exit status.

    Raises:
        SystemExit: the words ask for help or the version, or are wrong.
    """
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    words = sys.argv[1:] if argv is None else list(argv)
    description = (
        "A board for the desk of a unit on circulatory support. A second look; the bedside console is the alarm."
    )
    return run_command("monitor", description, COMMANDS, words)
