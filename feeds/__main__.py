"""`python -m feeds COMMAND`: the table of the feeds' commands."""

import logging
import sys
from collections.abc import Sequence

from shared.commandline import Command, run

ABOUT = "Publish the observations of beds to a hub."

COMMANDS = (
    Command("simulate", "simulated beds, from a scenario", "feeds.simulated.command:run"),
    Command("enter", "rounds typed at a bed: the form", "feeds.entered.command:run"),
    Command("replay", "the beds of a recording", "feeds.replayed.command:run"),
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; give the exit status: the command's own, 2 when it was refused, 130 after Ctrl-C.

    Raises:
        SystemExit: the command line itself asks for help, or makes no sense.
    """
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    words = sys.argv[1:] if argv is None else list(argv)
    status, message = run("weirkeeper feeds", ABOUT, COMMANDS, words)
    if message:
        print(f"weirkeeper feeds: {message}", file=sys.stderr)
    return status


if __name__ == "__main__":
    raise SystemExit(main())
