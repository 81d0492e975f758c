"""``python -m feeds COMMAND ...``: the table of the feeds."""

import logging
import sys
from collections.abc import Sequence

from shared.commandline import Command, run_command

COMMANDS = (
    Command("simulate", "play the beds of a scenario to the hub", "feeds.simulated.command"),
    Command("replay", "play a recording to the hub as one bed", "feeds.replayed.command"),
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run a feed; ``argv`` is without the program's name. Gives the exit status.

    Raises:
        SystemExit: the words ask for help, or are wrong.
    """
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    words = sys.argv[1:] if argv is None else list(argv)
    return run_command("feeds", "What publishes the observations of beds to the hub.", COMMANDS, words)


if __name__ == "__main__":
    sys.exit(main())
