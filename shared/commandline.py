"""A command line of sub-commands that imports only the module it needs."""

import argparse
import importlib
import io
import sys
from collections.abc import Sequence
from dataclasses import dataclass

from shared.errors import OurError, WeirkeeperError

VERSION = "0.1.0"
REFUSED = 2
INTERRUPTED = 130  # 128 + SIGINT, as a shell says it
NOBODY_READS = 141  # 128 + SIGPIPE


@dataclass(frozen=True, slots=True)
class Command:
    """A sub-command: its name, one line of help, and the module that holds ``add_arguments`` and ``run``."""

    name: str
    help: str
    module: str


def run_command(program: str, description: str, commands: Sequence[Command], words: Sequence[str]) -> int:
    """Run the sub-command that ``words`` name (without the program's own name) and give the exit status.

    Ctrl-C gives 130 and says nothing, and so does a reader of standard output that has gone (141). What a person
    can put right becomes one message on standard error and gives 2. A defect of ours is not caught: everything that is known about it belongs on the screen.

    Raises:
        SystemExit: the words ask for help or the version, or are wrong.
        OurError: a defect of ours.
    """
    chosen = words[0] if words else ""
    prefix = f"{program} {chosen}" if chosen else program
    try:
        args = _parser(program, description, commands, chosen).parse_args(words)
        status: int = args.run(args)
        sys.stdout.flush()
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        sys.stdout = io.StringIO()  # or the interpreter complains of what it cannot flush when it ends
        return NOBODY_READS
    except OurError:
        raise
    except WeirkeeperError as error:
        sys.stderr.write(f"{prefix}: {error}\n")
        return REFUSED
    return status


def _parser(program: str, description: str, commands: Sequence[Command], chosen: str) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog=program, description=description, allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"Weirkeeper {VERSION}")
    choices = parser.add_subparsers(metavar="COMMAND", required=True)
    for command in commands:
        one = choices.add_parser(command.name, help=command.help, description=command.help, allow_abbrev=False)
        if command.name == chosen:
            module = importlib.import_module(command.module)
            module.add_arguments(one)
            one.set_defaults(run=module.run)
    return parser
