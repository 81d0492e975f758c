"""A command line from a table. A command's module is imported only when that command is called."""

import argparse
import gc
import io
import sys
import traceback
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType

from shared.errors import OurError, WeirkeeperError
from shared.version import VERSION

INTERRUPTED = 130
"""Exit status after Ctrl-C: 128 and the number of SIGINT (common practice of shells)."""
NOBODY_READS = 141
"""Exit status when the reader of standard output has gone: 128 and the number of SIGPIPE (the same practice)."""
REFUSED = 2
"""Exit status when the program cannot do what was asked; argparse ends with the same."""


@dataclass(frozen=True, slots=True)
class Command:
    """One row of the table.

    Attributes:
        name: what is typed.
        help: one line for the list of commands.
        target: `module:function`. The module also has `add_arguments(parser)`; the function takes the parsed
            arguments and gives the exit status.
    """

    name: str
    help: str
    target: str


def parse(program: str, about: str, commands: Sequence[Command], argv: Sequence[str]) -> argparse.Namespace:
    """Parse a command line; `run` of the result is the function of the command.

    The name of the command comes first, so only its module is imported.

    Raises:
        SystemExit: after help or version (0), or when the line makes no sense (2); argparse has printed why.
    """
    parser = argparse.ArgumentParser(prog=program, description=about)
    parser.add_argument("--version", action="version", version=f"Weirkeeper {VERSION}")
    rows = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command in commands:
        row = rows.add_parser(command.name, help=command.help, description=command.help)
        if argv and argv[0] == command.name:
            module_name, _, function = command.target.partition(":")
            module = imported(module_name)
            module.add_arguments(row)
            row.set_defaults(run=getattr(module, function))
    return parser.parse_args(argv)


def imported(name: str) -> ModuleType:
    """Import a module. What it makes stays, so nobody looks through it for garbage, neither meanwhile nor later."""
    was_on, is_new = gc.isenabled(), name not in sys.modules
    gc.disable()
    try:
        return import_module(name)
    finally:
        if is_new:
            gc.freeze()
        if was_on:
            gc.enable()


def outcome(work: Callable[[], int]) -> tuple[int, str]:
    """Do the work; give the exit status and what a person must be told, if anything.

    Ctrl-C ends quietly, and so does a reader of standard output that has gone (`... | head`). Errors raised on
    purpose become one plain message; a defect of ours adds all that is known about it. Any other exception
    passes.
    """
    try:
        status = work()
        sys.stdout.flush()
    except KeyboardInterrupt:
        return INTERRUPTED, ""
    except BrokenPipeError:
        sys.stdout = io.StringIO()  # or the interpreter complains at its end of what it cannot flush
        return NOBODY_READS, ""
    except OurError as error:
        known = "".join(traceback.format_exception(error))
        return REFUSED, f"{error}\nThis is a defect of Weirkeeper. What is known about it:\n{known}"
    except WeirkeeperError as error:
        return REFUSED, str(error)
    return status, ""


def run(program: str, about: str, commands: Sequence[Command], argv: Sequence[str]) -> tuple[int, str]:
    """Parse, run the command that is named, and give its exit status and what to tell of it.

    Raises:
        SystemExit: the command line itself asks for help, or makes no sense.
    """

    def work() -> int:
        args = parse(program, about, commands, argv)
        status: int = args.run(args)
        return status

    return outcome(work)
